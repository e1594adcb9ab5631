"""Movement recordings with known truth: rhythm, rolling, stillness and everything that sensors add to them.

    made = motion(60.0, [Bout(5.0, 35.0, cadence=50)], placement="wrist", sensor=Sensor(rate_hz=100), seed=3)
    made.acceleration, made.angular_rate      # Streams, flags 0
    made.truth.moving, made.truth.cycle_s     # what a perfect measurement would find

Nothing here is shared with the code under test.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE, Stream

from tests.makers.motion_truth import Bout, Made, Sensor, Truth, Turn

__all__ = ["Bout", "Made", "Sensor", "Truth", "Turn", "motion", "stream"]

Floats = NDArray[np.float64]
Placement = Literal["wrist", "trunk", "crank", "frame"]
STOP_S = 3.0
GRAVITY = 9.80665
CRANK_M = 0.15  # length of the crank on which the sensor sits
SPEED = 0.8  # of a rolling chair [m/s]
EASE_S = 0.3  # movement begins and ends within this long, not at once
SHAKE_HZ = (4.0, 12.0)  # trade tables 7.20: chair vibration
SWAY_HZ = (0.1, 1.5)  # quiet standing: 95 % of the power of a waist's acceleration lies below 1 to 2 Hz (from memory)
SPASM_HZ = (3.0, 8.0)  # rate of a clonus (from memory)


def motion(
    duration_s: float,
    bouts: Sequence[Bout],
    *,
    turns: Sequence[Turn] = (),
    placement: Placement = "wrist",
    sensor: Sensor | None = None,
    seed: int = 0,
) -> Made:
    """Make one recording. Bouts are in order and do not overlap; bouts that touch are one movement."""
    sensor = sensor or Sensor()
    rng = np.random.default_rng(seed)
    time = _stamps(duration_s, sensor, rng)
    cycles = [_cycle_edges(bout, rng) for bout in bouts]
    tilt = np.radians(sensor.drift_deg) * np.column_stack((_slow(time, rng), _slow(time, rng)))
    moved = np.zeros((len(time), 3))
    yaw_rate = _yaw_rate(time, turns)
    for bout, edges in zip(bouts, cycles, strict=True):
        _add_bout(moved, tilt, time, bout, edges, placement, rng)
        if placement == "frame":  # a turn on the way pushes sideways
            moved[:, 1] += SPEED * _ease(time, bout.from_s, bout.until_s) * np.radians(yaw_rate) / GRAVITY
    pitch, roll = tilt.T
    gravity = np.column_stack((-np.sin(pitch) * np.cos(roll), np.sin(roll), np.cos(pitch) * np.cos(roll)))
    mounting = _rotation(rng) if sensor.mounted_at_random else np.eye(3)
    acceleration = (gravity + moved + _disturbance(time, sensor, rng)) @ mounting.T
    acceleration += sensor.noise_g * rng.standard_normal(acceleration.shape)
    tilting = np.degrees(np.cross(np.gradient(gravity, time, axis=0), gravity))
    rate = (yaw_rate[:, None] * gravity + tilting) @ mounting.T + np.array(sensor.gyro_bias)
    rate += sensor.gyro_noise * rng.standard_normal(rate.shape)
    acceleration += _standing(time, sensor, rng) @ mounting.T  # drawn last: what has neither stays as it was
    keep = np.ones(len(time), bool)
    for begin, until in sensor.gaps:
        keep &= (time < begin) | (time >= until)
    return Made(
        stream(ACCELERATION, time[keep], acceleration[keep]),
        stream(ANGULAR_RATE, time[keep], rate[keep]),
        _truth(bouts, cycles, turns, mounting),
    )


def _add_bout(
    moved: Floats, tilt: Floats, time: Floats, bout: Bout, edges: Floats, placement: Placement, rng: np.random.Generator
) -> None:
    """Add one bout to the acceleration [g] and to pitch and roll [rad]."""
    phase = np.interp(time, edges, np.arange(len(edges)))
    ease = _ease(time, bout.from_s, bout.until_s)
    if placement == "crank" and len(edges) > 1:
        tilt[:, 0] += 2 * np.pi * np.interp(np.minimum(time, bout.until_s), edges, np.arange(len(edges)))
        moved[:, 0] += ease * (2 * np.pi * np.gradient(phase, time)) ** 2 * CRANK_M / GRAVITY
    elif bout.cadence is not None:
        size = ease * _cycle_sizes(bout, phase, rng)
        moved += bout.size_g * size[:, None] * _beat(bout, phase, rng, placement)
        if placement != "frame":
            tilt[:, 0] += size * np.radians(bout.swing_deg) * np.sin(2 * np.pi * phase)
    moved += (ease * bout.shake_g * (1 + 0.3 * _slow(time, rng, 2.0)))[:, None] * _band(time, SHAKE_HZ, rng)
    if bout.impact_g:
        moved += ease[:, None] * _impacts(bout, time, edges, rng)
    moved[:, 0] += bout.shove_g * (_hump(time, bout.from_s, 0.5) - _hump(time, bout.until_s - 0.5, 0.5))


def _truth(bouts: Sequence[Bout], cycles: Sequence[Floats], turns: Sequence[Turn], mounting: Floats) -> Truth:
    moving = _joined(bouts)
    pauses = ((before[1], after[0]) for before, after in pairwise(moving))
    stops = tuple(pause for pause in pauses if pause[1] - pause[0] >= STOP_S)
    whole = tuple(edges[edges <= bout.until_s + 1e-9] for bout, edges in zip(bouts, cycles, strict=True))
    return Truth(moving, stops, whole, tuple(turns), mounting)


def stream(name: str, time_s: Floats, values: Floats) -> Stream:
    """A stream of which every sample was checked and nothing was found."""
    return Stream.from_samples(name, time_s, values, flags=np.zeros(len(time_s), np.uint16))


def _stamps(duration_s: float, sensor: Sensor, rng: np.random.Generator) -> Floats:
    rate = sensor.real_rate_hz or sensor.rate_hz
    count = int(duration_s * rate)
    offset = np.clip(sensor.jitter * rng.standard_normal(count), -0.45, 0.45)
    return (np.arange(count) + offset) / rate


def _cycle_edges(bout: Bout, rng: np.random.Generator) -> Floats:
    """Starts of the cycles, the last at or behind the bout's end; the first at its start."""
    if bout.cadence is None:
        return np.array([bout.from_s])
    knots = ((0.0, bout.cadence),) if isinstance(bout.cadence, (int, float)) else tuple(bout.cadence)
    at, per_min = np.array(knots, dtype=float).T
    edges = [bout.from_s]
    while edges[-1] < bout.until_s:
        length = 60.0 / np.interp(edges[-1] - bout.from_s, at, per_min)
        edges.append(edges[-1] + length * max(1 + bout.uneven * rng.standard_normal(), 0.3))
    return np.array(edges)


