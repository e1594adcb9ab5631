"""How long, how long without a break, and how often stopped: from moving and still stretches, with bounds.

A *value* says what was seen. *Low* and *high* let every unmeasured moment be movement or stillness, and so always
contain what the same recorder would have given without a loss. A stretch that is left out (someone else moved the
student) is neither: it is no movement, no stillness, not unmeasured; it breaks a stay, and its length is counted apart.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from ..bounds import Bounded
from .moving import Motion, Spans

STOP_S = 3.0
"""A stop is stillness of at least this length between two movements. The design's definition; adjustable."""
PAUSE_S = 1.0
"""A pause up to this length does not end a stay. Common practice, no source; adjustable."""
SAMPLE_S = 0.1
"""A recording may begin and end half a sample off its phase: so little at its ends is not unmeasured. Of 10 Hz on."""
_TINY_S = 1e-6
_MOVING, _STILL, _UNKNOWN, _OUT = "moving", "still", "unknown", "out"


def moving_time(motion: Motion) -> Bounded:
    """Time in movement; ``value`` None if nothing was measured [s]."""
    seen, high = length(motion.moving), merged((*motion.moving, *_either(motion)))
    return Bounded(seen if _measured_s(motion) > _TINY_S else None, length(_surely(motion)), length(high))


def longest_moving(motion: Motion, pause_s: float = PAUSE_S) -> Bounded:
    """Longest stay in movement, pauses of up to ``pause_s`` included [s].

    Unmeasured time is a pause for the value and the low bound, movement for the high bound. A stretch that is left
    out ends a stay, however short it is.
    """
    value, low = (_longest(spans, motion.left_out, pause_s) for spans in (motion.moving, _surely(motion)))
    high = _longest(merged((*motion.moving, *_either(motion))), motion.left_out, pause_s)
    return Bounded(value if _measured_s(motion) > _TINY_S else None, low, high)


def stop_count(motion: Motion, stop_s: float = STOP_S) -> Bounded:
    """How often movement stopped for at least ``stop_s`` and went on later [1].

    Stillness before the first and after the last movement is no stop. Between two movements that were seen, the
    value and the low bound count one stop if an unbroken stretch of that length was seen still. The high bound
    counts as many as can lie there when unmeasured time is filled in the worst way.
    """
    seen = _seen_stops(_pieces(motion), stop_s)
    sure = _pieces(replace(motion, moving=_surely(motion), unmeasured=_either(motion)))
    low, high = _seen_stops(sure, stop_s), _most_stops(sure, stop_s)
    value = float(seen) if _measured_s(motion) > _TINY_S else None
    return Bounded(value, float(min(low, seen)), float(max(high, seen)))


def coverage(motion: Motion) -> Bounded:
    """Share of the time that counts which was measured; None if none counts [%]."""
    counting = motion.until_s - motion.from_s - length(motion.left_out)
    if counting <= _TINY_S:
        return Bounded(None, 0.0, 0.0)
    share = 100.0 * min(_measured_s(motion) / counting, 1.0)
    return Bounded(share, share, share)


def told_percent(motion: Motion) -> float | None:
    """Share of the time that counts in which movement and stillness were told apart; None if none counts [%]."""
    counting = motion.until_s - motion.from_s - length(motion.left_out)
    return 100.0 * max(1.0 - length(_either(motion)) / counting, 0.0) if counting > _TINY_S else None


def within(motion: Motion, from_s: float, until_s: float) -> Motion:
    """Cut to a phase; what of the phase lies outside of the recording is unmeasured, if it is more than a sample."""
    outside = without(((from_s, until_s),), ((motion.from_s, motion.until_s),))
    beyond = [span for span in outside if span[1] - span[0] > SAMPLE_S]
    return replace(
        motion,
        from_s=from_s,
        until_s=until_s,
        moving=_clipped(motion.moving, from_s, until_s),
        unmeasured=merged((*_clipped(motion.unmeasured, from_s, until_s), *beyond)),
        left_out=_clipped(motion.left_out, from_s, until_s),
        doubtful=_clipped(motion.doubtful, from_s, until_s),
    )


def assisted(motion: Motion, stretches: Iterable[tuple[float, float]]) -> Motion:
    """Leave out the stretches in which someone else moved the student: a sensor measures the helper there.

    ``length(result.left_out)`` says how much was left out [s].
    """
    out = merged((*motion.left_out, *_clipped(tuple(stretches), motion.from_s, motion.until_s)))
    kept = {name: without(getattr(motion, name), out) for name in ("moving", "unmeasured", "doubtful")}
    return replace(motion, **kept, left_out=out)


