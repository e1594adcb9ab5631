"""Times as people write them: MM:SS or HH:MM:SS from the start, a clock time, a time zone."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..words.numbers import nearest

if TYPE_CHECKING:
    from .recording import Recording

_DAY_S = 86_400.0
_LATE_S = 3_600.0
"""A device that was put on late begins at most so long after a time that is meant by the clock [s]. Our own choice."""
_NO_DAY = date(2000, 1, 1)
_TIME = re.compile(r"(@?)(?:(\d+):)?(?:(\d{1,2}):)?(\d+(?:\.\d+)?)")
_HALF_DAY = re.compile(r"@?(\d{1,2}):(\d\d)(?::(\d\d))?\s*([AaPp])\.?[Mm]\.?")
"""A time of day as clocks in the US show it."""
_MEND = "Write MM:SS or HH:MM:SS from the start, or a clock time as @HH:MM:SS."


@dataclass(frozen=True, slots=True)
class Moment:
    """A time as written. ``clock`` True: meant as a clock time; None: it could be one."""

    text: str
    seconds: float
    clock: bool | None


def parse_moment(text: str) -> Moment:
    """Read one time.

    Raises
    ------
    UsageError
        If it is not written as a time.
    """
    text = text.strip()
    half = _HALF_DAY.fullmatch(text)
    if half is not None:
        return _half_day(text, half)
    found = _TIME.fullmatch(text)
    if found is None:
        raise UsageError(f"“{text}” is not a time.", mend=_MEND)
    at, first, second, last = found.groups()
    parts = [float(part) for part in (first, second, last) if part is not None]
    if len(parts) == 1:
        raise UsageError(f"“{text}” could be minutes or seconds.", mend=_MEND)
    if (len(parts) > 1 and parts[-1] >= 60) or (len(parts) == 3 and parts[1] >= 60):
        raise UsageError(f"“{text}” has 60 or more minutes or seconds.", mend=_MEND)
    if at and len(parts) == 2:
        parts.append(0.0)  # a clock time may leave the seconds out
    seconds = 0.0
    for part in parts:
        seconds = 60 * seconds + part
    could_be_clock = None if len(parts) == 3 and seconds < _DAY_S else False
    return Moment(text, seconds, True if at else could_be_clock)


def _half_day(text: str, found: re.Match[str]) -> Moment:
    """A time with AM or PM, which is always a clock time; midnight and noon are written 12."""
    hours, minutes, seconds = int(found[1]), int(found[2]), int(found[3] or 0)
    if not 1 <= hours <= 12 or minutes > 59 or seconds > 59:
        raise UsageError(f"“{text}” is not a time of day.", mend="Write a time such as 9:05 AM or 1:15 PM.")
    hours = hours % 12 + (12 if found[4] in "Pp" else 0)
    return Moment(f"@{hours:02d}:{minutes:02d}:{seconds:02d}", 3600.0 * hours + 60.0 * minutes + seconds, True)


def parse_span(text: str) -> tuple[Moment, Moment]:
    """Read FROM-UNTIL.

    Raises
    ------
    UsageError
        If it is not two times with a dash between.
    """
    parts = re.split(r"\s*[-–—]\s*", text.strip())
    if len(parts) != 2:
        raise UsageError(f"“{text}” is not a stretch of time.", mend="Write FROM-UNTIL, as in 06:00-18:00.")
    half = _HALF_DAY.fullmatch(parts[1].strip())
    if half is not None and _HALF_DAY.fullmatch(parts[0].strip()) is None:
        until = parse_moment(parts[1])  # "9:05-9:13 AM": the half of the day is written once
        begins = [each for letter in "AP" if (each := parse_moment(f"{parts[0]} {letter}M")).seconds < until.seconds]
        if begins:
            return begins[-1], until
    return parse_moment(parts[0]), parse_moment(parts[1])


def resolve_span(text: str, recording: "Recording", zone: tzinfo | None) -> tuple[float, float]:
    """Seconds from the recording's start of FROM-UNTIL."""
    begin, end = (_resolve(moment, recording, zone) for moment in parse_span(text))
    if not begin < end:
        wall = wall_of(recording, zone)
        raise UsageError(
            f"“{text}” ends before it begins: it ends at {moment_told(end, wall)} and begins at "
            f"{moment_told(begin, wall)}.",
            mend="Write FROM-UNTIL.",
        )
    return begin, end


def uses_clock(text: str, recording: "Recording") -> bool:
    """Tell whether FROM-UNTIL was read as clock times."""
    moments = parse_span(text)
    return any(
        moment.clock or (moment.clock is None and _resolve(moment, recording, None) != moment.seconds)
        for moment in moments
    )


def _resolve(moment: Moment, recording: "Recording", zone: tzinfo | None) -> float:
    """Decide whether a time counts from the start or is a clock time.

    With hours it could be either: it counts from the start if it then lies inside the recording, and is a clock
    time if only that does, or lies before it because the device was put on late. Where both do, nobody guesses.
    Where neither does, it is the one that lies nearer, so that a refusal tells the time that was meant.
    """
    if moment.clock is False:
        return moment.seconds
    by_clock = _by_clock(moment, recording, zone)
    if moment.clock:
        if by_clock is None:
            raise UsageError(
                f"“{moment.text}” is a clock time, but the recording does not say at what time it starts.",
                mend="Write the time from the start, as MM:SS.",
            )
        return by_clock
    last = recording.last_s
    inside, clock_inside = moment.seconds <= last + 60, by_clock is not None and by_clock <= last + 60
    if inside and clock_inside and by_clock is not None and by_clock >= -_LATE_S:
        raise UsageError(
            f"“{moment.text}” could be a time from the start or a clock time.",
            mend=f"Write @{moment.text} for the clock, or minutes and seconds for the time from the start.",
        )
    return moment.seconds if inside or by_clock is None else min(by_clock, moment.seconds)


