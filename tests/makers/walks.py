"""Walkers with unequal legs, as a sensor on the trunk sees them, and the knocks of a floor under a chair.

Nothing here is shared with the code under test.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import ACCELERATION, Stream

from tests.makers.motion import stream

Floats = NDArray[np.float64]
Form = Literal["ring", "50 ms", "100 ms", "200 ms", "both axles", "up and down"]
FORMS: tuple[Form, ...] = ("ring", "50 ms", "100 ms", "200 ms", "both axles", "up and down")


@dataclass(frozen=True)
class Walk:
    """How somebody walks.

    ratio : how much harder one foot comes down than the other
    limp : by which share of a step the step on one side comes late
    sway_g : to and fro with every stride, as a sine  [g]
    landing_s : standard deviation of a footfall's bell shape  [s]
    uneven, wobble : standard deviation of each step's length in time and of its size, as shares
    """

    steps_per_minute: float = 96.0
    ratio: float = 1.0
    limp: float = 0.0
    sway_g: float = 0.05
    size_g: float = 0.3
    landing_s: float = 0.12
    uneven: float = 0.02
    wobble: float = 0.1
    noise_g: float = 0.01


def walk(how: Walk, seconds: float, seed: int, rate_hz: float = 50.0) -> tuple[Stream, Floats]:
    """The acceleration, turned at random, and the moments of the footfalls [s]."""
    rng = np.random.default_rng(seed)
    step_s = 60.0 / how.steps_per_minute
    lengths = step_s * (1 + how.uneven * rng.standard_normal(int(seconds / step_s * 1.5) + 4))
    lengths[::2] += how.limp * step_s
    lengths[1::2] -= how.limp * step_s
    falls = 0.3 + np.append(0.0, np.cumsum(lengths))
    falls = falls[falls < seconds]
    sizes = how.size_g * (1 + how.wobble * rng.standard_normal(len(falls)))
    sizes[rng.integers(2) :: 2] /= how.ratio
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    values = np.zeros((len(time), 3))
    for fall, size in zip(falls, sizes, strict=True):
        values[:, 2] += size * np.exp(-0.5 * ((time - fall) / how.landing_s) ** 2)
        values[:, 0] += 0.4 * size * np.exp(-0.5 * ((time - fall - 0.1) / how.landing_s) ** 2)
    phase = np.pi * np.interp(time, falls, np.arange(len(falls)))
    values[:, 1] += how.sway_g * np.cos(phase + rng.uniform(0, 2 * np.pi))
    values[:, 2] += 1.0
    turned = values @ np.linalg.qr(rng.standard_normal((3, 3)))[0].T
    return stream(ACCELERATION, time, turned + how.noise_g * rng.standard_normal(values.shape)), falls


def knock(since_s: Floats, form: Form) -> Floats:
    """One knock of size 1, by the time since its beginning."""

    def half_sine(length_s: float, late_s: float = 0.0) -> Floats:
        after = since_s - late_s
        return np.where((after >= 0) & (after < length_s), np.sin(np.pi * after / length_s), 0.0)

    if form == "ring":
        after = np.maximum(since_s, 0.0)
        return np.where(since_s >= 0, np.exp(-after / 0.05) * np.cos(2 * np.pi * 9.0 * after), 0.0)
    if form == "both axles":
        return half_sine(0.06) + 0.8 * half_sine(0.06, 0.4)
    if form == "up and down":
        return half_sine(0.1) - half_sine(0.1, 0.1)
    return half_sine(float(form.removesuffix(" ms")) / 1000)


def knocked(felt: Stream, at_s: Sequence[float], size_g: float, form: Form, seed: int) -> Stream:
    """A recording with knocks along an axis drawn at random."""
    axis = np.linalg.qr(np.random.default_rng(seed).standard_normal((3, 3)))[0][0]
    shape = sum((knock(felt.time - begin, form) for begin in at_s), np.zeros(len(felt.time)))
    return stream(ACCELERATION, felt.time, felt.values + size_g * shape[:, None] * axis)
