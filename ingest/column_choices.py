"""Which of several files a named column is meant for: the file that a person named, or those that have the column."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePath

from ..errors import IngestError, UsageError
from .containers import Member, members_in
from .excerpt import mark as excerpt
from .formats import HEAD_BYTES
from .recording import Hints
from .table.assignment import called
from .table.columns import PARTS
from .table.reader import headers_of, sniff

_CHOICE = re.compile(rf"(?:(.+?)\s*=\s*)??({'|'.join(PARTS)})\s*=\s*(\S.*)")


@dataclass(frozen=True, slots=True)
class Choices:
    """Columns by part, for every file that has them, and for one file alone by its name."""

    columns: dict[str, str] = field(default_factory=dict[str, str])
    by_file: dict[str, dict[str, str]] = field(default_factory=dict[str, dict[str, str]])


def choices(texts: Iterable[str], names: Sequence[str]) -> Choices:
    """Columns as written: ``heart_rate=HR``, or ``strap.csv=heart_rate=HR`` for that file alone.

    names : of the trial's files, as they are known to whoever calls; a file is also known by its bare name

    Raises
    ------
    UsageError
        If a text is neither, or names no file or several.
    """
    found = Choices()
    for text in texts:
        read = _CHOICE.fullmatch(text.strip())
        if read is None:
            mend = f"Write heart_rate=HR, or strap.csv=heart_rate=HR for one file; there are {', '.join(PARTS)}."
            raise UsageError(f"“{text.strip()}” does not name a column.", mend=mend)
        file, part, header = read.groups()
        if file is None:
            found.columns[part] = header
            continue
        same = [name for name in names if file in (name, PurePath(name).name)]
        if len(same) != 1:
            has = ", ".join(PurePath(name).name for name in names)
            raise UsageError(f"“{text.strip()}” names none of the files.", mend=f"They are {has}.")
        found.by_file.setdefault(same[0], {})[part] = header
    return found


def for_files(originals: Iterable[tuple[str, bytes]], hints: Hints) -> Hints:
    """Hints by which each of a trial's files can be read by itself.

    A column that one of the files has is not missed in the others; one that none of them has is refused in each.

    originals : name and bytes of every file of the trial
    """
    if not hints.columns:
        return hints
    return for_members((each for name, data in originals for each in members_in(data, name, Hints())), hints)


def for_members(members: Iterable[Member | IngestError], hints: Hints) -> Hints:
    """As ``for_files``, of files that are unpacked already."""
    found = set[str]()
    for member in members:
        if not isinstance(member, IngestError):
            found |= _had(member.data, hints)
    return replace(hints, elsewhere=frozenset(found))


def _had(data: bytes, hints: Hints) -> set[str]:
    """The parts whose named column a file has. An excerpt holds no columns any more: it was read by them before."""
    head = data[:HEAD_BYTES]
    if excerpt.sniff(head):
        return set(hints.columns)
    headers = headers_of(data) if sniff(head) else ()
    return {part for part, name in hints.columns.items() if called(name, headers)}
