"""A backup: one zip of everything a logbook holds, every part with its SHA-256.

manifest.json        version, counts, and hash and size of every other member
TABLE.jsonl          a row a line, without seals
originals/SHA256     the kept files, byte for byte

It is the same from SQLite and from PostgreSQL, so that a school's logbook can move to the district's server.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import IO
from zipfile import ZIP_DEFLATED, ZipFile

from sqlalchemy import Connection, Table, func, select

from ... import __version__
from ...errors import AlreadyThere, TooLarge, UnreadableFile
from ...words.message import Json
from ..day_entry import without_file_names
from ..trial import BY_FILE, Trial
from ..value import KEPT
from .archive import FOLDER, FORMAT, LIST, MOST_PARTS, TABLES, Manifest, verify
from .atomic_files import whole_files
from .cells import Row, text, whole
from .day_entries import entry_of, entry_row
from .failures import told
from .history import change_of, change_row, without_files
from .logbook import Logbook
from .originals import unpacked
from .outputs import refuse_own
from .rows import kept_sheet, sheet_text
from .seals import damaged, unsealed
from .tables import day_entries, details, files, history, originals, sheets, trials
from .version import SCHEMA

_PACKING = 4
"""Of zlib's levels the one that pays: a table of movement takes a third of the time of level 6, for 11 % more room. Not
every program could open a zip packed by anything newer."""
_FILE_COUNT = [column.name for column in trials.columns].index("file_count")


def back_up(
    logbook: Logbook,
    path: str | Path,
    *,
    with_originals: bool = True,
    progress: Callable[[int, int], None] | None = None,
) -> Manifest:
    """Write one state of the logbook to a new file, and read it again to verify every hash.

    It is written under another name, forced to the disk, and renamed: a file of that name is whole.

    Parameters
    ----------
    with_originals : False leaves the recordings out, and the names that they were given; a logbook restored from it has
        every figure, and none can be worked out again
    progress : called with how many originals are done, and of how many

    Raises
    ------
    AlreadyThere
        If there is a file of that name.
    UnreadableFile
        If there is no such folder.
    LogbookDamaged
        If something in the logbook does not agree with its seal or hash; no backup is left then.
    """
    target = Path(path)
    refuse_own(logbook, [target])
    with told(str(path), writing=True, beside=True):
        there = _is_there(target)
        folder = target.parent.is_dir()
    if not folder:  # a drive that is not plugged in looks the same, so no folder is made
        raise UnreadableFile(
            "there is no such folder.", where=str(target.parent), mend="Make it, or name another place."
        )
    if there:
        raise AlreadyThere(
            "there is a file of this name.", where=str(path), mend="Nothing is overwritten: name another."
        )
    found: list[Manifest] = []
    with (
        told(str(path), writing=True, beside=True),
        whole_files([target], last_look=lambda parts: found.append(verify(parts[0]))) as (handle,),
    ):
        _write(logbook, handle, progress or (lambda _done, _of: None), with_originals=with_originals)
    return found[0]


def _is_there(target: Path) -> bool:
    """Whether there is something of that name, a link that leads nowhere too."""
    try:
        target.lstat()
    except FileNotFoundError:
        return False
    return True


def _write(logbook: Logbook, handle: IO[bytes], progress: Callable[[int, int], None], *, with_originals: bool) -> None:
    """Every member, and the manifest last."""
    members: dict[str, tuple[str, int]] = {}
    counts: dict[str, int] = {}
    with logbook.reading() as connection, ZipFile(handle, "w", ZIP_DEFLATED, compresslevel=_PACKING) as archive:
        for table in TABLES:
            name = f"{table.name}.jsonl"
            rows = _rows(connection, table)
            counter = _Counter(rows if with_originals else _without_originals(connection, table, rows))
            members[name] = _member(archive, name, (_line(row) for row in counter))
            counts[table.name] = counter.count
        _refuse_gaps(connection, counts)
        hashes = _hashes(connection) if with_originals else []
        counts[originals.name] = len(hashes)
        if len(hashes) + len(TABLES) >= MOST_PARTS:
            raise TooLarge(
                f"it keeps more than {MOST_PARTS:,} recordings, and one backup holds no more.",
                where=logbook.place.shown,
                mend="Back it up with the tools of its database, or leave the recordings out.",
            )
        for done, sha256 in enumerate(hashes, 1):
            row = connection.execute(select(originals).where(originals.c.sha256 == sha256)).one()
            members[FOLDER + sha256] = _member(archive, FOLDER + sha256, iter([unpacked(*row)]))
            progress(done, len(hashes))
        page = {
            "format": FORMAT,
            "schema": SCHEMA,
            "ownmark": __version__,
            "made": datetime.now(UTC).isoformat(timespec="seconds"),
            "with_originals": with_originals,
            "counts": counts,
            "members": {name: {"sha256": sha256, "size": size} for name, (sha256, size) in members.items()},
        }
        archive.writestr(LIST, json.dumps(page, indent=1))


def _hashes(connection: Connection) -> list[str]:
    return [row[0] for row in connection.execute(select(originals.c.sha256).order_by(originals.c.sha256))]


def _without_originals(connection: Connection, table: Table, rows: Iterator[Row]) -> Iterator[Row]:
    """The rows of a table as if no trial had a file: neither its recording nor the name that it was given."""
    if table is files:
        return
    for row in rows:
        if table is history:
            yield change_row(whole(row[0]), without_files(change_of(row[1:])))[:-1]
        elif table is day_entries:
            bare = without_file_names(entry_of(row, kept=True))
            if bare is not None:
                yield entry_row(bare)[:-1]
        elif table is trials:
            yield (*row[:_FILE_COUNT], 0, *row[_FILE_COUNT + 1 :])
        elif table is details:
            yield (
                row[0],
                json.dumps(
                    {**json.loads(text(row[1])), "files": [], **{name: dict[str, Json]() for name in BY_FILE}},
                    ensure_ascii=False,
                ),
            )
        elif table is sheets:
            found = connection.execute(select(details).where(details.c.trial_id == row[0])).one_or_none()
            trial = Trial.model_validate_json(text(unsealed(found or (), f"trial {row[0]}")[1]), context=KEPT)
            yield row[0], sheet_text(kept_sheet(text(row[1]), trial.files))
        else:
            yield row


class _Counter:
    """Rows, counted as they pass."""

    def __init__(self, rows: Iterator[Row]) -> None:
        self.rows = rows
        self.count = 0

    def __iter__(self) -> Iterator[Row]:
        for row in self.rows:
            self.count += 1
            yield row


def _rows(connection: Connection, table: Table) -> Iterator[Row]:
    """Rows without their seals, each seal checked, some thousand at a time."""
    query = select(table).order_by(*table.primary_key.columns)
    with connection.execution_options(yield_per=2000).execute(query) as rows:
        for row in rows:
            yield unsealed(row, f"a row of {table.name}")


def _line(row: Row) -> bytes:
    plain = [value.isoformat() if isinstance(value, date) else value for value in row]
    return json.dumps(plain, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _member(archive: ZipFile, name: str, pieces: Iterator[bytes]) -> tuple[str, int]:
    """Write a member; its hash and size."""
    digest, size = hashlib.sha256(), 0
    with archive.open(name, "w", force_zip64=True) as member:
        for piece in pieces:
            member.write(piece)
            digest.update(piece)
            size += len(piece)
    return digest.hexdigest(), size


def _refuse_gaps(connection: Connection, counts: Mapping[str, int]) -> None:
    """See that there are as many rows as the trials vouch for."""
    vouched = [0, 0]
    columns = (trials.c.has_sheet, trials.c.file_count)
    for row in connection.execute(select(*columns)):
        vouched = [have + int(more) for have, more in zip(vouched, row, strict=True)]
    held = connection.execute(select(func.count()).select_from(files)).scalar_one()
    there = [counts["sheets"], held]
    if vouched != there or counts["details"] != counts["trials"]:
        raise damaged("what belongs to a trial")
