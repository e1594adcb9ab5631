"""The heart-rate figures of a sheet: which are given, on what basis, and why others are not."""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..ingest.recording import Stream
from ..words.numbers import below, nearest, rounded
from . import bounds
from .above_rest import PAHR_FACTORS
from .bounds import Bounded
from .glossary import ZONE_FIGURES
from .impulse import impulse_weight
from .means import Means, means_of
from .phases import Phases
from .recovery import RECOVERY_S, recovery
from .reserve import narrow_reserve_note, target_heart_rate, too_narrow, too_narrow_reason
from .settings import Asked
from .sheet_builder import Drafts
from .timeline import Held, hold
from .zones import edges_bpm, maximum_edges_bpm, zone_index_by_maximum, zone_index_by_reserve

LEAST_COVERAGE = 80.0
"""Under this share of the work phase (in %) sums, means and times say nothing of the trial. Common practice."""
GOOD_COVERAGE = 90.0
OVER_RESERVE_S = 15.0
AROUND_BEATS_S = 5.0
_NO_REST = "Not given: no resting rate is known. Give it (--rest) or a rest phase (--rest-phase)."
_NO_TARGET = "Not given: no target band is set (--target)."
_NO_DISTANCE = "Not given: no distance is known (--distance)."
_NO_SEX = "Not given: its constants are split by sex (--sex), which is not stated."
_ALWAYS = (
    "coverage_heart_rate",
    "heart_rate_peak",
    "reserve_peak",
    "recovery_60s",
    "time_above_ceiling",
    "longest_above_ceiling",
    "first_above_ceiling",
    "possible_above_ceiling",
)
_NEEDS_WHOLE = (
    "heart_rate_mean",
    "heart_rate_rise",
    "share_above_125_rest",
    "share_above_150_rest",
    "beats_total",
    "beats_above_rest",
    "beats_per_metre",
    "cost_index",
    "reserve_mean",
    *ZONE_FIGURES,
    "training_impulse",
    "time_on_target",
    "longest_on_target",
)


def add_pulse_figures(
    drafts: Drafts,
    held: Held | None,
    pulse: Stream | None,
    asked: Asked,
    phases: Phases,
    work: tuple[float, float],
    *,
    moved: bool,
) -> None:
    """Add every heart-rate figure, given or withheld. ``moved``: the recording is of movement, so none was expected."""
    if held is None or pulse is None:
        for name in (*_ALWAYS, *_NEEDS_WHOLE):
            drafts.withhold(name, "Not given: there is no heart rate in the recording.", refused=not moved)
        return
    covered = held.coverage_percent
    drafts.coverage = covered
    sure = 100.0 * (held.span_s - held.unknown_s) / held.span_s
    drafts.give("coverage_heart_rate", Bounded(covered, min(sure, covered), covered))
    _add_peak(drafts, held)
    _add_recovery(drafts, pulse, asked, phases, work)
    if covered < LEAST_COVERAGE:
        why = (
            f"Not given: heart rate was measured for only {below(covered, LEAST_COVERAGE)} % of the work phase; "
            f"{nearest(LEAST_COVERAGE)} % are needed."
        )
        for name in _NEEDS_WHOLE:
            drafts.withhold(name, why, refused=True)
        _withhold_unasked(drafts, asked)
        return
    if covered < GOOD_COVERAGE:
        drafts.cautions.append(
            f"Heart rate was measured for {below(covered, GOOD_COVERAGE)} % of the work phase only: read the figures "
            "with their bounds."
        )
    means = means_of(drafts, held, pulse)
    _add_levels(drafts, held, means, asked)
    _add_reserve(drafts, held, means, asked)
    _add_target(drafts, held, asked)


def _withhold_unasked(drafts: Drafts, asked: Asked) -> None:
    """Where too little was measured, still give the plain reason to figures that nobody asked for."""
    if asked.target is None:
        for name in ("time_on_target", "longest_on_target"):
            drafts.withhold(name, _NO_TARGET)
    if asked.distance_m is None:
        for name in ("beats_per_metre", "cost_index"):
            drafts.withhold(name, _NO_DISTANCE)
    if drafts.basis.sex is None:
        drafts.withhold("training_impulse", _NO_SEX)
    if drafts.rest_bpm is None:
        for name in ("heart_rate_rise", "share_above_125_rest", "share_above_150_rest", "beats_above_rest"):
            drafts.withhold(name, _NO_REST)
    why = _why_no_reserve(drafts)
    if why:
        for name in ("reserve_mean", "training_impulse", *ZONE_FIGURES):
            drafts.withhold(name, why, refused=drafts.basis.asked)


