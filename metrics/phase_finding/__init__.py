"""Where rest, work and recovery lie in a recording: proposals from presses, laps, movement or the heart's answer."""

from .find import find_phases
from .found import BUTTON, HEART_RATE, LAP, MOVEMENT, STATED, Expected, FoundPhases, NotFound, Side

__all__ = [
    "BUTTON",
    "HEART_RATE",
    "LAP",
    "MOVEMENT",
    "STATED",
    "Expected",
    "FoundPhases",
    "NotFound",
    "Side",
    "find_phases",
]
