"""The trade's own names as data: every figure once, the classes of effort, the rates that a heart can have.

Whoever needs a figure's unit, digits, group, order or source takes them from here: metrics, pages, exports, schema,
documentation and terminal. Its title, its meaning and its source in words stand in the catalogues, as ``figure.NAME``,
``meaning.NAME`` and ``source.KEY``. Nothing heavy is imported: help and completion may read it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeAlias, get_args

from .render import Words

COMMON = "common"
"""The key of common practice, as a source."""
LOWEST_BPM, HIGHEST_BPM = 30.0, 230.0
"""Rates that a student's heart can have [/min]; common practice."""

ZONES = ("very_light", "light", "moderate", "vigorous", "near_maximal")
"""The published classes of effort, from the lowest."""

ZONE_FIGURES = tuple(f"time_{zone}" for zone in ZONES)

Placement: TypeAlias = Literal["frame", "wrist", "crank", "trunk", "wheel"]
"""Where a movement sensor can sit."""
PLACEMENTS: tuple[Placement, ...] = get_args(Placement)

PulseSensor: TypeAlias = Literal["chest", "optical"]
"""What measured heart rate: electrodes at the chest, or light on the skin."""
PULSE_SENSORS: tuple[PulseSensor, ...] = get_args(PulseSensor)

ON_CHAIR: frozenset[Placement] = frozenset({"frame", "wheel"})
"""Places of a sensor that moves with the chair and not with the student."""

DIGITS = MappingProxyType({"/min": 0, "1": 0, "s": 0, "%": 1, "mg": 1, "/m": 2})
"""Decimal places on paper and terminal by unit; figures that need others say so in their row."""
OTHER_DIGITS = 1
"""Of a unit that is not in the list, as of a hand measure."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A row of the table of figures.

    unit : UCUM
    group : of the page it stands in, "" for one that the first sentence of the page says
    source_key : where the formula comes from, a key of ``source``
    digits : decimal places on paper and terminal
    """

    name: str
    unit: str
    group: str
    source_key: str
    digits: int

    @property
    def title(self) -> str:
        """Its name in English words."""
        return Words("en").get(f"figure.{self.name}")

    @property
    def meaning(self) -> str:
        """Its meaning in a line of English."""
        return Words("en").get(f"meaning.{self.name}")

    @property
    def source(self) -> str:
        """Where its formula comes from, as sheets and exports hold it."""
        return Words("en").get(f"source.{self.source_key}")


def _entry(name: str, unit: str, group: str, source: str = COMMON, digits: int | None = None) -> Entry:
    return Entry(name, unit, group, source, DIGITS[unit] if digits is None else digits)


_ROWS = (
    _entry("coverage_heart_rate", "%", ""),
    _entry("heart_rate_mean", "/min", "heart"),
    _entry("heart_rate_peak", "/min", "heart"),
    _entry("heart_rate_rise", "/min", "heart"),
    _entry("share_above_125_rest", "%", "heart", "pahr_25"),
    _entry("share_above_150_rest", "%", "heart", "pahr_50"),
    _entry("beats_total", "1", "heart"),
    _entry("beats_above_rest", "1", "heart"),
    _entry("beats_per_metre", "/m", "heart", "beat_index"),
    _entry("cost_index", "/m", "heart", "cost_index"),
    _entry("reserve_mean", "%", "reserve", "reserve"),
    _entry("reserve_peak", "%", "reserve", "reserve"),
    *(_entry(name, "s", "zones", "classes") for name in ZONE_FIGURES),
    _entry("training_impulse", "1", "reserve", "impulse", digits=2),
    _entry("time_on_target", "s", "target"),
    _entry("longest_on_target", "s", "target"),
    _entry("recovery_60s", "/min", "heart", "recovery"),
    _entry("time_above_ceiling", "s", "ceiling"),
    _entry("longest_above_ceiling", "s", "ceiling"),
    _entry("first_above_ceiling", "s", "ceiling"),
    _entry("possible_above_ceiling", "s", "ceiling"),
    _entry("coverage_motion", "%", ""),
    _entry("moving_time", "s", "movement"),
    _entry("longest_moving", "s", "movement"),
    _entry("stop_count", "1", "movement"),
    _entry("cadence_mean", "/min", "movement"),
    _entry("cadence_variation", "%", "movement"),
    _entry("cycle_count", "1", "movement"),
    _entry("motion_level", "mg", "movement", "amplitude"),
    _entry("turns_left", "1", "movement"),
    _entry("turns_right", "1", "movement"),
    _entry("heart_rate_moving_rise", "/min", "movement"),
)
FIGURES: Mapping[str, Entry] = MappingProxyType({each.name: each for each in _ROWS})
"""Every figure by its name, in the order of sheets, JSON and exports."""

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = tuple(
    (group, tuple(each.name for each in _ROWS if each.group == group))
    for group in ("heart", "reserve", "zones", "movement", "target", "ceiling")
)
"""The groups of a page in their order, each with its figures."""

MOTION_FIGURES = ("coverage_motion", *dict(GROUPS)["movement"])
CEILING_FIGURES = dict(GROUPS)["ceiling"]


def digits(name: str, unit: str) -> int:
    """Decimal places of a figure, or of a hand measure by its unit."""
    return FIGURES[name].digits if name in FIGURES else DIGITS.get(unit, OTHER_DIGITS)
