"""Figures that rise with the mean heart rate, each with both kinds of bounds."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from ..ingest.recording import Stream
from ..words.message import Message
from . import bounds
from .bounds import Bounded
from .kinetics import mean_within_reach
from .sheet_builder import Drafts
from .timeline import Held


class Means(NamedTuple):
    """The mean with bounds for any heart, and for one that kept its own rhythm in short gaps, where these say more."""

    any_heart: Bounded
    own_rhythm: Bounded | None

    def give(
        self,
        drafts: Drafts,
        name: str,
        formula: Callable[[float], float] = float,
        *,
        basis: Sequence[Message] = (),
        note: Message | Sequence[Message] | None = None,
    ) -> None:
        """Add a figure that is a formula of the mean [/min], which rises with it; the mean itself without one."""
        own = None if self.own_rhythm is None else self.own_rhythm.through(formula)
        drafts.give(name, self.any_heart.through(formula), basis=basis, note=note, own_rhythm=own)


def means_of(drafts: Drafts, held: Held, pulse: Stream) -> Means:
    """The mean over a phase. The value lies inside the narrower bounds too: it is of the measured time, and stays."""
    mean = bounds.mean(held)
    found = mean_within_reach(pulse, held.from_s, held.until_s, [each.name for each in drafts.basis.conditions])
    if found is None or mean.value is None:
        return Means(mean, None)
    return Means(mean, Bounded(mean.value, min(found[0], mean.value), max(found[1], mean.value)))
