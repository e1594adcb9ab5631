"""Figures in the making: each is added with its bounds, or with the reason why it is not given."""

from ..words.numbers import rounded
from .basis import Basis
from .bounds import Bounded
from .figure import Figure
from .glossary import FIGURES


class Drafts:
    """Collects figures in the order of the glossary. The one mutable thing of a sheet; it never leaves ``effort``."""

    def __init__(self, basis: Basis, rest_bpm: float | None, rest_how: str | None) -> None:
        self.basis = basis
        self.rest_bpm = rest_bpm
        self.rest_how = rest_how
        self.coverage: float | None = None
        self.refused: list[str] = []
        self.cautions: list[str] = []
        self._done: dict[str, Figure] = {}

    def give(
        self,
        name: str,
        bounded: Bounded,
        *,
        basis: str | None = None,
        note: str | None = None,
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
            basis=basis,
            source=entry.source,
            note=note,
        )

    def state(self, name: str, value: float, *, note: str | None, coverage: float | None) -> None:
        """Add what was found in the recording as it is, of which nobody can say what a loss took: without bounds."""
        entry = FIGURES[name]
        self._done[name] = Figure(
            name=name, value=value, unit=entry.unit, coverage=coverage, source=entry.source, note=note
        )

    def withhold(self, name: str, why: str, *, refused: bool = False) -> None:
        """Add a figure that is not given, and why. ``refused``: it was asked for."""
        entry = FIGURES[name]
        self._done[name] = Figure(
            name=name, value=None, unit=entry.unit, coverage=self.coverage, source=entry.source, note=why
        )
        if refused:
            self.refused.append(name)

    def has(self, name: str) -> bool:
        """Whether the figure was given."""
        return name in self._done and self._done[name].value is not None

    def figures(self) -> dict[str, Figure]:
        """All figures, in the order of the glossary."""
        return {name: self._done[name] for name in FIGURES if name in self._done}

    @property
    def rest_words(self) -> str:
        """Rest, for a figure's basis."""
        return f"rest {rounded(self.rest_bpm, 1)} /min ({self.rest_how})" if self.rest_bpm is not None else ""

    @property
    def reserve_words(self) -> str:
        """Rest and maximum with its error, for a figure's basis."""
        top = self.basis.maximum
        if top is None:
            return self.rest_words
        error = "" if top.see_bpm is None else f", standard error {top.see_bpm:g} /min"
        rest = f"{self.rest_words}; " if self.rest_words else ""
        return f"{rest}maximum {rounded(top.bpm, 1)} /min ({top.how}{error})"
