"""Heart rate and movement together: a locked optical rate, the rise while moving, and a rise without any movement."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..ingest.clean_heart_rate import HIGHEST_BPM, LOWEST_BPM
from ..ingest.flags import Flag
from ..ingest.recording import Stream
from .asked import Asked
from .bounds import Bounded
from .drafts import Drafts
from .figure import MovementUsed
from .motion.lock import MULTIPLES, find_lock
from .motion_figures import Movement
from .timeline import Held, hold, whole_span

LEAST_S = 30.0
"""Seconds of measured heart rate that moving and stillness each need. Common practice, no source."""


def unlocked(pulse: Stream | None, movement: Movement, asked: Asked, notes: list[str]) -> Stream | None:
    """Heart rate with the stretches flagged in which it follows the movement's rhythm instead of the pulse.

    An electrode on the chest cannot follow a movement: there the test is not made.
    """
    beat = movement.rhythm
    if pulse is None or not len(pulse) or asked.pulse_sensor == "chest" or beat.cadence_mean is None:
        return pulse
    held = hold(pulse, *whole_span(pulse), asked.hold_s)
    multiples = (*MULTIPLES, 4) if movement.per_cycle == 2 else MULTIPLES
    found = find_lock(held.start_s, held.held_s, held.bpm, beat.time_s, beat.per_minute, multiples)
    if not found.intervals:
        return pulse
    locked = np.zeros(len(pulse), bool)
    for begin, end in found.intervals:
        locked |= (pulse.time >= begin) & (pulse.time < end)
    notes.append(found.note)
    if asked.pulse_sensor is None:
        notes.append("If heart rate came from an electrode on the chest, say so: --pulse-sensor chest.")
    return replace(pulse, flags=pulse.flags | np.where(locked, np.uint16(Flag.CADENCE_LOCK), np.uint16(0)))


def add_heart_with_movement(drafts: Drafts, held: Held | None, movement: Movement) -> None:
    """Mean heart rate while moving minus while still."""
    name = "heart_rate_moving_rise"
    if held is None:
        drafts.withhold(name, "Not given: there is no heart rate in the recording.")
        return
    busy, calm = _mean_in(held, movement.motion.moving), _mean_in(held, _rest_of(movement))
    if busy.value is None or calm.value is None:
        short = "moving" if busy.value is None else "still"
        drafts.withhold(name, f"Not given: less than {LEAST_S:.0f} s of heart rate while {short}.")
        return
    rise = Bounded(busy.value - calm.value, busy.low - calm.high, busy.high - calm.low)
    note = f"{busy.value:.0f} while moving, {calm.value:.0f} while still; heart rate lags movement by half a minute"
    drafts.give(name, rise, note=note)


def _rest_of(movement: Movement) -> list[tuple[float, float]]:
    """Measured stillness: what is neither moving, unmeasured nor left out."""
    motion = movement.motion
    edges = sorted((*motion.moving, *motion.unmeasured, *motion.left_out))
    found, now = [], motion.from_s
    for begin, end in edges:
        if begin > now:
            found.append((now, begin))
        now = max(now, end)
    return [*found, (now, motion.until_s)] if now < motion.until_s else found


def _mean_in(held: Held, spans: Sequence[tuple[float, float]]) -> Bounded:
    """Mean rate inside the stretches [beats/min]; None for less than half a minute of it."""
    seconds = area = known_s = known = length = 0.0
    for begin, end in spans:
        part = held.part(begin, end)
        length += end - begin
        seconds += float(part.held_s.sum())
        area += float(part.held_s @ part.bpm)
        known_s += float(part.certain_s.sum())
        known += float(part.certain_s @ part.bpm)
    if seconds < LEAST_S:
        return Bounded(None, LOWEST_BPM, HIGHEST_BPM)
    unknown = max(length - known_s, 0.0)
    return Bounded(area / seconds, (known + unknown * LOWEST_BPM) / length, (known + unknown * HIGHEST_BPM) / length)


def movement_used(movement: Movement, asked: Asked) -> MovementUsed:
    """What the movement figures were made from, for the provenance."""
    motion, beat = movement.motion, movement.rhythm
    shown = np.isfinite(beat.per_minute)
    return MovementUsed(
        file=movement.source,
        placement=str(asked.placement),
        rate_hz=movement.rate_hz,
        threshold_mg=motion.threshold_mg,
        floor_mg=motion.floor_mg,
        moving=tuple(motion.moving),
        unmeasured=tuple(motion.unmeasured),
        assisted=tuple(motion.left_out),
        cadence=tuple(
            (float(time), float(rate) * movement.per_cycle, float(sure))
            for time, rate, sure in zip(beat.time_s[shown], beat.per_minute[shown], beat.confidence[shown], strict=True)
        ),
        turns=tuple((turn.from_s, turn.degrees) for turn in movement.turns),
    )
