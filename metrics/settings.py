"""What a person states or wants beside rest, maximum and phases: distance, target band, ceiling, zones."""

import re
from dataclasses import dataclass
from typing import Literal

from ..errors import BasisError
from ..ingest.recording import HEART_RATE
from ..words.vocabulary import HIGHEST_BPM, LOWEST_BPM, Placement, PulseSensor

LONGEST_M = 100_000.0
MOST_S = 60.0
DIP_S = 5.0
"""Dips out of the target band of up to this long do not end a stay. Common practice, no source; stated on the sheet."""


PAUSE_S, STOP_S = 1.0, 3.0


@dataclass(frozen=True, slots=True)
class Band:
    """The protocol's target band, ``low`` to ``high``, both included, in % of reserve or in beats/min."""

    low: float
    high: float
    unit: Literal["%", "/min"]

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise BasisError(f"the target band ends at {self.high:g}, which is not above its start, {self.low:g}.")
        least, most = (0.0, 100.0) if self.unit == "%" else (LOWEST_BPM, HIGHEST_BPM)
        if not (least <= self.low and self.high <= most):
            raise BasisError(
                f"{self.low:g} to {self.high:g} {self.unit} is not a target band.",
                mend=f"It must be between {least:g} and {most:g} {self.unit}.",
            )

    @classmethod
    def of(cls, text: str) -> "Band":
        """A band as people write it: 40-60% or 110-130bpm. Bare numbers up to 100 are % of reserve.

        Raises
        ------
        BasisError
            If it is not written as a band, or no heart has such rates.
        """
        found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%?\s*[-–]\s*(\d+(?:\.\d+)?)\s*(%|bpm|/min)?\s*", text)
        if found is None:
            raise BasisError(f"“{text}” is not a target band.", mend="Write --target 40-60% or --target 110-130bpm.")
        low, high = float(found[1]), float(found[2])
        percent = found[3] == "%" or (found[3] is None and high <= 100)
        return cls(low, high, "%" if percent else "/min")


@dataclass(frozen=True, slots=True)
class Asked:
    """What else the person states or wants.

    distance_m : distance covered at work  [m]
    ceiling_bpm : the therapist's upper limit  [beats/min]
    placement : where the movement sensor sat
    floor_mg, floor_span : the chair's own level parked with its power on, or where it was parked  [mg], [s]
    assisted : stretches in which someone else moved the student  [s]
    pause_s, stop_s : pauses up to the first do not end a stay in movement; stillness from the second on is a stop [s]
    pulse_sensor : an optical one can follow the rhythm of the movement, a chest electrode cannot
    hold_s : let a value stand for up to this long where the next are missing  [s]
    zones_by : edges in % of reserve, or in % of maximum where no rest is known
    pulse_from : which stream to take heart rate from, where a recording holds both
    """

    distance_m: float | None = None
    target: Band | None = None
    dip_s: float = DIP_S
    ceiling_bpm: float | None = None
    hold_s: float | None = None
    placement: Placement | None = None
    floor_mg: float | None = None
    floor_span: tuple[float, float] | None = None
    assisted: tuple[tuple[float, float], ...] = ()
    pause_s: float = PAUSE_S
    stop_s: float = STOP_S
    pulse_sensor: PulseSensor | None = None
    zones_by: Literal["reserve", "maximum"] = "reserve"
    pulse_from: Literal["heart_rate", "rr_interval"] = HEART_RATE

    def __post_init__(self) -> None:
        if self.distance_m is not None and not 1 <= self.distance_m <= LONGEST_M:
            raise BasisError(
                f"{self.distance_m:g} m is not a distance that can be measured.", mend="Give it in meters."
            )
        for what, seconds, least in (
            ("dip", self.dip_s, 0.0),
            ("hold", self.hold_s, 1.0),
            ("pause", self.pause_s, 0.0),
        ):
            if seconds is not None and not least <= seconds <= MOST_S:
                raise BasisError(
                    f"a {what} of {seconds:g} s is not possible.", mend=f"Give {least:g} to {MOST_S:g} seconds."
                )
        if self.ceiling_bpm is not None and not LOWEST_BPM <= self.ceiling_bpm <= HIGHEST_BPM:
            raise BasisError(
                f"a ceiling of {self.ceiling_bpm:g} /min is not possible.", mend="Give it in beats per minute."
            )
