"""Many trials at once: added in one transaction, and the figures of all in a row."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from sqlalchemy import select

from ..trial import Trial
from .adding import Entry, insert_entries, prepared
from .logbook import Logbook
from .not_found import whole
from .rows import FigureRow
from .seals import damaged, unsealed
from .tables import figures, trials

_AT_ONCE = 500
_PIECE_BYTES = 32 * 2**20
_TRIALS = 2000


def add_trials(
    logbook: Logbook, entries: Iterable[Trial | tuple[Trial, Sequence[tuple[str, bytes]]]]
) -> tuple[int, ...]:
    """Add many trials in ONE transaction, all or none, and give their numbers.

    entries : trials whose sheets are worked out already, each alone or with its originals as ``(name, bytes)``. What
        makes them runs while other writers wait: work the sheets out before.

    Raises
    ------
    UnknownCode, UnknownProtocol, AlreadyThere, NotATrial
        For the first that cannot be added; then none is.
    """
    numbers: list[int] = []
    with logbook.writing() as connection:
        piece: list[Entry] = []
        weight = 0
        for entry in entries:
            trial, given = entry if isinstance(entry, tuple) else (entry, ())
            piece.append(prepared(trial, given))
            weight += sum(len(original.data) for original in piece[-1].originals)
            if len(piece) == _AT_ONCE or weight > _PIECE_BYTES:
                numbers += insert_entries(connection, piece)
                piece, weight = [], 0
        numbers += insert_entries(connection, piece)
    return tuple(numbers)


def figures_of(
    logbook: Logbook,
    *,
    names: Sequence[str] = (),
    protocol: str | None = None,
    code: str | None = None,
    practice: bool = True,
) -> Iterator[FigureRow]:
    """Figures in the order of their trials' numbers, of one student or protocol or of all, for lists and exports.

    names : only these figures
    practice : practice trials too

    Raises
    ------
    LogbookDamaged
        If a row's seal does not fit.
    """
    columns = [column for column in figures.columns if column.name != "trial_id"]
    query = select(trials.c.id, trials.c.code, trials.c.protocol, trials.c.protocol_version, trials.c.day, *columns)
    query = query.join(figures, figures.c.trial_id == trials.c.id).order_by(trials.c.id, figures.c.name)
    if names:
        query = query.where(figures.c.name.in_(list(names)))
    vouched = select(trials.c.id, trials.c.figure_count).order_by(trials.c.id).limit(_TRIALS)
    for clause, wanted in (
        (trials.c.protocol == protocol, protocol is not None),
        (trials.c.code == code, code is not None),
        (trials.c.practice.is_(False), not practice),
    ):
        query, vouched = (query.where(clause), vouched.where(clause)) if wanted else (query, vouched)
    last = 0
    while True:
        with logbook.reading() as connection:
            if not last:
                whole(connection, "trials")
                whole(connection, "figures")
            counts = connection.execute(vouched.where(trials.c.id > last)).all()
            if not counts:
                return
            rows = connection.execute(query.where(trials.c.id > last, trials.c.id <= counts[-1][0])).all()
            found = [_figure(*row) for row in rows]
        if not names and len(found) != sum(count for _, count in counts):
            raise damaged("the list of figures")
        last = counts[-1][0]
        yield from found


def _figure(number: int, code: str, protocol: str, version: int, day: date, *rest: Any) -> FigureRow:  # noqa: ANN401
    values = unsealed((number, *rest), f"a figure of trial {number}")
    return FigureRow(number, code, protocol, version, day, *values[1:])
