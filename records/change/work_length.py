"""The length of the work phase as done: always a part of the set-up, and of a sum the first one.

A sum over the work (beats, time in a zone, moving time, a distance) grows with its length: 720 s hold half as much
again as 480 s with nothing changed. So sums are compared only where the lengths agree within 5 % and within 15 s,
*both*: of short work 5 % is the narrower and keeps the sum itself within 5 %; of work beyond five minutes 15 s is,
which is what two people's hands on a button and a late start differ by. A mean, a share, a peak or the longest stay
of other work is another thing too, but not by proportion: it leaves a note. Where the protocol fixes the length, the
work as done must also have come to it as closely as in the other trials, whatever the figure. All widths are common
practice, without a source.
"""

from collections.abc import Sequence

from ...words.vocabulary import ZONE_FIGURES
from ..protocol import Protocol
from ..rules import MUST, SHOULD, Rule

FIELD = "work_done_s"
LABEL = "length of the work phase as done"
SUM_WITHIN_SHARE, SUM_WITHIN_S = 0.05, 15.0
FIXED_WITHIN_S, FIXED_WITHIN_SHARE = 5.0, 0.02
"""Work of a fixed length may differ by 5 s or 2 %, whichever is more: hands on a button."""

SUMS = (
    *("beats_total", "beats_above_rest", *ZONE_FIGURES, "training_impulse", "time_on_target", "time_above_ceiling"),
    "possible_above_ceiling",
    *("moving_time", "stop_count", "cycle_count", "turns_left", "turns_right"),
)
"""Figures of the sheet that add up over the work."""
SUMMED_BY_HAND = ("count", "distance")
"""Kinds of hand measures that do, where the test has a work phase."""


def adds_up(protocol: Protocol, figure: str) -> bool:
    """Tell whether a figure or hand measure is a sum over the work."""
    measure = protocol.hand_measure(figure)
    return figure in SUMS if measure is None else measure.kind in SUMMED_BY_HAND


def length_rule(protocol: Protocol, lengths_s: Sequence[float | None]) -> Rule | None:
    """How the lengths of work of these trials are compared for the protocol's primary figure.

    Parameters
    ----------
    lengths_s : of each trial, None where it is unknown

    Returns
    -------
    Rule, or None where nothing hangs on the length: it is unknown everywhere, or unknown somewhere and the figure is
    no sum.
    """
    known = [each for each in lengths_s if each is not None]
    if not known:
        return None
    longest = max(known)
    usual = min(SUM_WITHIN_S, SUM_WITHIN_SHARE * longest)
    strict = [usual] if adds_up(protocol, protocol.primary_figure) else []
    if protocol.duration_s is not None or protocol.work_s is not None:
        strict.append(max(FIXED_WITHIN_S, FIXED_WITHIN_SHARE * longest))
    unknown = len(known) < len(lengths_s)
    if strict and (unknown or longest - min(known) > min(strict)):
        return Rule(MUST, LABEL, "s", within=min(strict))
    return None if unknown else Rule(SHOULD, LABEL, "s", within=usual)
