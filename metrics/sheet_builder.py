"""Figures in the making: each is added with its bounds, or with the reason why it is not given."""

from collections.abc import Sequence

from ..words.message import Message
from ..words.vocabulary import FIGURES
from .basis import Basis
from .bounds import Bounded
from .figure import Figure, as_messages
from .messages import heart_rate as say


class Drafts:
    """Collects figures in the order of the vocabulary. The one mutable thing of a sheet; it never leaves ``effort``."""

    def __init__(self, basis: Basis, rest_bpm: float | None, rest_how: Message | None) -> None:
        self.basis = basis
        self.rest_bpm = rest_bpm
        self.rest_how = rest_how
        self.coverage: float | None = None
        self.refused: list[str] = []
        self.cautions: list[Message] = []
        self._done: dict[str, Figure] = {}

    def give(
        self,
        name: str,
        bounded: Bounded,
        *,
        basis: Message | Sequence[Message] | None = None,
        note: Message | Sequence[Message] | None = None,
        coverage: float | None = None,
        own_rhythm: Bounded | None = None,
    ) -> None:
        """Add a figure that was worked out. ``own_rhythm``: the same with narrower bounds, where there are any."""
        entry = FIGURES[name]
        self._done[name] = Figure(
            name=name,
            value=bounded.value,
            unit=entry.unit,
            low=bounded.low,
            high=bounded.high,
            own_rhythm_low=None if own_rhythm is None else own_rhythm.low,
            own_rhythm_high=None if own_rhythm is None else own_rhythm.high,
            coverage=self.coverage if coverage is None else coverage,
            rests_on=as_messages(basis),
            source=entry.source,
            notes=as_messages(note),
        )

    def state(self, name: str, value: float, *, note: Message | None, coverage: float | None) -> None:
        """Add what was found in the recording as it is, of which nobody can say what a loss took: without bounds."""
        entry = FIGURES[name]
        self._done[name] = Figure(
            name=name, value=value, unit=entry.unit, coverage=coverage, source=entry.source, notes=as_messages(note)
        )

    def withhold(self, name: str, why: Message | None, *, refused: bool = False) -> None:
        """Add a figure that is not given, and why. ``refused``: it was asked for."""
        entry = FIGURES[name]
        self._done[name] = Figure(
            name=name,
            value=None,
            unit=entry.unit,
            coverage=self.coverage,
            source=entry.source,
            reason=why,
        )
        if refused:
            self.refused.append(name)

    def has(self, name: str) -> bool:
        """Whether the figure was given."""
        return name in self._done and self._done[name].value is not None

    def figures(self) -> dict[str, Figure]:
        """All figures, in the order of the vocabulary."""
        return {name: self._done[name] for name in FIGURES if name in self._done}

    @property
    def rest_basis(self) -> tuple[Message, ...]:
        """Rest, for a figure's basis."""
        if self.rest_bpm is None or self.rest_how is None:
            return ()
        return (say.basis_rest(self.rest_bpm, self.rest_how),)

    @property
    def reserve_basis(self) -> tuple[Message, ...]:
        """Rest and maximum with its error, for a figure's basis."""
        top = self.basis.maximum
        if top is None:
            return self.rest_basis
        if top.see_bpm is None:
            return (*self.rest_basis, say.basis_maximum(top.bpm, top.how))
        return (*self.rest_basis, say.basis_maximum_see(top.bpm, top.how, top.see_bpm))
