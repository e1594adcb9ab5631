"""What the two XML formats share: the walk over their points, and clock times turned into seconds.

Every element is dropped as soon as it ends, so memory follows the number of points and not what else a file
holds. Only times, heart rates and the starts of laps or segments are taken; no other text leaves this module.
"""

import math
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile, IngestError, NothingMeasured
from ...words.message import Message
from .. import messages as say
from .. import refusal_messages as refused
from ..limits import MOST_POINTS, refuse_endless_xml, refuse_many
from ..recording import HEART_RATE, Source, Stream

MAX_DEPTH = 100
"""Elements inside elements: a recording needs about ten; without a limit, open elements could fill the memory."""

_CHUNK = 1 << 16
_POINT, _TIME, _RATE, _RATE_PARENT, _GROUP, _SPAN = range(1, 7)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_UNREADABLE = np.iinfo(np.int64).min
FURTHEST_S = 7 * 86_400.0
"""A stamp further than a week from the middle one is broken [common practice: a school trial takes minutes]."""
_SHORTEST_STAMP = len("2026-01-05T08:00")  # a date alone is not a time
# One, to be taken out again and again: "(…)++" of all fits texts that it must not in Python 3.11.2 (Debian 12's).
_PLAIN_UTC = re.compile(r"[12]\d{3}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,6})?Z(?:\x1f|\Z)", re.ASCII)
_LONGEST_NUMBER = 100  # blanks around it included
_NUMBER = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*", re.ASCII)
_ROOT = re.compile(r"<(?:!DOCTYPE\s+)?(?:[^\s<>/:!?]+:)?([^\s<>/:!?]+)[\s/>\[]")
_MAY_BEGIN_XML = b"<\xef\xff\xfe\0 \t\r\n"
_BYTE_ORDERS = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"), (b"<\0", "utf-16-le"), (b"\0<", "utf-16-be"))


def root_name(head: bytes) -> str:
    """Local name of the outermost element, '' if these bytes are not XML or end before it.

    A document type names the outermost element too, and may be longer than the head.
    """
    if head[:1] not in _MAY_BEGIN_XML:
        return ""  # binary files and numbers, at once
    encoding = next((name for mark, name in _BYTE_ORDERS if head.startswith(mark)), "utf-8")
    text = head.decode(encoding, "replace").removeprefix("\ufeff").lstrip()
    while text.startswith(("<?", "<!--")):
        _, _, text = text.partition("?>" if text.startswith("<?") else "-->")
        text = text.lstrip()
    found = _ROOT.match(text)
    return found[1] if found else ""


@dataclass(frozen=True, slots=True)
class Layout:
    """Local names of the elements that matter in a format.

    ``rates`` are compared in small letters and may stand at any depth of a point, unless ``rate_parent`` names
    the child of the point that must hold them. ``span`` is the child of a ``group`` that holds its length.
    """

    point: str
    time: str
    rates: frozenset[str]
    group: str
    rate_parent: str = ""
    span: str = ""

    def role(self, name: str) -> int:
        """What an element of this local name is for, 0 for nothing."""
        if name.lower() in self.rates:
            return _RATE
        names = {self.point: _POINT, self.time: _TIME, self.rate_parent: _RATE_PARENT}
        return (names | {self.group: _GROUP, self.span: _SPAN}).get(name, 0)


@dataclass(slots=True)
class Group:
    """A lap or a segment: the index of its first point, its ``StartTime`` and its length as written."""

    first: int
    start: str | None
    span: str | None = None


@dataclass(slots=True)
class Found:
    """The texts of all complete points, in the order of the file: None where a point holds no such element.

    ``repeated`` counts heart rates behind the first of a point; ``stopped`` says why reading ended early.
    """

    times: list[str | None] = field(default_factory=list)
    rates: list[str | None] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    repeated: int = 0
    stopped: Message | None = None


def walk(data: bytes, layout: Layout, source: Source) -> Found:
    """Collect the points of a file, as far as it can be read.

    The parser hands its events straight to a collector and builds no tree: memory follows the points, and reading
    is quicker than building one.

    Raises
    ------
    DamagedFile
        If the file declares entities or a document type, or an encoding that cannot be read.
    TooLarge
        If it holds more than a day of track points, or as many elements.
    """
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser, ParseError

    refuse_endless_xml(data, source.name)
    found = Found()
    body = data.lstrip()  # white space before the XML declaration is not allowed, and harmless
    try:
        parser = DefusedXMLParser(target=_Collector(layout, found), forbid_dtd=True)
        for begin in range(0, len(body), _CHUNK):
            parser.feed(body[begin : begin + _CHUNK])
            refuse_many(len(found.times), MOST_POINTS, "track points", source.name)
            if found.stopped:
                return found
        parser.close()
    except ParseError as error:
        line = error.position[0] + data[: len(data) - len(body)].count(b"\n")
        found.stopped = say.points_cut_off(line)
    except DefusedXmlException:
        raise DamagedFile(
            refused.FILE_DTD,
            where=source.name,
            mend=refused.MEND_EXPORT_APP,
        ) from None
    except (LookupError, ValueError, Warning):  # the last from a codec, where warnings are errors
        raise DamagedFile(refused.FILE_ENCODING, where=source.name, mend=refused.MEND_EXPORT_APP) from None
    return found


