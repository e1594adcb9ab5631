"""From paths to recordings: what a person calls. One bad file is an answer of its own and stops no other."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from os import PathLike

from ..errors import IngestError
from .cleaning.judge import clean, with_heart_rate
from .combine import combine, distinct, laid
from .containers import Member, members, members_in
from .excerpt.cut import cut
from .formats import parse
from .recording import Hints, Placing, Recording, Span

Path = str | PathLike[str]


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that could not be read, and the reason."""

    path: str
    reason: IngestError


def read_each(paths: Sequence[Path], hints: Hints | None = None) -> Iterator[Recording | Refused]:
    """Read every file, and every file in an archive, in order, uncleaned; a refusal in place of a bad one."""
    for path in paths:
        for found in members(path, hints or Hints()):
            if isinstance(found, IngestError):
                yield Refused(found.where or str(path), found)
                continue
            yield _parsed(found)


def parse_each(originals: Sequence[tuple[str, bytes]], hints: Hints | None = None) -> Iterator[Recording | Refused]:
    """As ``read_each``, of files whose name and bytes are at hand."""
    for name, data in originals:
        for found in members_in(data, name, hints or Hints()):
            yield Refused(found.where or name, found) if isinstance(found, IngestError) else _parsed(found)


def _parsed(member: Member) -> Recording | Refused:
    """Read one file's bytes."""
    try:
        return parse(member.data, member.source).with_notes(member.notes)
    except IngestError as reason:
        return Refused(member.source.name, reason)


def finished(
    recordings: Sequence[Recording],
    offsets_s: Mapping[str, float] | None = None,
    aligned: Mapping[str, Placing] | None = None,
    span: Span | None = None,
) -> Recording:
    """Join the files of one trial, judge every sample, and work out heart rate where only RR is held.

    span : from when until when on the trial's clock; nothing outside it has a part in anything  [s]. None: all
    """
    if span is not None:
        recordings = parts_of(recordings, span, offsets_s, aligned)
    return with_heart_rate(clean(combine(recordings, offsets_s, aligned)))


def parts_of(
    recordings: Sequence[Recording],
    span: Span,
    offsets_s: Mapping[str, float] | None = None,
    aligned: Mapping[str, Placing] | None = None,
) -> list[Recording]:
    """The files of one trial, each once, cut to a span on the trial's clock [s].

    A file that was laid by what several files saw keeps how, because what they saw may be cut away.
    """
    kept, _ = distinct(recordings)
    found = []
    for recording, placing in zip(kept, laid(kept, offsets_s, aligned), strict=True):
        seen = aligned is not None and aligned.get(placing.path) is placing
        part = cut(recording, placing.on_file(span))
        found.append(replace(part, placings=(placing,)) if seen else part)
    return found


def read(
    *paths: Path,
    columns: Mapping[str, str] | None = None,
    rate_hz: float | None = None,
    zone: tzinfo | None = None,
) -> Recording:
    """Read one or several files of one trial into one cleaned recording.

    Parameters
    ----------
    paths : the files; ``.gz`` and ``.zip`` are opened
    columns : which column of a table holds what, where its header does not say
    rate_hz : samples in a second, for a table without a time column  [1/s]
    zone : time zone of clock times that state none

    Raises
    ------
    IngestError
        For the first file that cannot be read. ``read_each`` goes on with the others instead.
    """
    found = []
    for recording in read_each(paths, Hints(columns or {}, rate_hz, zone)):
        if isinstance(recording, Refused):
            raise recording.reason
        found.append(recording)
    return finished(found)
