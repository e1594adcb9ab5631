"""Maximum heart rate from an equation, with its error: for when none was measured in the same kind of exercise.

Every equation is named by its author. None is for a student whose heart rate does not follow age or effort: see
``conditions``. The women's equation from middle age and the one for patients on beta-blockers are left out on
purpose, because neither was made from anyone of school age.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..errors import BasisError

OLDEST_YEARS = 120.0

DOWN_SYNDROME_CODE = {False: 1, True: 2}
"""Coding of the Down syndrome term in Fernhall 2001. The abstract does not say it; its own means do (a test shows
it): 1 without, 2 with. The coding 0 and 1 would read 15.5 /min too high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """Maximum = ``constant`` − ``per_year`` · age − ``per_down`` · code [/min].

    name, told : for options, and for sentences
    see_bpm : standard error of the estimate [/min], None where the source used here does not give it
    ages : youngest and oldest of the people it was made from [completed years], None for no published end
    caveat, outside : sentences that go with every prediction, and with one outside ``ages``
    """

    name: str
    told: str
    formula: str
    constant: float
    per_year: float
    per_down: float = 0.0
    see_bpm: float | None
    for_whom: str
    ages: tuple[float | None, float | None]
    source: str
    caveat: str = ""
    outside: str = ""


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted maximum [/min], its error [/min] where published, and what must be said with it."""

    bpm: float
    see_bpm: float | None
    equation: str
    note: str


_ALL = (
    Equation(
        name="tanaka",
        told="Tanaka 2001",
        formula="208 − 0.7 · age",
        constant=208.0,
        per_year=0.7,
        see_bpm=10.0,  # "about 10": from memory
        for_whom="healthy adults",
        ages=(18.0, None),
        source="Tanaka 2001; its error of about 10 /min is from memory",
        outside="In healthy youth it read 2.7 /min low on average (meta-analysis of 2019); a later one found it the"
        " closest of the age equations for children.",
    ),
    Equation(
        name="fox",
        told="220 − age",
        formula="220 − age",
        constant=220.0,
        per_year=1.0,
        see_bpm=12.0,  # the wide end of 10–12, so as not to promise too much
        for_whom="comparison only",
        ages=(18.0, None),
        source="attributed to Fox 1971; error 10–12 /min by Gellish 2007 (7–11 by Robergs 2002)",
        caveat="It was not derived from one study and is shown for comparison only.",
        outside="In youth it read 12.4 /min high on average (meta-analysis of 2019).",
    ),
    Equation(
        name="gellish",
        told="Gellish 2007",
        formula="207 − 0.7 · age",
        constant=207.0,
        per_year=0.7,
        see_bpm=None,
        for_whom="healthy adults, followed over years",
        ages=(18.0, None),
        source="Gellish 2007 (132 adults, 908 tests)",
        caveat="Its error is not published in the source used here, so no range can be given.",
    ),
    Equation(
        name="fernhall",
        told="Fernhall 2001",
        formula="205 − 0.64 · age",
        constant=205.0,
        per_year=0.64,
        see_bpm=9.9,
        for_whom="people without intellectual disability",
        ages=(9.0, 46.0),
        source="Fernhall 2001 (n = 296)",
    ),
    Equation(
        name="fernhall-id",
        told="Fernhall 2001 for intellectual disability",
        formula="210 − 0.56 · age − 15.5 · (1 without, 2 with Down syndrome)",
        constant=210.0,
        per_year=0.56,
        per_down=15.5,
        see_bpm=11.8,
        for_whom="people with intellectual disability, with or without Down syndrome",
        ages=(9.0, 46.0),
        source="Fernhall 2001 (n = 276, 97 of them with Down syndrome)",
    ),
    Equation(
        name="verschuren-cp",
        told="Verschuren 2011 for cerebral palsy",
        formula="194, whatever the age",
        constant=194.0,
        per_year=0.0,
        see_bpm=9.9,  # a standard deviation: with no slope the two are the same thing
        for_whom="children and youth with cerebral palsy who walk or run",
        ages=(6.0, 19.0),
        source="Verschuren 2011 (n = 362, 95 % within 174–214)",
        caveat="It holds for walking and running only, not for arm work.",
    ),
)

EQUATIONS: Mapping[str, Equation] = MappingProxyType({equation.name: equation for equation in _ALL})

_DOWN_SYNDROME_NOTE = (
    "In 36 adults with Down syndrome the measured maximum was 4.7 /min higher on average,"
    " between 17.4 lower and 26.7 higher (Boer 2017)."
)


def predicted_maximum(equation: str, age_years: float, *, down_syndrome: bool = False) -> Prediction:
    """Predict a maximum heart rate from age.

    Parameters
    ----------
    equation : str
        A name in ``EQUATIONS``.
    age_years : float
        [years], above 0
    down_syndrome : bool
        Only an equation with a term for it takes True; the others read far too high.

    Returns
    -------
    Prediction, whose note says that it is one, how far a student can be from it, and whether the age lies outside
    the published range

    Raises
    ------
    BasisError
        If the equation is unknown, the age is none, or the equation takes no account of Down syndrome.
    """
    chosen = EQUATIONS.get(equation)
    if chosen is None:
        raise BasisError(
            f"there is no equation {equation!r} for the maximum heart rate.",
            mend=f"Use one of {', '.join(EQUATIONS)}.",
        )
    if not (math.isfinite(age_years) and 0 < age_years <= OLDEST_YEARS):
        raise BasisError(f"{age_years:g} is not an age.", mend="Give the age in years.")
    if down_syndrome and not chosen.per_down:
        raise BasisError(
            f"the equation {equation} takes no account of Down syndrome and would read far too high.",
            mend="Use fernhall-id, or a measured maximum.",
        )
    code = DOWN_SYNDROME_CODE[down_syndrome]
    bpm = chosen.constant - chosen.per_year * age_years - chosen.per_down * code
    return Prediction(bpm, chosen.see_bpm, equation, _note(chosen, age_years, down_syndrome))


def _note(equation: Equation, age_years: float, down_syndrome: bool) -> str:
    parts = [f"The maximum is predicted ({equation.formula}), not measured.", _spread(equation.see_bpm)]
    parts.append(equation.caveat)
    if down_syndrome:
        parts.append(_DOWN_SYNDROME_NOTE)
    youngest, oldest = equation.ages
    if (youngest is not None and age_years < youngest) or (oldest is not None and math.floor(age_years) > oldest):
        parts.append(f"It was made from {_people(equation.ages)}; the age of {age_years:.1f} lies outside.")
        parts.append(equation.outside)
    return " ".join(part for part in parts if part)


def _spread(see_bpm: float | None) -> str:
    # Twice the standard error holds about 95 in 100 students.
    return "" if see_bpm is None else f"One student can be {2 * see_bpm:.0f} /min away from it in either direction."


def _people(ages: tuple[float | None, float | None]) -> str:
    youngest, oldest = ages
    return "adults" if oldest is None else f"people of {youngest:g} to {oldest:g} years"
