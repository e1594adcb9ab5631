"""Cadence by case: in how many per cent of made trials it is what it should be, within 2 %.

python -m tests.bench.rhythm_cases
"""

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np
from ownmark.metrics.motion.grid import to_grid
from ownmark.metrics.motion.rhythm import Rhythm, rhythm
from ownmark.metrics.rhythm_figures import what_is_counted

from tests.bench.rhythm_accuracy import SCENES, trial
from tests.makers.motion import Bout, Placement, Sensor, motion
from tests.makers.walks import FORMS, Walk, knocked, walk

WITHIN = 0.02
FAR = 2**0.5
Reading = tuple[float | None, str | None]
"""What the sheet would say: cadence [/min] and what it counts."""


def read(found: Rhythm, placement: str) -> Reading:
    """Cadence and what it counts."""
    mean = None if found.cadence_mean is None else found.cadence_mean.value
    return mean, what_is_counted(found, placement, power_chair=False)


def walked(how: Walk, seed: int, seconds: float = 90.0) -> tuple[Reading, float]:
    """A walk's reading, and its strides a minute."""
    felt, falls = walk(how, seconds, seed)
    return read(rhythm(to_grid(felt), [(0.0, seconds)]), "trunk"), 30.0 * (len(falls) - 1) / float(falls[-1] - falls[0])


def shares(made: Sequence[tuple[Reading, float]]) -> tuple[float, float, float, float]:
    """In per cent: strides, steps, none or something else; and pairs that show a change of counting as one of pace."""
    ratios = [np.nan if value is None else value / true for (value, _), true in made]
    strides, steps = (sum(abs(ratio / to - 1) <= WITHIN for ratio in ratios) for to in (1.0, 2.0))
    pairs = list(combinations([reading for reading, _ in made], 2))
    wrong = sum(shown_as_change(*pair) for pair in pairs)
    count = len(made)
    return 100 * strides / count, 100 * steps / count, 100 * (1 - (strides + steps) / count), 100 * wrong / len(pairs)


def shown_as_change(one: Reading, other: Reading) -> bool:
    """Whether two trials of one walker would be compared although their cadences are a step and a stride apart."""
    if one[0] is None or other[0] is None or max(one[0], other[0]) <= FAR * min(one[0], other[0]):
        return False
    return {one[1], other[1]} in ({"cycle"}, {"pair"})


WALKS: tuple[tuple[str, Walk], ...] = tuple(
    (f"legs {ratio:g} : 1, sway {1000 * sway:3.0f} mg", Walk(ratio=ratio, sway_g=sway))
    for sway in (0.0, 0.03, 0.08, 0.15)
    for ratio in (1.0, 1.2, 1.5, 2.0, 3.0, 5.0)
) + (
    ("legs 3 : 1, a step late by 0.15", Walk(ratio=3.0, limp=0.15)),
    ("legs 3 : 1, 50 steps a minute", Walk(ratio=3.0, steps_per_minute=50.0)),
    ("legs 3 : 1, hard footfalls", Walk(ratio=3.0, landing_s=0.05)),
    ("legs 1 : 1, 50 steps a minute", Walk(steps_per_minute=50.0)),
    ("legs 1 : 1, hard footfalls", Walk(landing_s=0.05)),
)


def walks(seeds: int = 30) -> None:
    """What is counted of walkers whose legs differ."""
    print("walkers, 90 s, sensor on the trunk: cadence within 2 %, in per cent of the trials; pairs of trials of one")
    print("walker that would be compared although one counts steps and the other strides, in per cent")
    print(f"  {'':<36}{'strides':>8}{'steps':>8}{'other':>8}{'pairs':>8}")
    for words, how in WALKS:
        found = shares([walked(how, seed) for seed in range(seeds)])
        print(f"  {words:<36}" + "".join(f"{each:8.0f}" for each in found))


def over_joints(
    cadence: float | None, every_s: float, size_g: float, form: str, seed: int, placement: Placement = "frame"
) -> Reading:
    """Pushes, or rolling alone, over the joints of a floor."""
    seconds, rng = 90.0, np.random.default_rng(1000 + seed)
    bout = Bout(10.0, 10.0 + seconds, cadence=cadence, size_g=0.15, shake_g=0.06)
    made = motion(seconds + 20, [bout], placement=placement, sensor=Sensor(50.0, noise_g=0.01), seed=seed)
    at = np.arange(10 + rng.uniform(0, every_s), 10 + seconds, every_s)
    felt = knocked(made.acceleration, at.tolist(), size_g, form, seed)
    return read(rhythm(to_grid(felt), made.truth.moving), placement)


def joints(seeds: int = 10, sizes: Sequence[float] = (0.3, 1.0, 4.0)) -> None:
    """Cadence between regular knocks."""
    print(f"pushes of 0.15 g over the joints of a floor, knocks of {len(FORMS)} forms and {sizes} g:")
    print("cadence within 2 %, and of rolling alone no cadence, in per cent")
    print(f"  {'a knock every':<22}{'6 s':>8}{'4 s':>8}{'3 s':>8}{'2 s':>8}{'1.5 s':>8}")
    for placement in ("frame", "trunk"):
        for cadence in (20, 47, 80, 110, None):
            cells = []
            for every_s in (6.0, 4.0, 3.0, 2.0, 1.5):
                good = [
                    _right(over_joints(cadence, every_s, size, form, seed, placement)[0], cadence)
                    for form in FORMS
                    for size in sizes
                    for seed in range(max(seeds // 5, 2))
                ]
                cells.append(100 * float(np.mean(good)))
            what = f"{placement}, {f'{cadence} /min' if cadence else 'rolling'}"
            print(f"  {what:<22}" + "".join(f"{cell:8.0f}" for cell in cells))


def _right(found: float | None, true: float | None) -> bool:
    return (found is None) if true is None else found is not None and abs(found / true - 1) <= WITHIN


def scenes(seeds: int = 10, cadences: Sequence[int] = (20, 30, 45, 60, 80, 100, 120)) -> None:
    """Count within 3 % and mean within 2 %, by scene."""
    print("made rhythms of two minutes: cadence within 2 % / count within 3 %, in per cent of the trials")
    for scene in SCENES:
        made = [trial(each, scene, 500 + seed) for each in cadences for seed in range(seeds)]
        mean = [_right(each.found.cadence_mean and each.found.cadence_mean.value, each.per_minute) for each in made]
        count = [
            each.found.cycle_count is not None and abs(each.found.cycle_count.value / each.cycles - 1) <= 0.03
            for each in made
        ]
        print(f"  {scene.words:<28}{100 * np.mean(mean):6.1f} /{100 * np.mean(count):6.1f}")


TABLES: tuple[Callable[[], None], ...] = (scenes, walks, joints)


def main() -> None:
    """Every table."""
    for table in TABLES:
        table()


if __name__ == "__main__":
    main()
