"""What a student can do and needs when a test is chosen: a closed list of words, and answers that are kept.

They describe what is seen in class, never why it is so: no diagnosis is needed to choose a test.
"""

import unicodedata
from collections.abc import Iterable
from typing import Literal, TypeAlias, get_args

Movement: TypeAlias = Literal[
    "arms", "legs", "trunk", "head", "breath", "eyes", "push-chair", "drive-chair", "walk", "walk-device", "leave-chair"
]
"""What the student moves or how the student gets about. One arm counts as arms."""
Sense: TypeAlias = Literal["see", "hear", "rhythm"]
"""What a task asks besides movement: to see, to hear, to follow a rhythm."""
Need: TypeAlias = Literal[
    "reminders",
    "visible-signal",
    "touch-signal",
    "guide",
    "hand-held",
    "stay-in-chair",
    "short-bouts",
    "own-pace",
    "lying",
    "one-side",
]
"""What a test must offer so that this student can do it."""

MOVEMENTS: tuple[Movement, ...] = get_args(Movement)
SENSES: tuple[Sense, ...] = get_args(Sense)
NEEDS: tuple[Need, ...] = get_args(Need)
IMPLIED: dict[str, frozenset[str]] = {
    "push-chair": frozenset({"arms"}),
    "walk": frozenset({"legs", "leave-chair"}),
    "walk-device": frozenset({"legs"}),
}
"""What goes without saying: who pushes a chair moves the arms; who walks moves the legs and has no chair to leave."""

_DASHES = dict.fromkeys(map(ord, "_‐‑‒–—−"), "-")


def plain_word(word: str) -> str:
    """A word as it stands in the lists, however a keyboard or a page wrote its letters and hyphens."""
    return "-".join(unicodedata.normalize("NFKC", word).translate(_DASHES).lower().split())


def with_implied(movements: Iterable[str]) -> frozenset[str]:
    """The movements with those that go without saying."""
    stated = frozenset(movements)
    return stated.union(*(IMPLIED.get(each, frozenset()) for each in stated))
