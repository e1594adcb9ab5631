"""Which column of a table is which part: from the headers, and from what the person says."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from ...errors import UnclearColumns
from ..recording import ACCELERATION, ANGULAR_RATE
from .columns import (
    BARE,
    LONGEST,
    PARTS,
    UNIT_OF_PART,
    Column,
    example,
    listed,
    quoted,
    recognise,
    split_unit,
    stream_of,
    tokens_of,
    words_of,
)
from .header_words import DATE, TIME
from .units import plain, unit_of


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table that are used: one for each part, and all that could give the time."""

    parts: Mapping[str, Column]
    times: tuple[Column, ...]
    dates: tuple[Column, ...]


def assign(headers: Sequence[str], hints: Mapping[str, str], where: str, elsewhere: Collection[str] = ()) -> Columns:
    """Give each part its column.

    A hint wins over what the headers say. Of several columns that could be one part, the only one whose header
    says nothing else is taken.

    elsewhere : parts whose hint may be meant for another file

    Raises
    ------
    UnclearColumns
        If a hint names no column, or two columns could be the same part.
    """
    mine = {part: name for part, name in hints.items() if part not in elsewhere or called(name, headers)}
    hinted = {part: _hinted(part, name, headers, where) for part, name in mine.items()}
    taken = {column.number for column in hinted.values()}
    found = [recognise(header, number) for number, header in enumerate(headers) if number not in taken]
    known = [column for column in found if column is not None]
    known = _with_bare_axes(known)
    parts = dict(hinted)
    for part in PARTS[1:]:
        if part not in parts:
            same = [column for column in known if column.part == part]
            if same:
                parts[part] = _the_one(same, part, where)
    times = (parts.pop(TIME),) if TIME in parts else tuple(column for column in known if column.part == TIME)
    return Columns(parts, times, tuple(column for column in known if column.part == DATE))


def _with_bare_axes(known: list[Column]) -> list[Column]:
    """Take columns named only x, y and z as acceleration where no other column says that it is one."""
    bare = [column for column in known if column.part.startswith(BARE)]
    rest = [column for column in known if not column.part.startswith(BARE)]
    if len(bare) != 3 or len({column.part for column in bare}) != 3:
        return rest
    if any(column.part.startswith((ACCELERATION, ANGULAR_RATE)) for column in rest):
        return rest
    return rest + [replace(column, part=column.part.replace(BARE, ACCELERATION)) for column in bare]


def _the_one(same: list[Column], part: str, where: str) -> Column:
    """The only column for a part, or the only plain one."""
    clear = [column for column in same if column.plain]
    if len(clear) == 1:
        return clear[0]
    if len(same) == 1:
        return same[0]
    raise UnclearColumns(
        f"more than one column could be the {words_of(part)}: {listed(column.header for column in same)}.",
        where=where,
        mend=f"Say which one, for example `--column {part}={example(same[0])}`.",
    )


def called(name: str, headers: Sequence[str]) -> list[int]:
    """The places of the columns of that header, or of that number from 1."""
    same = [number for number, header in enumerate(headers) if header.strip() == name.strip()]
    same = same or [n for n, header in enumerate(headers) if plain(header).strip() == plain(name).strip()]
    if not same and re.fullmatch(r"[0-9]{1,6}", name.strip()) and 1 <= int(name) <= len(headers):
        same = [int(name) - 1]
    return same


def _hinted(part: str, name: str, headers: Sequence[str], where: str) -> Column:
    """The column that the person named, by header or by number from 1."""
    if part not in PARTS:
        raise UnclearColumns(
            f"'{part}' is not something that a column can hold.",
            where=where,
            mend=f"Use one of {', '.join(PARTS)}.",
        )
    same = called(name, headers)
    if len(same) != 1:
        count = "no column" if not same else "more than one column"
        raise UnclearColumns(
            f"{count} is called {quoted(name)}, which was named as {words_of(part)}; there are {len(headers)} columns: "
            f"{listed(headers)}.",
            where=where,
            mend=f"Give a header, or a column's number from 1, for example `--column {part}=1`.",
        )
    unit = split_unit(headers[same[0]][:LONGEST])[1] or unit_of(headers[same[0]][:LONGEST])
    fits = unit is not None and UNIT_OF_PART.get(stream_of(part), unit.measures) == unit.measures
    words = frozenset(tokens_of(headers[same[0]][:LONGEST]))
    return Column(same[0], headers[same[0]], part, unit if fits else None, words=words, hinted=True)
