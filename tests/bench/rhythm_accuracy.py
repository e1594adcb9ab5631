"""How well rhythm and alignment are found where the truth is known: ``accuracy()`` prints the tables.

python -m tests.bench.rhythm_accuracy
"""

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import Placing
from ownmark.metrics.motion.alignment import Refusal, by_movement, by_taps
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.onset_alignment import by_heart_rate
from ownmark.metrics.motion.rhythm import Rhythm, rhythm

from tests.bench.taps_accuracy import evenness
from tests.makers import two_clocks
from tests.makers.motion import Bout, Placement, Sensor, motion
from tests.makers.pulse import Heart, heart, shown

Floats = NDArray[np.float64]
CADENCES = (20, 25, 30, 45, 60, 80, 100, 120)


@dataclass(frozen=True)
class Scene:
    """How a rhythm is made, beside its cadence."""

    words: str
    placement: Placement = "wrist"
    bout: tuple[tuple[str, object], ...] = ()
    sensor: tuple[tuple[str, object], ...] = ()


WILD = (("wobble", 0.3), ("uneven", 0.06), ("harmonics", (0.8, 0.4)), ("shake_g", 0.15))
SCENES = (
    Scene("wrist"),
    Scene("trunk", "trunk"),
    Scene("crank", "crank"),
    Scene("chair frame", "frame"),
    Scene("frame, arms in turn", "frame", (("alternating", 0.6),)),
    Scene("frame, 2nd harmonic twice", "frame", (("harmonics", (2.0, 0.3)),)),
    Scene("wrist, uneven, shaken", bout=WILD),
    Scene("frame, uneven, shaken", "frame", WILD),
    Scene("wrist, weak (0.05 g)", bout=(("size_g", 0.05), ("swing_deg", 3.0))),
    Scene("wrist, tremor 0.1 g", sensor=(("tremor_g", 0.1),)),
    Scene("wrist, 20 Hz", sensor=(("rate_hz", 20.0),)),
    Scene("wrist, 100 Hz", sensor=(("rate_hz", 100.0),)),
    Scene("wrist, lost 0.2 s x 40", sensor=(("gaps", (0.2, 40)),)),
    Scene("wrist, lost 1 s x 15", sensor=(("gaps", (1.0, 15)),)),
    Scene("wrist, lost 3 s x 6", sensor=(("gaps", (3.0, 6)),)),
)


@dataclass(frozen=True)
class Trial:
    """A rhythm found, and the truth over the time that was measured."""

    found: Rhythm
    cycles: float
    per_minute: float
    cycles_whole: float
    per_minute_whole: float


def trial(per_minute: float | Sequence[tuple[float, float]], scene: Scene, seed: int, seconds: float = 120.0) -> Trial:
    """Two minutes of one movement between ten seconds of stillness."""
    settings = {"rate_hz": 50.0, "jitter": 0.2, "noise_g": 0.02, **dict(scene.sensor)}
    if "gaps" in settings:
        length, count = settings["gaps"]
        at = np.random.default_rng(seed).uniform(10, 10 + seconds - length, count)
        settings["gaps"] = tuple((float(begin), float(begin) + length) for begin in at)
    bout = Bout(10.0, 10.0 + seconds, **{"cadence": per_minute, "shake_g": 0.06, **dict(scene.bout)})
    made = motion(seconds + 20.0, [bout], placement=scene.placement, sensor=Sensor(**settings), seed=seed)
    grid = to_grid(made.acceleration)
    found = rhythm(grid, made.truth.moving)
    edges = made.truth.cycles[0]
    at = np.arange(10.0, 10.0 + seconds, 0.01)
    true = np.interp(at, 0.5 * (edges[1:] + edges[:-1]), 60.0 / np.diff(edges))
    inside = made.truth.cadence_at(at)
    true = np.where(np.isfinite(inside), inside, true)
    measured = np.interp(at, grid.time_s, grid.measured.astype(float)) > 0.5
    known = true[measured]
    return Trial(
        found, float(known.sum()) * 0.01 / 60, float(known.mean()), float(true.sum()) * 0.01 / 60, float(true.mean())
    )


