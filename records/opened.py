"""Read a trial's kept files under neutral names, each told from the others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from ..errors import NotOneTrial
from ..ingest.clock_shift import shifted
from ..ingest.column_choices import for_files
from ..ingest.files import Refused, parse_each
from ..ingest.recording import Hints, Recording
from .file_names import UNREAD, free, neutral_name


@dataclass(frozen=True, slots=True)
class Opened:
    """What a trial's files hold, under neutral names.

    offsets : seconds by neutral name
    given : the name as given, by neutral name
    place : of the file in which a recording is, by neutral name
    """

    recordings: tuple[Recording, ...]
    refused: tuple[Refused, ...]
    offsets: Mapping[str, float]
    given: Mapping[str, str]
    place: Mapping[str, int]


def opened(
    originals: Sequence[tuple[str, bytes]],
    hints: Hints,
    offsets: Mapping[str, float],
    shifts: Mapping[str, float] = MappingProxyType({}),
) -> Opened:
    """Read a trial's files.

    Parameters
    ----------
    originals : the name as given and the bytes of each
    offsets : how much later than the trial a file starts, by the name as given  [s]
    shifts : what is added to a file's clock, by the name as given  [s]

    Raises
    ------
    NotOneTrial
        If a file whose clock is to be put right states no time of day.
    """
    hints = for_files(originals, hints)
    recordings: list[Recording] = []
    refused: list[Refused] = []
    given: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, (name, data) in enumerate(originals, start=1):
        for part, found in enumerate(parse_each([(f"{UNREAD}-{place}", data)], hints.of(name)), start=1):
            if isinstance(found, Refused):
                refused.append(_unnamed(found, f"{UNREAD}-{place}", part))
                given[refused[-1].path] = name
                continue
            right = _on_its_clock(found, name, shifts.get(name, 0.0))
            neutral = free(neutral_name(right.sources[0].format, right.start, right.clock_s, name), given)
            given[neutral], places[neutral] = name, place - 1
            recordings.append(_renamed(right, neutral))
    placed = {neutral: offsets[name] for neutral, name in given.items() if name in offsets}
    return Opened(tuple(recordings), tuple(refused), placed, given, places)


def _on_its_clock(recording: Recording, given: str, seconds: float) -> Recording:
    """The recording with so much added to its clock; a refusal names the file as whoever gave it does."""
    try:
        return shifted(recording, seconds)
    except NotOneTrial as reason:
        raise NotOneTrial(reason.what, where=given, mend=reason.mend) from None


def _renamed(recording: Recording, name: str) -> Recording:
    """The recording under another name."""
    streams = tuple(replace(each, source=name) for each in recording.streams)
    sources = tuple(replace(each, path=name) for each in recording.sources)
    laid = tuple(replace(each, path=name) for each in recording.placings)
    return replace(recording, streams=streams, sources=sources, placings=laid)


def _unnamed(refused: Refused, name: str, part: int) -> Refused:
    """The refusal without the name that a file has in its archive."""
    path = name if refused.path == name else f"{name}-part-{part}"
    reason = refused.reason
    return Refused(path, type(reason)(reason.what, where=path, mend=reason.mend))
