"""Why a sample is not to be trusted: one bit a rule, so that rules can meet in one sample.

A sample with flags 0 was checked and nothing was found. ``UNCHECKED`` is a flag of its own: a sample
that no rule has looked at never reads as good.
"""

from collections.abc import Mapping
from enum import IntFlag
from types import MappingProxyType


class Flag(IntFlag):
    """One bit for each named cleaning rule (the rules themselves are in ``ingest.cleaning``)."""

    UNCHECKED = 1
    DROPOUT = 2  # 0, empty, or the format's own "invalid"
    IMPLAUSIBLE = 4  # outside what a heart can do
    FROZEN = 8  # the same value for too long; of movement, all axes to the last bit
    TOO_FAST = 16  # entered and left by steps faster than a heart can change
    DUPLICATE_STAMP = 32  # another sample carries the same time stamp and stands for it
    BACKWARD_STAMP = 64  # stood in the file behind a later one; put in order, still used
    NO_CONTACT = 128  # the sensor itself says that it has no skin contact
    MISSED_BEAT = 256  # an interval that spans more than one beat
    EXTRA_BEAT = 512  # an interval that is, or may be, part of a beat
    PREMATURE_BEAT = 1024  # a short interval and the long pause behind it
    CADENCE_LOCK = 8192  # an optical rate that follows the rhythm of the movement instead of the pulse
    VARYING = 2048  # differs by more than 20 % from the last regular interval; still used
    UNPROVEN = 32768  # a beat of a pulse wave, which a steady movement looks like; still used, and proves nothing
    SATURATED = 4096  # stands at the sensor's limit: the truth is at least that large; still used


CONTACT = 16384
"""No fault: with this bit a reader tells the rules that the sensor states skin contact. They take it away."""

REJECTING = (
    Flag.UNCHECKED
    | Flag.DROPOUT
    | Flag.IMPLAUSIBLE
    | Flag.FROZEN
    | Flag.TOO_FAST
    | Flag.DUPLICATE_STAMP
    | Flag.NO_CONTACT
    | Flag.MISSED_BEAT
    | Flag.EXTRA_BEAT
    | Flag.PREMATURE_BEAT
    | Flag.CADENCE_LOCK
)
"""A sample with any of these is not used in a figure. The others are shown and counted."""

RULES: Mapping[str, str] = MappingProxyType(
    {
        "unchecked": "not judged by any rule",
        "dropout": "0, empty, 255 as a heart rate, or the format's “no value”",
        "implausible": "heart rate outside 30 to 230 /min, RR outside 0.261 to 2 s",
        "frozen": "one heart rate for over 60 s (300 s where the whole recording is coarse) for which neither beats "
        "nor skin contact vouch; movement or a wave that stands still to the last bit for over 1 s",
        "too_fast": "an excursion of under 15 s by steps no heart can make: 20 /min in 1 s, 5 more a second",
        "duplicate_stamp": "another sample carries the same time",
        "backward_stamp": "stood behind a later one; put in order and used",
        "no_contact": "the sensor says that it has no skin contact",
        "missed_beat": "an interval of one and a half beats or more",
        "extra_beat": "intervals that are pieces of a beat, or next to one",
        "premature_beat": "a short interval and the long pause behind it",
        "cadence_lock": "an optical heart rate that follows the rhythm of the movement",
        "varying": "over 20 % from the last regular interval; shown and used",
        "unproven": "a beat of a pulse wave, which steady movement looks like; used, and left out of what is proven",
        "saturated": "at the sensor's limit, so that the truth is at least that large; shown and used",
    }
)
"""What each rule finds, with its limit, for people. The limits are common practice, with no source."""
