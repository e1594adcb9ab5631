"""Whether the narrower bounds of a mean survive what a heart may do inside a gap, and what they gain: ``main()``.

python -m tests.bench.gap_bounds
"""

from collections import Counter

import numpy as np
from ownmark.metrics.kinetics import mean_within_reach

from tests.makers.gap_events import GAP_FROM, OTHER_RHYTHM, OWN_RHYTHM, SECONDS, events, smoothed
from tests.makers.recordings import pulse

SMOOTHED_S = (1, 3, 8)
"""Seconds that a recorder averages over."""


def outside(course: np.ndarray, gap_s: int) -> float | None:
    """By how much the true mean of a gap lies outside its narrower bounds [/min], 0 inside; None if there are none."""
    keep = np.ones(SECONDS, bool)
    keep[GAP_FROM : GAP_FROM + gap_s] = False
    stream = pulse(np.flatnonzero(keep).astype(float), course[keep])
    found = mean_within_reach(stream, float(GAP_FROM), float(GAP_FROM + gap_s))
    if found is None:
        return None
    true = float(course[GAP_FROM : GAP_FROM + gap_s].mean())
    return max(found[0] - true, true - found[1], 0.0)


def survived(draws: int = 300) -> None:
    """Misses by event and by how long the recorder averages."""
    given: Counter[tuple[str, int]] = Counter()
    missed: Counter[tuple[str, int]] = Counter()
    worst: Counter[str] = Counter()
    for seed in range(draws):
        rng = np.random.default_rng(seed)
        gap_s = int(rng.integers(1, 31))
        for name, course in events(gap_s, rng).items():
            for over_s in SMOOTHED_S:
                off = outside(smoothed(course, over_s), gap_s)
                if off is None:
                    continue
                given[name, over_s] += 1
                missed[name, over_s] += off > 1e-6
                worst[name] = max(worst[name], off * gap_s / 720)
    print("narrower bounds of the mean of a gap of 1 to 30 s: missed of given, by what the heart did inside it and by")
    print("how long the recorder averages; worst: what the largest miss makes of a mean over 12 minutes, /min")
    print(f"{'':<24}" + "".join(f"{f'over {over_s} s':>14}" for over_s in SMOOTHED_S) + f"{'worst':>9}")
    for name in (*OWN_RHYTHM, *OTHER_RHYTHM):
        cells = [f"{missed[name, over_s]} of {given[name, over_s]}" for over_s in SMOOTHED_S]
        print(f"{name:<24}" + "".join(f"{cell:>14}" for cell in cells) + f"{worst[name]:>9.2f}")


def gained() -> None:
    """Width of both bounds of a mean over 12 minutes at 130 /min, by coverage and by length of the gaps."""
    print("width of the bounds of a mean over 12 minutes at about 130 /min: any heart / own rhythm, /min")
    gaps_s = (1, 5, 10, 20, 30)
    print(f"{'coverage':<12}" + "".join(f"{f'gaps of {gap_s} s':>16}" for gap_s in gaps_s))
    for covered in (95, 93, 90, 85):
        cells = []
        for gap_s in gaps_s:
            keep = np.ones(720, bool)
            count = max(round(720 * (100 - covered) / 100 / gap_s), 1)
            for begin in np.linspace(20, 700 - gap_s, count).astype(int):
                keep[begin : begin + gap_s] = False
            stream = pulse(np.flatnonzero(keep).astype(float), 130.0 + np.arange(keep.sum()) % 3)
            found = mean_within_reach(stream, 0.0, 720.0)
            narrow = "none" if found is None else f"{found[1] - found[0]:.1f}"
            cells.append(f"{200 * (1 - keep.mean()):.1f} / {narrow}")
        print(f"{f'{covered} %':<12}" + "".join(f"{cell:>16}" for cell in cells))


def main() -> None:
    """Both tables."""
    survived()
    print()
    gained()


if __name__ == "__main__":
    main()
