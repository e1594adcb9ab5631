"""Why a sample is not to be trusted: one bit a rule, so that rules can meet in one sample.

A sample with flags 0 was checked and nothing was found. ``UNCHECKED`` is a flag of its own: a sample
that no rule has looked at never reads as good.
"""

from enum import IntFlag


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

RULES = tuple([str(flag.name).lower() for flag in Flag])
"""Names of the rules. What each finds, with its limit, stands in the catalogues as ``rule_finds.NAME``; the limits are
common practice, with no source."""
