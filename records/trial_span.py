"""What of a file belongs to one trial, and what of it a logbook keeps.

A strap is handed round, a watch runs all day. A file that holds one student's trial alone is kept byte for byte; of one
that others share, or that runs on for long, only the excerpt of the trial's span is kept, so that no student's heart
is ever in another one's record.
"""

import hashlib
from collections.abc import Collection, Sequence
from datetime import datetime

import numpy as np

from ..errors import NotATrial
from ..ingest.clock_times import span_told
from ..ingest.containers import is_zip
from ..ingest.excerpt.cut import outside_s
from ..ingest.excerpt.form import excerpt
from ..ingest.flags import Flag
from ..ingest.heart_keys import heart_keys
from ..ingest.recording import HEART_RATE, Placing, Recording, Span
from ..metrics.figure import EffortSheet
from ..metrics.message_codes import code_of
from ..metrics.messages.trial import PHASES_WHOLE
from .measuring import Seen
from .opened import Opened
from .trial import KeptFile

LONG_S = 300.0
"""A file that runs on for longer than this outside its trial is kept as an excerpt [s]. Our own choice: another
student's rest and work could be in it."""
BREAK_S = 3.0
"""A heart that was not measured for longer than this may be another one's afterwards: no strap changes its wearer
faster [s]. Our own choice."""
NO_BEATS = 255
"""What recorders write as a heart rate where they have none."""
ALL: Span = (float("-inf"), float("inf"))
"""Nothing limits the margins  [s]."""
_STEPS = 2.5  # or for so many of the recorder's usual steps, where it writes seldom


def phases_on_file(sheet: EffortSheet, names: Collection[str]) -> Span | None:
    """From the first phase of a trial to its last, on the own clock of one of its files; None: the whole file  [s].

    names : as in ``on_file``
    """
    own = own_span(sheet)
    return None if own is None else on_file(sheet, names, own)


def known_as(recording: str, files: Sequence[KeptFile]) -> frozenset[str]:
    """What a sheet may know a recording by: older ones know a packed file by the SHA-256 of its packed bytes alone."""
    return frozenset((recording, *(file.sha256 for file in files if file.recording == recording)))


def own_span(sheet: EffortSheet) -> Span | None:
    """From the first phase of a trial to its last, on the trial's clock; None: the whole recording is work  [s]."""
    phases = sheet.provenance.phases
    if code_of(phases.decided) == PHASES_WHOLE.code:
        return None
    spans = [span for span in (phases.rest, phases.work, phases.recovery) if span is not None]
    return min(span[0] for span in spans), max(span[1] for span in spans)


def on_file(sheet: EffortSheet, names: Collection[str], span: Span) -> Span:
    """A stretch of a trial on the own clock of one of its files  [s].

    names : SHA-256 of the recording, or of its packed file
    """
    made = sheet.provenance
    path = next((each.path for each in made.files if each.sha256 in names or each.content_sha256 in names), None)
    clock = next((each for each in made.clocks if each.path == path), None)
    if clock is None:
        return span
    laid = Placing(clock.path, clock.offset_s, clock.how, drift_ppm=clock.drift_ppm, anchor_s=clock.anchor_s)
    return laid.on_file(span)


def free_between(
    own: Span,
    others: Sequence[Span],
    where: str = "",
    wall: datetime | None = None,
    recording: Recording | None = None,
) -> Span:
    """What the margins of a trial may reach: half way to the trials before and behind it in the same file  [s].

    Toward another trial they end where the heart rate breaks off, too: a strap that changes its wearer loses the heart,
    and nobody knows whose the minutes behind such a break are.

    Parameters
    ----------
    own : from the trial's first phase to its last, on the file's clock  [s]
    others : the same of the other trials of the file
    wall : what the clock on the wall shows at the file's second 0, to tell a refusal by
    recording : the file, or what is left of it, for its breaks; None: they are not looked at

    Raises
    ------
    NotATrial
        If two trials overlap: one strap cannot be worn by two students at once.
    """
    low, high = float("-inf"), float("inf")
    for begin, end in others:
        if end <= own[0]:
            low = max(low, (end + own[0]) / 2)
        elif begin >= own[1]:
            high = min(high, (own[1] + begin) / 2)
        else:
            raise NotATrial(
                f"another student's trial is written down for the same minutes of the same file: this one takes "
                f"{span_told(own, wall)}, the other one {span_told((begin, end), wall)}.",
                where=where,
                mend="One strap is worn by one student at a time: look at the times of both.",
            )
    first, last = (low, high) if recording is None else _unbroken(recording, own)
    return max(low, first) if low > float("-inf") else low, min(high, last) if high < float("inf") else high


def _unbroken(recording: Recording, own: Span) -> Span:
    """From the last break of the heart rate before a trial until the first behind it; never inside the trial  [s]."""
    low, high = float("-inf"), float("inf")
    for stream in recording.all(HEART_RATE):
        contact = (stream.flags & np.uint16(Flag.NO_CONTACT)) == 0
        time = stream.time[contact & (stream.values > 0) & (stream.values != NO_BEATS)]  # not judged yet
        steps = np.diff(time)
        usual = float(np.median(steps)) if len(steps) else 0.0
        broken = np.flatnonzero(steps > max(BREAK_S, _STEPS * usual))
        before, behind = broken[time[broken] < own[0]], broken[time[broken + 1] > own[1]]
        if len(before):
            low = max(low, min(float(time[before[-1] + 1]), own[0]))
        if len(behind):
            high = min(high, max(float(time[behind[0]]) + usual, own[1]))
    return low, high


def kept_files(
    seen: Seen, files: Opened, originals: Sequence[tuple[str, bytes]], shared: Collection[str]
) -> list[tuple[KeptFile, bytes]]:
    """A trial's files as a logbook keeps them, with their bytes: whole, or an excerpt of what belongs to the trial.

    An archive is kept as the recordings in it, each by itself.

    Parameters
    ----------
    originals : name and bytes of each file, in the order in which they were opened
    shared : SHA-256 of the recordings that other trials are in too
    """
    whole = {each.sources[0].path: each for each in files.recordings}
    found: list[tuple[KeptFile, bytes]] = []
    for part in seen.parts:
        source, keys = part.sources[0], heart_keys(part)
        name, data = originals[files.place[source.path]]
        if _alone(whole[source.path], part, shared) and not is_zip(data):  # else the hash is not of these bytes
            content = source.content_sha256
            found.append(
                (
                    KeptFile(path=name, sha256=source.sha256, size=len(data), content_sha256=content, heart_keys=keys),
                    data,
                )
            )
            continue
        data = excerpt(part)
        digest, of, span = hashlib.sha256(data).hexdigest(), source.recording, source.part_s
        found.append((KeptFile(path=name, sha256=digest, size=len(data), of=of, part_s=span, heart_keys=keys), data))
    return found


def _alone(whole: Recording, part: Recording, shared: Collection[str]) -> bool:
    """Whether a file holds this trial, and not much else."""
    if whole.whole_s is not None or whole.sources[0].recording in shared:  # a part already, or another trial's file too
        return False
    span = part.sources[0].part_s
    return span is None or outside_s(whole, span) <= LONG_S
