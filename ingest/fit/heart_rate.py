"""Heart rate and RR intervals out of a FIT file's ``record``, ``hr`` and ``hrv`` messages.

Times are seconds since the format's epoch, as the file writes them; NaN where a message has none.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .columns import Clock, Rows, field_number, rows_of, unrolled
from .scan import Part

Samples = tuple[NDArray[np.float64], NDArray[np.float64]]
"""``(time [s], value)``, shape (n,) each."""

_LOST_BEATS_S = 3.0  # RR intervals that lag the stamps by more than this have lost beats in between
_TICKS_TURN = 4096  # twelve bits of a counter of 1/1024 s: a turn is 4 s
_NO_EVENTS = 0xFF  # a byte array of nothing else is "no value"
_MOST_TICKS = 2**32


def record_heart_rate(data: bytes, part: Part, clock: Clock) -> tuple[Samples, int]:
    """``(time [s], heart rate [beats/min])`` of every record whose layout has a heart rate, in the file's order.

    The second answer counts records whose heart rate is written in a form that cannot be read.
    """
    number, _ = field_number("record", "heart_rate")
    place, time, bpm, unread = [], [], [], 0
    for rows in rows_of(data, part, "record"):
        values = rows.table(number)
        if values is None:
            unread += len(rows) if rows.find(number) else 0
            continue
        place.append(rows)
        time.append(rows.stamps(clock))
        bpm.append(values[:, 0])
    if len(place) == 1:
        return (time[0], bpm[0]), unread
    order = _file_order(place)
    return (_joined(time)[order], _joined(bpm)[order]), unread


def other_records(data: bytes, part: Part, clock: Clock) -> NDArray[np.float64]:
    """Time stamps of the records whose layout has no heart rate, shape (n,): the device ran, and nobody measured."""
    number, _ = field_number("record", "heart_rate")
    stamps = [rows.stamps(clock) for rows in rows_of(data, part, "record") if rows.find(number) is None]
    return _joined(stamps)


def rr_intervals(data: bytes, part: Part, clock: Clock) -> Samples:
    """``(start of the interval [s], interval [s])`` of every ``hrv`` entry, shape (n,) each.

    The messages carry no time. The intervals are chained one behind the other from the first stamp in force,
    and moved on to the stamp in force wherever they lag it by more than 3 s, which is where beats were lost.
    In a file without any stamp they are chained from 0.
    """
    number, scale = field_number("hrv", "time")
    places, counts, totals, pieces = [], [], [], []
    for rows in rows_of(data, part, "hrv"):
        table = rows.table(number)
        if table is not None:
            filled = (table >= 0) & (table <= 0xFFFF)  # NaN is neither
            places.append(rows.position)
            counts.append(np.count_nonzero(filled, axis=1))
            totals.append(np.where(filled, table, 0).sum(axis=1) / scale)
            pieces.append(table[filled] / scale)
    if not places:
        return np.empty(0), np.empty(0)
    order = np.argsort(np.concatenate(places), kind="stable")
    of_message = np.repeat(np.argsort(order, kind="stable"), np.concatenate(counts))
    intervals = np.concatenate(pieces)[np.argsort(of_message, kind="stable")]
    count, total = np.concatenate(counts)[order], np.concatenate(totals)[order]
    ends = _chained(total, clock.at(np.concatenate(places)[order]), clock.first or 0.0)
    before = np.cumsum(intervals) - intervals - np.repeat(np.cumsum(total) - total, count)
    return np.repeat(ends - total, count) + before, intervals


def _chained(totals: NDArray[np.float64], stamp: NDArray[np.float64], begin: float) -> NDArray[np.float64]:
    """When each message's intervals end [s], shape (n,), moving on where they lag the stamp in force."""
    known = stamp[np.isfinite(stamp)]
    now = float(known[0]) if len(known) else begin
    after = now + np.cumsum(totals)
    if not (after < stamp - _LOST_BEATS_S).any():
        return after
    ends = []
    for total, seen in zip(totals.tolist(), stamp.tolist(), strict=True):
        now += total
        if now < seen - _LOST_BEATS_S:  # a NaN stamp compares false: chain on
            now = seen
        ends.append(now)
    return np.array(ends)


@dataclass(frozen=True, slots=True)
class _Events:
    """Heart beats' events of ``hr`` messages, flat and in order, shape (n,) each.

    ``short`` marks counters of which only twelve bits are written. ``wall_s`` is the message's own stamp beside
    a full counter, NaN elsewhere. ``bpm`` is NaN where the file says "no value"; ``rated`` is false where a
    message has more counters than heart rates.
    """

    position: NDArray[np.int64]
    counter: NDArray[np.int64]
    short: NDArray[np.bool_]
    wall_s: NDArray[np.float64]
    bpm: NDArray[np.float64]
    rated: NDArray[np.bool_]


