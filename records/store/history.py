"""What was changed: when, why, and what stood there before. Each row belongs to one student, or to a protocol.

A change of a trial or a student keeps the fields that were changed. A removed trial is kept whole, with its sheet and
its files, until it is put back or its student is forgotten.
"""

import json
import re
import typing
from collections.abc import Collection, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Literal, TypeAlias, TypeVar

from sqlalchemy import Connection, Select, delete, func, select, update

from ...errors import LogbookDamaged
from ...words.message import Json
from ..trial import BY_FILE, KeptFile, Trial
from .bulk import insert_rows
from .cells import Row, text, whole
from .originals import drop_unused
from .rows import kept_sheet, sheet_text
from .seals import sealed, unsealed
from .tables import history


class Readable(typing.Protocol):
    """What is asked of a logbook here."""

    def reading(self) -> AbstractContextManager[Connection]:
        """A transaction that reads one state of it."""
        ...


Kind: TypeAlias = Literal["trial", "student", "protocol"]
What: TypeAlias = Literal["edited", "moved here", "moved away", "removed", "put back", "also earlier"]
KINDS: tuple[Kind, ...] = ("trial", "student", "protocol")
_HASH = re.compile(r'"([0-9a-f]{64})"')
WHATS: tuple[What, ...] = ("edited", "moved here", "moved away", "removed", "put back", "also earlier")


@dataclass(frozen=True, slots=True)
class Change:
    """One change.

    thing : the number of a trial, the code of a student, the name of a protocol
    code : the student whose it is; None for a protocol
    before : the fields that were changed, as they were; of a removed trial all of it
    held : SHA-256 of the files that are kept for it
    made : when, in UTC
    """

    kind: Kind
    thing: str
    code: str | None
    what: What
    why: str = ""
    before: Mapping[str, Json] = field(default_factory=dict[str, Json])
    held: tuple[str, ...] = ()
    made: str = ""

    @property
    def fields(self) -> dict[str, Json]:
        """The fields that were changed, as they were; of a removed trial all of them."""
        found = self.before.get("trial")
        return found if isinstance(found, dict) else dict(self.before)

    def with_fields(self, fields: Mapping[str, Json]) -> "Change":
        """The same change with other fields."""
        return replace(self, before={**self.before, "trial": dict(fields)} if "trial" in self.before else dict(fields))


def remember(connection: Connection, *changes: Change) -> None:
    """Add changes inside the transaction that is open; each that states no time was made now."""
    first = (connection.execute(select(func.max(history.c.id))).scalar_one() or 0) + 1
    now = datetime.now(UTC).isoformat(timespec="seconds")
    insert_rows(connection, history, [change_row(first + n, each, now) for n, each in enumerate(changes)])


def change_row(number: int, change: Change, now: str = "") -> Row:
    """The row of a change."""
    value = json.dumps(change.before, ensure_ascii=False, allow_nan=False)
    made, held = change.made or now, " ".join(change.held)
    return sealed(number, change.kind, change.thing, change.code, change.what, made, change.why, held, value)


def change_from(row: Sequence[object]) -> Change:
    """A change out of its row.

    Raises
    ------
    LogbookDamaged
        If its seal does not fit.
    """
    return change_of(unsealed(row, _called(row))[1:])


def _called(row: Sequence[object]) -> str:
    return f"a change of the {row[1]} {row[2]}"


def change_of(cells: Sequence[object]) -> Change:
    """A change out of a row's cells without number and seal.

    Raises
    ------
    ValueError, TypeError
        If they are none of a change.
    """
    kind, thing, code, what, made, why, held, value = cells
    sort: Kind = _one_of(kind, KINDS)
    did: What = _one_of(what, WHATS)
    whose = None if code is None else text(code)
    before: dict[str, Json] | list[Json] = json.loads(text(value))
    if not isinstance(before, dict):
        raise TypeError("no fields")
    return Change(sort, text(thing), whose, did, text(why), before, tuple(text(held).split()), text(made))


_Known = TypeVar("_Known", bound=str)


def _one_of(cell: object, known: Sequence[_Known]) -> _Known:
    """The one of some words that a cell holds."""
    for each in known:
        if each == cell:
            return each
    raise ValueError("no change")


def check_before(change: Change) -> None:
    """See that what stood there before can have stood there.

    Raises
    ------
    OwnmarkError, ValueError, TypeError, KeyError
        If it is no such state.
    """
    if change.what != "removed" or not change.before:
        if change.held:
            raise ValueError("files of no removed trial")
        return
    trial = removed_trial(change)
    if {each.sha256 for each in trial.files} != set(change.held):
        raise ValueError("other files than the trial's")


def removed_trial(change: Change) -> Trial:
    """The trial that was removed, with its sheet."""
    kept = Trial.model_validate({**change.fields, "code": change.code})
    sheet, by = change.before["sheet"], change.before["by"]
    made = None if sheet is None else kept_sheet(text(sheet), kept.files)
    return kept.model_copy(
        update={"id": int(change.thing), "sheet": made, "computed_by": None if by is None else text(by)}
    )


def without_files(change: Change) -> Change:
    """A change as if no trial had a file: neither their bytes nor the names that they were given."""
    fields = change.fields
    empty: dict[str, Json] = {"files": list[Json](), **{name: dict[str, Json]() for name in BY_FILE}}
    bare = {name: each for name, each in empty.items() if name in fields}
    if change.before.get("sheet") is not None:
        sheet = removed_trial(change).sheet
        before = {**change.before, "sheet": None if sheet is None else sheet_text(sheet)}
        change = replace(change, before=before)
    return replace(change.with_fields({**fields, **bare}), held=())


