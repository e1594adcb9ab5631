"""What is said of moving and still time: which message fits what was found."""

from ...words.message import Message
from ...words.vocabulary import ON_CHAIR
from ..messages import movement as say
from .moving import NOISE_HIDES, NOTHING, RESTLESS, Motion


def remark(motion: Motion, placement: str) -> Message | None:
    """What the reader of a sheet should know of a recording; None if nothing."""
    if motion.found == NOTHING:
        return say.FOUND_NOTHING_MEASURED
    if motion.found == RESTLESS:
        return say.FOUND_RESTLESS_POWER if placement in ON_CHAIR else say.FOUND_RESTLESS
    if motion.found == NOISE_HIDES:
        return say.found_noise_hides(motion.floor_mg or 0.0, motion.threshold_mg or 0.0)
    return None


def no_movement(motion: Motion, placement: str) -> Message:
    """Why there is no figure where nothing was measured."""
    why = remark(motion, placement)
    return say.WHY_NO_MOVEMENT if why is None else say.why_because(why)


def not_told(motion: Motion, percent: float, needed: float) -> Message:
    """Why there is no figure where too little is told apart [%], and what would mend it."""
    if motion.found == RESTLESS:
        return say.why_not_told_restless(percent, needed)
    if motion.found == NOISE_HIDES:
        return say.why_not_told_noise(percent, needed, motion.floor_mg or 0.0)
    return say.why_not_told(percent, needed)
