"""How exactly movement is found on made recordings, and how often its bounds hold: by case and placement.

Cases and pauses are those of ``tests.bench.motion_scenes``. *Within* is a moving time within 2 % and 2 s; *held* is the
share of trials in which the truth lies in the bounds; *width* is the middle and the ninth tenth of the widths of the
moving time's bounds. Figures that are refused count for nothing else.

python -m tests.bench.motion_accuracy
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from ownmark.metrics.motion.bouts import longest_moving, moving_time, stop_count, told_percent
from ownmark.metrics.motion.grid import to_grid
from ownmark.metrics.motion.moving import Motion, moving
from ownmark.metrics.motion_figures import LEAST_TOLD

from tests.bench.motion_scenes import CASES, PAUSES, Scene, scene

SEEDS = 60
HELD_OUT = 10_000
"""First seed of the trials that no setting was made on; their sensors are noisier by a tenth."""


@dataclass(frozen=True)
class Row:
    """One line of the table: errors are absolute; moving time and longest movement [s], [%]; shares of the given."""

    case: str
    pauses: str
    scenes: int
    given: float
    moving_s_worst: float
    moving_percent_worst: float
    moving_within: float
    longest_s_worst: float
    longest_within: float
    stops_exact: float
    moving_held: float
    longest_held: float
    stops_held: float
    width_s: float
    width_s_ninth: float
    stops_width: float


def found(made: Scene) -> Motion:
    """What the module under test makes of a scene."""
    grid = to_grid(made.made.acceleration)
    assert grid is not None
    return moving(grid, made.placement)


def accuracy(
    seeds: int = SEEDS,
    cases: Sequence[str] = tuple(CASES),
    pauses: Sequence[str] = tuple(PAUSES),
    first: int = 0,
    noise: float = 1.0,
) -> list[Row]:
    """The table, one row for each case and each choice of pauses."""
    return [_row(case, choice, seeds, first, noise) for case in cases for choice in pauses]


def _row(case: str, pauses: str, seeds: int, first: int, noise: float) -> Row:
    scenes = [scene(case, seed, pauses, noise=noise) for seed in range(first, first + seeds)]
    pairs = [(s.made.truth, found(s)) for s in scenes]
    pairs = [(truth, motion) for truth, motion in pairs if (told_percent(motion) or 0) >= LEAST_TOLD]
    if not pairs:
        return Row(case, pauses, len(scenes), 0.0, *[np.nan] * 12)
    truth = np.array([[t.moving_s, t.longest_s, len(t.stops)] for t, _ in pairs])
    seen = np.array([[f(m) for f in (moving_time, longest_moving, stop_count)] for _, m in pairs], dtype=float)
    error = np.abs(seen[:, :, 0] - truth)
    percent = 100 * error[:, 0] / truth[:, 0]
    held = ((seen[:, :, 1] <= truth + 1e-6) & (truth <= seen[:, :, 2] + 1e-6)).mean(axis=0)
    width = seen[:, :, 2] - seen[:, :, 1]
    return Row(
        case,
        pauses,
        len(scenes),
        len(pairs) / len(scenes),
        float(error[:, 0].max()),
        float(percent.max()),
        float(np.mean((percent <= 2) & (error[:, 0] <= 2))),
        float(error[:, 1].max()),
        float(np.mean(error[:, 1] <= 3)),
        float(np.mean(error[:, 2] == 0)),
        *(float(share) for share in held),
        float(np.median(width[:, 0])),
        float(np.quantile(width[:, 0], 0.9)),
        float(width[:, 2].mean()),
    )


def main() -> None:
    """Print the table."""
    print("movement on made trials of 240 s; shares in per cent")
    print(
        f"{'case':24}{'pauses':7}{'n':>4}{'given':>7}{'moving time: worst':>20}{'within':>8}{'longest':>8}{'stops':>7}"
        f"{'held: moving':>14}{'longest':>9}{'stops':>7}{'width s':>13}{'stops':>7}"
    )
    for row in accuracy(first=HELD_OUT, noise=1.1):
        print(_line(row))


def _line(row: Row) -> str:
    return (
        f"{row.case:24}{row.pauses:7}{row.scenes:4}{row.given:7.0%}"
        f"{row.moving_s_worst:9.1f} s{row.moving_percent_worst:7.1f} %"
        f"{row.moving_within:8.0%}{row.longest_within:8.0%}{row.stops_exact:7.0%}"
        f"{row.moving_held:14.0%}{row.longest_held:9.0%}{row.stops_held:7.0%}"
        f"{row.width_s:7.1f}{row.width_s_ninth:6.1f}{row.stops_width:7.2f}"
    )


if __name__ == "__main__":
    main()
