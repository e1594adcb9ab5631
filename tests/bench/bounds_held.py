"""Whether bounds hold the truth, and coverage tells it, when values are lost at random: ``main()`` prints both tables.

The truth is what the same recorder gives without a loss.

python -m tests.bench.bounds_held
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.cleaning.judge import clean
from ownmark.metrics import Asked, Band, EffortSheet, Phases, choose_basis, effort
from ownmark.metrics.timeline import hold

from tests.makers.pulse import Heart, heart, shown
from tests.makers.recordings import pulse, recording

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
BASIS = choose_basis(rest_bpm=70, measured_max_bpm=200, sex="female")
ASKED = Asked(distance_m=500, target=Band(110, 140, "/min"), ceiling_bpm=150)
PHASES = Phases(work=(0.0, 300.0))
SECONDS = 420
LOSSES = ("light", "heavy", "most", "few")
HOLDS_S = (None, 3.0, 10.0)
"""Letting values stand longer lets more figures be given where much is missing."""


@dataclass(frozen=True)
class Made:
    """What a recorder without a loss wrote."""

    time_s: Floats
    bpm: Floats

    def sheet(self, asked: Asked = ASKED) -> EffortSheet:
        """The figures of it."""
        return effort(recording(pulse(self.time_s, self.bpm)), BASIS, PHASES, asked)

    def left(self, keep: Bools) -> "Made":
        """What is left of it."""
        return Made(self.time_s[keep], self.bpm[keep])


def any_values(step_s: float, jitter: float, rng: np.random.Generator) -> Made:
    """Values that no heart has, so that each second may decide."""
    count = int(SECONDS / step_s)
    return Made(_stamps(count, step_s, jitter, rng), rng.integers(31, 230, count).astype(float))


def a_heart(step_s: float, jitter: float, rng: np.random.Generator) -> Made:
    """A student at work, in whole beats a minute."""
    life = Heart(float(rng.uniform(65, 95)), float(rng.uniform(110, 180)), wander_bpm=float(rng.uniform(1, 3)))
    seconds = shown(heart(life, ((60.0, 300.0),), SECONDS, rng), rng)
    time = _stamps(int(SECONDS / step_s), step_s, jitter, rng)
    return Made(time, seconds[np.minimum(time.astype(int), SECONDS - 1)])


RECORDERS: tuple[tuple[Callable[[float, float, np.random.Generator], Made], float, float], ...] = tuple(
    (make, step_s, jitter)
    for make in (any_values, a_heart)
    for step_s, jitter in ((1.0, 0.0), (0.5, 0.0), (5.0, 0.0), (1.0, 0.2))
)
"""What is written, how often [s], and by how much of a step the steps differ."""


def _stamps(count: int, step_s: float, jitter: float, rng: np.random.Generator) -> Floats:
    return np.arange(count) * step_s + np.append(0.0, rng.uniform(-jitter, jitter, count - 1) * step_s / 2)


def some_kept(count: int, kind: str, rng: np.random.Generator) -> Bools:
    """Which values are left; the ends always, because a ceiling counts over the whole recording."""
    if kind == "few":
        keep = np.zeros(count, bool)
        keep[rng.choice(count, int(rng.integers(0, 12)), replace=False)] = True
    else:
        low, high = {"light": (0.0, 0.2), "heavy": (0.2, 0.9), "most": (0.9, 0.99)}[kind]
        keep = rng.random(count) >= rng.uniform(low, high)
    keep[0] = keep[-1] = True
    return keep


def compared(truth: EffortSheet, partly: EffortSheet) -> dict[str, bool]:
    """Whether each figure's bounds hold the truth, by name, for those that have bounds and a truth."""
    pairs = {name: (figure, truth.figures[name].value) for name, figure in partly.figures.items()}
    return {
        name: figure.low - 1e-6 <= true <= figure.high + 1e-6
        for name, (figure, true) in pairs.items()
        if figure.low is not None and figure.high is not None and true is not None and name != "coverage_heart_rate"
    }


