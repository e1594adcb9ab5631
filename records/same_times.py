"""Whether two ways of writing a phase are the same minutes of a trial: by the clock, and from its start."""

from collections.abc import Iterator, Sequence
from typing import Protocol

from ..errors import UsageError
from ..ingest.clock_times import parse_span, resolve_span, zone_from
from ..ingest.recording import Recording
from .guards import PHASES, clock_of
from .measuring import files_of
from .trial import Trial


class Kept(Protocol):
    """What is asked of a logbook here."""

    def original(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        ...


ROUNDED_S = 1.0
"""A recording begins within a second, and whole seconds are written: the same moment differs by less than this by the
clock and from the start [s]."""


def same_phases(logbook: Kept, before: Trial, after: Trial) -> frozenset[str]:
    """The phases that two states of a kept trial, of the same files, write differently and mean the same by.

    Both are read as the later state says: its zone, what is added to its clocks.
    """
    texts = list(_rewritten(before, after))
    if not texts or not before.files:
        return frozenset()
    files = files_of(after, [(file.path, logbook.original(file.sha256)) for file in before.files])
    if not files.recordings:
        return frozenset()
    whole = clock_of(files)
    return frozenset(name for name, old, new in texts if same_times(old, new, whole, after.zone))


def _rewritten(before: Trial, after: Trial) -> Iterator[tuple[str, str, str]]:
    for _, name in PHASES:
        old, new = getattr(before, name), getattr(after, name)
        if old and new and old != new:
            yield name, old, new


def same_times(one: str, other: str, whole: Recording, zone: str | None) -> bool:
    """Whether two texts are the same stretch of a recording.

    Where both count from the same moment, every second between them is meant.
    """
    try:
        spans = [resolve_span(each, whole, zone_from(zone)) for each in (one, other)]
    except UsageError:
        return False
    first, second = (_counted_from(text, span) for text, span in zip((one, other), spans, strict=True))
    within = 1e-6 if abs(first - second) <= 1e-6 else ROUNDED_S
    return all(abs(a - b) < within for a, b in zip(*spans, strict=True))


def _counted_from(text: str, span: Sequence[float]) -> float:
    """The moment from which a text counts  [s] from the recording's start."""
    return span[0] - parse_span(text)[0].seconds