def _add_peak(drafts: Drafts, held: Held) -> None:
    """Peaks hold for what was measured, whatever the coverage."""
    top = bounds.peak(held)
    if top.value is None:
        drafts.withhold("heart_rate_peak", "Not given: no 15 s of work were measured without a break.", refused=True)
        drafts.withhold("reserve_peak", "Not given: no 15 s of work were measured without a break.")
        return
    drafts.give("heart_rate_peak", top, note=f"highest 15 s mean{' that was measured' if held.unknown_s else ''}")
    why = _why_no_reserve(drafts)
    if why or drafts.rest_bpm is None or drafts.basis.maximum is None:
        drafts.withhold("reserve_peak", why, refused=drafts.basis.asked)
        return
    width = drafts.basis.maximum.bpm - drafts.rest_bpm
    percent = top.through(100 / width, -100 * drafts.rest_bpm / width)
    drafts.give("reserve_peak", percent, basis=drafts.reserve_words, note=drafts.basis.maximum.note or None)


def _why_no_reserve(drafts: Drafts) -> str:
    """The reason why figures of the reserve are not given; empty if they are."""
    top, rest = drafts.basis.maximum, drafts.rest_bpm
    if top is None:
        return drafts.basis.no_reserve or "Not given: no maximum is known. Give --max or --born."
    if rest is None:
        return _NO_REST
    return too_narrow_reason(rest, top.bpm) if too_narrow(rest, top.bpm) else ""


def _add_levels(drafts: Drafts, held: Held, means: Means, asked: Asked) -> None:
    """Mean, rise, shares above rest, beats, and what they cost for each metre: nothing here needs a maximum."""
    means.give(drafts, "heart_rate_mean")
    beats = bounds.total(held, lambda bpm: bpm / 60.0)
    counted = "; beats of the measured time" if held.unknown_s else ""
    drafts.give("beats_total", beats, note=counted[2:] or None)
    rest = drafts.rest_bpm
    if rest is None:
        for name in ("heart_rate_rise", "share_above_125_rest", "share_above_150_rest", "beats_above_rest"):
            drafts.withhold(name, _NO_REST)
    else:
        words = drafts.rest_words
        means.give(drafts, "heart_rate_rise", offset=-rest, basis=words)
        for name, factor in zip(("share_above_125_rest", "share_above_150_rest"), PAHR_FACTORS, strict=True):
            drafts.give(name, bounds.share_where(*bounds.above(held, factor * rest)), basis=words)
        over = bounds.total(held, lambda bpm: np.maximum(bpm - rest, 0.0) / 60.0)
        drafts.give("beats_above_rest", over, basis=words)
    _add_cost(drafts, held, means, beats, asked, counted)


def _add_cost(drafts: Drafts, held: Held, means: Means, beats: Bounded, asked: Asked, counted: str) -> None:
    """Beats per metre and the cost index, where a distance is known and the student covered it."""
    metres = asked.distance_m
    names = ("beats_per_metre", "cost_index")
    if metres is None or drafts.basis.power_chair:
        why = "Not given: in a power chair the motor sets the speed." if drafts.basis.power_chair else _NO_DISTANCE
        for name in names:
            drafts.withhold(name, why, refused=metres is not None)
        return
    drafts.give("beats_per_metre", beats.through(1 / metres), note=f"over {metres:g} m{counted}")
    if drafts.rest_bpm is None:
        drafts.withhold("cost_index", _NO_REST)
        return
    minutes = held.span_s / 60.0
    slope, note = minutes / metres, f"over {metres:g} m in {rounded(minutes, 2)} min"
    means.give(drafts, "cost_index", slope=slope, offset=-drafts.rest_bpm * slope, basis=drafts.rest_words, note=note)


