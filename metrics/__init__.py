"""Effort figures: pure functions on arrays and small values. No files, no clock, no global state.

from ownmark.metrics import choose_basis, effort, Phases
sheet = effort(recording, choose_basis(rest_bpm=72, measured_max_bpm=188), Phases(work=(360, 1080)))
sheet.figures["reserve_mean"].value
"""

from .asked import Asked, Band
from .basis import Basis, choose_basis
from .effort import effort
from .figure import EffortSheet, Figure
from .phases import Phases, from_laps
from .placing import align

__all__ = ["Asked", "Band", "Basis", "EffortSheet", "Figure", "Phases", "align", "choose_basis", "effort", "from_laps"]
