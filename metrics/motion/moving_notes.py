"""What is said of moving and still time: every sentence in one place, made of values."""

from ...words.numbers import below, nearest
from ..glossary import ON_CHAIR
from .moving import NOISE_HIDES, NOTHING, RESTLESS, Motion

_NOTHING = "Nothing was measured long enough to tell movement from stillness."
_RESTLESS = (
    "No two seconds of this recording are quiet enough to be stillness, so all of it may be movement. "
    "Record 60 s at rest{power} in front of the trial."
)
_HIDDEN = "The sensor's own noise ({floor} mg) hides movement below {threshold} mg, which counts as still."
_POWER = ", with the chair's power on,"
_NO_MOVEMENT = "Not given: no movement was measured at work."
_TOO_LITTLE = "Not given: movement was measured for only {share} % of the work phase; {least:g} % are needed."
_ONLY = "movement can be told from stillness in only {share} % of the work phase; {least:g} % are needed."
_NOT_TOLD = {
    None: f"Not given: {_ONLY}",
    RESTLESS: f"Not given: {_ONLY} 60 s at rest in front of the trial would help.",
    NOISE_HIDES: f"Not given: {_ONLY} The sensor's own noise is {{floor}} mg: use a quieter one.",
}
_DOUBTFUL = "moving or still cannot be told in {seconds} s, which the bounds allow for"


def note(motion: Motion, placement: str) -> str:
    """What the reader of a sheet should know of a recording; empty if nothing."""
    if motion.found == NOTHING:
        return _NOTHING
    if motion.found == RESTLESS:
        return _RESTLESS.format(power=_POWER if placement in ON_CHAIR else "")
    if motion.found == NOISE_HIDES:
        return _HIDDEN.format(floor=_mg(motion.floor_mg), threshold=_mg(motion.threshold_mg))
    return ""


def no_movement(motion: Motion, placement: str) -> str:
    """Why there is no figure where nothing was measured."""
    why = note(motion, placement)
    return f"Not given: {why}" if why else _NO_MOVEMENT


def too_little(share: float, least: float) -> str:
    """Why there is no figure where too little was measured [%]."""
    return _TOO_LITTLE.format(share=below(share, least), least=least)


def not_told(motion: Motion, share: float, least: float) -> str:
    """Why there is no figure where too little is told apart [%], and what would mend it."""
    return _NOT_TOLD.get(motion.found, _NOT_TOLD[None]).format(
        share=below(share, least), least=least, floor=_mg(motion.floor_mg)
    )


def doubtful(seconds: float) -> str:
    """How much time is doubtful [s]."""
    return _DOUBTFUL.format(seconds=nearest(seconds))


def _mg(level: float | None) -> str:
    """A level in whole thousandths of gravity; empty where it was not worked out."""
    return "" if level is None else nearest(level)
