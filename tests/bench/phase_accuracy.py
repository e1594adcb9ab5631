"""How well rest, work and recovery are found in made class recordings, by case and by what the phases rest on.

Errors are those of the start and of the end of the work, middle and ninth tenth [s]; *in 5* and *in 15* the shares of
starts and ends that lie so close; *told* the middle of the stated ± and the share of recordings in which both ends lie
within theirs; *trust* the mean of the stated confidence and the share of both ends within 15 s. *No* is the share in
which nothing is proposed. *Sure* is what is not marked as a guess: the share of all recordings, and of these the share
within 15 s by heart rate alone, within 5 s by all else; start | end. Seeds are others than those that settings were
made on; the other maker shares no formula with the first.

python -m tests.bench.phase_accuracy
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from ownmark.metrics.phase_finding import HEART_RATE, Expected, FoundPhases, find_phases

from tests.makers import other_straps
from tests.makers.class_recordings import CASES, Day, Life, Sitting, idle, lapped, moved, pressed, sitting

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
RECORDINGS = 100
HELD_OUT = 10_000
"""First seed of the recordings that no setting was made on."""
CALLED_SD_S = 8.0
HARDEST = "power chair, anticipation and a pause"


@dataclass(frozen=True)
class Case:
    """Which recordings, what is known of them beforehand, and where a movement sensor sits."""

    words: str
    made: Callable[[int], Sitting]
    expected: Callable[[Sitting], Expected | None] = lambda _: None
    placement: str | None = None


def _other(seed: int, *, hard: bool = False, lag_s: tuple[float, float] = other_straps.SOON_S) -> Sitting:
    made = other_straps.one(seed, hard=hard, lag_s=lag_s)
    day = Day(0, (0.0, made.work[0]), made.work, (made.work[1], np.inf), ())
    return Sitting(made.recording, day, Life())


def _with(case: str, add: Callable[[Sitting, int], Sitting] | None = None) -> Callable[[int], Sitting]:
    def made(seed: int) -> Sitting:
        plain = sitting(case, seed)
        return plain if add is None else add(plain, seed)

    return made


def _length(made: Sitting) -> Expected:
    """The protocol's length, which the true one missed by some seconds, as where somebody calls the stop."""
    missed_s = float(np.random.default_rng(round(made.day.work[0] * 1000)).normal(0.0, CALLED_SD_S))
    return Expected(work_s=made.day.work[1] - made.day.work[0] + missed_s)


def _start(made: Sitting) -> Expected:
    """The time table: the start to within a minute, and the length."""
    return replace(_length(made), start_s=made.day.work[0] + 40.0)


def _stopped_early(made: Sitting) -> Expected:
    """The protocol's length where the student stopped half a minute before it."""
    return Expected(work_s=made.day.work[1] - made.day.work[0] + 30.0)


USUAL = "anticipation and a pause"
ALONE = tuple(Case(case, _with(case)) for case in CASES)
OTHER = (
    Case("other maker", _other),
    Case("... power chair, anticipation", lambda seed: _other(seed, hard=True)),
    Case("... length known", lambda seed: _other(seed, hard=True), _length),
    Case("... hearts or sensors that are late", lambda seed: _other(seed, lag_s=other_straps.LATE_S)),
)
HELPED = (
    Case(f"{USUAL}: presses", _with(USUAL, lambda made, seed: pressed(made, seed, "both"))),
    Case("... the start alone", _with(USUAL, lambda made, seed: pressed(made, seed, "start"))),
    Case("... four presses", _with(USUAL, lambda made, seed: pressed(made, seed, "all"))),
    Case("... and a stray one", _with(USUAL, lambda made, seed: pressed(made, seed, "stray"))),
    Case("... stray, length known", _with(USUAL, lambda made, seed: pressed(made, seed, "stray")), _length),
    Case("... laps", _with(USUAL, lapped)),
    Case("... wrist sensor", _with(USUAL, moved), placement="wrist"),
    Case("... length known", _with(USUAL), _length),
    Case("... start and length known", _with(USUAL), _start),
    Case("hardest: presses", _with(HARDEST, lambda made, seed: pressed(made, seed, "both"))),
    Case("... and a stray one", _with(HARDEST, lambda made, seed: pressed(made, seed, "stray"))),
    Case("... the start alone", _with(HARDEST, lambda made, seed: pressed(made, seed, "start"))),
    Case("... laps", _with(HARDEST, lapped)),
    Case("... sensor on the frame", _with(HARDEST, lambda made, seed: moved(made, seed, "frame")), placement="frame"),
    Case("... length known", _with(HARDEST), _length),
    Case("... start and length known", _with(HARDEST), _start),
    Case("... stopped 30 s before its length", _with(HARDEST), _stopped_early),
    Case("power chair: length known", _with("power chair"), _length),
)
IDLE = (Case("sat all the time", idle), Case("came in warm and sat", lambda seed: idle(seed, warm=True)))


