"""How uneven a row of three taps may be: rows found and missed, and what is taken for a row that is none.

python -m tests.bench.taps_accuracy
"""

from collections.abc import Sequence

import numpy as np
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.taps import find_taps

from tests.makers import two_clocks
from tests.makers.motion import Sensor, motion

RATES = (25.0, 50.0, 100.0)
NEAR_S = 0.1
Row = tuple[float, float, float]


def hand(start_s: float, spread: float, rng: np.random.Generator) -> Row:
    """Three taps about 0.8 s apart, each pause off by a share of its own."""
    first, second = np.clip(0.8 * np.exp(spread * rng.standard_normal(2)), 0.3, 1.45)
    return start_s, start_s + float(first), start_s + float(first + second)


def tapped(seed: int, spread: float) -> tuple[Grid, Row]:
    """Two minutes of a lesson with one row of taps before it."""
    rng, rate = np.random.default_rng(seed), RATES[seed % 3]
    bouts = [each for each in two_clocks.lesson(2, rng) if each.from_s > 25]
    row = hand(float(rng.uniform(5, 15)), spread, rng)
    seen = two_clocks.acceleration(bouts, 120, "wrist" if seed % 2 else "frame", rate, seed)
    return to_grid(two_clocks.tapped(seen, row, rate, rng)), row


def untapped(seed: int) -> Grid:
    """Four minutes of a lesson without taps."""
    rng = np.random.default_rng(seed)
    place = ("wrist", "frame", "trunk")[seed % 3]
    return to_grid(two_clocks.acceleration(two_clocks.lesson(4, rng), 240, place, RATES[seed % 3], seed))


def knocked(seed: int) -> Grid:
    """A still minute with two to five knocks at random moments, a second apart on average."""
    rng, rate = np.random.default_rng(seed), RATES[seed % 3]
    still = motion(60.0, [], sensor=Sensor(rate_hz=rate), seed=seed).acceleration
    pauses = rng.exponential(1.0, int(rng.integers(1, 5))) + 0.1
    at = np.cumsum(np.append(rng.uniform(5, 20), pauses))
    return to_grid(two_clocks.tapped(still, at.tolist(), rate, rng, float(rng.uniform(0.5, 4))))


def hits(made: Sequence[tuple[Grid, Row]], even: float) -> tuple[int, int]:
    """Rows found, and rows found where there is none."""
    found = wrong = 0
    for grid, row in made:
        rows = find_taps(grid, even)
        right = [each for each in rows if np.abs(np.subtract(each.time_s, row)).max() < NEAR_S]
        found += bool(right)
        wrong += len(rows) - len(right)
    return found, wrong


def evenness(seeds: int = 60, values: Sequence[float] = (1.5, 1.8, 2.0, 2.2, 2.5, 3.0)) -> None:
    """A table over values of ``taps.EVEN``."""
    made = {spread: [tapped(1000 + seed, spread) for seed in range(seeds)] for spread in (0.15, 0.3, 0.45)}
    lessons = [untapped(5000 + seed) for seed in range(seeds)]
    knocks = [knocked(7000 + seed) for seed in range(4 * seeds)]
    print(f"rows of three taps by hands whose pauses are off by 15, 30, 45 %: found of {seeds}, wrong; false elsewhere")
    for even in values:
        cells = [hits(rows, even) for rows in made.values()]
        false = sum(len(find_taps(grid, even)) for grid in lessons)
        chance = sum(bool(find_taps(grid, even)) for grid in knocks)
        told = ", ".join(f"{found} ({wrong})" for found, wrong in cells)
        print(f"  {even:3.1f}: {told}; {false} in {4 * seeds} min of lessons, {chance} of {4 * seeds} runs of knocks")


if __name__ == "__main__":
    evenness()
