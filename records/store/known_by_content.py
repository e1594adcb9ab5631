"""A logbook of before version 0008 knew a packed file by its packed bytes; here it learns what each one holds.

What is kept, and what was stated of it, stays byte for byte: only the names by which recordings are known are added.
Of an excerpt out of a packed file nobody knows any more what that file unpacked to; it keeps its older name, and
whoever gives the packed file again is told by that one.
"""

import json
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress

from sqlalchemy import ColumnElement, Connection, Table, case, func, select, update

from ...errors import LogbookDamaged
from ...ingest.containers import content_sha256
from ...ingest.gzip_pieces import GZ
from ...words.message import Json
from ..trial import KeptFile, Trial
from ..value import KEPT
from .bulk import batches
from .cells import Row, text
from .history import let_go, name_contents
from .originals import fetch
from .packing import HEAD_OF_PACKED, head_of
from .rows import same_as
from .seals import sealed, unsealed
from .tables import details, files, history, originals, trials


def know_by_content(connection: Connection) -> frozenset[str]:
    """Name what each packed file that is kept whole holds; give the SHA-256 of what they hold.

    A row that changed on the disk is passed over: its seal goes on to say so.
    """
    named = select(files.c.sha256).where(files.c.recording == files.c.sha256).distinct()
    held = [sha256 for row in connection.execute(select(history.c.held)) for sha256 in row[0].split()]
    hashes = [*(row[0] for row in connection.execute(named)), *held]
    contents = dict(_contents(connection, list(dict.fromkeys(hashes))))
    numbers: list[int] = []
    for some in batches(contents, 500):
        query = select(files.c.trial_id).where(files.c.sha256.in_(some)).distinct()
        numbers += [row[0] for row in connection.execute(query)]
    for number in dict.fromkeys(numbers):
        with suppress(LogbookDamaged):
            _name_in_trial(connection, number, contents)
    name_contents(connection, contents)
    return frozenset(contents.values())


def _contents(connection: Connection, hashes: Collection[str]) -> Iterator[tuple[str, str]]:
    """The SHA-256 of each file that is packed by gzip, with that of what it holds."""
    length = case((originals.c.packed, HEAD_OF_PACKED), else_=len(GZ))
    query = select(originals.c.sha256, originals.c.packed, func.substr(originals.c.data, 1, length))
    for some in batches(hashes, 50):
        heads = connection.execute(query.where(originals.c.sha256.in_(some))).all()
        for sha256, packed, head in heads:
            if not head_of(bytes(head), len(GZ), is_packed=packed).startswith(GZ):
                continue
            try:
                content = content_sha256(fetch(connection, sha256))
            except LogbookDamaged:
                continue
            if content is not None:
                yield sha256, content


def _name_in_trial(connection: Connection, number: int, contents: Mapping[str, str]) -> None:
    """Add to a trial's files what they hold, in every row that says by what they are known."""
    row, what = connection.execute(select(trials).where(trials.c.id == number)).one(), f"trial {number}"
    narrow = unsealed(row, what)
    kept = unsealed(connection.execute(select(details).where(details.c.trial_id == number)).one(), what)
    of_trial = connection.execute(select(files).where(files.c.trial_id == number)).all()
    rows = [unsealed(each, what) for each in of_trial]
    fields: dict[str, list[dict[str, Json]]] = json.loads(text(kept[1]))
    before = Trial.model_validate(fields, context=KEPT)
    for each in fields["files"]:
        if each.get("of") is None and each["sha256"] in contents:
            each["content_sha256"] = contents[str(each["sha256"])]
    after = Trial.model_validate(fields, context=KEPT)
    value = json.dumps(fields, ensure_ascii=False)
    _put(connection, details, details.c.trial_id == number, sealed(number, value))
    for _, place, path, sha256, recording in rows:
        new = contents.get(str(sha256), str(recording)) if recording == sha256 else recording
        here = (files.c.trial_id == number) & (files.c.position == place)
        _put(connection, files, here, sealed(number, place, path, sha256, new))
    again = row.same_as == same_as(before, again=True)
    _put(
        connection, trials, trials.c.id == number, sealed(*narrow[:-1], _apart(connection, row.code, after, again, row))
    )


def _apart(connection: Connection, code: str, after: Trial, again: bool, row: Row) -> str:
    """What tells the trial from the others of its student; the older where it would be one of them."""
    for each in (same_as(after, again=again), same_as(after, again=True)):
        twin = select(trials.c.id).where(trials.c.code == code, trials.c.same_as == each, trials.c.id != row[0])
        if connection.execute(twin).first() is None:
            return each
    return str(row[-2])


def _put(connection: Connection, table: Table, where: ColumnElement[bool], row: Row) -> None:
    """A row in the place of another."""
    values = dict(zip([column.name for column in table.columns], row, strict=True))
    connection.execute(update(table).where(where).values(values))


def sharing(connection: Connection, recordings: Collection[str]) -> tuple[int, ...]:
    """The trials of these recordings of which another student's trial holds one too."""
    shared = [each for each in _holders(connection, recordings) if len({code for _, code in each}) > 1]
    return tuple(sorted({number for each in shared for number, _ in each}))


def let_removed_go(connection: Connection, recordings: Collection[str]) -> None:
    """Removed trials let go of minutes of these recordings that are another student's."""
    given: list[tuple[str, tuple[KeptFile, ...]]] = []
    for number, code in sorted({each for some in _holders(connection, recordings) for each in some}):
        kept = connection.execute(select(details).where(details.c.trial_id == number)).one()
        with suppress(LogbookDamaged):
            fields = json.loads(text(unsealed(kept, f"trial {number}")[1]))
            given.append((code, Trial.model_validate(fields, context=KEPT).files))
    with suppress(LogbookDamaged):
        let_go(connection, given)


def _holders(connection: Connection, recordings: Collection[str]) -> list[set[tuple[int, str]]]:
    """Number and student's code of the trials of each recording."""
    found: dict[str, set[tuple[int, str]]] = {}
    query = select(files.c.recording, trials.c.id, trials.c.code).join(trials, trials.c.id == files.c.trial_id)
    for some in batches(recordings, 500):
        for recording, number, code in connection.execute(query.where(files.c.recording.in_(some))):
            found.setdefault(recording, set()).add((number, code))
    return list(found.values())
