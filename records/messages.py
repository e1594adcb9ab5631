"""What is said of a trial and the ceiling of heart rate: one name a message, for texts in ``words``.

Messages without values are constants; a function gives each of the others its values: rates [/min], times [s from the
recording's start], lengths [s], shares [%].
"""

from datetime import date

from ..words.message import Message, Quoted

# Which ceiling there is, and whether the sheet counts with it
CEILING_NONE = Message("ceiling.none")
CEILING_LATER = Message("ceiling.later")


def ceiling_set(bpm: float, role: Quoted) -> Message:
    """The ceiling and who set it."""
    return Message.of("ceiling.set", bpm=bpm, role=role)


def ceiling_set_on(bpm: float, role: Quoted, on: date) -> Message:
    """The ceiling, who set it and when."""
    return Message.of("ceiling.set_on", bpm=bpm, role=role, on=on)


def ceiling_changed(used: float, now: float) -> Message:
    """The sheet counts with another ceiling than today's."""
    return Message.of("ceiling.changed", used=used, now=now)


def ceiling_gone(used: float) -> Message:
    """The sheet counts with a ceiling, and today there is none."""
    return Message.of("ceiling.gone", used=used)


# What was recorded, in one sentence
CEILING_NO_RECORDING = Message("ceiling.no_recording")
CEILING_NO_HEART_RATE = Message("ceiling.no_heart_rate")
CEILING_NOT_MEASURED = Message("ceiling.not_measured")
CEILING_LENGTH_UNKNOWN = Message("ceiling.length_unknown")


def ceiling_above(bpm: float, length: Message, first: Message) -> Message:
    """For how long heart rate stood above the ceiling, and when first."""
    return Message.of("ceiling.above", bpm=bpm, length=length, first=first)


def ceiling_length(seconds: float) -> Message:
    """For how long it stood above, where nothing that was not measured can change it."""
    return Message.of("ceiling.length", seconds=seconds)


def ceiling_length_between(seconds: float, low: float, high: float) -> Message:
    """For how long it stood above, and what the unmeasured stretches allow."""
    return Message.of("ceiling.length_between", seconds=seconds, low=low, high=high)


def ceiling_first(at: float) -> Message:
    """When it first stood above."""
    return Message.of("ceiling.first", at=at)


def ceiling_first_between(at: float, low: float) -> Message:
    """When it was first seen above, and how early it may have been."""
    return Message.of("ceiling.first_between", at=at, low=low)


def ceiling_also_possible(count: int, seconds: float) -> Message:
    """Beside the certain crossings: readings above the ceiling that are in no figure."""
    return Message.of("ceiling.also_possible", count=count, seconds=seconds)


def ceiling_perhaps(bpm: float, high: float, first: float, highest: float) -> Message:
    """No crossing is certain and some are possible: how long at the most, when first, and how high was read."""
    return Message.of("ceiling.perhaps", bpm=bpm, high=high, first=first, highest=highest)


def ceiling_perhaps_moment(bpm: float, first: float, highest: float) -> Message:
    """No crossing is certain, and a single reading of no known length may have been one."""
    return Message.of("ceiling.perhaps_moment", bpm=bpm, first=first, highest=highest)


def ceiling_not_above(bpm: float) -> Message:
    """No reading above the ceiling, on a sheet that does not state how much was measured."""
    return Message.of("ceiling.not_above", bpm=bpm)


def ceiling_not_above_measured(bpm: float, percent: float) -> Message:
    """No reading above the ceiling, and how much of the recording was measured."""
    return Message.of("ceiling.not_above_measured", bpm=bpm, percent=percent)


def ceiling_not_above_between(bpm: float, percent: float, high: float) -> Message:
    """No reading above the ceiling, and for how long what was not measured may have been."""
    return Message.of("ceiling.not_above_between", bpm=bpm, percent=percent, high=high)


# What there is no heart rate for
def ceiling_unmeasured(seconds: float, spans: tuple[Message, ...]) -> Message:
    """Every stretch of the recording without heart rate."""
    return Message.of("ceiling.unmeasured", seconds=seconds, spans=spans)


def ceiling_unmeasured_more(seconds: float, spans: tuple[Message, ...]) -> Message:
    """The longest of many stretches without heart rate."""
    return Message.of("ceiling.unmeasured_more", seconds=seconds, spans=spans)


def ceiling_span(begin: float, until: float) -> Message:
    """A stretch of the recording."""
    return Message.of("ceiling.span", begin=begin, until=until)


def ceiling_looked_at(begin: float, until: float) -> Message:
    """Which part of the recording belongs to the trial; no other was looked at."""
    return Message.of("ceiling.looked_at", begin=begin, until=until)


# Several trials in one recording
def share_with(trials: tuple[Message, ...]) -> Message:
    """Other trials are in one of its recordings too."""
    return Message.of("share.with", trials=trials)


def share_trial(number: int, student: Quoted) -> Message:
    """One of them."""
    return Message.of("share.trial", number=number, student=student)