class _Collector:
    """Takes the parser's events and keeps the texts of points. Depth 1 is the outermost element."""

    def __init__(self, layout: Layout, found: Found) -> None:
        self._layout, self._found = layout, found
        self._roles: dict[str, int] = {}
        self._depth = self._point = self._group = self._beside = 0  # at which depth one is open; 0: none
        self._stamp: str | None = None
        self._rate: str | None = None
        self._text: list[str] | None = None  # of the element that is open and wanted

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """An element begins: what its role asks for is kept from here on."""
        self._depth = depth = self._depth + 1
        self._text = None  # text behind a child is not the element's own
        role = self._roles.get(tag)
        if role is None:
            role = self._roles[tag] = self._layout.role(tag.rpartition("}")[2])
        if not role:
            if depth > MAX_DEPTH:
                self._found.stopped = say.points_too_deep(MAX_DEPTH)
        elif role in (_TIME, _RATE, _SPAN):
            self._text = []
        elif role == _POINT:
            if not self._point:
                self._point, self._stamp, self._rate = depth, None, None
        elif role == _RATE_PARENT:
            self._beside = depth
        elif role == _GROUP:
            self._group = depth
            self._found.groups.append(Group(len(self._found.times), attributes.get("StartTime")))

    def data(self, text: str) -> None:
        """Text, which may come in pieces."""
        if self._text is not None:
            self._text.append(text)

    def end(self, tag: str) -> None:
        """An element ends."""
        self._depth = parent = self._depth - 1
        role, self._text, text = self._roles[tag], None, self._text
        if not role or self._found.stopped:
            return
        if role == _TIME:
            if parent == self._point and self._stamp is None:
                self._stamp = "".join(text or ())
        elif role == _RATE:
            if self._point and (not self._layout.rate_parent or self._beside == parent == self._point + 1):
                self._found.repeated += self._rate is not None
                self._rate = "".join(text or ()) if self._rate is None else self._rate
        elif role == _POINT and parent + 1 == self._point:
            self._found.times.append(self._stamp)
            self._found.rates.append(self._rate)
            self._point = 0
        elif role == _SPAN and parent == self._group and self._found.groups:
            self._found.groups[-1].span = "".join(text or ())
        elif role == _GROUP:
            self._group = 0

    def close(self) -> None:
        """Nothing is built."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Where on the clock the points lie.

    start : wall clock of the earliest point, in UTC where a zone is known, else naive; None without any time
    time_s : ndarray, shape (points,)  [s] from the start; NaN where there is no readable time
    group_s : ndarray, shape (groups,)  [s] from the start, of their ``StartTime``; NaN likewise
    notes : what had to be assumed
    far : how many points lie more than a week from the middle one; their times are NaN
    """

    start: datetime | None
    time_s: NDArray[np.float64]
    group_s: NDArray[np.float64]
    notes: tuple[Message, ...] = ()
    far: int = 0


def read_clock(found: Found, zone: tzinfo | None) -> Clock:
    """Turn ISO 8601 texts into seconds from the earliest point.

    Zones may be mixed. Times without one stand in ``zone``, with its offset at the earliest of them: a device's
    clock runs on. Where no ``zone`` is given they are taken as UTC if other times have a zone, and this is noted;
    if none has, the start stays naive.
    """
    points, groups = _instants(found.times), _instants([group.start for group in found.groups])
    count = len(found.times)
    micros, zoned = np.concatenate((points[0], groups[0])), np.concatenate((points[1], groups[1]))
    readable = micros != _UNREADABLE
    near = readable & _near(micros, np.flatnonzero(readable[:count]))
    naive = near & ~zoned
    mixed = int(np.count_nonzero(naive)) if zoned.any() else 0
    notes = (say.points_zone(str(zone or "UTC"), mixed),) if mixed else ()
    if zone and naive.any():
        first = _EPOCH + timedelta(microseconds=int(micros[naive].min()))
        micros[naive] -= (first.replace(tzinfo=zone).utcoffset() or timedelta()) // timedelta(microseconds=1)
    time_s = np.full(len(micros), np.nan)
    start = None
    if near[:count].any():
        origin = int(micros[:count][near[:count]].min())
        time_s[near] = (micros[near] - origin) / 1e6
        start = _EPOCH + timedelta(microseconds=origin)
        start = start if zone or zoned.any() else start.replace(tzinfo=None)
    far = int(np.count_nonzero(readable[:count] & ~near[:count]))
    return Clock(start, time_s[:count], time_s[count:], notes, far)


