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
from ..words.message import Message
from .messages import heart_rate as say

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

    name : for options, and for its words in ``words``
    see_bpm : standard error of the estimate [/min], None where the source used here does not give it
    people : of whom it was made, or in whom it was tested, as in ``words``
    ages : youngest and oldest of them [completed years]
    made_with : conditions of ``SET_APART`` that they had; a student needs one of these, and may have no other
    walking : it comes from walking and running alone, and nothing shows that it holds in other work
    caveat, in_youth : what goes with every prediction, and with one for a student under 18
    """

    name: str
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
    caveat: Message | None = None
    in_youth: Message | None = None


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted maximum [/min], its error [/min] where published, and what must be said with it."""

    bpm: float
    see_bpm: float | None
    equation: str
    notes: tuple[Message, ...]


_ALL = (
    Equation(
        name="tanaka",
        formula="208 − 0.7 · age",
        constant=208.0,
        per_year=0.7,
        see_bpm=10.0,  # "about 10": from memory
        people="healthy",
        ages=(7.0, 81.0),
        source="Tanaka 2001, adults to 81 years and an error of about 10 /min, both from memory; tested in youth of 7"
        " to 17 years by Mahon 2010",
        in_youth=say.NOTE_TANAKA_YOUTH,
    ),
    Equation(
        name="fox",
        formula="220 − age",
        constant=220.0,
        per_year=1.0,
        see_bpm=12.0,  # the wide end of 10–12, so as not to promise too much
        people="adults",
        ages=(18.0, 55.0),  # "all male, most were under age 55": Gellish 2007, introduction
        source="attributed to Fox 1971; error 10–12 /min by Gellish 2007 (7–11 by Robergs 2002)",
        caveat=say.NOTE_FOX,
    ),
    Equation(
        name="gellish",
        formula="207 − 0.7 · age",
        constant=207.0,
        per_year=0.7,
        see_bpm=None,
        people="healthy_adults",
        ages=(27.0, 78.0),  # as told by Zhu 2010
        source="Gellish 2007 (132 adults, 908 tests)",
        caveat=say.NOTE_GELLISH,
    ),
    Equation(
        name="fernhall",
        formula="205 − 0.64 · age",
        constant=205.0,
        per_year=0.64,
        see_bpm=9.9,
        people="without_disability",
        ages=(9.0, 46.0),
        source="Fernhall 2001 (n = 296)",
    ),
    Equation(
        name="fernhall-id",
        formula="210 − 0.56 · age − 15.5 · (1 without, 2 with Down syndrome)",
        constant=210.0,
        per_year=0.56,
        per_down=15.5,
        see_bpm=11.8,
        people="with_disability",
        ages=(9.0, 46.0),
        made_with=frozenset({DOWN, DISABILITY}),
        source="Fernhall 2001 (n = 276, 97 of them with Down syndrome)",
    ),
    Equation(
        name="verschuren-cp",
        formula="194, whatever the age",
        constant=194.0,
        per_year=0.0,
        see_bpm=9.9,  # a standard deviation: with no slope the two are the same thing
        people="palsy",
        ages=(6.0, 19.0),
        made_with=frozenset({PALSY}),
        walking=True,
        source="Verschuren 2011 (n = 362 who walk or run, 95 % within 174–214)",
        caveat=say.NOTE_VERSCHUREN,
    ),
)

EQUATIONS: Mapping[str, Equation] = MappingProxyType({equation.name: equation for equation in _ALL})


def equation_for(conditions: Collection[str]) -> str:
    """Name of the equation published for people like this student; whether it holds is another question.

    conditions : names of ``conditions.CONDITIONS``
    """
    if {DOWN, DISABILITY} & set(conditions):
        return "fernhall-id"
    return "verschuren-cp" if PALSY in conditions else "tanaka"


def why_not(
    equation: Equation, age_years: float, conditions: Collection[str], *, walking: bool = True
) -> Message | None:
    """Why an equation does not hold for a student; None if it does.

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
        return say.equation_people(equation.name, equation.people, strange[0])
    if equation.made_with and not apart:
        return say.equation_needs(equation.name, equation.people)
    if equation.walking and not walking:
        return say.equation_walking(equation.name)
    youngest, oldest = equation.ages
    if not youngest <= math.floor(age_years) <= oldest:
        shown = math.floor(10 * age_years + _ROUNDING) / 10  # cut: 6.99 years must not be told as 7.0
        return say.equation_age(equation.name, equation.people, youngest, oldest, shown)
    return None


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
    Prediction, whose notes say that it is one, and how far a student can be from it

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
    return Prediction(bpm, chosen.see_bpm, equation, prediction_notes(chosen, age_years, down=down))


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


def prediction_notes(equation: Equation, age_years: float, *, down: bool) -> tuple[Message, ...]:
    """What must be said with a prediction. ``down``: the student has Down syndrome."""
    found = (
        say.note_predicted(equation.formula),
        None if equation.see_bpm is None else say.note_spread(2 * equation.see_bpm),
        equation.caveat,
        say.NOTE_DOWN_MEASURED if down else None,
        equation.in_youth if age_years < ADULT_YEARS else None,
    )
    return tuple(note for note in found if note is not None)