def rhythms(scenes: Iterable[Scene] = SCENES, cadences: Sequence[int] = CADENCES, seeds: int = 4) -> None:
    """Largest error of the count (of the measured time) and of the mean cadence, in %, over the seeds."""
    print("largest error over the seeds, in %: cycle count of the measured time / mean cadence (goal 3 / 2)")
    print(f"{'cadence /min':<26}" + "".join(f"{each:>13}" for each in cadences))
    for scene in scenes:
        cells = []
        for per_minute in cadences:
            made = [trial(per_minute, scene, seed) for seed in range(seeds)]
            given = [each for each in made if each.found.cycle_count and each.found.cadence_mean]
            counts = [100 * abs(each.found.cycle_count.value / each.cycles - 1) for each in given]
            means = [100 * abs(each.found.cadence_mean.value / each.per_minute - 1) for each in given]
            none = f" -{seeds - len(given)}" if len(given) < seeds else ""
            cells.append(f"{max(counts, default=np.nan):.2f} / {max(means, default=np.nan):.2f}{none}")
        print(f"{scene.words:<26}" + "".join(f"{cell:>13}" for cell in cells))


CHANGES = {
    "60 to 90 at once": ((0, 60), (60, 60), (60, 90), (120, 90)),
    "60 to 120 at once": ((0, 60), (60, 60), (60, 120), (120, 120)),
    "100 to 25 at once": ((0, 100), (60, 100), (60, 25), (120, 25)),
    "40 to 80 slowly": ((0, 40), (120, 80)),
    "50, 70, 45, 65": ((0, 50), (30, 50), (30, 70), (60, 70), (60, 45), (90, 45), (90, 65), (120, 65)),
}


def changes(seeds: int = 4) -> None:
    """The same where the rhythm changes on the way."""
    print("changes of rhythm: largest error of count and mean, in %")
    for words, knots in CHANGES.items():
        made = [trial(knots, SCENES[0], seed) for seed in range(seeds)]
        counts = [100 * abs(each.found.cycle_count.value / each.cycles - 1) for each in made]
        print(f"  {words:<20}{max(counts):6.2f}")


def _given(errors: Sequence[float | None]) -> str:
    known = [abs(each) for each in errors if each is not None]
    worst = f"largest error {max(known):6.3f} s, half under {np.median(known):6.3f} s" if known else ""
    return f"given {len(known):3d} of {len(errors):3d}  {worst}"


def _error(found: Placing | Refusal, offset_s: float) -> float | None:
    return found.offset_s - offset_s if isinstance(found, Placing) else None


def taps_pair(seed: int, rates: tuple[float, float], size_g: float = 4.0) -> tuple[Grid, Grid, float]:
    """Two minutes with three taps at the start, the second sensor on another clock."""
    rng = np.random.default_rng(seed)
    bouts = [each for each in two_clocks.lesson(2, rng) if each.from_s > 25]
    taps = two_clocks.row_of_three(float(rng.uniform(5, 15)), rng)
    offset = float(rng.uniform(-500, 500))
    first, second = (
        two_clocks.tapped(two_clocks.acceleration(bouts, 120, place, rate, seed + number), taps, rate, rng, size_g)
        for number, (place, rate) in enumerate(zip(("wrist", "frame"), rates, strict=True))
    )
    return to_grid(first), to_grid(two_clocks.on_other_clock(second, offset)), offset


