"""What a metre costs in heart beats: the total heart beat index and the physiological cost index.

Sources: total heart beat index, Hood and others (2002); physiological cost index, MacGregor (1981), from memory,
and Butler (1984). Published values for one and the same group differ fourfold between protocols (0.4 and 0.1
beats per metre in typical children), so a student is compared only with the same student. With a motor neither
means anything: the motor sets the speed.
"""

import math

from ..errors import BasisError


def heart_beats(mean_bpm: float, seconds: float) -> float:
    """Beats of a stretch of work [1]: its time-weighted mean heart rate times its length, HR · t / 60.

    Of work that was measured in part the mean is that of the measured time and the length that of the whole: the
    beats of the measured time alone would be fewer than the heart can have made.

    Parameters
    ----------
    mean_bpm : float
        [/min]; NaN stays NaN
    seconds : float
        [s]
    """
    return mean_bpm * seconds / 60.0


def beats_per_metre(beats: float, metres: float) -> float:
    """Total heart beat index: beats during work over the distance [/m]. Needs no rest and no maximum.

    Parameters
    ----------
    beats : float
        [1]; all beats of the work, or only those above rest, by what the figure's name says
    metres : float
        [m], above 0

    Raises
    ------
    BasisError
        If the distance is not a positive number.
    """
    _check_positive(metres, "distance", "m")
    return beats / metres


def cost_index(work_bpm: float, rest_bpm: float, metres: float, seconds: float) -> float:
    """Physiological cost index: (HR at work − rest) / speed in metres per minute [/m].

    Parameters
    ----------
    work_bpm, rest_bpm : float
        [/min]; mean of steady work at a self-chosen speed, and rest
    metres : float
        [m], above 0
    seconds : float
        [s], above 0

    Raises
    ------
    BasisError
        If the distance or the time is not a positive number.
    """
    _check_positive(metres, "distance", "m")
    _check_positive(seconds, "time", "s")
    metres_per_minute = metres / (seconds / 60.0)
    return (work_bpm - rest_bpm) / metres_per_minute


def _check_positive(value: float, name: str, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise BasisError(f"the {name} is {value:g} {unit}.", mend=f"Give the {name} as a number above 0.")
