"""Beats of a pulse wave, for which nothing vouches: a movement of a steady rhythm makes the same wave.

Measured: of made movements of 45 to 110 cycles a minute two thirds of the time was taken for a pulse, of real walking
(the length of the acceleration at the waist, a shank's turning) up to four fifths; in size, shape and evenness neither
differs from real pulses. So such beats are used, and prove nothing, unless a movement sensor on the same clock shows
that nothing moved, or that what moved had another rhythm.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import Flag
from ..ingest.recording import Stream
from ..words.message import Message
from .messages.heart_rate import caution_unproven
from .timeline import Held

if TYPE_CHECKING:
    from .motion_figures import Movement  # loaded only where a recording holds movement

MULTIPLES = (0.5, 1.0, 2.0, 3.0, 4.0)
"""Of the cadence, at which a movement can show in a pulse wave: a limb's, both limbs', and their overtones."""
APART = 0.1
"""A rate so far from each of them, as a share of it, is not the movement's."""
NEAR_S = 4.0
"""A rhythm stands for so long before and after its moment: half a window [s]."""
LEAST_TOLD_PERCENT = 1.0

_UNPROVEN = np.uint16(Flag.UNPROVEN)


def vouched(pulse: Stream, movement: "Movement") -> Stream:
    """Heart rate without the flag where nothing moved, or what moved had another rhythm."""
    doubtful = (pulse.flags & _UNPROVEN) != 0
    if not doubtful.any():
        return pulse
    ends = pulse.time if pulse.cover_s is None else pulse.time + pulse.cover_s
    whole = movement.whole
    measured = (pulse.time >= whole.from_s) & (ends <= whole.until_s)
    for begin, end in (*whole.unmeasured, *whole.left_out):
        measured &= (ends <= begin) | (pulse.time >= end)
    still = measured.copy()
    for begin, end in whole.moving:
        still &= (ends <= begin) | (pulse.time >= end)
    proven = still | (measured & _another_rhythm(pulse, movement))
    return replace(pulse, flags=np.where(proven, pulse.flags & ~_UNPROVEN, pulse.flags))


def _another_rhythm(pulse: Stream, movement: "Movement") -> NDArray[np.bool_]:
    """Which values lie apart from the rhythm of the movement beside them and its multiples, shape (n,)."""
    beat = movement.rhythm
    known = np.isfinite(beat.per_minute)
    time, cadence = beat.time_s[known], beat.per_minute[known]
    if not len(time):
        return np.zeros(len(pulse), bool)
    behind = np.minimum(np.searchsorted(time, pulse.time), len(time) - 1)
    before = np.maximum(behind - 1, 0)
    at = np.where(pulse.time - time[before] <= time[behind] - pulse.time, before, behind)
    apart = np.abs(time[at] - pulse.time) <= NEAR_S
    for multiple in MULTIPLES:
        apart &= np.abs(pulse.values / (multiple * cadence[at]) - 1) > APART
    return apart


def unproven_caution(pulse: Stream, held: Held) -> Message | None:
    """What the sheet says of a pulse wave's beats for which nothing vouches; None where there are hardly any."""
    if not (pulse.flags & _UNPROVEN).any() or held.measured_s <= 0:
        return None
    percent = 100.0 * float((held.held_s - held.certain_s).sum()) / held.measured_s
    if percent < LEAST_TOLD_PERCENT:
        return None
    return caution_unproven(percent)
