"""Made-up movement: what a sensor on a chair, a crank or a wrist would write, and the truth of it."""

import gzip
from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 25
Floats = NDArray[np.float64]
Spans = Sequence[tuple[float, float]]


def moments(seconds: int) -> Floats:
    """Times of the samples [s]."""
    return np.arange(seconds * RATE_HZ) / RATE_HZ


def active(time_s: Floats, moving: Spans) -> Floats:
    """1 while moving, 0 while still, with 0.2 s of start and stop."""
    level = np.zeros(len(time_s))
    for begin, end in moving:
        level = np.maximum(level, np.clip(np.minimum(time_s - begin, end - time_s) / 0.2 + 0.5, 0.0, 1.0))
    return level


def chair(seconds: int, moving: Spans, turns: Sequence[tuple[float, float]], rng: np.random.Generator) -> Floats:
    """A sensor on the frame of a power chair: floor and motor while it rolls, a hum while it stands, and its yaw.

    turns : (time, degrees), to the left positive. Columns are acceleration [g] and angular rate [deg/s], shape (n, 6).
    """
    time = moments(seconds)
    rolling = active(time, moving)
    shake = sum(
        np.sin(2 * np.pi * pitch * time + rng.uniform(0, 6)) * rng.uniform(0.5, 1.0) for pitch in (4.6, 6.3, 8.1, 9.7)
    )
    shake *= 1 + 0.4 * np.sin(2 * np.pi * 0.11 * time)
    hum = 0.004
    acceleration = rng.normal(0.0, hum, (len(time), 3))
    acceleration[:, 0] += 0.012 * rolling * shake
    acceleration[:, 2] += 1.0 + 0.025 * rolling * shake
    yaw = rng.normal(0.0, 0.4, len(time))
    for moment, degrees in turns:
        yaw += degrees * np.exp(-0.5 * ((time - moment) / 0.8) ** 2) / (0.8 * np.sqrt(2 * np.pi))
    rate = rng.normal(0.0, 0.4, (len(time), 3))
    rate[:, 2] = yaw
    return np.column_stack((acceleration, rate))


def circling(
    seconds: int, moving: Spans, per_minute: float, drift: float, rng: np.random.Generator, radius_m: float = 0.17
) -> tuple[Floats, float]:
    """A sensor that goes round with a crank or an arm; acceleration [g], shape (n, 3), and the number of rounds.

    drift : change of the cadence from the beginning to the end [/min]
    """
    time = moments(seconds)
    going = active(time, moving)
    cadence = (per_minute + drift * time / seconds) * going
    rounds = np.cumsum(cadence) / 60.0 / RATE_HZ
    angle = 2 * np.pi * rounds + 0.08 * np.sin(2 * np.pi * 2 * rounds)
    pull = radius_m * (2 * np.pi * cadence / 60.0) ** 2 / 9.80665
    found = rng.normal(0.0, 0.006, (len(time), 3))
    found[:, 0] += np.cos(angle) + pull
    found[:, 1] += np.sin(angle)
    return found, float(rounds[-1])


def table(start: datetime, values: Floats) -> bytes:
    """A packed CSV with Unix milliseconds, g and, where there are six columns, deg/s."""
    names = ["Accelerometer X (g)", "Accelerometer Y (g)", "Accelerometer Z (g)"]
    names += ["Gyroscope X (deg/s)", "Gyroscope Y (deg/s)", "Gyroscope Z (deg/s)"][: values.shape[1] - 3]
    first = round(start.timestamp() * 1000)
    lines = [",".join(["Unix time (ms)", *names])]
    step = 1000 // RATE_HZ
    lines += [
        f"{first + step * row}," + ",".join(f"{number:.3f}" for number in numbers)
        for row, numbers in enumerate(values.tolist())
    ]
    return gzip.compress("\n".join([*lines, ""]).encode(), 9, mtime=0)
