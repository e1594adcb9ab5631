"""What lies in the folders of a batch and is named by no table, so that no school's day is missing unseen."""

import os
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from ...errors import OwnmarkError
from ..address import Place, is_folder
from ..class_table import kind_of, lacking_of
from ..spreadsheet import header_of
from .tables import Table, folders_in

_TABLE_ENDS = (".csv", ".xlsx", ".txt", ".tsv")
_OF_PROGRAMS = frozenset({"thumbs.db", "desktop.ini", "reasons.csv"})
"""Files that no person put there."""
_OPEN_IN_A_PROGRAM = "~$"
Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class Nearly:
    """A file whose first line is nearly that of a class table.

    lacking : the columns that it has not; none where only its ending is another than that of a table
    """

    path: Place
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unused:
    """A folder with something in it that no table names.

    has_table : whether a class table lies in it
    nearly : files that are nearly class tables
    files : the others, the smallest first, because a table is smaller than a recording
    links : what only points elsewhere, and is never followed
    """

    folder: Place
    has_table: bool
    nearly: tuple[Nearly, ...]
    files: tuple[Place, ...]
    links: tuple[Place, ...]

    def as_json(self) -> Json:
        """Plain values, for a program."""
        return {
            "folder": str(self.folder),
            "has_table": self.has_table,
            "nearly_tables": [{"file": each.path.name, "lacking": list(each.lacking)} for each in self.nearly],
            "files": [each.name for each in self.files],
            "links": [each.name for each in self.links],
        }


def name_of(path: Place) -> str:
    """A place by one name, however a row writes the way to it."""
    text = str(path)
    return text if "://" in text else os.path.normcase(os.path.abspath(text))  # noqa: PTH100 links stay as they are


def unused_in(arguments: Sequence[Place], tables: Sequence[Table], named: Collection[str]) -> tuple[Unused, ...]:
    """Folder by folder what no table names.

    Beside a table that could not be read only what is nearly a table: nobody knows which files its rows name.

    Parameters
    ----------
    tables : those that were found in the arguments
    named : by ``name_of``, what was read: tables, their lists of straps, and the files of their rows
    """
    with_table = {name_of(each.path.parent) for each in tables}
    unread = {name_of(each.path.parent) for each in tables if name_of(each.path) not in named}
    own = {name_of(each.path) for each in tables}
    seen: set[str] = set()
    found: list[Unused] = []
    for folder, listed in _each_folder(arguments):
        name = name_of(folder)
        if name in seen:
            continue
        seen.add(name)
        left = [each for each in listed if name_of(each) not in named and name_of(each) not in own]
        unused = _sorted_out(folder, left, has_table=name in with_table, known=name not in unread)
        if unused.nearly or unused.files or unused.links:
            found.append(unused)
    return tuple(found)


def _each_folder(arguments: Sequence[Place]) -> Iterator[tuple[Place, list[Place]]]:
    for argument in arguments:
        if is_folder(argument):
            yield from ((folder, listed) for folder, listed in folders_in(argument) if not isinstance(listed, OSError))


def _sorted_out(folder: Place, left: Sequence[Place], *, has_table: bool, known: bool) -> Unused:
    links = tuple(each for each in left if each.is_symlink())
    files = [each for each in left if each not in links and not _of_a_program(each) and each.is_file()]
    nearly = tuple(each for each in map(_nearly, files) if each is not None)
    near = {each.path for each in nearly}
    others = [each for each in files if known and each not in near]
    return Unused(folder, has_table, nearly, tuple(sorted(others, key=_bytes)), links)


def _bytes(path: Place) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _of_a_program(path: Place) -> bool:
    return path.name.casefold() in _OF_PROGRAMS or path.name.startswith(_OPEN_IN_A_PROGRAM)


def _nearly(path: Place) -> Nearly | None:
    if path.suffix.lower() not in _TABLE_ENDS:
        return None
    try:
        header = header_of(path)
    except OwnmarkError:
        return None
    lacking = lacking_of(header)
    return None if lacking is None or kind_of(header) == "straps" else Nearly(path, lacking)
