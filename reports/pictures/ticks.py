"""Round steps for axes, and times as people read them."""

import math

from ..words import Words, rounded

_TIME_STEPS = (*(1, 2, 5, 10, 15, 30), *(60, 120, 300, 600, 900, 1800), *(3600, 7200, 14400, 21600, 43200, 86400))


def time_ticks(from_s: float, until_s: float, most: int) -> list[float]:
    """Moments in equal round steps, at most so many [s]."""
    step = next((each for each in _TIME_STEPS if (until_s - from_s) / each <= most - 1), _TIME_STEPS[-1])
    first = math.ceil(from_s / step)
    return [float(step * place) for place in range(first, math.floor(until_s / step + 1e-9) + 1)]


def value_ticks(low: float, high: float, most: int) -> list[float]:
    """Round values between two others, at most so many."""
    span = max(high - low, 1e-9)
    power = 10.0 ** math.floor(math.log10(span / max(most, 1)))
    step = next(power * each for each in (1, 2, 5, 10, 20) if span / (power * each) <= most)
    return [step * place for place in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def length(seconds: float, words: Words) -> str:
    """A length of time in whole seconds, to be read aloud: 45 s, 3 min 5 s, 1 h 2 min."""
    whole = int(rounded(seconds, 0))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    parts = ((hours, "hours"), (minutes, "minutes"), (0 if hours else left, "seconds"))
    shown = [words.get(f"picture.{unit}", n=count) for count, unit in parts if count]
    return " ".join(shown) or words.get("picture.seconds", n=0)