def movement_pair(seed: int, length_min: float, *, same: bool = True) -> tuple[Grid, Grid, float]:
    """Two sensors of different rate and place; ``same``: of the same lesson."""
    rng = np.random.default_rng(seed)
    bouts = two_clocks.lesson(length_min, rng)
    others = bouts if same else two_clocks.lesson(length_min, rng)
    offset = float(rng.uniform(-400, 400))
    first = two_clocks.acceleration(bouts, 60 * length_min, "wrist", 25.0, seed)
    second = two_clocks.acceleration(others, 60 * length_min, "frame", 50.0, seed + 1)
    return to_grid(first), to_grid(two_clocks.on_other_clock(second, offset, 60.0)), offset


def heart_pair(seed: int, *, same: bool = True) -> tuple[Grid, Floats, Floats, float]:
    """A quarter of an hour of movement and the heart that answers it, or another: grid, times, rates, offset."""
    rng = np.random.default_rng(seed)
    bouts = two_clocks.lesson(15, rng)
    moved = bouts if same else two_clocks.lesson(15, rng)
    life = Heart(
        float(rng.uniform(65, 95)),
        float(rng.uniform(115, 165)),
        float(rng.uniform(20, 50)),
        float(rng.uniform(30, 80)),
        float(rng.uniform(0, 10)),
        float(rng.uniform(1, 3)),
    )
    bpm = heart(life, [(each.from_s, each.until_s) for each in moved], 900, rng)
    written = shown(bpm, rng, smooth_s=int(rng.integers(1, 9)), late_s=int(rng.integers(0, 4)))
    offset = float(rng.uniform(-400, 400))
    return to_grid(two_clocks.acceleration(bouts, 900, "wrist", 25.0, seed)), np.arange(900) - offset, written, offset


def alignments(seeds: int = 20) -> None:
    """Errors of each way to lay two clocks together, and how often it refuses."""
    print("alignment")
    for rates in ((25.0, 25.0), (25.0, 100.0), (50.0, 50.0), (50.0, 100.0), (100.0, 200.0)):
        pairs = [taps_pair(seed, rates) for seed in range(seeds)]
        errors = [_error(by_taps(first, second), offset) for first, second, offset in pairs]
        print(f"  taps, {rates[0]:3.0f} and {rates[1]:3.0f} Hz           {_given(errors)}")
    for same in (True, False):
        for length in (3, 6, 12):
            pairs = [movement_pair(seed, length, same=same) for seed in range(seeds)]
            errors = [_error(by_movement(first, second), offset) for first, second, offset in pairs]
            words = "movement" if same else "movement, unrelated"
            print(f"  {words:<20} {length:2d} min    {_given(errors)}")
        hearts = [heart_pair(seed, same=same) for seed in range(seeds)]
        errors = [_error(by_heart_rate(grid, at, np.ones(len(at)), bpm), offset) for grid, at, bpm, offset in hearts]
        print(f"  {'heart rate' if same else 'heart rate, unrelated':<27}    {_given(errors)}")


def speed(seconds: int = 8 * 3600) -> None:
    """Nanoseconds a sample of ``rhythm`` at 100 Hz, best and middle of seven rounds."""
    rng, count = np.random.default_rng(0), seconds * 100
    at = np.arange(count) / 100.0
    values = np.stack((np.cos(2 * np.pi * at), 0.5 * np.sin(2 * np.pi * at), np.ones(count)), axis=1)
    values += 0.05 * rng.standard_normal(values.shape)
    grid = Grid(0.0, 100.0, values)
    spent = sorted(_seconds(lambda: rhythm(grid, [(0.0, float(seconds))])) for _ in range(7))
    best, middle = (1e9 * spent[place] / count for place in (0, 3))
    print(f"rhythm of {seconds / 3600:g} h at 100 Hz: {best:.0f} ns a sample, middle of seven rounds {middle:.0f}")


def _seconds(job: Callable[[], object]) -> float:
    began = time.perf_counter()
    job()
    return time.perf_counter() - began


def accuracy() -> None:
    """Every table."""
    rhythms()
    changes()
    alignments()
    evenness()
    speed()
    speed(1200)


if __name__ == "__main__":
    accuracy()
