"""Class tables out of arguments and folders, each with the list of straps that belongs to it."""

import re
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from ...errors import NotATrial, OwnmarkError, UnreadableFile
from ..address import Place, is_there, within
from ..class_table import Row, kind_of, read_class
from ..spreadsheet import header_of, rows_of

ENDS = (".csv", ".xlsx")
ASIDE = "-aside"
_OF_THE_DRIVE = frozenset({"$recycle.bin", "system volume information", "__macosx"})
"""Folders that an operating system keeps on a drive: what was deleted, and what no person put there."""
_TRIES = 3


@dataclass(frozen=True, slots=True)
class Table:
    """A class table that was found.

    straps : the list of who wore which strap; None where there is none
    aside : where its files go that cannot be read
    refused : why it cannot be taken
    inside : only what lies in this folder is copied aside, and only to a place in it; None: whatever the table names
    """

    path: Place
    straps: Place | None
    aside: Path
    refused: OwnmarkError | None = None
    inside: Path | None = None


@dataclass(frozen=True, slots=True)
class _Seen:
    """A file that may be a table, by the argument's folder; or a folder that cannot be looked into, and why."""

    path: Place
    root: Place
    refused: OwnmarkError | None = None


def tables_in(arguments: Sequence[Place], aside: Path | None = None) -> tuple[Table, ...]:
    """Every class table that the arguments name or hold, each once, in the order of the arguments and of their names.

    A folder is walked; hidden files, links, folders of files that were put aside, and whatever is no class table are
    passed over. A table that is named itself is taken whatever its header says: its own reading tells.

    aside : the folder in which bad files of each table get one of their own; None: it is made beside the table

    Raises
    ------
    UnreadableFile
        If an argument is not there, or a folder holds no class table.
    """
    kinds = _Kinds({})
    found: dict[Place, _Seen] = {}
    for argument in arguments:
        seen = [_Seen(argument, argument.parent)] if _is(argument.is_file) else _walked(argument, kinds)
        for each in seen:
            found.setdefault(each.path.resolve(), each)
    taken: set[Path] = set()
    tables: list[Table] = []
    for each in found.values():
        table = _with_straps(each, kinds)
        inside = each.root if aside is None and isinstance(each.root, Path) else None
        tables.append(replace(table, aside=_aside(each, aside, taken), inside=inside))
    return tuple(tables)


def read_table(table: Table) -> tuple[Row, ...]:
    """The rows of a table, of one state of its file.

    Raises
    ------
    OwnmarkError
        As ``read_class``; if the file is being written all the time.
    """
    if table.refused is not None:
        raise table.refused
    for _ in range(_TRIES):
        before = [_state(each) for each in (table.path, table.straps)]
        rows = read_class(table.path, table.straps)
        if before == [_state(each) for each in (table.path, table.straps)]:
            return rows
    raise UnreadableFile("it changes while it is read.", where=str(table.path), mend="Close it in other programs.")


def row_count(table: Table) -> int:
    """How many rows it has, about; nothing where it cannot be read."""
    try:
        return 0 if table.refused is not None else len(rows_of(table.path)) - 1
    except OwnmarkError:
        return 0


def _state(path: Place | None) -> tuple[int, float] | None:
    if path is None:
        return None
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime


@dataclass(frozen=True, slots=True)
class _Kinds:
    """What each file is by its header, and which files lie in a folder, looked at once."""

    known: dict[Place, str]
    near: dict[Place, list[Place]] = field(default_factory=dict["Place", "list[Place]"])

    def of(self, path: Place) -> str:
        """A class table, a list of straps, or neither (empty)."""
        if path not in self.known:
            try:
                self.known[path] = kind_of(header_of(path))
            except OwnmarkError:
                self.known[path] = ""
        return self.known[path]

    def beside(self, path: Place, kind: str) -> list[Place]:
        """The files of a kind in the folder of a table."""
        folder = path.parent
        if folder not in self.near:  # a thousand tables can lie in one folder, beside the recordings of all of them
            try:
                self.near[folder] = [each for each in sorted(folder.iterdir(), key=_name) if _may_be_table(each)]
            except OSError:
                return []
        return [each for each in self.near[folder] if self.of(each) == kind]