def _by_clock(moment: Moment, recording: "Recording", zone: tzinfo | None) -> float | None:
    """Seconds from the start to a clock time; None if the recording knows no clock.

    Of the days on which it can be, that which lies nearer to the recording: a device that was put on late begins after
    the phase does, which makes the time negative.
    """
    start = recording.start
    if start is not None and zone is not None and start.tzinfo is not None:
        return _by_zone(moment, start.astimezone(zone), recording.last_s, zone)
    if start is None:
        if recording.clock_s is None:
            return None
        at_start = recording.clock_s
    else:
        at_start = start.hour * 3600 + start.minute * 60 + start.second + start.microsecond / 1e6
    later = (moment.seconds - at_start) % _DAY_S
    return later if later - recording.last_s <= _DAY_S - later else later - _DAY_S


def _by_zone(moment: Moment, start: datetime, last_s: float, zone: tzinfo) -> float | None:
    """As ``_by_clock``, in true time: on the days on which clocks change an hour by the wall is none, or two.

    Raises
    ------
    UsageError
        If clocks are set forward over that time on that day, or back, and the recording does not say which is meant.
    """
    days = [start.date() + timedelta(days=each) for each in (-1, 0, 1)]
    each_day = [(day, _instants(day, moment.seconds, zone)) for day in days]
    places = [(day, [(at - start.astimezone(UTC)).total_seconds() for at in instants]) for day, instants in each_day]
    behind = [each for each in places if each[1] and each[1][0] >= 0]
    before = [each for each in places if each[1] and each[1][0] < 0]
    near = behind[0] if behind and (not before or behind[0][1][0] - last_s <= -before[-1][1][0]) else before[-1]
    missing = next((day for day, instants in places if not instants), None)
    gone = missing is not None and (missing == start.date() or not 0 <= near[1][0] <= last_s)
    inside = [at for at in near[1] if 0 <= at <= last_s] if len(near[1]) > 1 else near[1]
    if not moment.clock and (gone or len(inside) != 1):
        return None  # nobody said that it is one
    if gone and missing is not None:
        raise UsageError(
            f"there was no “{moment.text}” on {missing.isoformat()}: clocks were set forward over it ({zone}).",
            mend="Look at the time, or write the time from the start of the recording, as MM:SS.",
        )
    if len(inside) != 1:
        raise UsageError(
            f"“{moment.text}” was twice on {near[0].isoformat()}: clocks were set back over it ({zone}).",
            mend="Write the time from the start of the recording, as MM:SS.",
        )
    return inside[0]


def _instants(day: date, seconds: float, zone: tzinfo) -> list[datetime]:
    """When the wall showed a time on a day, in UTC: once, never, or twice."""
    wall = datetime.combine(day, time()) + timedelta(seconds=seconds)
    found: list[datetime] = []
    for fold in (0, 1):
        at = wall.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        if at.astimezone(zone).replace(tzinfo=None) == wall and at not in found:
            found.append(at)
    return found


def span_told(span: tuple[float, float], start: datetime | None) -> str:
    """A stretch of a recording as a refusal tells it: by the wall clock where it has one, and in seconds [s].

    start : the wall clock at second 0, in the zone that people read
    """
    seconds = f"{nearest(span[0])} s to {nearest(span[1])} s"
    if start is None:
        return seconds
    first, last = (_clock_at(start, each) for each in span)
    return f"{first} to {last} ({seconds} from its start)"


def moment_told(at_s: float, start: datetime | None) -> str:
    """A moment of a recording, by the wall clock where it has one, and in seconds [s]."""
    return f"{nearest(at_s)} s" if start is None else f"{_clock_at(start, at_s)} ({nearest(at_s)} s)"


def wall_of(recording: "Recording", zone: tzinfo | None) -> datetime | None:
    """What the clock on the wall shows at second 0, for telling times alone; None where the recording knows no clock.

    The day is made up where the recording knows a time of day only.
    """
    start = recording.start
    if start is None:
        at = recording.clock_s
        return None if at is None else datetime.combine(_NO_DAY, time()) + timedelta(seconds=at)
    return start.astimezone(zone) if zone is not None and start.tzinfo is not None else start


def _clock_at(start: datetime, at_s: float) -> str:
    at = start + timedelta(seconds=at_s)
    if start.tzinfo is not None:  # in true time: clocks can change on the way
        at = (start.astimezone(UTC) + timedelta(seconds=at_s)).astimezone(start.tzinfo)
    return f"{at:%H:%M:%S}"


def on_the_wall(start: datetime, zone: str | None) -> datetime:
    """A recording's start as the clock on the wall shows it: one that states UTC, in the zone that a person named."""
    utc = start.tzinfo is not None and not start.utcoffset()
    return start.astimezone(zone_from(zone)) if utc and zone else start


def zone_from(text: str | None) -> tzinfo | None:
    """A time zone from an offset or a name."""
    if text is None:
        return None
    if text.upper() in ("UTC", "Z"):
        return timezone.utc  # noqa: UP017 one spelling with the line below
    if text[:1] in "+-":
        found = re.fullmatch(r"([0-9]{1,2})(?::([0-9]{0,2}))?", text[1:])
        hours, minutes = (int(found[1]), int(found[2] or 0)) if found else (0, 0)
        if found is not None and hours <= 14 and minutes < 60:
            offset = timedelta(hours=hours, minutes=minutes)
            return timezone(-offset if text[0] == "-" else offset)
    else:
        from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

        try:
            return ZoneInfo(text)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            pass
    raise UsageError(f"“{text}” is not a time zone.", mend="Write --zone +02:00 or --zone America/Denver.")
