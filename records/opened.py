"""Read a trial's kept files under neutral names, each told from the others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

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


def opened(originals: Sequence[tuple[str, bytes]], hints: Hints, offsets: Mapping[str, float]) -> Opened:
    """Read a trial's files; ``offsets`` says by the name as given how much later than the trial a file starts [s]."""
    recordings: list[Recording] = []
    refused: list[Refused] = []
    given: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, (name, data) in enumerate(originals, start=1):
        for part, found in enumerate(parse_each([(f"{UNREAD}-{place}", data)], hints), start=1):
            if isinstance(found, Refused):
                refused.append(_unnamed(found, f"{UNREAD}-{place}", part))
                given[refused[-1].path] = name
                continue
            neutral = free(neutral_name(found.sources[0].format, found.start, found.clock_s, name), given)
            given[neutral], places[neutral] = name, place - 1
            recordings.append(_renamed(found, neutral))
    placed = {neutral: offsets[name] for neutral, name in given.items() if name in offsets}
    return Opened(tuple(recordings), tuple(refused), placed, given, places)


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