@dataclass(frozen=True)
class Row:
    """What was proposed: errors, shape (n, 2) [s], stated ± [s] and confidence, shape (n,).

    sure, right : which ends are no mere guess, and which lie as close as they have to, shape (n, 2)
    refused : share in which nothing was
    seconds : for each recording  [s]
    """

    error: Floats
    within: Floats
    confidence: Floats
    sure: Bools
    right: Bools
    refused: float
    seconds: float

    @property
    def both_held(self) -> float:
        """Share in which both ends lie within the stated ±."""
        return float(np.mean(self.error.max(axis=1) <= self.within))

    def shown(self, side: int) -> tuple[float, float]:
        """Of one end: share of all recordings in which it is no mere guess, and of these the share that is right."""
        sure = self.sure[:, side]
        return float(sure.mean()) * (1 - self.refused), float(self.right[sure, side].mean()) if sure.any() else np.nan


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
            sides = found.start, found.end
            close = [end <= (15 if side.how == HEART_RATE else 5) for end, side in zip(ends, sides, strict=True)]
            rows.append((*ends, found.within_s, found.confidence, *(side.sure for side in sides), *close))
    out = np.array(rows, dtype=np.float64).reshape(-1, 8)
    marked = out[:, 4:].astype(np.bool_)
    refused = 1 - len(rows) / len(seeds)
    return Row(out[:, :2], out[:, 2], out[:, 3], marked[:, :2], marked[:, 2:], refused, spent / len(seeds))


def main(recordings: int = RECORDINGS) -> None:
    """Print the table."""
    seeds = range(HELD_OUT, HELD_OUT + recordings)
    print(f"phases of {recordings} made class recordings a case; start | end of the work; shares in per cent")
    print(
        f"{'from heart rate alone':42}{'error s':>22}{'in 5':>10}{'in 15':>11}{'told: ±':>10}{'held':>5}{'trust':>10}"
        f"{'no':>4}{'sure: start, right':>20} | {'end, right'}"
    )
    alone = [_line(case, measured(case, seeds)) for case in ALONE]
    _calibration(alone)
    for case in OTHER:
        _line(case, measured(case, seeds))
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
    start, end = ([100 * each for each in row.shown(side)] for side in (0, 1))
    print(
        f"{case.words:42}{middle[0]:5.1f}/{ninth[0]:4.1f} | {middle[1]:4.1f}/{ninth[1]:4.1f}"
        f"{in_5[0]:6.0f}|{in_5[1]:3.0f}{in_15[0]:7.0f}|{in_15[1]:3.0f}"
        f"{np.median(row.within):10.0f}{100 * row.both_held:5.0f}"
        f"{100 * row.confidence.mean():6.0f}|{both:3.0f}{100 * row.refused:4.0f}"
        f"{start[0]:12.0f}{start[1]:8.0f} | {end[0]:3.0f}{end[1]:7.0f}{1000 * row.seconds:7.0f} ms"
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
