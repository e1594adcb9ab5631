"""Acceleration and angular rate out of a FIT file's ``accelerometer_data`` and ``gyroscope_data`` messages.

A message carries a stamp, its milliseconds, and up to some thirty samples, each with its own offset in ms. Values
stand in one of three forms, and the first that a message has is taken: calibrated (g, deg/s), calibrated in
thousandths of g, or raw counts, which mean something only with a ``three_d_sensor_calibration`` message:

    value = orientation · (raw - level shift - offset) · factor / divisor

Source: the format's own rule as an open reader quotes it (fit-rs, sensor_data.rs); orientation is row by row, in
1/65535. Raw counts without a calibration are left out and counted: they are not in g.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from .. import messages as say
from ..recording import ACCELERATION, ANGULAR_RATE
from ..table.coarse_stamps import spread
from .columns import Clock, Rows, field_number, rows_of
from .scan import Part

Floats = NDArray[np.float64]
_MILLI = 1000.0


class _Sensor(NamedTuple):
    """How a sensor's messages and fields are called, and its number in calibration messages."""

    stream: str
    message: str
    field: str
    number: int


_SENSORS = (
    _Sensor(ACCELERATION, "accelerometer_data", "accel", 0),
    _Sensor(ANGULAR_RATE, "gyroscope_data", "gyro", 1),
)
_FORMS = (("calibrated_{}_", 1.0), ("compressed_calibrated_{}_", _MILLI))
"""Fields of calibrated values, and what to divide them by for g or deg/s."""


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """Samples of one kind in the order of the file.

    time : ndarray, shape (n,)  [s] since the format's epoch
    values : ndarray, shape (n, 3)  [g] or [deg/s]; NaN where the file says "no value"
    """

    name: str
    time: Floats
    values: Floats


def motion(data: bytes, part: Part, clock: Clock, notes: list[Message]) -> list[Motion]:
    """Every stream of movement in one part of a chain; what had to be left out is added to ``notes``."""
    found = [_of_sensor(sensor, data, part, clock, notes) for sensor in _SENSORS]
    return [stream for stream in found if stream is not None]


def _of_sensor(sensor: _Sensor, data: bytes, part: Part, clock: Clock, notes: list[Message]) -> Motion | None:
    """One sensor's samples; None if it has none that can be used."""
    pieces: list[_Piece] = []
    left_out = unplaced = 0
    calibrations = _calibrations(sensor, data, part)
    for rows in rows_of(data, part, sensor.message):
        values = _values(sensor, rows, calibrations)
        if values is None:
            left_out += len(rows)
            continue
        piece = _piece(sensor, rows, values, clock, notes)
        lost = int(np.count_nonzero(~np.isfinite(piece.time)))
        unplaced += lost
        pieces.append(piece.placed() if lost else piece)
    if left_out:
        raw = say.fit_raw_acceleration if sensor.stream == ACCELERATION else say.fit_raw_turning
        notes.append(raw(left_out))
    if unplaced:
        notes.append(say.fit_unplaced_movement(sensor.stream, unplaced))
    pieces = [piece for piece in pieces if len(piece.time)]
    if not pieces:
        return None
    position, time, values = (np.concatenate(column) for column in zip(*pieces, strict=True))
    if len(pieces) > 1:
        order = np.argsort(position, kind="stable")
        time, values = time[order], values[order]
    time, shared = spread(time, values)
    notes += [] if shared is None else [say.read_coarse(sensor.stream, shared)]
    return Motion(sensor.stream, time, values)


class _Piece(NamedTuple):
    """Samples of one layout, flat: the message's position, time [s], values of shape (n, 3)."""

    position: NDArray[np.int64]
    time: Floats
    values: Floats

    def placed(self) -> "_Piece":
        """Only the samples that have a time."""
        known = np.isfinite(self.time)
        return _Piece(self.position[known], self.time[known], self.values[known])


def _piece(sensor: _Sensor, rows: Rows, values: Floats, clock: Clock, notes: list[Message]) -> _Piece:
    """Lay the samples of messages, shape (m, k, 3), one behind the other; padding is dropped.

    An array is padded where a message has fewer samples than the layout has room for: neither offset nor value.
    """
    count, width, _ = values.shape
    base = _message_times(sensor, rows, clock, notes)
    offset = rows.table(field_number(sensor.message, "sample_time_offset")[0])
    if offset is None:
        filled = np.isfinite(values).any(axis=2)
        time = np.broadcast_to(base[:, None], (count, width))
    else:
        offset = _fitted(offset, width)
        filled = np.isfinite(offset) | np.isfinite(values).any(axis=2)
        time = base[:, None] + offset / _MILLI
    position = np.broadcast_to(rows.position[:, None], (count, width))
    if filled.all():
        return _Piece(position.reshape(-1), time.reshape(-1), values.reshape(-1, 3))
    return _Piece(position[filled], time[filled], values[filled])