def _walked(folder: Place, kinds: _Kinds) -> list[_Seen]:
    """The class tables in a folder."""
    if not _is(folder.is_dir):
        what = "this is a device or a pipe, not a file" if is_there(folder) else "there is no such file or folder"
        raise UnreadableFile(f"{what}.", where=str(folder), mend="Look at the name.")
    found = [each for each in _candidates(folder) if each.refused is not None or kinds.of(each.path) == "class"]
    if not found:
        raise UnreadableFile(
            "it holds no class table.",
            where=str(folder),
            mend="A class table is a .csv or .xlsx file whose first line names the columns code and protocol.",
        )
    return found


def _candidates(root: Place) -> Iterator[_Seen]:
    """Every file in a folder that may be a table, by name; those of a folder before those of the folders in it."""
    for folder, listed in folders_in(root):
        if isinstance(listed, OSError):
            why = listed.strerror or "it cannot be opened"
            reason = UnreadableFile(f"{why[0].lower()}{why[1:]}.", where=str(folder), mend="Look at your rights.")
            yield _Seen(folder, root, reason)
            continue
        yield from (_Seen(each, root) for each in listed if _may_be_table(each))


def folders_in(root: Place) -> Iterator[tuple[Place, list[Place] | OSError]]:
    """A folder and every one in it that is entered, with what lies in each by name; or why it cannot be listed.

    Hidden files are left out; links are listed, and not followed.
    """
    folders = [root]
    while folders:
        folder = folders.pop()
        try:
            listed = sorted((each for each in folder.iterdir() if not each.name.startswith(".")), key=_name)
            inside = [each for each in listed if _is_entered(each)]
        except OSError as failure:
            yield folder, failure
            continue
        yield folder, listed
        folders += reversed(inside)


def _is_entered(path: Place) -> bool:
    passed_over = path.name.endswith(ASIDE) or path.name.casefold() in _OF_THE_DRIVE or path.is_symlink()
    return not passed_over and path.is_dir()


def _is(asked: Callable[[], bool]) -> bool:
    """What a place says of itself; no where its name is none that a disk can have."""
    with suppress(OSError, ValueError):
        return asked()
    return False


def _may_be_table(path: Place) -> bool:
    named = path.suffix.lower() in ENDS and not path.name.startswith(".")
    return named and not path.is_symlink() and path.is_file()


def _with_straps(seen: _Seen, kinds: _Kinds) -> Table:
    """A table with its list of straps, by the folder in which both lie."""
    if seen.refused is not None:
        return Table(seen.path, None, Path(), seen.refused)
    return _matched(seen.path, kinds.beside(seen.path, "class"), kinds.beside(seen.path, "straps"))


def _matched(table: Place, tables: Collection[Place], lists: Sequence[Place]) -> Table:
    """A table with the one list of straps that can be meant; refused where several can."""
    nowhere = Path()
    if not lists:
        return Table(table, None, nowhere)
    if len(lists) == 1 and len(tables) <= 1:
        return Table(table, lists[0], nowhere)
    named = {each: _named_like(each, tables) for each in lists}
    mine = [each for each, whose in named.items() if whose == table]
    if len(mine) == 1:
        return Table(table, mine[0], nowhere)
    open_ones = mine or [each for each, whose in named.items() if whose is None]
    if not open_ones:
        return Table(table, None, nowhere)
    names = ", ".join(each.name for each in open_ones)
    refused = NotATrial(
        f"it is not clear which list of straps belongs to it: {names}.",
        where=str(table),
        mend=f"Name the list like the table, as in {table.stem}-straps.csv, or give each table a folder of its own.",
    )
    return Table(table, None, nowhere, refused)


def _named_like(straps: Place, tables: Collection[Place]) -> Place | None:
    """The table with whose whole name the name of a list of straps begins; the longest such name counts."""
    alike = [each for each in tables if _words(straps)[: len(_words(each))] == _words(each)]
    longest = max((len(_words(each)) for each in alike), default=0)
    found = [each for each in alike if len(_words(each)) == longest]
    return found[0] if len(found) == 1 else None


def _name(path: Place) -> str:
    return path.name


def _words(path: Place) -> list[str]:
    return re.findall(r"[^\W_]+", path.stem.casefold())


def _aside(seen: _Seen, aside: Path | None, taken: set[Path]) -> Path:
    """A folder for the bad files of one table, which no other table has."""
    near = seen.path.parent
    where = near if isinstance(near, Path) else Path()  # nothing is written into a store
    if aside is not None:
        where = aside / seen.root.resolve().name / within(near, seen.root)
    name, number = seen.path.stem, 1
    found = where / f"{name}{ASIDE}"
    while found in taken:
        number += 1
        found = where / f"{name}-{number}{ASIDE}"
    taken.add(found)
    return found