def zone_times(
    held: Held, rest_bpm: float | None, max_bpm: float, by: Literal["reserve", "maximum"]
) -> dict[str, float]:
    """Measured time in each zone [s]."""
    place = _zone_index(held.bpm, rest_bpm, max_bpm, by)
    return {name: float(held.held_s[place == index].sum()) for index, name in enumerate(ZONE_FIGURES)}


def _zone_index(
    bpm: NDArray[np.float64], rest_bpm: float | None, max_bpm: float, by: Literal["reserve", "maximum"]
) -> NDArray[np.intp]:
    """Place in ``ZONE_FIGURES`` of each heart rate, shape (n,)."""
    if by == "maximum" or rest_bpm is None:
        return zone_index_by_maximum(bpm, max_bpm)
    return zone_index_by_reserve(bpm, rest_bpm, max_bpm)


def _add_reserve(drafts: Drafts, held: Held, means: Means, asked: Asked) -> None:
    """Mean of reserve, zones and training impulse."""
    top, rest = drafts.basis.maximum, drafts.rest_bpm
    why = _why_no_reserve(drafts)
    narrow = top is not None and rest is not None and too_narrow(rest, top.bpm)
    by_maximum = asked.zones_by == "maximum" and top is not None and not narrow
    if why or top is None or rest is None:
        for name in ("reserve_mean", "training_impulse", *(() if by_maximum else ZONE_FIGURES)):
            drafts.withhold(name, why, refused=drafts.basis.asked)
        if by_maximum and top is not None:
            _add_zones(drafts, held, None, top.bpm, asked)
        return
    width = top.bpm - rest
    words, note = drafts.reserve_words, top.note or None
    means.give(drafts, "reserve_mean", slope=100 / width, offset=-100 * rest / width, basis=words, note=note)
    _add_zones(drafts, held, rest, top.bpm, asked)
    _add_impulse(drafts, held, rest, top.bpm)
    if caution := narrow_reserve_note(rest, top.bpm):
        drafts.cautions.append(caution)
    over = bounds.longest_where(*bounds.above(held, top.bpm)).value
    if over is not None and over >= OVER_RESERVE_S:
        drafts.cautions.append(
            f"Heart rate stood above the maximum given for {nearest(over)} s: that maximum is too low or the signal "
            "wrong."
        )


def _add_zones(drafts: Drafts, held: Held, rest: float | None, max_bpm: float, asked: Asked) -> None:
    """Time in each intensity class, and how it moves with a predicted maximum."""
    top = drafts.basis.maximum
    by = "maximum" if asked.zones_by == "maximum" or rest is None else "reserve"
    shifts: list[dict[str, float]] = []
    if top is not None and top.predicted and top.see_bpm is not None:
        moved = [max_bpm - top.see_bpm, max_bpm + top.see_bpm]
        shifts = [zone_times(held, rest, bpm, by) for bpm in moved if rest is None or not too_narrow(rest, bpm)]
    edges = maximum_edges_bpm(max_bpm) if by == "maximum" or rest is None else edges_bpm(rest, max_bpm)
    spans = _spans_in_words(edges)
    place = _zone_index(held.bpm, rest, max_bpm, by)
    settled = held.without(place != _zone_index(held.least, rest, max_bpm, by))
    for index, (name, span) in enumerate(zip(ZONE_FIGURES, spans, strict=True)):
        note = span
        if len(shifts) == 2:
            lower, higher = (shift[name] for shift in shifts)
            note += (
                f"; {nearest(lower)} s if the maximum is one standard error lower, {nearest(higher)} s if it is higher"
            )
        if by == "maximum":
            note = f"zones by % of maximum; {note}"
        drafts.give(name, bounds.time_where(settled, place == index), basis=drafts.reserve_words, note=note)


def _spans_in_words(edges: NDArray[np.float64]) -> list[str]:
    """The five zones in beats/min."""
    lows, highs = edges[:-1], edges[1:]
    between = [f"{rounded(low, 1)} to below {rounded(high, 1)} /min" for low, high in zip(lows, highs, strict=True)]
    return [f"below {rounded(edges[0], 1)} /min", *between, f"{rounded(edges[-1], 1)} /min and above"]


