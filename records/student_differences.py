"""What a row of a list says of a student against what the logbook keeps: the same, something new, or something else.

An empty cell says nothing, and no row takes anything away. Where a rest, a maximum or a ceiling has a day, it is held
against what is kept of that very day; without one, against what counts now: a list that still names a ceiling of before
says otherwise.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ..errors import NotAStudent
from ..words.message import Message, Quoted
from . import student_messages as say
from .abilities import MOVEMENTS, SENSES
from .student import Answers, Ceiling, MeasuredRate, Student
from .student_entries import with_entry
from .student_texts import Said


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing of which a row says something that is not kept.

    name : of the student's field
    said, kept : in words, part by part; ``kept`` is empty where nothing is
    """

    name: str
    said: tuple[Message, ...]
    kept: tuple[Message, ...] = ()

    @property
    def told(self) -> Message:
        """What the row says and what is kept."""
        return say.student_row_differs(self.said, self.kept) if self.kept else say.student_row_new(self.said)


def differences(said: Said, kept: Student) -> tuple[Difference, ...]:
    """What a row says otherwise than the student as kept."""
    found = (
        _born(said, kept),
        _sex(said, kept),
        _conditions(said, kept),
        _rest(said, kept),
        _maximum(said, kept),
        _ceiling(said, kept),
        _can(said, kept),
        _needs(said, kept),
        _notes(said, kept),
    )
    return tuple(each for each in found if each is not None)


def besides(said: Said, kept: Student) -> tuple[str, ...]:
    """Conditions that are kept and that a row with conditions does not name."""
    return tuple(each for each in kept.conditions if each not in said.conditions) if said.conditions else ()


def changes(said: Said, kept: Student) -> dict[str, object]:
    """The fields of a student with what a row says otherwise, as ``ownmark student edit`` would make them.

    Raises
    ------
    NotAStudent
        If a ceiling or an ability without a day stands against one with a day, which would go on to count.
    """
    names = {each.name for each in differences(said, kept)}
    new: dict[str, object] = {name: getattr(said, name) for name in ("born", "sex", "notes") if name in names}
    if "conditions" in names:
        new["conditions"] = tuple(dict.fromkeys((*kept.conditions, *said.conditions)))
    if said.rest is not None and "rests" in names:
        new["rests"] = with_entry(kept.rests, said.rest)
    if said.maximum is not None and "maxima" in names:
        new["maxima"] = with_entry(kept.maxima, said.maximum)
    if said.ceiling is not None and "ceilings" in names:
        _refuse_older(said.ceiling, kept)
        new["ceilings"] = with_entry(kept.ceilings, said.ceiling)
    if "answers" in names:
        new["answers"] = _answers(said, kept)
    return new


def parts(said: Said) -> tuple[Message, ...]:
    """All that a row says, in words; the code is left out."""
    return tuple(part for each in differences(said, Student(code=said.code)) for part in each.said)


def _refuse_older(ceiling: Ceiling, kept: Student) -> None:
    last = max((each.set_on for each in kept.ceilings if each.set_on is not None), default=None)
    if ceiling.set_on is None and last is not None:
        raise NotAStudent(say.student_row_ceiling_day(last), mend=say.STUDENT_ROW_CEILING_DAY_MEND)


def _answers(said: Said, kept: Student) -> tuple[Answers, ...]:
    last = kept.answer
    if last is not None and any(each.on is not None for each in kept.answers):
        raise NotAStudent(say.STUDENT_ROW_ABILITIES_DAY, mend=say.STUDENT_ROW_ABILITIES_MEND)
    can = said.can if said.can is not None else last.can if last else ()
    needs = said.needs if said.needs is not None else last.needs if last else ()
    return (Answers.model_validate({"can": can, "needs": needs}),) if can or needs else ()


def _born(said: Said, kept: Student) -> Difference | None:
    if said.born is None or said.born == kept.born:
        return None
    of = [say.student_part_born(Quoted(each)) for each in (said.born, kept.born) if each is not None]
    return Difference("born", tuple(of[:1]), tuple(of[1:]))


def _sex(said: Said, kept: Student) -> Difference | None:
    if said.sex is None or said.sex == kept.sex:
        return None
    of = [say.student_part_sex(each) for each in (said.sex, kept.sex) if each is not None]
    return Difference("sex", tuple(of[:1]), tuple(of[1:]))


def _conditions(said: Said, kept: Student) -> Difference | None:
    if set(said.conditions) <= set(kept.conditions):
        return None
    before = (say.student_part_conditions(kept.conditions),) if kept.conditions else ()
    return Difference("conditions", (say.student_part_conditions(said.conditions),), before)