def without(spans: Sequence[tuple[float, float]], excluded: Sequence[tuple[float, float]]) -> Spans:
    """The parts of stretches that lie in no excluded one; stretches in order, excluded ones in any order [s]."""
    out: list[tuple[float, float]] = []
    holes = merged(excluded)
    first = 0
    for begin, until in spans:
        while first < len(holes) and holes[first][1] <= begin:
            first += 1
        at = begin
        for hole in holes[first:]:
            if hole[0] >= until:
                break
            if hole[0] > at:
                out.append((at, hole[0]))
            at = max(at, hole[1])
        if at < until:
            out.append((at, until))
    return tuple(out)


def merged(spans: Iterable[tuple[float, float]]) -> Spans:
    """Stretches in order, those that touch or overlap joined, empty ones dropped."""
    out: list[tuple[float, float]] = []
    for begin, until in sorted(span for span in spans if span[1] > span[0]):
        if out and begin <= out[-1][1] + _TINY_S:
            out[-1] = (out[-1][0], max(out[-1][1], until))
        else:
            out.append((begin, until))
    return tuple(out)


def length(spans: Iterable[tuple[float, float]]) -> float:
    """Summed length of stretches that do not overlap [s]."""
    return float(sum(until - begin for begin, until in spans))


def _surely(motion: Motion) -> Spans:
    """Movement beyond doubt."""
    return without(motion.moving, motion.doubtful)


def _either(motion: Motion) -> Spans:
    """Time that may be movement or stillness."""
    return merged((*motion.unmeasured, *motion.doubtful))


def _measured_s(motion: Motion) -> float:
    return motion.until_s - motion.from_s - length(motion.unmeasured) - length(motion.left_out)


def _clipped(spans: Sequence[tuple[float, float]], from_s: float, until_s: float) -> Spans:
    cut = ((max(begin, from_s), min(until, until_s)) for begin, until in spans)
    return tuple(span for span in cut if span[1] > span[0])


def _longest(spans: Spans, broken_by: Spans, pause_s: float) -> float:
    """Longest of the stays after joining those no further apart than a pause, none across what is left out [s]."""
    breaks = sorted(begin for begin, _ in broken_by)
    best, begin, end = 0.0, None, 0.0
    upcoming = 0
    for start, until in spans:
        crossed = False
        while upcoming < len(breaks) and breaks[upcoming] < start + _TINY_S:
            upcoming, crossed = upcoming + 1, True
        if begin is None or crossed or start - end > pause_s + _TINY_S:
            begin = start
        end = until
        best = max(best, end - begin)
    return best


def _pieces(motion: Motion) -> list[tuple[str, float]]:
    """The whole span as (state, length) in order of time."""
    known = [(span, state) for spans, state in _named(motion) for span in spans]
    pieces: list[tuple[str, float]] = []
    at = motion.from_s
    for (begin, until), state in sorted(known):
        if begin - at > _TINY_S:
            pieces.append((_STILL, begin - at))
        pieces.append((state, until - begin))
        at = until
    if motion.until_s - at > _TINY_S:
        pieces.append((_STILL, motion.until_s - at))
    return pieces


def _named(motion: Motion) -> tuple[tuple[Spans, str], ...]:
    return ((motion.moving, _MOVING), (motion.unmeasured, _UNKNOWN), (motion.left_out, _OUT))


def _seen_stops(pieces: Sequence[tuple[str, float]], stop_s: float) -> int:
    count, moved, stopped = 0, False, False
    for state, seconds in pieces:
        if state == _MOVING:
            count += moved and stopped
            moved, stopped = True, False
        elif state == _STILL and seconds >= stop_s - _TINY_S:
            stopped = True
    return count


def _most_stops(pieces: Sequence[tuple[str, float]], stop_s: float) -> int:
    """End each stop as early as an unmeasured moment allows, with a movement of no length: no filling holds more."""
    count, moved, stopped, still_s = 0, False, False, 0.0
    for state, seconds in pieces:
        if state == _MOVING:
            count += moved and stopped
            moved, stopped, still_s = True, False, 0.0
        elif state == _OUT:
            still_s = 0.0
        elif state == _STILL:
            still_s += seconds
            stopped = stopped or still_s >= stop_s - _TINY_S
        else:
            if not moved or stopped:  # a movement at once: the first, or the one that ends a stop
                count += moved
                moved, stopped, still_s = True, False, 0.0
            still_s += seconds + _TINY_S
            count += int(still_s // stop_s)
            still_s %= stop_s
    return count