def _add_impulse(drafts: Drafts, held: Held, rest: float, max_bpm: float) -> None:
    """Banister's sum; its constants are split by sex."""
    sex = drafts.basis.sex
    if sex is None:
        drafts.withhold("training_impulse", _NO_SEX)
        return
    note = "minutes weighted by effort, with constants from trained adults" + (
        "; of the measured time" if held.unknown_s else ""
    )
    sum_ = bounds.total(held, lambda bpm: impulse_weight((bpm - rest) / (max_bpm - rest), sex) / 60.0)
    drafts.give("training_impulse", sum_, basis=drafts.reserve_words, note=note)


def _add_target(drafts: Drafts, held: Held, asked: Asked) -> None:
    """Time in the target band and the longest stay."""
    names, band = ("time_on_target", "longest_on_target"), asked.target
    if band is None:
        for name in names:
            drafts.withhold(name, _NO_TARGET)
        return
    low, high, words, basis = band.low, band.high, f"{band.low:g} to {band.high:g} /min", None
    if band.unit == "%":
        why = _why_no_reserve(drafts)
        if why or drafts.rest_bpm is None or drafts.basis.maximum is None:
            for name in names:
                drafts.withhold(name, f"{why} A band in beats per minute needs neither.", refused=True)
            return
        edges = target_heart_rate([band.low, band.high], drafts.rest_bpm, drafts.basis.maximum.bpm)
        low, high, basis = float(edges[0]), float(edges[1]), drafts.reserve_words
        words = f"{band.low:g} to {band.high:g} % of reserve ({nearest(low)} to {nearest(high)} /min)"
    settled, inside = bounds.within(held, low - 1e-9, high + 1e-9)
    drafts.give(names[0], bounds.time_where(settled, inside), basis=basis, note=words)
    longest = bounds.longest_where(settled, inside, asked.dip_s)
    drafts.give(names[1], longest, basis=basis, note=f"{words}; dips of up to {asked.dip_s:g} s do not end a stay")


def _add_recovery(drafts: Drafts, pulse: Stream, asked: Asked, phases: Phases, work: tuple[float, float]) -> None:
    """Fall of the heart rate in the minute after work.

    From the values that stand at the two moments; beat by beat from the mean of the 10 s around each, because
    single intervals swing with every breath.
    """
    end = work[1]
    asked_for = phases.recovery is not None
    if phases.recovery is not None and phases.recovery[1] < end + RECOVERY_S:
        drafts.withhold("recovery_60s", "Not given: the recovery phase ends before 60 s are over.", refused=True)
        return
    after = hold(pulse, work[0], end + RECOVERY_S + AROUND_BEATS_S + 1.0, asked.hold_s)
    found = [_level_at(after, moment, beats=pulse.cover_s is not None) for moment in (end, end + RECOVERY_S)]
    first, last = found
    if first.value is None or last.value is None:
        moment = "the end of work" if first.value is None else "60 s after work"
        drafts.withhold("recovery_60s", f"Not given: heart rate was not measured at {moment}.", refused=asked_for)
        return
    fall = Bounded(recovery(first.value, last.value), first.low - last.high, first.high - last.low)
    how = f", means of {nearest(2 * AROUND_BEATS_S)} s" if pulse.cover_s is not None else ""
    at = f"from {nearest(first.value)} to {nearest(last.value)} /min"
    drafts.give("recovery_60s", fall, note=f"{at}{how}; compare only trials that end at a like rate")


def _level_at(after: Held, moment: float, *, beats: bool) -> Bounded:
    """Heart rate at a moment; where no sample vouches for it, bounded by what a heart can be [beats/min]."""
    if beats:
        near = after.part(moment - AROUND_BEATS_S, moment + AROUND_BEATS_S)
        level = bounds.mean(near) if len(near.bpm) else Bounded(None, after.lowest_bpm, after.highest_bpm)
        return level if near.coverage_percent >= LEAST_COVERAGE else Bounded(None, level.low, level.high)
    standing = after.at(moment)
    if standing is None:
        return Bounded(None, after.lowest_bpm, after.highest_bpm)
    value, certain = standing
    return Bounded(value, value, value) if certain else Bounded(value, after.lowest_bpm, after.highest_bpm)
