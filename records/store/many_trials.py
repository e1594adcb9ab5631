"""Many trials at once: added in one transaction, and the figures of all in a row."""

from collections.abc import Iterable, Iterator, Sequence

from ..trial import Trial
from .adding import Entry, insert_entries, prepared
from .logbook import Logbook
from .rows import FigureRow

_AT_ONCE = 500
_PIECE_BYTES = 32 * 2**20


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
    """Every figure of every trial, by day and number and then as on the sheet, of one student or protocol or of all.

    names : only these figures
    practice : practice trials too

    Raises
    ------
    LogbookDamaged
        If a row's seal does not fit.
    """
    wanted = frozenset(names)
    for trial in logbook.trials(code, protocol):
        if trial.sheet is None or trial.id is None or (trial.practice and not practice):
            continue
        start = (trial.id, trial.code, trial.protocol, trial.protocol_version, trial.on)
        for name, each in trial.sheet.figures.items():
            if not wanted or name in wanted:
                numbers = (each.low, each.high, each.coverage)
                yield FigureRow(*start, name, each.value, each.unit, *numbers, each.basis, each.source, each.note)
