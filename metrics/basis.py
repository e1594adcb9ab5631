"""The basis of a sheet: rest, maximum, and whether figures of the reserve may be given at all for this student.

The same basis is used for a baseline and its re-test, so that its error cancels from the change.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import BasisError
from ..words.message import Message
from .conditions import (
    ARMS_ONLY_CAUTION,
    GENERAL_CAUTIONS,
    POWER_CHAIR_CAUTION,
    Condition,
    find_condition,
)
from .maximum import EQUATIONS, Equation, check_age, equation_for, known_equation, predicted_maximum, why_not
from .messages import heart_rate as say
from .reserve import check_rate

SEXES = ("female", "male")


@dataclass(frozen=True, slots=True)
class Maximum:
    """A maximum heart rate.  ``bpm`` [beats/min]; ``see_bpm`` is None for a measured one or an unpublished error."""

    bpm: float
    how: Message
    see_bpm: float | None = None
    predicted: bool = False
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class Basis:
    """Rest, maximum, or the reason why there is none, and the student's conditions.

    ``maximum`` is None with ``no_reserve`` saying why. ``asked`` is true where a maximum or an age was given, which
    asks for figures of the reserve.
    """

    rest_bpm: float | None = None
    maximum: Maximum | None = None
    no_reserve: Message | None = None
    asked: bool = False
    conditions: tuple[Condition, ...] = ()
    arms_only: bool = False
    power_chair: bool = False
    sex: str | None = None

    def cautions(self) -> tuple[Message, ...]:
        """Every caution that the sheet must carry, each once."""
        found = list(GENERAL_CAUTIONS)
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
    walking: bool = True,
    sex: str | None = None,
) -> Basis:
    """Settle rest and maximum by the rules of the trade.

    A measured maximum wins; then an equation that holds for the person, the age and the work, with its error. Where a
    condition means that heart rate does not follow effort, or that age says nothing about its maximum, or where no
    equation holds, there is none, and ``no_reserve`` says why.

    Parameters
    ----------
    walking : the student walks or runs and no device carries the body (a gait trainer does); False with ``arms_only``
        and ``power_chair`` whatever is given

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
    if measured_max_bpm is not None:
        check_rate(measured_max_bpm, "the maximum")
    wanted = None if equation is None else known_equation(equation)
    legs = not (arms_only or power_chair)
    asked = measured_max_bpm is not None or age_years is not None or wanted is not None
    measured = None if measured_max_bpm is None else Maximum(measured_max_bpm, say.BASIS_MAXIMUM_MEASURED)
    maximum, why = measured, why_forbidden(known, predicted=measured is None, legs=legs)
    if measured is None and not why:
        maximum, why = _predicted(age_years, wanted, known, legs=legs, walking=walking and legs)
    maximum = None if why else maximum
    if maximum is not None and rest_bpm is not None and rest_bpm >= maximum.bpm:
        raise BasisError(
            f"rest ({rest_bpm:g} /min) is not below the maximum ({maximum.bpm:g} /min).",
            mend="Check both: one of them is wrong.",
        )
    return Basis(
        rest_bpm=rest_bpm,
        maximum=maximum,
        no_reserve=why,
        asked=asked,
        conditions=known,
        arms_only=arms_only,
        power_chair=power_chair,
        sex=sex,
    )


def why_forbidden(conditions: Sequence[Condition], *, predicted: bool, legs: bool) -> Message | None:
    """Why a condition forbids every figure of the reserve, or those by a predicted maximum; None if none does.

    legs : the legs do the work
    """
    for each in conditions:
        if each.blocks_reserve and each.reason:
            return say.why_no_reserve(each.name, each.reason)
    for each in conditions:
        if predicted and each.reason and (each.blocks_prediction or (each.blocks_in_arms and not legs)):
            return say.why_no_prediction(each.name, each.reason)
    return None


def _predicted(
    age_years: float | None, wanted: Equation | None, conditions: Sequence[Condition], *, legs: bool, walking: bool
) -> tuple[Maximum | None, Message | None]:
    """A maximum from age by the equation asked for, or the one for people like the student; else the reason.

    legs : the legs do the work, as in the trials that the equations come from
    """
    if age_years is None:
        return None, say.WHY_NO_MAXIMUM
    check_age(age_years)
    names = [condition.name for condition in conditions]
    chosen = wanted or EQUATIONS[equation_for(names)]
    wrong = why_not(chosen, age_years, names, walking=walking)
    if wrong:
        return None, say.why_no_equation(wrong)
    prediction = predicted_maximum(chosen.name, age_years, conditions=names, walking=walking)
    notes = prediction.notes if legs else (*prediction.notes, say.NOTE_LEG_WORK)
    how = say.basis_maximum_predicted(age_years, chosen.name)
    if not (chosen.per_year or chosen.per_down):
        how = say.basis_maximum_taken(chosen.name)
    return Maximum(prediction.bpm, how, prediction.see_bpm, predicted=True, notes=notes), None
