"""How far the margins of a row's phases may reach: half way to the other trials of the same recording."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import tzinfo
from typing import TYPE_CHECKING

from ...errors import OwnmarkError
from ...ingest.clock_times import resolve_span
from ...ingest.recording import Recording, Span
from ..shared_files import names_given
from ..trial_span import ALL, free_between, known_as, phases_on_file
from ..worn_times import margins
from .as_rows import PHASES, DayRow

if TYPE_CHECKING:
    from ..store.logbook import Logbook


def free_of_row(
    logbook: "Logbook", row: DayRow, rows: Sequence[DayRow], recording: Recording, zone: tzinfo | None
) -> Span | None:
    """What of the row's only file is nobody else's; None: all is free  [s].

    No other trial of it holds that, neither a kept one nor another row's, and the list of straps gives it to the
    student. Two that lie over each other leave all free here: that is told when the row is stored.
    """
    own = _span(row.texts or {}, recording, zone)
    if own is None or len(row.files) != 1:
        return None
    others = [*_kept(logbook, recording), *_of_rows(row, rows, recording, zone)]
    listed = _listed(row, own, recording, zone)
    try:
        free = free_between(own, others, recording=recording)
    except OwnmarkError:
        free = ALL
    both = max(free[0], listed[0]), min(free[1], listed[1])
    return None if both == ALL else both


def _listed(row: DayRow, own: Span, recording: Recording, zone: tzinfo | None) -> Span:
    """What the list of straps gives to the student."""
    try:
        work = resolve_span((row.texts or {})["work"], recording, zone)
    except OwnmarkError:
        return ALL
    return margins(own, work, recording, None if zone is None else str(zone), row.worn)


def _kept(logbook: "Logbook", recording: Recording) -> Iterator[Span]:
    names = names_given(recording)
    for trial in logbook.trials_numbered(sorted({number for each in names for number, _ in logbook.holders(each)})):
        held = next((file.recording for file in trial.files if file.recording in names), "")
        span = None if trial.sheet is None else phases_on_file(trial.sheet, known_as(held, trial.files))
        if span is not None:
            yield span


def _of_rows(row: DayRow, rows: Sequence[DayRow], recording: Recording, zone: tzinfo | None) -> Iterator[Span]:
    """Of the other rows of the day that are not stored yet."""
    for other in rows:
        if (other.code, other.turn) != (row.code, row.turn) and other.state != "stored" and other.files == row.files:
            span = _span(other.texts or {}, recording, zone)
            if span is not None:
                yield span


def _span(texts: Mapping[str, str], recording: Recording, zone: tzinfo | None) -> Span | None:
    """From the first phase to the last; None: no work is written down, or it cannot be understood."""
    spans: list[Span] = []
    for name in PHASES:
        if texts.get(name):
            with suppress(OwnmarkError):
                spans.append(resolve_span(texts[name], recording, zone))
    if not spans or not texts.get("work"):
        return None
    return min(begin for begin, _ in spans), max(end for _, end in spans)