def event_heart_rate(data: bytes, part: Part) -> Samples:
    """``(time [s], heart rate [beats/min])`` of every event in ``hr`` messages, shape (n,) each.

    A message with a full event counter and a stamp ties the counter to the wall clock; the messages behind it
    carry only the counter's low 12 bits, two in three bytes, low bits first. A later tie that departs by more
    than 3 s says that the counter started anew; smaller ones are the rounding of stamps to whole seconds.
    Times are NaN where the file ties nothing.
    """
    pieces = [_events(rows) for rows in rows_of(data, part, "hr")]
    if not pieces:
        return np.empty(0), np.empty(0)
    order = np.argsort(_joined([piece.position for piece in pieces]), kind="stable")
    counter = _joined([piece.counter for piece in pieces])[order]
    short = _joined([piece.short for piece in pieces])[order]
    wall_s = _joined([piece.wall_s for piece in pieces])[order]
    bpm = _joined([piece.bpm for piece in pieces])[order]
    rated = _joined([piece.rated for piece in pieces])[order]
    event_s = unrolled(counter, short, _TICKS_TURN) / field_number("hr", "event_timestamp")[1]
    return (event_s + _ties(wall_s - event_s))[rated], bpm[rated]


def _ties(offset: NDArray[np.float64]) -> NDArray[np.float64]:
    """Wall clock minus event clock [s] in force at each event, shape (n,), from the events that state both."""
    stated = np.flatnonzero(np.isfinite(offset))
    if not len(stated):
        return np.full(len(offset), np.nan)
    held, in_force = float(offset[stated[0]]), []
    for seen in offset[stated].tolist():
        held = seen if abs(seen - held) > _LOST_BEATS_S else held
        in_force.append(held)
    before = np.maximum(np.searchsorted(stated, np.arange(len(offset)), side="right") - 1, 0)
    return np.array(in_force)[before]


def _events(rows: Rows) -> _Events:
    """The events of one layout of ``hr`` messages."""
    full = rows.table(field_number("hr", "event_timestamp")[0])
    packed = rows.octets(field_number("hr", "event_timestamp_12")[0])
    rates = rows.table(field_number("hr", "filtered_bpm")[0])
    full = np.empty((len(rows), 0)) if full is None else full
    low = np.empty((len(rows), 0), np.int64) if packed is None else twelve_bits(packed)
    bpm = np.empty((len(rows), 0)) if rates is None else rates
    there = (full >= 0) & (full < _MOST_TICKS)
    counter = np.concatenate((np.where(there, full, 0).astype(np.int64), low), axis=1)
    valid = np.concatenate((there, _filled(packed, low)), axis=1)
    short = np.broadcast_to(np.arange(counter.shape[1]) >= full.shape[1], counter.shape)
    message, _ = np.nonzero(valid)
    rank = (np.cumsum(valid, axis=1) - 1)[valid]
    rated = rank < bpm.shape[1]
    rate = np.full(len(rank), np.nan)
    rate[rated] = bpm[message[rated], rank[rated]]
    wall_s = np.where((rank == 0) & ~short[valid], _wall(rows)[message], np.nan)
    return _Events(rows.position[message], counter[valid], short[valid], wall_s, rate, rated)


def _wall(rows: Rows) -> NDArray[np.float64]:
    """Each ``hr`` message's own stamp with its fraction, shape (n,)."""
    number, scale = field_number("hr", "fractional_timestamp")
    seconds, fraction = rows.seconds(), rows.column(number)
    if seconds is None:
        return np.full(len(rows), np.nan)
    return seconds if fraction is None or fraction.ndim != 1 else seconds + np.nan_to_num(fraction) / scale


def _filled(packed: NDArray[np.uint8] | None, low: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which packed counters are values, shape (n, k); a message whose bytes are all 255 has none."""
    if packed is None:
        return np.empty(low.shape, bool)
    return np.broadcast_to((packed != _NO_EVENTS).any(axis=1)[:, None], low.shape)


def twelve_bits(octets: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Two 12-bit numbers from every three bytes, low bits first: shape (n, 3 k) to (n, 2 k)."""
    whole = octets[:, : octets.shape[1] // 3 * 3].astype(np.int64).reshape(len(octets), -1, 3)
    pairs = np.stack((whole[..., 0] | (whole[..., 1] & 0x0F) << 8, whole[..., 1] >> 4 | whole[..., 2] << 4), axis=-1)
    return pairs.reshape(len(octets), -1)


def _file_order(place: list[Rows]) -> NDArray[np.int64]:
    """In which order the messages of several layouts stand in the file, shape (n,)."""
    return np.argsort(_joined([rows.position for rows in place]), kind="stable").astype(np.int64)


def _joined(pieces: list[NDArray]) -> NDArray:
    """One array out of several, or of none."""
    return np.concatenate(pieces) if pieces else np.empty(0)