def fields_of(trial: Trial) -> dict[str, Json]:
    """What was written down of a trial, as its history keeps it: whose it is stands in the row."""
    return trial.model_dump(mode="json", exclude={"id", "code", "sheet", "computed_by"})


def history_of(logbook: Readable, kind: Kind, thing: str | int) -> tuple[Change, ...]:
    """All changes of a trial, a student or a protocol, the first first."""
    return _found(logbook, _of(kind, str(thing)))


def history_of_student(logbook: Readable, code: str) -> tuple[Change, ...]:
    """All changes of a student and of the student's trials, the removed ones too, the first first."""
    return _found(logbook, select(history).where(func.coalesce(history.c.code, "") == code))


def _found(logbook: Readable, query: Select[tuple[object, ...]]) -> tuple[Change, ...]:
    with logbook.reading() as connection:
        return tuple(map(change_from, connection.execute(query.order_by(history.c.id)).all()))


def _of(kind: Kind, thing: str) -> Select[tuple[object, ...]]:
    return select(history).where(history.c.kind == kind, history.c.thing == thing)


def removal(connection: Connection, number: int) -> Change | None:
    """How a trial was removed that is not in the logbook now; None if it never was, or is back."""
    rows = connection.execute(_of("trial", str(number)).order_by(history.c.id)).all()
    last = [change for change in map(change_from, rows) if change.what in ("removed", "put back")][-1:]
    return last[0] if last and last[0].what == "removed" else None


def give_to(connection: Connection, number: int, code: str) -> None:
    """The history of a trial goes with it to another student."""
    for row in connection.execute(_of("trial", str(number))).all():
        _rewrite(connection, whole(row[0]), replace(change_from(row), code=code))


def empty_removals(connection: Connection, number: int) -> None:
    """A trial that is back holds its files itself: what stood in its history in their place goes."""
    for row in connection.execute(_of("trial", str(number)).where(history.c.what == "removed")).all():
        _rewrite(connection, whole(row[0]), replace(change_from(row), before={}, held=()))


def name_contents(connection: Connection, contents: Mapping[str, str]) -> None:
    """Say of the files of removed trials what they hold, by their own SHA-256; a row that was changed stays so."""
    for row in connection.execute(select(history).where(history.c.held != "")).all():
        if contents.keys().isdisjoint(row.held.split()):
            continue
        with suppress(LogbookDamaged):
            change = change_from(row)
            kept = [_with_content(KeptFile.model_validate(each), contents) for each in _list(change.fields["files"])]
            _rewrite(connection, whole(row[0]), change.with_fields({**change.fields, "files": kept}))


def _with_content(file: KeptFile, contents: Mapping[str, str]) -> Json:
    content = None if file.of else contents.get(file.sha256)
    return file.model_copy(update={"content_sha256": content or file.content_sha256}).model_dump(mode="json")


def _list(found: Json) -> list[Json]:
    return found if isinstance(found, list) else []


def _rewrite(connection: Connection, number: int, change: Change) -> None:
    """Put a change in the place of the one of its number."""
    names = [column.name for column in history.columns]
    values = dict(zip(names, change_row(number, change), strict=True))
    connection.execute(update(history).where(history.c.id == number).values(values))


def let_go(connection: Connection, given: Iterable[tuple[str, Iterable[KeptFile]]]) -> None:
    """Removed trials of others let go of minutes of a recording that turn out to be a student's.

    What a student's trial holds was that student's heart: no other one's history may keep it. The change stays in the
    history, without the trial's files and sheet.

    given : a student's code and the files of a trial, of each trial that was just put there. What was removed is gone
        through once for all of them, and a removed trial is read only where one of their recordings is named in it:
        with 300 of them, reading each for every new trial took 160 times as long as storing it.
    """
    mine: dict[str, list[tuple[str, KeptFile]]] = {}
    for code, files in given:
        for each in files:
            mine.setdefault(each.recording, []).append((code, each))
    if not mine:
        return
    for row in connection.execute(select(history).where(history.c.held != "")).all():
        cells = unsealed(row, _called(row))
        if mine.keys().isdisjoint(_HASH.findall(text(row.value))):
            continue
        change = change_of(cells[1:])
        theirs = removed_trial(change).files
        if any(_others(change, each, mine.get(each.recording, ())) for each in theirs):
            _rewrite(connection, whole(row[0]), replace(change, before={}, held=()))
            drop_unused(connection, change.held)


def _others(change: Change, removed: KeptFile, now: Iterable[tuple[str, KeptFile]]) -> bool:
    """Whether minutes of what is kept of a removed trial are another student's now."""
    return any(code != change.code and overlap(removed, each) for code, each in now)


def overlap(one: KeptFile, other: KeptFile) -> bool:
    """Whether two of what is kept of one recording share any of its minutes."""
    if one.part_s is None or other.part_s is None:
        return True
    return one.part_s[0] < other.part_s[1] and other.part_s[0] < one.part_s[1]


def forget_changes(connection: Connection, code: str) -> Collection[str]:
    """Remove every change of a student, and give the hashes of the files that were kept for them."""
    of_code = func.coalesce(history.c.code, "") == code
    held = [sha256 for row in connection.execute(select(history.c.held).where(of_code)) for sha256 in row[0].split()]
    connection.execute(delete(history).where(of_code))
    return dict.fromkeys(held)
