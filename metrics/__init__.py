"""Effort figures: pure functions on arrays and small values. No files, no clock, no global state.

from ownmark.metrics import choose_basis, effort, Phases
sheet = effort(recording, choose_basis(rest_bpm=72, measured_max_bpm=188), Phases(work=(360, 1080)))
sheet.figures["reserve_mean"].value
"""

from .basis import Basis, choose_basis
from .clock_alignment import align
from .effort_sheet import effort
from .figure import EffortSheet, Figure
from .phases import Phases, from_laps
from .settings import Asked, Band

__all__ = ["Asked", "Band", "Basis", "EffortSheet", "Figure", "Phases", "align", "choose_basis", "effort", "from_laps"]