def _cycle_sizes(bout: Bout, phase: Floats, rng: np.random.Generator) -> Floats:
    """A size for each cycle, joined smoothly."""
    sizes = np.maximum(1 + bout.wobble * rng.standard_normal(int(phase.max()) + 2), 0.3)
    return np.interp(phase, np.arange(len(sizes)) + 0.5, sizes)


def _beat(bout: Bout, phase: Floats, rng: np.random.Generator, placement: Placement) -> Floats:
    """One cycle's acceleration in the body's axes, shape (n, 3), about 1 at its peak."""
    turn = 2 * np.pi * phase
    once, twice = 1 - bout.alternating, bout.alternating
    out = np.column_stack((np.cos(turn), 0.5 * np.sin(turn), 0.2 * np.cos(turn + 1.0))) * once
    out += twice * np.column_stack((np.cos(2 * turn), 0.5 * np.sin(2 * turn), 0.2 * np.cos(2 * turn + 1.0)))
    for number, share in enumerate(bout.harmonics, start=2):
        shift = rng.uniform(0, 2 * np.pi, 3)
        out += share * np.cos(number * turn[:, None] + shift) * np.array([1.0, 0.5, 0.4])
    return out * np.array([1.0, 0.1, 0.2]) if placement == "frame" else out


def _impacts(bout: Bout, time: Floats, edges: Floats, rng: np.random.Generator) -> Floats:
    """Footfalls, two to a cycle, shape (n, 3) [g]: a ringing of 6 Hz that is gone within a quarter second."""
    out = np.zeros((len(time), 3))
    middles = 0.5 * (edges[1:] + edges[:-1])
    for number, moment in enumerate(np.sort(np.concatenate((edges[:-1], middles)))):
        size = max(1 + bout.wobble * rng.standard_normal(), 0.3)
        first, last = np.searchsorted(time, (moment, moment + 0.5))
        since = time[first:last] - moment
        ring = size * bout.impact_g * np.exp(-since / 0.07) * np.sin(2 * np.pi * 6.0 * since)
        out[first:last] += ring[:, None] * np.array([0.5, 0.3 if number % 2 else -0.3, 1.0])
    return out


