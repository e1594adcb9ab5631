"""The truth beside each demo file: figures of the perfect recording, by plain sums over whole seconds.

Deliberately not made with ``ownmark.metrics``: tests measure its error against this.
"""

from collections.abc import Sequence

ZONES = ("time_very_light", "time_light", "time_moderate", "time_vigorous", "time_near_maximal")
EDGES_PERCENT = (30, 40, 60, 90)


def of_work(bpm: Sequence[int], work: tuple[int, int], rest: float, maximum: float | None) -> dict[str, float]:
    """Figures of the work phase, each value standing for its second."""
    rates = list(bpm[work[0] : work[1]])
    seconds = len(rates)
    windows = [sum(rates[first : first + 15]) / 15 for first in range(seconds - 14)]
    found = {
        "heart_rate_mean": sum(rates) / seconds,
        "heart_rate_peak": max(windows),
        "heart_rate_rise": sum(rates) / seconds - rest,
        "share_above_125_rest": 100 * sum(rate > 1.25 * rest for rate in rates) / seconds,
        "share_above_150_rest": 100 * sum(rate > 1.5 * rest for rate in rates) / seconds,
        "beats_total": sum(rates) / 60,
        "beats_above_rest": sum(max(rate - rest, 0) for rate in rates) / 60,
    }
    if maximum is not None:
        found["reserve_mean"] = 100 * (sum(rates) / seconds - rest) / (maximum - rest)
        found.update(_zones(rates, rest, maximum))
    if work[1] + 60 < len(bpm):
        found["recovery_60s"] = bpm[work[1]] - bpm[work[1] + 60]
    return found


def _zones(rates: Sequence[int], rest: float, maximum: float) -> dict[str, float]:
    """Seconds in each zone, by percent of reserve."""
    times: dict[str, float] = dict.fromkeys(ZONES, 0.0)
    for rate in rates:
        place = sum(100 * (rate - rest) >= edge * (maximum - rest) for edge in EDGES_PERCENT)
        times[ZONES[place]] += 1
    return times
