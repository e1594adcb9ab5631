"""One lesson seen by two devices whose clocks differ: taps on both sensors, an offset, a drift. Truth is known."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import Stream

from tests.makers.motion import Bout, Placement, Sensor, motion

Floats = NDArray[np.float64]
PULSE_S, REBOUND_S = 0.02, 0.06  # a knuckle on a case: a short blow, a longer and weaker swing back, a little ringing


def lesson(minutes: float, rng: np.random.Generator) -> list[Bout]:
    """Work and pauses as they come in a lesson: 8 to 90 s of movement, 4 to 40 s of stillness."""
    bouts, now = [], float(rng.uniform(15, 40))
    while now < minutes * 60 - 40:
        until = min(now + rng.uniform(8, 90), minutes * 60 - 15)
        bouts.append(
            Bout(
                now,
                until,
                cadence=float(rng.uniform(30, 100)),
                shake_g=float(rng.uniform(0.02, 0.08)),
                size_g=float(rng.uniform(0.1, 0.5)),
            )
        )
        now = until + float(rng.uniform(4, 40))
    return bouts


def acceleration(
    bouts: Sequence[Bout], seconds: float, placement: Placement, rate_hz: float, seed: int, **sensor: object
) -> Stream:
    """What one sensor sees of a lesson."""
    made = motion(
        seconds,
        bouts,
        placement=placement,
        sensor=replace(Sensor(rate_hz=rate_hz, jitter=0.1, noise_g=0.01), **sensor),
        seed=seed,
    )
    return made.acceleration


def row_of_three(start_s: float, rng: np.random.Generator) -> tuple[float, float, float]:
    """Three taps as a hand gives them."""
    second = start_s + float(rng.uniform(0.5, 1.0))
    return start_s, second, second + float(rng.uniform(0.5, 1.0))


def tapped(
    stream: Stream, taps: Sequence[float], rate_hz: float, rng: np.random.Generator, size_g: float = 4.0
) -> Stream:
    """The stream with taps on it; each sample is the sensor's mean over its own step."""
    values = stream.values.copy()
    direction = rng.standard_normal(3)
    direction /= np.linalg.norm(direction)
    within = (np.arange(16) - 15) / 16 / rate_hz
    for tap in taps:
        near = np.flatnonzero((stream.time > tap - 0.1) & (stream.time < tap + 0.4))
        since = stream.time[near][:, None] + within - tap
        blow = np.where((since >= 0) & (since < PULSE_S), np.sin(np.pi * since / PULSE_S), 0.0)
        back = np.where(since >= PULSE_S, np.exp(-(since - PULSE_S) / 0.04), 0.0)
        swing = np.where(since < PULSE_S + REBOUND_S, np.sin(np.pi * (since - PULSE_S) / REBOUND_S), 0.0)
        shape = blow - 0.45 * back * swing + 0.15 * back * np.sin(2 * np.pi * 30 * since)
        values[near] += size_g * rng.uniform(0.7, 1.4) * shape.mean(axis=1)[:, None] * direction
    return replace(stream, values=values)


def on_other_clock(stream: Stream, offset_s: float, drift_ppm: float = 0.0) -> Stream:
    """The stream with the stamps of a clock that shows ``(t - offset) / (1 + drift)`` at the true time ``t``."""
    return replace(stream, time=other_clock(stream.time, offset_s, drift_ppm))


def other_clock(time_s: Floats, offset_s: float, drift_ppm: float = 0.0) -> Floats:
    """What that clock shows at true times."""
    return (time_s - offset_s) / (1 + drift_ppm * 1e-6)
