"""Straps that changed hands in made class recordings: how many are found, and in how many others one is seen falsely.

Ordinary dropouts of up to 10 s are what straps show; those of up to 20 s, a loose strap, look like a hand-over, and no
setting tells them apart.

python -m tests.bench.hand_over_accuracy
"""

from collections.abc import Callable

import numpy as np
from ownmark.ingest.recording import HEART_RATE
from ownmark.metrics.hand_over import HandOver, hand_overs

from tests.makers.class_recordings import LONG_LOSS_S, SHORT_LOSS_S, STYLES, Sitting, handed, idle, worn_by_one

RECORDINGS = 200
HELD_OUT = 10_000
"""First seed of the recordings that no setting was made on."""
ALONE: dict[str, Callable[[int], Sitting]] = {
    "two dropouts of up to 10 s": lambda seed: worn_by_one(seed, SHORT_LOSS_S, 2.0),
    "six dropouts of up to 10 s": lambda seed: worn_by_one(seed, SHORT_LOSS_S, 6.0),
    "two dropouts of up to 20 s": lambda seed: worn_by_one(seed, LONG_LOSS_S, 2.0),
    "six dropouts of up to 20 s": lambda seed: worn_by_one(seed, LONG_LOSS_S, 6.0),
    "sat all the time": idle,
    "came in warm and sat": lambda seed: idle(seed, warm=True),
}


def touches(found: HandOver, made: Sitting) -> bool:
    """Whether a hand-over that was found is the true one."""
    begin, until = made.handed or (np.inf, -np.inf)
    return found.from_s < until + 5 and found.until_s > begin - 5


def shares(style: str, recordings: int) -> tuple[float, float]:
    """Share of hand-overs found, and of the same recordings in which another one is seen  [%]."""
    seen = other = 0
    for seed in range(HELD_OUT, HELD_OUT + recordings):
        made = handed(style, seed)
        right = [touches(each, made) for each in hand_overs(made.recording[HEART_RATE])]
        seen, other = seen + any(right), other + (not all(right))
    return 100 * seen / recordings, 100 * other / recordings


def main(recordings: int = RECORDINGS) -> None:
    """Print what is found and what is seen falsely."""
    print(f"a strap handed on, {recordings} made recordings each, in per cent: found; another one seen besides")
    for style in STYLES:
        found, other = shares(style, recordings)
        print(f"  {style:30}{found:6.1f}{other:6.1f}")
    print("recordings of one student in which a hand-over is seen")
    for words, made in ALONE.items():
        seeds = range(HELD_OUT, HELD_OUT + recordings)
        false = sum(bool(hand_overs(made(seed).recording[HEART_RATE])) for seed in seeds)
        print(f"  {words:30}{100 * false / recordings:6.1f}")


if __name__ == "__main__":
    main()
