"""What the metrics say of a trial's recording as a whole: how its clocks were laid together, its phases, a level rate.

Messages without values are constants; a function gives each of the others its values. Times are in seconds, rates in
beats/min. ``seen`` is what two files both saw, a key of ``seen_by``; ``subject`` what was compared, of ``compared``.
"""

from datetime import date

from ...words.message import Message, Quoted

PHASES_GIVEN = Message("phases.given")
PHASES_WHOLE = Message("phases.whole")
PHASES_LAPS = Message("phases.laps")
CLOCK_SINGLE_PRESS = Message("clock.single_press")
CLOCK_NO_TAPS_FIRST = Message("clock.no_taps_first")
CLOCK_NO_TAPS_SECOND = Message("clock.no_taps_second")
CLOCK_OTHER_TAPS = Message("clock.other_taps")
CLOCK_NO_EVENTS = Message("clock.no_events")
CLOCK_OTHER_EVENTS = Message("clock.other_events")
CLOCK_NO_ONSET = Message("clock.no_onset")


def level_stretch(bpm: float, length: Message, begin: float, until: float) -> Message:
    """A stretch of one heart rate."""
    return Message.of("level.stretch", bpm=bpm, length=length, begin=begin, until=until)


def level_seconds(seconds: int) -> Message:
    """A length in seconds."""
    return Message.of("level.seconds", seconds=seconds)


def level_minutes(minutes: int) -> Message:
    """A length in whole minutes."""
    return Message.of("level.minutes", minutes=minutes)


def level_minutes_seconds(minutes: int, seconds: int) -> Message:
    """A length in minutes and seconds."""
    return Message.of("level.minutes_seconds", minutes=minutes, seconds=seconds)


def level_more(count: int) -> Message:
    """How many stretches are not named."""
    return Message.of("level.more", count=count)


def found_level_set_aside(stretches: tuple[Message, ...]) -> Message:
    """Level heart rates that were set aside."""
    return Message.of("found.level_set_aside", stretches=stretches)


def found_level_used(stretches: tuple[Message, ...], condition: str) -> Message:
    """Level heart rates that a condition explains."""
    return Message.of("found.level_used", stretches=stretches, condition=condition)


def clock_moved(path: str, other: str, offset: float, seen: str, within: float, confidence: float) -> Message:
    """An offset that two files told."""
    return Message.of(
        "clock.moved",
        path=Quoted(path),
        other=Quoted(other),
        offset=offset,
        seen=seen,
        within=within,
        confidence=confidence,
    )


def clock_moved_unsure(path: str, other: str, offset: float, seen: str) -> Message:
    """An offset of which nobody says how good it is."""
    return Message.of("clock.moved_unsure", path=Quoted(path), other=Quoted(other), offset=offset, seen=seen)


def clock_say_offset(path: str) -> Message:
    """What to do where nobody can lay a file."""
    return Message.of("clock.say_offset", path=Quoted(path))


def clock_contradicted(first: str, other: str, apart: float) -> Message:
    """Clocks that taps contradict."""
    return Message.of("clock.contradicted", first=Quoted(first), other=Quoted(other), apart=apart)


def clock_drift(drift: float, error: float) -> Message:
    """Drift of two clocks, in millionths."""
    return Message.of("clock.drift", drift=drift, error=error)


def clock_otherwise(seen: str, apart: float, used: str) -> Message:
    """Another way that does not agree."""
    return Message.of("clock.otherwise", seen=seen, apart=apart, used=used)


def clock_several_ways(seen: str, ways: int) -> Message:
    """Taps or presses that fit in several ways."""
    return Message.of("clock.several_ways", seen=seen, ways=ways)


def clock_event_counts(first: int, second: int) -> Message:
    """Presses of which nobody knows which belong together."""
    return Message.of("clock.event_counts", first=first, second=second)


def clock_too_little_movement(seconds: float) -> Message:
    """Too little movement to compare."""
    return Message.of("clock.too_little_movement", seconds=seconds)


def clock_too_little_of_both(seconds: float) -> Message:
    """Too little movement or heart rate to compare."""
    return Message.of("clock.too_little_of_both", seconds=seconds)


def clock_level_heart(bpm: float) -> Message:
    """A heart rate that shows no onset of work."""
    return Message.of("clock.level_heart", bpm=bpm)


def clock_of_heart(seconds: float) -> Message:
    """How good an offset from the heart's answer is."""
    return Message.of("clock.of_heart", seconds=seconds)


def clock_no_overlap(subject: str, seconds: float) -> Message:
    """Two series that cannot be compared."""
    return Message.of("clock.no_overlap", subject=subject, seconds=seconds)


def clock_no_better_than_chance(subject: str) -> Message:
    """Two series that fit nowhere."""
    return Message.of("clock.no_better_than_chance", subject=subject)


def clock_fits_elsewhere(subject: str) -> Message:
    """Two series that fit at several offsets."""
    return Message.of("clock.fits_elsewhere", subject=subject)


def taken_other_day(recorded: date, on: date) -> Message:
    """A recording of another day than the trial's."""
    return Message.of("taken.other_day", recorded=recorded, on=on)


def taken_today(on: date) -> Message:
    """An age that is counted at today, because nothing states the day."""
    return Message.of("taken.today", on=on)


def taken_utc(at: str) -> Message:
    """Clock times taken in the file's own UTC; ``at`` is the time of day at its start."""
    return Message.of("taken.utc", at=Quoted(at))
