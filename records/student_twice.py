"""Rows of one list that speak of the same student and contradict each other.

Which of them is right nobody can tell from the list: whichever came last would count, and each time that the list is
given to correct the logbook, the figures would move to and fro. So neither is taken.
"""

from collections.abc import Iterator, Sequence
from typing import TypeAlias

from .student_texts import Said

Fact: TypeAlias = tuple[str, object]
"""The column, and of what: the day of a rest or a ceiling, the day and the kind of exercise of a maximum."""


def contradictions(said: Sequence[Said | None]) -> dict[int, tuple[tuple[int, ...], tuple[str, ...]]]:
    """Each row that others contradict, by its place: the places of all rows of that student that do, and the columns.

    Two rows contradict each other where both fill in a column and say something else in it. Conditions add up; what
    was measured or set on two days, or in two kinds of exercise, are two things; and a rest without a posture says
    nothing against one with.

    said : what each row says; None where it says nothing that could be read
    """
    told: dict[tuple[str, Fact], dict[object, list[int]]] = {}
    for place, row in enumerate(said):
        if row is None:
            continue
        for fact, value in _facts(row):
            told.setdefault((row.code, fact), {}).setdefault(value, []).append(place)
    columns: dict[str, list[str]] = {}
    places: dict[str, set[int]] = {}
    for (code, (column, _)), values in told.items():
        if len(values) > 1:
            columns.setdefault(code, []).append(column)
            places.setdefault(code, set()).update(*values.values())
    found: dict[int, tuple[tuple[int, ...], tuple[str, ...]]] = {}
    for code, all_places in places.items():
        shown = (tuple(sorted(all_places)), tuple(dict.fromkeys(columns[code])))
        found.update(dict.fromkeys(shown[0], shown))
    return found


def _facts(row: Said) -> Iterator[tuple[Fact, object]]:
    """What a row says, one thing after the other."""
    plain = (("born", row.born), ("sex", row.sex), ("notes", row.notes or None))
    yield from (((column, None), value) for column, value in plain if value is not None)
    if row.rest is not None:
        yield ("rest", row.rest.on), row.rest.bpm
        if row.rest.posture:
            yield ("posture", row.rest.on), _plain(row.rest.posture)
    if row.maximum is not None:
        yield ("max", (row.maximum.on, _plain(row.maximum.exercise or ""))), row.maximum.bpm
    if row.ceiling is not None:
        yield ("ceiling", row.ceiling.set_on), row.ceiling.bpm
        yield ("set_by", row.ceiling.set_on), row.ceiling.set_by
    answers = (("can", row.can), ("needs", row.needs))
    yield from (((column, None), frozenset(words)) for column, words in answers if words is not None)


def _plain(text: str) -> str:
    return " ".join(text.lower().split())