def _rest(said: Said, kept: Student) -> Difference | None:
    new = said.rest
    if new is None:
        return None
    there = _beside(new, kept.rests)
    if any(each.bpm == new.bpm and new.posture in (None, each.posture) for each in there):
        return None
    return Difference("rests", _of_rest(new), tuple(part for each in there[-1:] for part in _of_rest(each)))


def _maximum(said: Said, kept: Student) -> Difference | None:
    """A maximum is held against those of its own kind of exercise: one of another kind says nothing of it."""
    new = said.maximum
    if new is None:
        return None
    there = _beside(new, [each for each in kept.maxima if _plain(each.exercise) == _plain(new.exercise)])
    if any(each.bpm == new.bpm for each in there):
        return None
    return Difference("maxima", _of_maximum(new), tuple(part for each in there[-1:] for part in _of_maximum(each)))


def _ceiling(said: Said, kept: Student) -> Difference | None:
    new = said.ceiling
    if new is None:
        return None
    last = [kept.ceiling] if kept.ceiling is not None else []
    there = [each for each in kept.ceilings if each.set_on == new.set_on] if new.set_on else last
    if any((each.bpm, each.set_by) == (new.bpm, new.set_by) for each in there):
        return None
    return Difference("ceilings", _of_ceiling(new), tuple(part for each in there[-1:] for part in _of_ceiling(each)))


def _can(said: Said, kept: Student) -> Difference | None:
    before = kept.answer.can if kept.answer else ()
    if said.can is None or set(said.can) == set(before):
        return None
    return Difference("answers", _of_can(said.can), _of_can(before))


def _needs(said: Said, kept: Student) -> Difference | None:
    before = kept.answer.needs if kept.answer else ()
    if said.needs is None or set(said.needs) == set(before):
        return None
    return Difference("answers", _of_needs(said.needs), _of_needs(before) if before else ())


def _notes(said: Said, kept: Student) -> Difference | None:
    if not said.notes or said.notes == kept.notes:
        return None
    return Difference("notes", (say.STUDENT_PART_NOTE,), (say.STUDENT_PART_NOTE,) if kept.notes else ())


def _beside(new: MeasuredRate, kept: Sequence[MeasuredRate]) -> list[MeasuredRate]:
    """What a measured rate is held against: those of its day; of one without a day the last without, and what counts.

    A list of September without days still says the same when something was measured in October.
    """
    if new.on is not None:
        return [each for each in kept if each.on == new.on]
    undated = [each for each in kept if each.on is None][-1:]
    return [*undated, *[each for each in [max(reversed(kept), key=_day, default=None)] if each is not None]]


def _day(each: MeasuredRate) -> date:
    return each.on or date.min


def _plain(text: str | None) -> str | None:
    return None if text is None else " ".join(text.lower().split())


def _of_rest(each: MeasuredRate) -> tuple[Message, ...]:
    return (say.student_part_rest(each.bpm), *_how(each))


def _of_maximum(each: MeasuredRate) -> tuple[Message, ...]:
    return (say.student_part_max(each.bpm), *_how(each))


def _how(each: MeasuredRate) -> tuple[Message, ...]:
    on = (say.student_part_measured(each.on),) if each.on else ()
    return (*on, *(say.student_part_how(Quoted(text)) for text in (each.posture, each.exercise) if text))


def _of_ceiling(each: Ceiling) -> tuple[Message, ...]:
    on = (say.student_part_set(each.set_on),) if each.set_on else ()
    return (say.student_part_ceiling(each.bpm, Quoted(each.set_by)), *on)


def _of_can(can: Sequence[str]) -> tuple[Message, ...]:
    moves = tuple(each for each in MOVEMENTS if each in can)
    senses = tuple(each for each in SENSES if each in can)
    return (
        *((say.student_part_can(moves),) if moves else ()),
        *((say.student_part_senses(senses),) if senses else ()),
    )


def _of_needs(needs: Sequence[str]) -> tuple[Message, ...]:
    return (say.student_part_needs(tuple(needs)),) if needs else (say.STUDENT_PART_NO_NEEDS,)


def plain_values(kept: Student, after: Student) -> Mapping[str, tuple[object, object]]:
    """Each field that is another one, with what is kept and what it would be, as plain values."""
    old, new = kept.model_dump(mode="json"), after.model_dump(mode="json")
    return {name: (old[name], new[name]) for name in old if old[name] != new[name]}