def held(draws: int = 60) -> None:
    """Bounds that missed, of those given, by figure and by kind of loss."""
    given: Counter[tuple[str, str]] = Counter()
    missed: Counter[tuple[str, str]] = Counter()
    for at, kind in enumerate(LOSSES):
        for place, (make, step_s, jitter) in enumerate(RECORDERS):
            for seed in range(draws):
                rng = np.random.default_rng((seed, place, at))
                made = make(step_s, jitter, rng)
                keep = some_kept(len(made.bpm), kind, rng)
                partly = made.left(keep).sheet(replace(ASKED, hold_s=HOLDS_S[seed % 3]))
                for name, holds in compared(made.sheet(), partly).items():
                    given[name, kind] += 1
                    missed[name, kind] += not holds
    print("bounds held: missed of given, by figure, over values lost at random (light 0 to 20 %, heavy 20 to 90 %,")
    print(f"most 90 to 99 %, few: 2 to 13 values left), {draws * len(RECORDERS)} recordings each")
    print(f"{'':<24}" + "".join(f"{kind:>14}" for kind in LOSSES))
    for name in sorted({name for name, _ in given}):
        print(f"{name:<24}" + "".join(f"{f'{missed[name, kind]} of {given[name, kind]}':>14}" for kind in LOSSES))
    print(f"{'all':<24}" + "".join(f"{_sum(missed, kind)} of {_sum(given, kind)}".rjust(14) for kind in LOSSES))


def _sum(counts: Counter[tuple[str, str]], kind: str) -> int:
    return sum(count for (_, each), count in counts.items() if each == kind)


def coverage(draws: int = 20) -> None:
    """Coverage as told where values are lost at random: missing from the file, or written as 0."""
    print("coverage under loss, % (mean of the recordings; largest error of any in brackets)")
    print(f"{'lost':<8}" + "".join(f"{words:>16}" for words in ("1 s: true", "as rows", "as zeros", "5 s: as rows")))
    for lost in (0.0, 0.1, 0.3, 0.5, 0.7, 0.9):
        cells: list[list[tuple[float, float]]] = [[], [], [], []]
        for seed in range(draws):
            rng = np.random.default_rng((seed, int(100 * lost)))
            made, slow = a_heart(1.0, 0.0, rng), a_heart(5.0, 0.0, rng)
            keep, keep_slow = rng.random(len(made.bpm)) >= lost, rng.random(len(slow.bpm)) >= lost
            true, true_slow = 100 * float(keep.mean()), 100 * float(keep_slow.mean())
            zeros = Made(made.time_s, np.where(keep, made.bpm, 0.0))
            told = (true, _covered(made.left(keep)), _covered(zeros), _covered(slow.left(keep_slow)))
            for cell, each, should in zip(cells, told, (true, true, true, true_slow), strict=True):
                cell.append((each, abs(each - should)))
        texts = [f"{np.mean([each for each, _ in cell]):.1f} ({max(error for _, error in cell):.1f})" for cell in cells]
        print(f"{f'{lost:.0%}':<8}" + "".join(f"{text:>16}" for text in texts))
    shares = []
    for seed in range(draws):
        made = a_heart(1.0, 0.0, np.random.default_rng((seed, 1)))
        shares.append(_covered(made.left(np.append(True, np.diff(made.bpm) != 0))))
    print(f"written on change, nothing lost: {np.mean(shares):.1f} % ({min(shares):.1f} to {max(shares):.1f})")


def _covered(made: Made) -> float:
    stream = clean(recording(pulse(made.time_s, made.bpm)))["heart_rate"]
    return hold(stream, 0.0, float(SECONDS)).coverage_percent


def main() -> None:
    """Both tables."""
    held()
    print()
    coverage()


if __name__ == "__main__":
    main()
