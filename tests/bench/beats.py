"""RR intervals with extra, missed and premature beats: what is proven that never was, and what is lost.

python -m tests.bench.beats
"""

import numpy as np
from ownmark.ingest.cleaning.judge import clean, with_heart_rate
from ownmark.metrics import Asked, choose_basis, effort

from tests.makers.beats import heart, intervals, spoiled

TRIALS = 20
RATES = (40, 60, 90, 120, 150, 180, 210)
BASIS = choose_basis(rest_bpm=35, measured_max_bpm=229, sex="male")
KINDS = {
    "none": {},
    "extra": {"extra": 0.02},
    "missed": {"missed": 0.02},
    "premature": {"premature": 0.02},
    "all three": {"extra": 0.02, "missed": 0.02, "premature": 0.02},
}


def trial(seed: int, bpm: float, by: dict[str, float]) -> tuple[bool, bool, float]:
    """Of 5 min: any second proven above the true highest rate; every bound held; coverage [%]."""
    rng = np.random.default_rng(seed)
    rr_s = heart(rng, bpm, bpm)
    never = float((60 / rr_s).max()) * 1.0001
    perfect = with_heart_rate(intervals(rr_s, judged=True))
    partly = with_heart_rate(clean(intervals(spoiled(rng, rr_s, **by))))
    above = effort(partly, asked=Asked(ceiling_bpm=never)).figures["time_above_ceiling"]
    held = True
    for ceiling in np.quantile(60 / rr_s, (0.02, 0.25, 0.5, 0.75, 0.98)):
        asked = Asked(ceiling_bpm=float(ceiling))
        true, found = (effort(each, BASIS, asked=asked).figures for each in (perfect, partly))
        held &= all(
            figure.low - 1e-6 <= true[name].value <= figure.high + 1e-6
            for name, figure in found.items()
            if figure.low is not None and true[name].value is not None and name != "coverage_heart_rate"
        )
    return above.low > 0, held, effort(partly).figures["coverage_heart_rate"].value


def accuracy(trials: int = TRIALS) -> None:
    """A line for each kind and rate."""
    print(f"RR with extra, missed and premature beats, 2 % of each; of {trials} trials of 5 min at each rate:")
    print("any second proven faster than the heart ever was / trials in which every bound held / mean coverage")
    print(f"  {'':<10}" + "".join(f"{bpm:>17} /min" for bpm in RATES))
    for kind, by in KINDS.items():
        cells = []
        for bpm in RATES:
            fast, held, covered = zip(*(trial(seed, bpm, by) for seed in range(trials)), strict=True)
            cells.append(f"{sum(fast):>3} / {sum(held):>3} / {np.mean(covered):4.1f} %")
        print(f"  {kind:<10}" + "".join(f"{cell:>22}" for cell in cells), flush=True)


if __name__ == "__main__":
    accuracy()