def _standing(time: Floats, sensor: Sensor, rng: np.random.Generator) -> Floats:
    """Sway of a standing trunk and spasms, shape (n, 3) [g]."""
    out = np.zeros((len(time), 3))
    if sensor.sway_g:
        out[:, :2] = sensor.sway_g * _coloured(time, sensor.sway_slope, rng)
        for begin, until in sensor.seated:
            out *= 1.0 - _ease(time, begin, until)[:, None]
    for begin, until, size in sensor.spasms:
        out += size * _ease(time, begin, until)[:, None] * _band(time, SPASM_HZ, rng)
    return out


def _coloured(time: Floats, slope: float, rng: np.random.Generator) -> Floats:
    """Two independent columns of noise of rms 1 within the band of sway, shape (n, 2)."""
    spectrum = np.fft.rfft(rng.standard_normal((len(time), 2)), axis=0)
    frequency = np.fft.rfftfreq(len(time), (time[-1] - time[0]) / (len(time) - 1))
    low, high = SWAY_HZ
    weight = np.maximum(frequency, low) ** -slope / (1 + (frequency / high) ** 4)
    weight[frequency < low] = 0.0
    noise = np.fft.irfft(spectrum * weight[:, None], len(time), axis=0)
    return noise / noise.std(axis=0)


def _disturbance(time: Floats, sensor: Sensor, rng: np.random.Generator) -> Floats:
    """Hum, tremor and knocks, shape (n, 3) [g]."""
    top = 0.48 * sensor.rate_hz
    out = sensor.hum_g * _band(time, (min(8.0, 0.5 * top), top), rng)
    tremor = np.cos(2 * np.pi * sensor.tremor_hz * time + 3 * _slow(time, rng, 3.0)) * (1 + 0.4 * _slow(time, rng, 2.0))
    out += sensor.tremor_g * tremor[:, None] * np.array([0.8, 0.5, 0.33])
    for moment, size in sensor.bumps:
        since = time - moment
        ring = np.where(since >= 0, np.exp(-np.maximum(since, 0.0) / 0.05) * np.cos(2 * np.pi * 9.0 * since), 0.0)
        out += size * ring[:, None] * np.array([0.5, 0.3, 0.8])
    return out


def _yaw_rate(time: Floats, turns: Sequence[Turn]) -> Floats:
    out = np.zeros(len(time))
    for turn in turns:
        length = turn.until_s - turn.from_s
        out += turn.degrees / length * 2 * _hump(time, turn.from_s, length)
    return out


def _hump(time: Floats, from_s: float, length_s: float) -> Floats:
    """A squared sine between two moments, peak 1, mean 1/2."""
    share = np.clip((time - from_s) / length_s, 0.0, 1.0)
    return np.sin(np.pi * share) ** 2


def _ease(time: Floats, from_s: float, until_s: float) -> Floats:
    rise = np.clip(np.minimum(time - from_s, until_s - time) / EASE_S, 0.0, 1.0)
    return 0.5 - 0.5 * np.cos(np.pi * rise)


def _slow(time: Floats, rng: np.random.Generator, period_s: float = 60.0) -> Floats:
    """A wandering of mean 0 and about unit size, with periods from ``period_s`` on."""
    shift = rng.uniform(0, 2 * np.pi, 3)
    waves = [np.sin(2 * np.pi * time / (period_s * factor) + s) for factor, s in zip((1, 1.7, 3.1), shift, strict=True)]
    return np.asarray(sum(waves)) / np.sqrt(1.5)


def _band(time: Floats, band_hz: tuple[float, float], rng: np.random.Generator) -> Floats:
    """Noise within a band, three axes, rms 1 over all three together, shape (n, 3)."""
    if len(time) < 2:
        return np.zeros((len(time), 3))
    spectrum = np.fft.rfft(rng.standard_normal((len(time), 3)), axis=0)
    frequency = np.fft.rfftfreq(len(time), (time[-1] - time[0]) / (len(time) - 1))
    spectrum[(frequency < band_hz[0]) | (frequency > band_hz[1])] = 0
    noise = np.fft.irfft(spectrum, len(time), axis=0)
    rms = np.sqrt((noise**2).sum(axis=1).mean())
    return noise / rms if rms > 0 else noise


def _rotation(rng: np.random.Generator) -> Floats:
    """A rotation drawn evenly from all there are, shape (3, 3)."""
    q, r = np.linalg.qr(rng.standard_normal((3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else q[:, ::-1]


def _joined(bouts: Sequence[Bout]) -> tuple[tuple[float, float], ...]:
    out: list[tuple[float, float]] = []
    for bout in bouts:
        if out and bout.from_s <= out[-1][1] + 1e-9:
            out[-1] = (out[-1][0], bout.until_s)
        else:
            out.append((bout.from_s, bout.until_s))
    return tuple(out)
