"""Made trials of movement with known truth: bouts and pauses at random, on a sensor of random kind, by case.

A *case* is a placement with what makes it easy or hard. Pauses are *clear* of three seconds, *close* to it, or *long*
enough to stand about in.
"""

from dataclasses import dataclass, replace

import numpy as np

from tests.makers.motion import Bout, Made, Placement, Sensor, motion

CASES: dict[str, Placement] = {  # the order seeds the trials: add at the end
    "wrist": "wrist",
    "trunk": "trunk",
    "noisy trunk": "trunk",
    "crank": "crank",
    "push chair": "frame",
    "power chair": "frame",
    "noisy push chair": "frame",
    "noisy power chair": "frame",
    "slow noisy push chair": "frame",
    "slow noisy power chair": "frame",
    "weak wrist": "wrist",
    "wrist with spasms": "wrist",
    "push chair with spasms": "frame",
    "standing trunk": "trunk",
    "smooth standing trunk": "trunk",
}
PAUSES = {
    "clear": ((1.5, 2.5), (3.5, 15.0)),
    "close": ((1.5, 2.8), (3.0, 3.5)),
    "long": ((1.5, 2.5), (3.5, 15.0), (20.0, 60.0)),
}
_RATES = (25.0, 32.0, 50.0, 100.0)
_NOISE_G = {  # on each axis
    "trunk": (0.0, 0.005, 0.01),
    "noisy trunk": (0.02,),
    "standing trunk": (0.001, 0.003, 0.005),
    "smooth standing trunk": (0.001, 0.003, 0.005),
    "push chair": (0.0, 0.001, 0.003),
    "push chair with spasms": (0.0, 0.001, 0.003),
    "power chair": (0.0, 0.001, 0.003),
    "noisy push chair": (0.01,),
    "noisy power chair": (0.01,),
    "slow noisy push chair": (0.015,),
    "slow noisy power chair": (0.015,),
}
_STILL_S = 6.0


@dataclass(frozen=True)
class Scene:
    """A made trial and its case."""

    case: str
    made: Made

    @property
    def placement(self) -> Placement:
        """Where the sensor sat."""
        return CASES[self.case]


def scene(case: str, seed: int, pauses: str = "clear", duration_s: float = 240.0, noise: float = 1.0) -> Scene:
    """A trial of four minutes: bouts of 6 to 40 s with pauses. ``noise`` multiplies the sensor's own."""
    rng = np.random.default_rng([seed, list(CASES).index(case)])
    chair, standing = "chair" in case, "standing" in case
    bouts, bumps, spasms = [], [], []
    seated_s = rng.uniform(10, 60) if standing and rng.random() < 0.5 else 0.0
    at = seated_s + rng.uniform(4, 12)
    while at < duration_s - 20:
        until = min(at + rng.uniform(6, 40), duration_s - _STILL_S)
        bouts.append(_bout(case, at, until, rng))
        choices = PAUSES[pauses]
        pause = rng.uniform(*choices[int(rng.integers(len(choices)))])
        if pause > 5 and chair and rng.random() < 0.5:
            bumps.append((until + pause / 2, rng.uniform(0.1, 0.6)))
        if pause > 9 and "spasms" in case and rng.random() < 0.7:
            begin = until + rng.uniform(3.5, pause - 5.5)
            spasms.append((begin, begin + rng.uniform(1.2, 2.0), rng.uniform(0.05, 0.3)))
        at = until + pause
    rate = 20.0 if "slow" in case else _RATES[int(rng.integers(len(_RATES)))]
    sensor = Sensor(
        rate_hz=rate,
        real_rate_hz=rate * rng.uniform(0.98, 1.02),
        jitter=rng.choice([0.0, 0.1]),
        noise_g=noise * rng.choice(_NOISE_G.get(case, (0.0, 0.005, 0.01, 0.02))),
        hum_g=rng.uniform(0.002, 0.006) if "power" in case else 0.0,
        tremor_g=rng.choice([0.0, 0.005, 0.02]) if "wrist" in case else 0.0,
        tremor_hz=rng.uniform(4, 10),
        drift_deg=0.5 if chair else rng.uniform(1, 10),
        bumps=tuple(bumps),
    )
    if standing:
        sway_g = 0.003 * (20 / 3) ** rng.random()
        sensor = replace(sensor, drift_deg=2.0, sway_g=sway_g, sway_slope=rng.uniform(0.5, 1.5))
        sensor = replace(sensor, seated=((-1.0, seated_s),) if seated_s else ())
    sensor = replace(sensor, spasms=tuple(spasms))
    return Scene(case, motion(duration_s, bouts, placement=CASES[case], sensor=sensor, seed=seed))


def _bout(case: str, from_s: float, until_s: float, rng: np.random.Generator) -> Bout:
    if "power" in case:
        return Bout(from_s, until_s, cadence=None, shake_g=rng.uniform(0.01, 0.06), shove_g=0.03)
    if "standing" in case:
        return _steps(case, from_s, until_s, rng)
    push, length = "push" in case, until_s - from_s
    first, second = rng.uniform(30, 80, 2) if push else rng.uniform(20, 120, 2)
    cadence = (first, ((0.0, first), (length, second)), ((0.0, first), (length / 2, first), (length / 2, second)))
    size, swing = {"wrist": ((0.1, 0.5), (10, 30)), "trunk": ((0.04, 0.15), (2, 8))}.get(
        CASES[case], ((0.05, 0.15), (0, 0))
    )
    if "weak" in case:
        size, swing = (0.02, 0.08), (1, 6)
    return Bout(
        from_s,
        until_s,
        cadence=cadence[int(rng.integers(3))],
        size_g=rng.uniform(*size),
        alternating=rng.choice([0.0, 0.3, 0.6]),
        swing_deg=rng.uniform(*swing),
        shake_g=rng.uniform(0.01, 0.04) if push else 0.0,
    )


def _steps(case: str, from_s: float, until_s: float, rng: np.random.Generator) -> Bout:
    """Steps of a gait trainer's user, 40 to 110 a minute."""
    return Bout(
        from_s,
        until_s,
        cadence=rng.uniform(20, 55),
        size_g=rng.uniform(0.04, 0.15),
        alternating=rng.uniform(0.5, 0.9),
        swing_deg=rng.uniform(1, 5),
        uneven=0.06,
        wobble=0.2,
        impact_g=0.0 if "smooth" in case else rng.uniform(0.05, 0.3),
    )
