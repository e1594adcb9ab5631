"""Straps that changed hands in made class recordings: how many are found, and in how many others one is seen falsely.

Two makers that share no formula make the recordings; limits were set on the first seeds, the table is made on others.
Ordinary dropouts last up to 20 s. What lies beyond the rules is printed too: straps that lose contact for longer, a
strap changed in a hurry, and one of whose two students only sat.

python -m tests.bench.hand_over_accuracy
"""

import time
from collections.abc import Callable
from typing import Protocol

from ownmark.ingest.recording import HEART_RATE, Recording
from ownmark.metrics.hand_over import HandOver, hand_overs

from tests.makers import other_straps
from tests.makers.class_recordings import LONG_LOSS_S, SHORT_LOSS_S, STYLES, handed, idle, worn_by_one

RECORDINGS = 200
HELD_OUT = 10_000
"""First seed of the recordings that no setting was made on."""
LONGER_S = (20.0, 45.0)
UNCAPPED_S = 120.0


class Made(Protocol):
    """A recording, and when the strap was handed on [s]."""

    @property
    def recording(self) -> Recording: ...

    @property
    def handed(self) -> tuple[float, float] | None: ...


Maker = Callable[[int], Made]


def _style(style: str) -> Maker:
    return lambda seed: handed(style, seed, LONG_LOSS_S)


TWO: dict[str, Maker] = {
    **{style: _style(style) for style in STYLES},
    "other maker": other_straps.two,
    "... power chairs": lambda seed: other_straps.two(seed, power=True),
}
BEYOND: dict[str, Maker] = {
    "changed within 12 to 20 s": lambda seed: other_straps.two(seed, 12.0, 20.0),
    "... power chairs": lambda seed: other_straps.two(seed, 12.0, 20.0, power=True),
    "second student only sat": lambda seed: other_straps.two(seed, idle=True),
    "... changed within 12 to 40 s": lambda seed: other_straps.two(seed, 12.0, 40.0, idle=True),
}
ONE: dict[str, Maker] = {
    "two dropouts of up to 10 s": lambda seed: worn_by_one(seed, SHORT_LOSS_S, 2.0),
    "six dropouts of up to 10 s": lambda seed: worn_by_one(seed, SHORT_LOSS_S, 6.0),
    "two dropouts of up to 20 s": lambda seed: worn_by_one(seed, LONG_LOSS_S, 2.0),
    "six dropouts of up to 20 s": lambda seed: worn_by_one(seed, LONG_LOSS_S, 6.0),
    "sat all the time": idle,
    "came in warm and sat": lambda seed: idle(seed, warm=True),
    "other maker, two of up to 20 s": lambda seed: other_straps.one(seed, 2.0),
    "... six": lambda seed: other_straps.one(seed, 6.0),
    "... six, power chairs": lambda seed: other_straps.one(seed, 6.0, hard=True),
}
ONE_BEYOND: dict[str, Maker] = {
    "two of 20 to 45 s": lambda seed: worn_by_one(seed, LONGER_S, 2.0),
    "other maker, six without a limit": lambda seed: other_straps.one(seed, 6.0, UNCAPPED_S),
}


def touches(found: HandOver, made: Made) -> bool:
    """Whether a hand-over that was found is the true one."""
    return made.handed is not None and found.from_s < made.handed[1] + 5 and found.until_s > made.handed[0] - 5


def shares(make: Maker, recordings: int) -> tuple[float, float, float]:
    """Shares of recordings in which the true hand-over is seen, and another one [%]; time for each [ms]."""
    seen = other = 0
    spent = 0.0
    for seed in range(HELD_OUT, HELD_OUT + recordings):
        made = make(seed)
        began = time.perf_counter()
        found = hand_overs(made.recording[HEART_RATE])
        spent += time.perf_counter() - began
        right = [touches(each, made) for each in found]
        seen, other = seen + any(right), other + (not all(right))
    return 100 * seen / recordings, 100 * other / recordings, 1000 * spent / recordings


def main(recordings: int = RECORDINGS) -> None:
    """Print what is found and what is seen falsely."""
    print(f"a strap handed on, {recordings} made recordings each, in per cent: found; another one seen besides")
    for words, make in TWO.items():
        _line(words, *shares(make, recordings))
    print("... outside what the rules promise")
    for words, make in BEYOND.items():
        _line(words, *shares(make, recordings))
    print(f"one student's strap, {recordings} made recordings each: a hand-over is seen in per cent")
    for words, make in ONE.items():
        _line(words, *shares(make, recordings)[1:])
    print("... dropouts beyond the ordinary")
    for words, make in ONE_BEYOND.items():
        _line(words, *shares(make, recordings)[1:])


def _line(words: str, *numbers: float) -> None:
    *percents, spent_ms = numbers
    print(f"  {words:36}" + "".join(f"{each:7.1f}" for each in percents) + f"{spent_ms:8.1f} ms")


if __name__ == "__main__":
    main()
