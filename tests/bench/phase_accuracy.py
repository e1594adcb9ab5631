"""How well rest, work and recovery are found in made class recordings, by case and by what the phases rest on.

Errors are those of the start and of the end of the work, middle and ninth tenth [s]; *in 5* and *in 15* the shares of
starts and ends that lie so close; *told* the middle of the stated ± and the share of recordings in which both ends lie
within theirs; *sure* the mean of the stated confidence and the share of both ends within 15 s. *No* is the share in
which nothing is proposed. Seeds are others than those that settings were made on.

python -m tests.bench.phase_accuracy
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.metrics.phase_finding import Expected, FoundPhases, find_phases

from tests.makers.class_recordings import CASES, Sitting, idle, lapped, moved, pressed, sitting

Floats = NDArray[np.float64]
RECORDINGS = 100
HELD_OUT = 10_000
"""First seed of the recordings that no setting was made on."""
HARDEST = "power chair, anticipation and a pause"


@dataclass(frozen=True)
class Case:
    """Which recordings, what is known of them beforehand, and where a movement sensor sits."""

    words: str
    made: Callable[[int], Sitting]
    expected: Callable[[Sitting], Expected | None] = lambda _: None
    placement: str | None = None


def _with(case: str, add: Callable[[Sitting, int], Sitting] | None = None) -> Callable[[int], Sitting]:
    def made(seed: int) -> Sitting:
        plain = sitting(case, seed)
        return plain if add is None else add(plain, seed)

    return made


def _length(made: Sitting) -> Expected:
    return Expected(work_s=made.day.work[1] - made.day.work[0])


def _start(made: Sitting) -> Expected:
    """The time table: the start to within a minute, and the length."""
    return Expected(work_s=made.day.work[1] - made.day.work[0], start_s=made.day.work[0] + 40.0)


USUAL = "anticipation and a pause"
ALONE = tuple(Case(case, _with(case)) for case in CASES)
HELPED = (
    Case(f"{USUAL}: presses", _with(USUAL, lambda made, seed: pressed(made, seed, "both"))),
    Case("... the start alone", _with(USUAL, lambda made, seed: pressed(made, seed, "start"))),
    Case("... four presses", _with(USUAL, lambda made, seed: pressed(made, seed, "all"))),
    Case("... and a stray one", _with(USUAL, lambda made, seed: pressed(made, seed, "stray"))),
    Case("... laps", _with(USUAL, lapped)),
    Case("... wrist sensor", _with(USUAL, moved), placement="wrist"),
    Case("... length known", _with(USUAL), _length),
    Case("... start and length known", _with(USUAL), _start),
    Case("hardest: presses", _with(HARDEST, lambda made, seed: pressed(made, seed, "both"))),
    Case("... and a stray one", _with(HARDEST, lambda made, seed: pressed(made, seed, "stray"))),
    Case("... laps", _with(HARDEST, lapped)),
    Case("... sensor on the frame", _with(HARDEST, lambda made, seed: moved(made, seed, "frame")), placement="frame"),
    Case("... start and length known", _with(HARDEST), _start),
)
IDLE = (Case("sat all the time", idle), Case("came in warm and sat", lambda seed: idle(seed, warm=True)))


@dataclass(frozen=True)
class Row:
    """What was proposed: errors, shape (n, 2) [s], stated ± [s] and confidence, shape (n,).

    refused : share in which nothing was
    seconds : for each recording  [s]
    """

    error: Floats
    within: Floats
    confidence: Floats
    refused: float
    seconds: float

    @property
    def both_held(self) -> float:
        """Share in which both ends lie within the stated ±."""
        return float(np.mean(self.error.max(axis=1) <= self.within))


def measured(case: Case, seeds: Sequence[int]) -> Row:
    """A case over its recordings."""
    rows, spent = [], 0.0
    for seed in seeds:
        made = case.made(seed)
        began = time.perf_counter()
        found = find_phases(made.recording, case.expected(made), placement=case.placement)
        spent += time.perf_counter() - began
        if isinstance(found, FoundPhases):
            ends = [abs(a - b) for a, b in zip(found.work, made.day.work, strict=True)]
            rows.append((*ends, found.within_s, found.confidence))
    out = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return Row(out[:, :2], out[:, 2], out[:, 3], 1 - len(rows) / len(seeds), spent / len(seeds))


def main(recordings: int = RECORDINGS) -> None:
    """Print the table."""
    seeds = range(HELD_OUT, HELD_OUT + recordings)
    print(f"phases of {recordings} made class recordings a case; start | end of the work; shares in per cent")
    print(
        f"{'from heart rate alone':42}{'error s':>22}{'in 5':>10}{'in 15':>11}{'told: ±':>10}{'held':>5}{'sure':>10}"
        f"{'no':>4}"
    )
    alone = [_line(case, measured(case, seeds)) for case in ALONE]
    _calibration(alone)
    print("with more to go by")
    for case in HELPED:
        _line(case, measured(case, seeds))
    for case in IDLE:
        row = measured(case, seeds)
        print(f"{case.words:42} proposed in {100 * (1 - row.refused):.1f}")


def _line(case: Case, row: Row) -> Row:
    middle, ninth = np.quantile(row.error, (0.5, 0.9), axis=0)
    in_5, in_15 = (100 * np.mean(row.error <= limit, axis=0) for limit in (5, 15))
    both = 100 * np.mean(row.error.max(axis=1) <= 15)
    print(
        f"{case.words:42}{middle[0]:5.1f}/{ninth[0]:4.1f} | {middle[1]:4.1f}/{ninth[1]:4.1f}"
        f"{in_5[0]:6.0f}|{in_5[1]:3.0f}{in_15[0]:7.0f}|{in_15[1]:3.0f}"
        f"{np.median(row.within):10.0f}{100 * row.both_held:5.0f}"
        f"{100 * row.confidence.mean():6.0f}|{both:3.0f}{100 * row.refused:4.0f}{1000 * row.seconds:7.0f} ms"
    )
    return row


def _calibration(rows: Sequence[Row]) -> None:
    """Whether the stated ± holds wherever it is stated."""
    error, within = np.concatenate([row.error for row in rows]), np.concatenate([row.within for row in rows])
    sure = np.concatenate([row.confidence for row in rows])
    shares = 100 * np.mean(error <= 15, axis=0)
    print(f"{'all six cases':42}{'':31}{shares[0]:7.0f}|{shares[1]:3.0f}")
    print("  stated ±: recordings, both ends within it, both within 15 s, mean confidence")
    for low, high in ((0, 10), (10, 15), (15, 20), (20, 30), (30, 45)):
        here = (within > low) & (within <= high)
        if here.any():
            worst = error[here].max(axis=1)
            print(
                f"  {low:2}-{high:2} s {here.sum():6} {100 * np.mean(worst <= within[here]):5.0f}"
                f" {100 * np.mean(worst <= 15):5.0f} {100 * sure[here].mean():5.0f}"
            )


if __name__ == "__main__":
    main()
