"""Maximum heart rate from an equation, with its error: for when none was measured in the same kind of exercise.

Every equation is named by its author and given only for the ages, the people and the kind of work that it was made
from or tested in; elsewhere the reason why it does not hold is given instead. None is for a student whose heart rate
does not follow age or effort: see ``conditions``. The women's equation from middle age and the one for patients on
beta-blockers are left out on purpose, because neither was made from anyone of school age.
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..errors import BasisError
from ..words.numbers import nearest, rounded
from .conditions import CONDITIONS

OLDEST_YEARS = 120.0
ADULT_YEARS = 18.0
_ROUNDING = 1e-6

DOWN_SYNDROME_CODE = {False: 1, True: 2}
"""Coding of the Down syndrome term in Fernhall 2001. The abstract does not say it; its own means do (a test shows
it): 1 without, 2 with. The coding 0 and 1 would read 15.5 /min too high."""

DOWN, DISABILITY, PALSY = "down-syndrome", "intellectual-disability", "cerebral-palsy"
SET_APART = frozenset({DOWN, DISABILITY, PALSY})
"""Conditions of which studies show that the equations of others do not hold: a student with one of these needs an
equation that was made from people with it, and a student with two of them one that was made from people with both."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """Maximum = ``constant`` − ``per_year`` · age − ``per_down`` · code [/min].

    name, told : for options, and for sentences
    see_bpm : standard error of the estimate [/min], None where the source used here does not give it
    people : of whom it was made, or in whom it was tested
    ages : youngest and oldest of them [completed years]
    made_with : conditions of ``SET_APART`` that they had; a student needs one of these, and may have no other
    walking : it comes from walking and running alone, and nothing shows that it holds in other work
    caveat, in_youth : sentences that go with every prediction, and with one for a student under 18
    """

    name: str
    told: str
    formula: str
    constant: float
    per_year: float
    per_down: float = 0.0
    see_bpm: float | None
    people: str
    ages: tuple[float, float]
    made_with: frozenset[str] = frozenset()
    walking: bool = False
    source: str
    caveat: str = ""
    in_youth: str = ""


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
        people="healthy people",
        ages=(7.0, 81.0),
        source="Tanaka 2001, adults to 81 years and an error of about 10 /min, both from memory; tested in youth of 7"
        " to 17 years by Mahon 2010",
        in_youth="It was made from adults. In healthy youth it read 2.7 /min low on average (meta-analysis of 2019); a"
        " later one found it the closest of the age equations for children.",
    ),
    Equation(
        name="fox",
        told="220 − age",
        formula="220 − age",
        constant=220.0,
        per_year=1.0,
        see_bpm=12.0,  # the wide end of 10–12, so as not to promise too much
        people="adults",
        ages=(18.0, 55.0),  # "all male, most were under age 55": Gellish 2007, introduction
        source="attributed to Fox 1971; error 10–12 /min by Gellish 2007 (7–11 by Robergs 2002)",
        caveat="It was not derived from one study, all of its people were men, and it is shown for comparison only.",
    ),
    Equation(
        name="gellish",
        told="Gellish 2007",
        formula="207 − 0.7 · age",
        constant=207.0,
        per_year=0.7,
        see_bpm=None,
        people="healthy adults",
        ages=(27.0, 78.0),  # as told by Zhu 2010
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
        people="people without intellectual disability",
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
        people="people with an intellectual disability",
        ages=(9.0, 46.0),
        made_with=frozenset({DOWN, DISABILITY}),
        source="Fernhall 2001 (n = 276, 97 of them with Down syndrome)",
    ),
    Equation(
        name="verschuren-cp",
        told="Verschuren 2011 for cerebral palsy",
        formula="194, whatever the age",
        constant=194.0,
        per_year=0.0,
        see_bpm=9.9,  # a standard deviation: with no slope the two are the same thing
        people="youth with cerebral palsy",
        ages=(6.0, 19.0),
        made_with=frozenset({PALSY}),
        walking=True,
        source="Verschuren 2011 (n = 362 who walk or run, 95 % within 174–214)",
        caveat="It holds for walking and running only, not for arm work.",
    ),
)

EQUATIONS: Mapping[str, Equation] = MappingProxyType({equation.name: equation for equation in _ALL})

_DOWN_SYNDROME_NOTE = (
    "In 36 adults with Down syndrome the measured maximum was 4.7 /min higher on average,"
    " between 17.4 lower and 26.7 higher (Boer 2017)."
)


def equation_for(conditions: Collection[str]) -> str:
    """Name of the equation published for people like this student; whether it holds is another question.

    conditions : names of ``conditions.CONDITIONS``
    """
    if {DOWN, DISABILITY} & set(conditions):
        return "fernhall-id"
    return "verschuren-cp" if PALSY in conditions else "tanaka"


def why_not(equation: Equation, age_years: float, conditions: Collection[str], *, walking: bool = True) -> str:
    """Why an equation does not hold for a student, in a sentence; empty if it does.

    Parameters
    ----------
    age_years : float
        [years]
    conditions : names of ``conditions.CONDITIONS``
    walking : the student walks or runs, and no device carries the body
    """
    apart = SET_APART & set(conditions)
    strange = sorted(apart - equation.made_with)
    if strange:
        return f"{equation.told} holds for {equation.people}; {CONDITIONS[strange[0]].title} lies outside."
    if equation.made_with and not apart:
        return f"{equation.told} holds for {equation.people}; no such condition is written down."
    if equation.walking and not walking:
        return f"{equation.told} holds for walking and running, not for other work or where a device carries the body."
    youngest, oldest = equation.ages
    if not youngest <= math.floor(age_years) <= oldest:
        shown = math.floor(10 * age_years + _ROUNDING) / 10  # cut: 6.99 years must not be told as 7.0
        return (
            f"{equation.told} holds for {equation.people} of {youngest:g} to {oldest:g} years,"
            f" not at {rounded(shown, 1)} years."
        )
    return ""


def predicted_maximum(
    equation: str, age_years: float, *, conditions: Collection[str] = (), walking: bool = True
) -> Prediction:
    """Predict a maximum heart rate from age.

    Parameters
    ----------
    equation : str
        A name in ``EQUATIONS``.
    age_years : float
        [years], above 0
    conditions, walking : as for ``why_not``

    Returns
    -------
    Prediction, whose note says that it is one, and how far a student can be from it

    Raises
    ------
    BasisError
        If the equation is unknown, the age is none, or the equation does not hold for the student.
    """
    chosen = known_equation(equation)
    check_age(age_years)
    if wrong := why_not(chosen, age_years, conditions, walking=walking):
        fitting = equation_for(conditions)
        mend = "Use a measured maximum." if fitting == equation else f"Use {fitting}, or a measured maximum."
        raise BasisError(wrong, mend=mend)
    down = DOWN in conditions
    bpm = chosen.constant - chosen.per_year * age_years - chosen.per_down * DOWN_SYNDROME_CODE[down]
    return Prediction(bpm, chosen.see_bpm, equation, prediction_note(chosen, age_years, down=down))


def check_age(age_years: float) -> None:
    """Refuse what is no age [years].

    Raises
    ------
    BasisError
    """
    if not (math.isfinite(age_years) and 0 < age_years <= OLDEST_YEARS):
        raise BasisError(f"{age_years:g} is not an age.", mend="Give the age in years.")


def known_equation(name: str) -> Equation:
    """The equation of a name.

    Raises
    ------
    BasisError
        If there is none of that name, with all names.
    """
    found = EQUATIONS.get(name)
    if found is None:
        raise BasisError(
            f"there is no equation “{name}” for the maximum heart rate.", mend=f"Use one of {', '.join(EQUATIONS)}."
        )
    return found


def prediction_note(equation: Equation, age_years: float, *, down: bool) -> str:
    """What must be said with a prediction. ``down``: the student has Down syndrome."""
    parts = [f"The maximum is predicted ({equation.formula}), not measured.", _spread(equation.see_bpm)]
    parts.append(equation.caveat)
    parts.append(_DOWN_SYNDROME_NOTE if down else "")
    parts.append(equation.in_youth if age_years < ADULT_YEARS else "")
    return " ".join(part for part in parts if part)


def _spread(see_bpm: float | None) -> str:
    # Twice the standard error holds about 95 in 100 students.
    return (
        "" if see_bpm is None else f"One student can be {nearest(2 * see_bpm)} /min away from it in either direction."
    )
