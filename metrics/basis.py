"""The basis of a sheet: rest, maximum, and whether figures of the reserve may be given at all for this student.

The same basis is used for a baseline and its re-test, so that its error cancels from the change.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import BasisError
from .conditions import (
    ARMS_ONLY_CAUTION,
    GENERAL_CAUTIONS,
    POWER_CHAIR_CAUTION,
    Condition,
    find_condition,
)
from .maximum import EQUATIONS, predicted_maximum
from .reserve import check_rate

SEXES = ("female", "male")


@dataclass(frozen=True, slots=True)
class Maximum:
    """A maximum heart rate.  ``bpm`` [beats/min]; ``see_bpm`` is None for a measured one or an unpublished error."""

    bpm: float
    how: str
    see_bpm: float | None = None
    predicted: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Basis:
    """Rest, maximum, or the reason why there is none, and the student's conditions.

    ``maximum`` is None with ``no_reserve`` saying why. ``asked`` is true where a maximum or an age was given, which
    asks for figures of the reserve.
    """

    rest_bpm: float | None = None
    maximum: Maximum | None = None
    no_reserve: str = ""
    asked: bool = False
    conditions: tuple[Condition, ...] = ()
    arms_only: bool = False
    power_chair: bool = False
    sex: str | None = None

    def cautions(self) -> tuple[str, ...]:
        """Every caution that the sheet must carry, each once."""
        found: list[str] = list(GENERAL_CAUTIONS)
        if self.arms_only and (self.maximum is None or self.maximum.predicted):
            found.append(ARMS_ONLY_CAUTION)
        if self.power_chair:
            found.append(POWER_CHAIR_CAUTION)
        for condition in self.conditions:
            found += ([condition.reason] if condition.reason else []) + list(condition.cautions)
        return tuple(dict.fromkeys(found))


def choose_basis(
    *,
    rest_bpm: float | None = None,
    measured_max_bpm: float | None = None,
    age_years: float | None = None,
    equation: str | None = None,
    conditions: Sequence[str] = (),
    arms_only: bool = False,
    power_chair: bool = False,
    sex: str | None = None,
) -> Basis:
    """Settle rest and maximum by the rules of the trade.

    A measured maximum wins; then an equation that fits the person, with its error. Where a condition means that
    heart rate does not follow effort, or that age says nothing about its maximum, there is none.

    Raises
    ------
    BasisError
        For values no heart has, a rest not below the maximum, or an unknown condition, equation or sex.
    """
    known = tuple(dict.fromkeys(find_condition(name) for name in conditions))
    if sex is not None and sex not in SEXES:
        raise BasisError(f"“{sex}” is not a value for sex here.", mend="Use female or male, or leave it out.")
    if rest_bpm is not None:
        check_rate(rest_bpm, "rest")
    legs = not (arms_only or power_chair)
    if equation is not None and equation not in EQUATIONS:
        raise BasisError(f"there is no equation “{equation}”.", mend=f"Use one of {', '.join(EQUATIONS)}.")
    maximum, why_not = _maximum(measured_max_bpm, age_years, equation, known, legs=legs)
    if maximum is not None and rest_bpm is not None and rest_bpm >= maximum.bpm:
        raise BasisError(
            f"rest ({rest_bpm:g} /min) is not below the maximum ({maximum.bpm:g} /min).",
            mend="Look at both: one of them is wrong.",
        )
    asked = measured_max_bpm is not None or age_years is not None or equation is not None
    return Basis(
        rest_bpm=rest_bpm,
        maximum=maximum,
        no_reserve=why_not,
        asked=asked,
        conditions=known,
        arms_only=arms_only,
        power_chair=power_chair,
        sex=sex,
    )


def _maximum(
    measured: float | None,
    age_years: float | None,
    equation: str | None,
    conditions: tuple[Condition, ...],
    *,
    legs: bool,
) -> tuple[Maximum | None, str]:
    """The maximum, or None and the reason."""
    blocking = next((each for each in conditions if each.blocks_reserve), None)
    if blocking is not None:
        return None, f"Not given: {blocking.title}. {blocking.reason} The cardiology plan decides."
    if measured is not None:
        check_rate(measured, "the maximum")
        return Maximum(measured, "measured"), ""
    blocking = next((each for each in conditions if each.blocks_prediction), None)
    if blocking is not None:
        return None, (
            f"Not given: {blocking.title}. {blocking.reason} "
            "A maximum measured in the same kind of exercise (--max) would allow it."
        )
    if age_years is None:
        return None, "Not given: no maximum is known. Give a measured one (--max) or the month of birth (--born)."
    return _predicted(age_years, equation, conditions, legs=legs), ""


def _predicted(age_years: float, equation: str | None, conditions: tuple[Condition, ...], *, legs: bool) -> Maximum:
    """A maximum from age by the equation asked for, or the one that fits the person.

    legs : the legs do the work, as in the trials that the equations come from
    """
    names = {condition.name for condition in conditions}
    chosen = equation or _fitting(names, age_years, legs=legs)
    if chosen == "verschuren-cp" and not legs:
        raise BasisError(
            "the value for youth with cerebral palsy comes from walking and running and does not hold for other work.",
            mend="Leave --equation out, or give a measured maximum.",
        )
    prediction = predicted_maximum(chosen, age_years, down_syndrome="down-syndrome" in names)
    note = prediction.note
    if not legs:
        note += " It comes from leg work; other work peaks lower by an unknown amount: these zones read too low."
    if "intellectual-disability" in names and chosen != "fernhall-id":
        note += " Another equation was published for people with an intellectual disability (fernhall-id)."
    how = f"predicted from age {age_years:.1f} by {EQUATIONS[chosen].told}"
    if not (EQUATIONS[chosen].per_year or EQUATIONS[chosen].per_down):
        how = f"predicted, whatever the age, by {EQUATIONS[chosen].told}"
    return Maximum(prediction.bpm, how, prediction.see_bpm, predicted=True, note=note)


def _fitting(names: set[str], age_years: float, *, legs: bool) -> str:
    """The equation published for people like this student, in work like this."""
    if names & {"down-syndrome", "intellectual-disability"}:
        return "fernhall-id"
    if "cerebral-palsy" in names and legs and 6 <= age_years < 20:
        return "verschuren-cp"
    return "tanaka"
