"""How exactly movement is found on made recordings: many seeds, four placements, 25 to 100 samples a second.

The noisy ones have 10 mg (chairs) and 20 mg (trunk) on each axis; the close pauses are 1.5 to 2.8 and 3.0 to 3.5 s.

python -m tests.bench.motion_accuracy
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from ownmark.metrics.motion.bouts import longest_moving, moving_time, stop_count
from ownmark.metrics.motion.grid import to_grid
from ownmark.metrics.motion.moving import Motion, moving

from tests.makers.motion import Bout, Made, Sensor, motion

KINDS = (
    "wrist",
    "trunk",
    "noisy trunk",
    "crank",
    "push chair",
    "power chair",
    "noisy push chair",
    "noisy power chair",
)
RATES = (25.0, 32.0, 50.0, 100.0)
NOISE_G = {
    "push chair": (0.0, 0.001, 0.003),
    "power chair": (0.0, 0.001, 0.003),
    "trunk": (0.0, 0.005, 0.01),
    "noisy trunk": (0.02,),
    "noisy push chair": (0.01,),
    "noisy power chair": (0.01,),
}
PAUSES = {"clear": ((1.5, 2.5), (3.5, 15.0)), "close": ((1.5, 2.8), (3.0, 3.5))}


@dataclass(frozen=True)
class Scene:
    kind: str
    made: Made

    @property
    def placement(self) -> str:
        return "frame" if "chair" in self.kind else self.kind.removeprefix("noisy ")


@dataclass(frozen=True)
class Row:
    """One line of the table: errors are absolute; moving time and longest movement [s], [%]."""

    kind: str
    pauses: str
    scenes: int
    moving_s_worst: float
    moving_percent_worst: float
    moving_within: float
    longest_s_worst: float
    longest_within: float
    stops_exact: float


def scene(kind: str, seed: int, pauses: str = "clear", duration_s: float = 240.0) -> Scene:
    """A trial of four minutes: bouts of 6 to 40 s with pauses, on a sensor of random kind."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    bouts, bumps, at = [], [], rng.uniform(4, 12)
    while at < duration_s - 20:
        until = min(at + rng.uniform(6, 40), duration_s - 6)
        bouts.append(_bout(kind, at, until, rng))
        low, high = PAUSES[pauses][int(rng.integers(2))]
        pause = rng.uniform(low, high)
        if pause > 5 and "chair" in kind and rng.random() < 0.5:
            bumps.append((until + pause / 2, rng.uniform(0.1, 0.6)))
        at = until + pause
    rate = RATES[int(rng.integers(len(RATES)))]
    chair = "chair" in kind
    sensor = Sensor(
        rate_hz=rate,
        real_rate_hz=rate * rng.uniform(0.98, 1.02),
        jitter=rng.choice([0.0, 0.1]),
        noise_g=rng.choice(NOISE_G.get(kind, (0.0, 0.005, 0.01, 0.02))),
        hum_g=rng.uniform(0.002, 0.006) if "power" in kind else 0.0,
        tremor_g=rng.choice([0.0, 0.005, 0.02]) if kind == "wrist" else 0.0,
        tremor_hz=rng.uniform(4, 10),
        drift_deg=rng.uniform(1, 10) if not chair else 0.5,
        bumps=tuple(bumps),
    )
    placement = "frame" if chair else kind.removeprefix("noisy ")
    return Scene(kind, motion(duration_s, bouts, placement=placement, sensor=sensor, seed=seed))


def _bout(kind: str, from_s: float, until_s: float, rng: np.random.Generator) -> Bout:
    if "power" in kind:
        return Bout(from_s, until_s, cadence=None, shake_g=rng.uniform(0.01, 0.06), shove_g=0.03)
    length = until_s - from_s
    first, second = rng.uniform(20, 120, 2) if "push" not in kind else rng.uniform(30, 80, 2)
    cadence = (first, ((0.0, first), (length, second)), ((0.0, first), (length / 2, first), (length / 2, second)))
    size, swing = {"wrist": ((0.1, 0.5), (10, 30)), "trunk": ((0.04, 0.15), (2, 8))}.get(
        kind.removeprefix("noisy "), ((0.05, 0.15), (0, 0))
    )
    return Bout(
        from_s,
        until_s,
        cadence=cadence[int(rng.integers(3))],
        size_g=rng.uniform(*size),
        alternating=rng.choice([0.0, 0.3, 0.6]),
        swing_deg=rng.uniform(*swing),
        shake_g=rng.uniform(0.01, 0.04) if "push" in kind else 0.0,
    )


def found(made: Scene) -> Motion:
    """What the module under test makes of a scene."""
    grid = to_grid(made.made.acceleration)
    assert grid is not None
    return moving(grid, made.placement)


def accuracy(seeds: int = 60, kinds: Sequence[str] = KINDS, pauses: Sequence[str] = tuple(PAUSES)) -> list[Row]:
    """The table, one row for each placement and each choice of pauses."""
    return [_row(kind, choice, seeds) for kind in kinds for choice in pauses]


def _row(kind: str, pauses: str, seeds: int) -> Row:
    scenes = list(_scenes(kind, pauses, seeds))
    truth = np.array([[s.made.truth.moving_s, s.made.truth.longest_s, len(s.made.truth.stops)] for s in scenes])
    motions = [found(s) for s in scenes]
    seen = np.array([[f(m).value for f in (moving_time, longest_moving, stop_count)] for m in motions])
    error = np.abs(seen - truth)
    percent = 100 * error[:, 0] / truth[:, 0]
    return Row(
        kind,
        pauses,
        len(scenes),
        float(error[:, 0].max()),
        float(percent.max()),
        float(np.mean((percent <= 2) & (error[:, 0] <= 2))),
        float(error[:, 1].max()),
        float(np.mean(error[:, 1] <= 3)),
        float(np.mean(error[:, 2] == 0)),
    )


def _scenes(kind: str, pauses: str, seeds: int) -> Iterator[Scene]:
    return (scene(kind, seed, pauses) for seed in range(seeds))


def main() -> None:
    """Print the table."""
    heads = ("moving time: worst", "within", "longest", "within", "stops")
    print(
        f"{'placement':18}{'pauses':8}{'n':>4}" + "".join(f"{head:>{22 if 'time' in head else 10}}" for head in heads)
    )
    for row in accuracy():
        print(
            f"{row.kind:18}{row.pauses:8}{row.scenes:4}{row.moving_s_worst:11.2f} s{row.moving_percent_worst:7.2f} %"
            f"{row.moving_within:10.0%}{row.longest_s_worst:8.2f} s{row.longest_within:10.0%}{row.stops_exact:10.0%}"
        )


if __name__ == "__main__":
    main()
