"""Files of one trial that state no common clock: laid together by what both of them saw, or refused with the reason.

In this order of trust: three taps on both sensors, movement seen by both, presses of a button (or one press beside
three taps), and last the heart's answer to work. What a person states (``--offset``) and what clocks state goes before
all of them; clocks that taps contradict are told of.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ..ingest.cleaning.judge import clean, with_heart_rate
from ..ingest.combine import distinct, placings
from ..ingest.recording import (
    ACCELERATION,
    ASSUMED,
    CLOCK,
    HEART_ONSET,
    HEART_RATE,
    TIME_OF_DAY,
    Placing,
    Recording,
    Stream,
)
from ..words.message import Message
from .messages import trial as say
from .timeline import hold, whole_span

if TYPE_CHECKING:
    from .motion.grid import Grid

CLOCKS_OFF_S = 2.0
"""Two clocks that taps show to differ by more are told of [s]. Common practice, no source."""
ROUGH = frozenset({ASSUMED, HEART_ONSET})
"""Ways of laying a file that are too rough for figures which need two streams at the same moment."""


def align(recordings: Sequence[Recording], offsets_s: Mapping[str, float] | None = None) -> dict[str, Placing]:
    """By path: how each file lies on the trial's clock that neither a clock nor a person places.

    Parameters
    ----------
    recordings : the files of one trial as read, uncleaned
    offsets_s : what a person stated, by path  [s]

    Raises
    ------
    NotOneTrial
        If two files start more than twelve hours apart.
    """
    kept, _ = distinct(recordings)
    if len(kept) < 2:
        return {}
    known = {each.placings[0].path: each.placings[0] for each in kept if each.placings}
    if known:  # parts of files that were laid when all of them was there
        return known
    found = list(zip(kept, placings(kept, offsets_s)[0], strict=True))
    adrift = [each for each in found if each[1].how == ASSUMED]
    fixed = [each for each in found if each[1].how != ASSUMED]  # one at least: the trial's own
    seen = [(_Seen(recording), placing) for recording, placing in fixed]
    result = {placing.path: _laid(_Seen(recording), placing, seen) for recording, placing in adrift}
    return result | _contradicted(seen)


def on_one_clock(recording: Recording, *sources: str) -> bool:
    """Tell whether streams of these files lie together to within a few seconds."""
    rough = {placing.path for placing in recording.placings if placing.how in ROUGH}
    parts = {part for source in sources for part in source.split(" + ")}
    return len(parts) < 2 or not parts & rough


def is_placed(recording: Recording, source: str) -> bool:
    """Tell whether a stream's files lie on the clock by which phases are written down.

    Not so where another file states the time and this one states none, and nothing that both saw places it. Files of
    which none states a time count from the same start, as they were given.
    """
    adrift = {placing.path for placing in recording.placings if placing.how == ASSUMED}
    dated = any(placing.how in (CLOCK, TIME_OF_DAY) for placing in recording.placings)
    return not dated or not adrift & set(source.split(" + "))


class _Seen:
    """What of a recording can be laid beside another: its grid, its heart rate, its taps' moments.

    The recording is judged when the first of them is asked for: where clocks place all files, and one of them alone
    holds movement, none is.
    """

    def __init__(self, recording: Recording) -> None:
        self._recording = recording
        self.path = recording.sources[0].path
        self.presses = tuple(mark.time_s for mark in recording.marks if mark.kind == "button")
        self.has_movement = any(len(stream) for stream in recording.all(ACCELERATION)[:1])

    @cached_property
    def _judged(self) -> Recording:
        """The recording, judged by itself."""
        return with_heart_rate(clean(self._recording))

    @cached_property
    def grid(self) -> "Grid | None":
        """Its movement; None without any."""
        from .motion.grid import to_grid

        return to_grid(self._judged[ACCELERATION]) if self.has_movement else None

    @cached_property
    def pulse(self) -> Stream | None:
        """Its heart rate; None without any."""
        return next((stream for stream in self._judged.all(HEART_RATE) if len(stream)), None)

    def moments(self) -> tuple[float, ...]:
        """Presses of the button, or else the first of each three taps [s]."""
        if self.presses or self.grid is None:
            return self.presses
        from .motion.taps import find_taps

        return tuple(taps.time_s[0] for taps in find_taps(self.grid))


def _laid(adrift: _Seen, assumed: Placing, fixed: Sequence[tuple[_Seen, Placing]]) -> Placing:
    """The adrift file beside the first of the others that can tell where it lies."""
    reasons: list[Message] = []
    for other, placing in fixed:
        found = _beside(other, adrift)
        if isinstance(found, Placing):
            return replace(
                found,
                path=adrift.path,
                offset_s=found.offset_s + placing.offset_s,
                notes=(_moved(adrift.path, other.path, found), *found.notes),
            )
        reasons += found
    return replace(assumed, notes=(*assumed.notes, *dict.fromkeys(reasons), say.clock_say_offset(adrift.path)))


def _beside(first: _Seen, second: _Seen) -> Placing | tuple[Message, ...]:
    """How the second lies beside the first, or why nobody can say; empty where they share nothing to go by."""
    from .motion.alignment import Refusal, by_events, by_movement, by_taps, choose
    from .motion.onset_alignment import by_heart_rate

    found: list[Placing | Refusal] = []
    if first.grid is not None and second.grid is not None:
        found += [by_taps(first.grid, second.grid), by_movement(first.grid, second.grid)]
    if (first.presses or second.presses) and first.moments() and second.moments():
        found.append(by_events(first.moments(), second.moments()))
    if not found:
        for mover, heart, turn in ((first, second, 1.0), (second, first, -1.0)):
            if mover.grid is not None and heart.pulse is not None:
                held = hold(heart.pulse, *whole_span(heart.pulse))
                rough = by_heart_rate(mover.grid, held.start_s, held.held_s, held.bpm)
                found.append(replace(rough, offset_s=turn * rough.offset_s) if isinstance(rough, Placing) else rough)
    if not found:
        return ()
    best = choose(found)
    return best if isinstance(best, Placing) else best.reasons


def _moved(path: str, other: str, found: Placing) -> Message:
    """What is said of an offset that was found, and how good and sure it is."""
    from .motion.alignment import seen_by

    if found.within_s is None or found.confidence is None:
        return say.clock_moved_unsure(path, other, found.offset_s, seen_by(found))
    return say.clock_moved(path, other, found.offset_s, seen_by(found), found.within_s, found.confidence)


def _contradicted(fixed: Sequence[tuple[_Seen, Placing]]) -> dict[str, Placing]:
    """Files placed by clocks whose taps say otherwise, with a note; the clocks' word stands."""
    from .motion.alignment import by_taps

    result: dict[str, Placing] = {}
    (first, base), *others = fixed
    for other, placing in others:
        if placing.how not in (CLOCK, TIME_OF_DAY) or not (first.has_movement and other.has_movement):
            continue
        if first.grid is None or other.grid is None:
            continue
        found = by_taps(first.grid, other.grid)
        apart = found.offset_s + base.offset_s - placing.offset_s if isinstance(found, Placing) else 0.0
        if abs(apart) > CLOCKS_OFF_S:
            result[placing.path] = replace(placing, notes=(say.clock_contradicted(first.path, other.path, apart),))
    return result