def _message_times(sensor: _Sensor, rows: Rows, clock: Clock, notes: list[Message]) -> Floats:
    """When each message's first sample was taken at the earliest [s], shape (m,)."""
    base = rows.stamps(clock)
    ms = rows.table(field_number(sensor.message, "timestamp_ms")[0])
    if ms is not None and np.isfinite(ms[:, 0]).any():
        return base + np.nan_to_num(ms[:, 0]) / _MILLI
    known = np.isfinite(base)
    base = base.copy()
    base[known], shared = spread(base[known], np.arange(np.count_nonzero(known)))
    if shared is not None:
        notes.append(say.FIT_WHOLE_SECONDS)
    return base


def _values(sensor: _Sensor, rows: Rows, calibrations: "_Calibrations") -> Floats | None:
    """Values in the stream's unit, shape (m, k, 3); None if there are only raw counts, or nothing."""
    for form, over in _FORMS:
        values = _axes(sensor, rows, form)
        if values is not None and np.isfinite(values).all(axis=2).any():
            return values / over if over != 1 else values
    raw = _axes(sensor, rows, "{}_")
    return None if raw is None else calibrations.applied(raw, rows.position)


def _axes(sensor: _Sensor, rows: Rows, form: str) -> Floats | None:
    """Three fields side by side, shape (m, k, 3); None if the profile or the layout lacks one of them."""
    columns = []
    for axis in "xyz":
        try:
            number, _ = field_number(sensor.message, form.format(sensor.field) + axis)
        except StopIteration:
            return None  # angular rate has no compressed form
        column = rows.table(number)
        if column is None:
            return None
        columns.append(column)
    width = max(column.shape[1] for column in columns)
    return np.stack([_fitted(column, width) for column in columns], axis=2)


def _fitted(table: Floats, width: int) -> Floats:
    """A table of that width: cut, or filled up with "no value"."""
    if table.shape[1] >= width:
        return table[:, :width]
    return np.pad(table, ((0, 0), (0, width - table.shape[1])), constant_values=np.nan)


@dataclass(frozen=True, slots=True, eq=False)
class _Calibrations:
    """One sensor's calibrations in the order of the file: position (c,), shift (c, 3), and matrix (c, 3, 3)."""

    position: NDArray[np.int64]
    shift: Floats
    matrix: Floats

    def applied(self, raw: Floats, position: NDArray[np.int64]) -> Floats | None:
        """Calibrated values of raw ones, shape (m, k, 3), by the calibration before each message.

        Messages before the first calibration take the first; None if there is none.
        """
        if not len(self.position):
            return None
        used = np.maximum(np.searchsorted(self.position, position, side="right") - 1, 0)
        result = np.empty_like(raw)
        for number in np.unique(used):
            chosen = used == number
            result[chosen] = (raw[chosen] - self.shift[number]) @ self.matrix[number].T
        return result


def _calibrations(sensor: _Sensor, data: bytes, part: Part) -> _Calibrations:
    """The calibrations of one sensor that are whole; an absent offset is 0, an absent orientation none."""
    found = sorted(_each_calibration(sensor, data, part), key=lambda entry: entry[0])
    position = np.array([entry[0] for entry in found], np.int64)
    shift = np.array([entry[1] for entry in found]).reshape(-1, 3)
    matrix = np.array([entry[2] for entry in found]).reshape(-1, 3, 3)
    return _Calibrations(position, shift, matrix)


def _each_calibration(sensor: _Sensor, data: bytes, part: Part) -> Iterator[tuple[int, Floats, Floats]]:
    """Position, shift and matrix of each usable calibration message."""
    message = "three_d_sensor_calibration"
    for rows in rows_of(data, part, message):

        def table(name: str, width: int, rows: Rows = rows) -> Floats:
            number, scale = field_number(message, name)
            values = rows.table(number)
            empty = np.full((len(rows), width), np.nan)
            return empty if values is None or values.shape[1] != width else values / scale

        kind, factor, divisor = table("sensor_type", 1), table("calibration_factor", 1), table("calibration_divisor", 1)
        gain = factor[:, 0] / np.where(divisor[:, 0] > 0, divisor[:, 0], np.nan)
        shift = table("level_shift", 1) + np.nan_to_num(table("offset_cal", 3))
        turn = table("orientation_matrix", 9).reshape(-1, 3, 3)
        whole = np.isfinite(turn).all(axis=(1, 2)) & (turn != 0).any(axis=(1, 2))
        turn = np.where(whole[:, None, None], turn, np.eye(3))
        for at in np.flatnonzero((kind[:, 0] == sensor.number) & (gain > 0) & np.isfinite(shift[:, 0])):
            yield int(rows.position[at]), shift[at], turn[at] * gain[at]
