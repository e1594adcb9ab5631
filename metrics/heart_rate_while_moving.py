"""Heart rate and movement together: a locked optical rate, the rise while moving, and a rise without any movement."""

from dataclasses import replace

import numpy as np

from ..ingest.flags import Flag
from ..ingest.recording import Stream
from ..words.message import Message
from .figure import MovementUsed
from .messages import heart_rate
from .messages import movement as say
from .motion.bouts import told_percent
from .motion.cadence_lock import MULTIPLES, find_lock
from .motion.moving_notes import not_told
from .motion.with_heart_rate import rate_with_movement, rise_note, rises_without_movement
from .motion_figures import LEAST_TOLD, Movement
from .settings import Asked
from .sheet_builder import Drafts
from .timeline import Held, hold, whole_span


def unlocked(pulse: Stream | None, movement: Movement, asked: Asked, notes: list[Message]) -> Stream | None:
    """Heart rate with the stretches flagged in which it follows the movement's rhythm instead of the pulse.

    An electrode on the chest cannot follow a movement: there the test is not made.
    """
    beat = movement.rhythm
    if pulse is None or not len(pulse) or asked.pulse_sensor == "chest" or movement.counted is None:
        return pulse
    held = hold(pulse, *whole_span(pulse), asked.hold_s)
    multiples = (*MULTIPLES, 4) if movement.counted == "pair" and asked.placement == "trunk" else MULTIPLES
    found = find_lock(held.start_s, held.held_s, held.bpm, beat.time_s, beat.per_minute, multiples)
    notes += found.notes
    if found.notes and asked.pulse_sensor is None:
        notes.append(say.FOUND_SAY_CHEST)
    if not found.intervals:
        return pulse
    locked = np.zeros(len(pulse), bool)
    for begin, end in found.intervals:
        locked |= (pulse.time >= begin) & (pulse.time < end)
    return replace(pulse, flags=pulse.flags | np.where(locked, np.uint16(Flag.CADENCE_LOCK), np.uint16(0)))


def add_heart_with_movement(drafts: Drafts, held: Held | None, movement: Movement) -> None:
    """Mean heart rate while moving minus while still."""
    name = "heart_rate_moving_rise"
    if held is None:
        drafts.withhold(name, heart_rate.WHY_NO_HEART_RATE)
        return
    motion, told = movement.motion, told_percent(movement.motion)
    if told is not None and motion.doubtful and told < LEAST_TOLD:
        drafts.withhold(name, not_told(motion, told, LEAST_TOLD))
        return
    found = rate_with_movement(
        held.start_s,
        held.held_s,
        held.bpm,
        motion.moving,
        from_s=motion.from_s,
        until_s=motion.until_s,
        unmeasured=sorted((*motion.unmeasured, *motion.left_out)),
        certain_s=held.certain_s,
    )
    if found.difference is None:
        drafts.withhold(name, found.told)
        return
    rates = say.note_moving_and_still(found.moving_bpm or 0.0, found.still_bpm or 0.0)
    drafts.give(name, found.difference, note=(rates, found.told))


def withhold_for_clocks(drafts: Drafts) -> Message:
    """Withhold what needs both streams at the same moment; give back what the sheet says of it."""
    drafts.withhold("heart_rate_moving_rise", say.WHY_NO_CLOCK)
    return say.FOUND_LOCK_UNSEEN


def add_rises(drafts: Drafts, pulse: Stream | None, movement: Movement, asked: Asked, notes: list[Message]) -> None:
    """Say of a heart rate that rose while nothing moved: the student is asked, nothing is concluded."""
    if pulse is None or not len(pulse) or drafts.rest_bpm is None:
        return
    held, whole = hold(pulse, *whole_span(pulse), asked.hold_s), movement.whole
    unseen = [(-np.inf, whole.from_s), *whole.unmeasured, *whole.left_out, (whole.until_s, np.inf)]
    found = rises_without_movement(
        held.start_s, held.held_s, held.bpm, whole.moving, rest_bpm=drafts.rest_bpm, unmeasured=sorted(unseen)
    )
    if said := rise_note(found, drafts.rest_bpm):
        notes.append(said)


def movement_used(movement: Movement, asked: Asked) -> MovementUsed:
    """What the movement figures were made from, for the provenance."""
    motion, beat = movement.motion, movement.rhythm
    shown = np.isfinite(beat.per_minute) & (movement.counted is not None)
    return MovementUsed(
        file=movement.source,
        placement=str(asked.placement),
        rate_hz=movement.rate_hz,
        threshold_mg=motion.threshold_mg,
        floor_mg=motion.floor_mg,
        moving=tuple(motion.moving),
        unmeasured=tuple(motion.unmeasured),
        assisted=tuple(motion.left_out),
        doubtful=tuple(motion.doubtful),
        cadence=tuple(
            (float(time), float(rate), float(sure))
            for time, rate, sure in zip(beat.time_s[shown], beat.per_minute[shown], beat.confidence[shown], strict=True)
        ),
        counted=movement.counted,
        turns=tuple((turn.from_s, turn.degrees) for turn in movement.turns),
    )
