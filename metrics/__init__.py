"""Effort figures: pure functions on arrays and small values. No files, no clock, no global state.

from ownmark.metrics import choose_basis, effort, Phases
sheet = effort(recording, choose_basis(rest_bpm=72, measured_max_bpm=188), Phases(work=(360, 1080)))
sheet.figures["reserve_mean"].value

A name is imported from its module on first use: whoever needs only the shape of a sheet loads no numpy.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .basis import Basis, choose_basis
    from .clock_alignment import align
    from .effort_sheet import effort
    from .figure import EffortSheet, Figure
    from .phases import Phases, from_laps
    from .settings import Asked, Band

_HOME = {
    "Asked": "settings",
    "Band": "settings",
    "Basis": "basis",
    "EffortSheet": "figure",
    "Figure": "figure",
    "Phases": "phases",
    "align": "clock_alignment",
    "choose_basis": "basis",
    "effort": "effort_sheet",
    "from_laps": "phases",
}


def __getattr__(name: str) -> object:
    """Import a name from its module on first use."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "Asked",
    "Band",
    "Basis",
    "EffortSheet",
    "Figure",
    "Phases",
    "align",
    "choose_basis",
    "effort",
    "from_laps",
]
