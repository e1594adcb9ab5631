"""What a person states or wants beside rest, maximum and phases: distance, target band, ceiling, zones."""

from dataclasses import dataclass
from typing import Literal

from ..errors import BasisError
from ..ingest.clean_heart_rate import HIGHEST_BPM, LOWEST_BPM
from ..ingest.recording import HEART_RATE

DIP_S = 5.0
"""Dips out of the target band of up to this long do not end a stay. Common practice, no source; stated on the sheet."""


@dataclass(frozen=True, slots=True)
class Band:
    """The protocol's target band, ``low`` to ``high``, both included, in % of reserve or in beats/min."""

    low: float
    high: float
    unit: Literal["%", "/min"]

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise BasisError(f"the target band ends at {self.high:g}, not above its beginning {self.low:g}.")


@dataclass(frozen=True, slots=True)
class Asked:
    """What else the person states or wants.

    distance_m : distance covered at work  [m]
    ceiling_bpm : the therapist's upper limit  [beats/min]
    hold_s : let a value stand for up to this long where the next are missing  [s]
    zones_by : edges in % of reserve, or in % of maximum where no rest is known
    pulse_from : which stream to take heart rate from, where a recording holds both
    """

    distance_m: float | None = None
    target: Band | None = None
    dip_s: float = DIP_S
    ceiling_bpm: float | None = None
    hold_s: float | None = None
    zones_by: Literal["reserve", "maximum"] = "reserve"
    pulse_from: Literal["heart_rate", "rr_interval"] = HEART_RATE

    def __post_init__(self) -> None:
        if self.distance_m is not None and not self.distance_m > 0:
            raise BasisError(f"a distance of {self.distance_m:g} m is none.", mend="Give it in metres.")
        if self.ceiling_bpm is not None and not LOWEST_BPM <= self.ceiling_bpm <= HIGHEST_BPM:
            raise BasisError(f"a ceiling of {self.ceiling_bpm:g} /min is none.", mend="Give it in beats per minute.")
