"""Every figure once: its name, unit, meaning and source. Sheets, the schema and the documentation take it from here."""

from dataclasses import dataclass
from types import MappingProxyType

_KARVONEN = "Karvonen 1957"
_CLASSES = "position stand 2011 (Garber), as tabulated in a consensus statement"
_COMMON = "common practice"


@dataclass(frozen=True, slots=True)
class Entry:
    """A figure's name in words, its unit (UCUM), its meaning in a line, and where its formula comes from."""

    title: str
    unit: str
    meaning: str
    source: str


FIGURES = MappingProxyType(
    {
        "coverage_heart_rate": Entry(
            "heart rate measured, share of the work phase",
            "%",
            "share of the work phase in which heart rate was measured",
            _COMMON,
        ),
        "heart_rate_mean": Entry("mean heart rate", "/min", "time-weighted mean at work", _COMMON),
        "heart_rate_peak": Entry("peak heart rate", "/min", "highest 15 s mean at work", _COMMON),
        "heart_rate_rise": Entry("rise of heart rate over rest", "/min", "mean at work minus rest", _COMMON),
        "share_above_125_rest": Entry(
            "share of work above 1.25 times rest",
            "%",
            "of the measured work time, above 1.25 times rest",
            "PAHR-25 (Logan 2000)",
        ),
        "share_above_150_rest": Entry(
            "share of work above 1.50 times rest",
            "%",
            "of the measured work time, above 1.50 times rest",
            "PAHR-50 (Logan 2000)",
        ),
        "beats_total": Entry("heart beats at work", "1", "heart beats during the measured work time", _COMMON),
        "beats_above_rest": Entry(
            "heart beats above the resting rate",
            "1",
            "heart beats above the resting rate during the measured work time",
            _COMMON,
        ),
        "beats_per_metre": Entry(
            "heart beats for each meter", "/m", "total heart beat index: beats at work for each meter", "Hood 2002"
        ),
        "cost_index": Entry(
            "cost index (rise over rest for each meter)",
            "/m",
            "physiological cost index: rise over rest divided by speed",
            "MacGregor 1981, Butler 1984",
        ),
        "reserve_mean": Entry("mean share of the reserve", "%", "mean at work, of heart-rate reserve", _KARVONEN),
        "reserve_peak": Entry(
            "peak share of the reserve", "%", "highest 15 s mean at work, of heart-rate reserve", _KARVONEN
        ),
        "time_very_light": Entry("very light", "s", "below 30 % of reserve", _CLASSES),
        "time_light": Entry("light", "s", "from 30 to below 40 % of reserve", _CLASSES),
        "time_moderate": Entry("moderate", "s", "from 40 to below 60 % of reserve", _CLASSES),
        "time_vigorous": Entry("vigorous", "s", "from 60 to below 90 % of reserve", _CLASSES),
        "time_near_maximal": Entry("near-maximal", "s", "90 % of reserve and above", _CLASSES),
        "training_impulse": Entry(
            "training impulse", "1", "minutes weighted by share of reserve", "Banister 1991, Morton 1990"
        ),
        "time_on_target": Entry("time in the target band", "s", "in the target band", _COMMON),
        "longest_on_target": Entry(
            "longest stay in the target band",
            "s",
            "longest unbroken stay in the target band, short dips tolerated",
            _COMMON,
        ),
        "recovery_60s": Entry(
            "fall of heart rate in the first 60 s after work",
            "/min",
            "heart rate at the end of work minus 60 s later",
            "Cole 1999, definition only",
        ),
        "time_above_ceiling": Entry(
            "time above the ceiling", "s", "above the ceiling, over the whole recording", _COMMON
        ),
        "longest_above_ceiling": Entry(
            "longest stay above the ceiling", "s", "longest unbroken stay above the ceiling", _COMMON
        ),
        "first_above_ceiling": Entry(
            "first time above the ceiling", "s", "first time above the ceiling, from the recording's start", _COMMON
        ),
        "possible_above_ceiling": Entry(
            "possible time above the ceiling",
            "s",
            "readings above the ceiling that are in no other figure, over the whole recording",
            _COMMON,
        ),
        "coverage_motion": Entry(
            "movement measured, share of the work phase",
            "%",
            "share of the work phase in which movement was measured",
            _COMMON,
        ),
        "moving_time": Entry("moving time", "s", "in movement, stretches with physical assistance left out", _COMMON),
        "longest_moving": Entry(
            "longest movement without a break", "s", "longest movement without a break, short pauses tolerated", _COMMON
        ),
        "stop_count": Entry("stops", "1", "stillness of at least 3 s between two movements", _COMMON),
        "cadence_mean": Entry("mean cadence", "/min", "mean rhythm of pushes, cranks, circles or strides", _COMMON),
        "cadence_variation": Entry(
            "variation of the cadence", "%", "standard deviation of the rhythm as a share of its mean", _COMMON
        ),
        "cycle_count": Entry(
            "cycles (pushes, turns, circles or strides)",
            "1",
            "pushes, cranks, circles or strides in the rhythmic time",
            _COMMON,
        ),
        "motion_level": Entry(
            "level of movement", "mg", "mean amplitude deviation over 5 s epochs", "MAD, Vähä-Ypyä 2015"
        ),
        "turns_left": Entry("turns to the left", "1", "turns of at least 45 degrees to the left", _COMMON),
        "turns_right": Entry("turns to the right", "1", "turns of at least 45 degrees to the right", _COMMON),
        "heart_rate_moving_rise": Entry(
            "heart rate while moving, above that while still",
            "/min",
            "mean heart rate while moving minus while still",
            _COMMON,
        ),
    }
)

ON_CHAIR = frozenset({"frame", "wheel"})
"""Places of a sensor that moves with the chair and not with the student."""

MOTION_FIGURES = (
    "coverage_motion",
    "moving_time",
    "longest_moving",
    "stop_count",
    "cadence_mean",
    "cadence_variation",
    "cycle_count",
    "motion_level",
    "turns_left",
    "turns_right",
    "heart_rate_moving_rise",
)

CEILING_FIGURES = ("time_above_ceiling", "longest_above_ceiling", "first_above_ceiling", "possible_above_ceiling")
ZONE_FIGURES = ("time_very_light", "time_light", "time_moderate", "time_vigorous", "time_near_maximal")
