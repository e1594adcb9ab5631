"""What a made movement recording consists of, and the truth about it (see ``tests.makers.motion``)."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import Stream

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Bout:
    """Unbroken movement. ``cadence`` in full cycles a minute: one number, knots ((s from the bout's start, /min), ...)
    joined by straight lines (two knots at one moment make a switch), or None for rolling without a rhythm.

    alternating : 0 one peak a cycle; towards 1 left and right make two peaks that are more and more alike
    wobble, uneven : standard deviation of each cycle's size and of its length, as shares of them
    shake_g : rms of the chair's vibration while it rolls, over three axes
    shove_g : push at the start and brake at the end, 0.5 s each, of a power chair
    impact_g : first swing of the ringing that each footfall sends up, two to a cycle; those of a side differ by wobble
    """

    from_s: float
    until_s: float
    cadence: float | Sequence[tuple[float, float]] | None = 60.0
    size_g: float = 0.3
    harmonics: tuple[float, ...] = (0.3, 0.15)
    alternating: float = 0.0
    wobble: float = 0.1
    uneven: float = 0.02
    swing_deg: float = 15.0
    shake_g: float = 0.0
    shove_g: float = 0.0
    impact_g: float = 0.0


@dataclass(frozen=True)
class Turn:
    """Rotation about the true vertical; positive degrees: to the left, counter-clockwise seen from above."""

    from_s: float
    until_s: float
    degrees: float


@dataclass(frozen=True)
class Sensor:
    """What the sensor and its place add.

    real_rate_hz : the rate the sensor keeps in truth; None: the nominal one. Stamps tell the truth.
    jitter : standard deviation of a stamp, as a share of the step
    hum_g : rms of a parked motor's hum, over three axes
    bumps : (time, size in g) of single knocks
    gaps : (from, until) of lost samples
    sway_g : rms of a standing trunk's sway, forward and sideways each; its spectrum falls as frequency to the power of
        minus ``sway_slope`` between 0.1 and 1.5 Hz, and steeply above
    seated : (from, until) without sway
    spasms : (from, until, rms in g) of bursts that are no movement of the task, 3 to 8 Hz
    """

    rate_hz: float = 50.0
    real_rate_hz: float | None = None
    jitter: float = 0.0
    noise_g: float = 0.005
    hum_g: float = 0.0
    tremor_g: float = 0.0
    tremor_hz: float = 6.0
    bumps: tuple[tuple[float, float], ...] = ()
    gaps: tuple[tuple[float, float], ...] = ()
    mounted_at_random: bool = True
    sway_g: float = 0.0
    sway_slope: float = 1.0
    seated: tuple[tuple[float, float], ...] = ()
    spasms: tuple[tuple[float, float, float], ...] = ()
    drift_deg: float = 5.0
    gyro_bias: tuple[float, float, float] = (0.0, 0.0, 0.0)
    gyro_noise: float = 0.1


@dataclass(frozen=True, eq=False)
class Truth:
    """moving, stops : (from, until) [s]; cycle_s : start of each cycle and the end of each bout's last whole one."""

    moving: tuple[tuple[float, float], ...]
    stops: tuple[tuple[float, float], ...]
    cycles: tuple[Floats, ...]
    turns: tuple[Turn, ...]
    mounting: Floats

    @property
    def moving_s(self) -> float:
        return sum(until - begin for begin, until in self.moving)

    @property
    def longest_s(self) -> float:
        return max((until - begin for begin, until in self.moving), default=0.0)

    @property
    def cycle_count(self) -> int:
        """Whole cycles, summed over the bouts."""
        return sum(max(len(edges) - 1, 0) for edges in self.cycles)

    def cadence_at(self, time_s: Floats) -> Floats:
        """Cadence from the cycle under way at each moment, shape (n,) [/min]; NaN where there is none."""
        out = np.full(len(time_s), np.nan)
        for edges in self.cycles:
            if len(edges) > 1:
                index = np.searchsorted(edges, time_s, side="right") - 1
                inside = (index >= 0) & (index < len(edges) - 1)
                out[inside] = 60.0 / np.diff(edges)[index[inside]]
        return out


@dataclass(frozen=True, eq=False)
class Made:
    acceleration: Stream
    angular_rate: Stream
    truth: Truth