def _near(micros: NDArray[np.int64], points: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which moments lie within a week of the middle one of the points, shape (n,)."""
    if not len(points):
        return np.zeros(len(micros), bool)
    middle = np.partition(micros[points], len(points) // 2)[len(points) // 2]
    return np.abs(micros.astype(np.float64) - float(middle)) <= FURTHEST_S * 1e6


def _instants(texts: list[str | None]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Microseconds since 1970, whole so that differences are exact, and whether each text has a zone."""
    plain = _plain_utc([text for text in texts if text is not None])
    if len(plain) == len(texts):
        return plain, np.ones(len(texts), bool)
    micros, zoned = [], []
    for text in texts:
        moment = _moment(text)
        zoned.append(moment is not None and moment.tzinfo is not None)
        if moment is None:
            micros.append(_UNREADABLE)
            continue
        since = (moment if moment.tzinfo else moment.replace(tzinfo=UTC)) - _EPOCH
        micros.append((since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds)
    return np.array(micros, np.int64), np.array(zoned, bool)


def _plain_utc(texts: list[str]) -> NDArray[np.int64]:
    """The same for texts that all are plain UTC, twice as fast; empty if any is not."""
    joined = "\x1f".join(texts)  # a sign that XML does not allow, so that no text holds two times
    if joined and not _PLAIN_UTC.sub("", joined):
        with suppress(ValueError):  # the 30th of February
            return np.array(joined.replace("Z", "").split("\x1f"), "datetime64[us]").astype(np.int64)
    return np.empty(0, np.int64)


def _moment(text: str | None) -> datetime | None:
    """A date with a time of day, None if the text is anything else."""
    text = (text or "").strip()
    if len(text) < _SHORTEST_STAMP:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if 1 < moment.year < 9999 else None  # a zone could push it over the calendar's edge


def heart_rate(found: Found, clock: Clock, source: Source) -> tuple[Stream, tuple[Message, ...]]:
    """The stream of all points that hold a time and a heart rate, and notes on those that do not.

    Raises
    ------
    DamagedFile
        If reading stopped early, before any such point.
    NothingMeasured
        If the file holds no such point.
    """
    count = len(found.times)
    timed = np.isfinite(clock.time_s)
    rated = np.array([rate is not None for rate in found.rates], bool)
    if not (timed & rated).any():
        raise _nothing(found, bool(rated.any()), source)
    values = _numbers([rate for rate, used in zip(found.rates, timed, strict=True) if used and rate is not None])
    untimed = found.times.count(None)
    counts = (
        (say.points_no_time, untimed),
        (say.points_bad_time, count - int(np.count_nonzero(timed)) - untimed - clock.far),
        (say.points_far, clock.far),
        (say.points_no_rate, int(np.count_nonzero(timed & ~rated))),
        (say.points_bad_rate, int(np.count_nonzero(np.isnan(values)))),
        (say.points_second_rate, found.repeated),
    )
    notes = [told(some, count) for told, some in counts if some]
    if found.stopped:
        notes.append(say.unread_rest(found.stopped, count))
    stream = Stream.from_samples(HEART_RATE, clock.time_s[timed & rated], values, source=source.name)
    return stream, (*notes, *clock.notes)


def _nothing(found: Found, rated: bool, source: Source) -> IngestError:
    """Why there is no heart rate."""
    count = len(found.times)
    if found.stopped:
        what = refused.file_points_stopped(found.stopped)
        return DamagedFile(what, where=source.name, mend=refused.MEND_COPY_OR_EXPORT)
    if rated:
        return NothingMeasured(refused.file_points_apart(count), where=source.name, mend=refused.MEND_EXPORT_TIMES)
    what = refused.file_points_none(count) if count else refused.FILE_NO_POINTS
    return NothingMeasured(what, where=source.name, mend=refused.MEND_STRAP_FILE)


def _numbers(texts: Sequence[str]) -> NDArray[np.float64]:
    """Heart rates as numbers; there are few different ones, so each is read once."""
    known = {text: as_number(text) for text in set(texts)}
    return np.array([known[text] for text in texts], np.float64)


def as_number(text: str | None) -> float:
    """A finite decimal number, NaN if the text is anything else."""
    number = float(text) if text and len(text) <= _LONGEST_NUMBER and _NUMBER.fullmatch(text) else math.nan
    return number if math.isfinite(number) else math.nan
