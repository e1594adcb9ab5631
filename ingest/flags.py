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
    FROZEN = 8  # the same value for too long
    TOO_FAST = 16  # entered and left by steps faster than a heart can change
    DUPLICATE_STAMP = 32  # another sample carries the same time stamp and stands for it
    BACKWARD_STAMP = 64  # stood in the file behind a later one; put in order, still used
    NO_CONTACT = 128  # the sensor itself says that it has no skin contact
    MISSED_BEAT = 256  # an interval that spans two or more beats
    EXTRA_BEAT = 512  # an interval that is part of one beat
    PREMATURE_BEAT = 1024  # a short interval and the long pause behind it
    VARYING = 2048  # differs by more than 20 % from the last regular interval; still used


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
)
"""A sample with any of these is not used in a figure. The others are shown and counted."""
