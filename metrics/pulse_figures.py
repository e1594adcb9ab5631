"""The heart-rate figures of a sheet: which are given, on what basis, and why others are not."""

from functools import partial
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..ingest.recording import Stream
from ..words.message import Message
from ..words.vocabulary import ZONE_FIGURES
from . import bounds
from .above_rest import PAHR_FACTORS, above_rest_per_second
from .bounds import Bounded
from .cost import beats_per_metre, cost_index, heart_beats
from .impulse import impulse_weight
from .means import Means, means_of
from .messages import heart_rate as say
from .phases import Phases
from .recovery import RECOVERY_S, recovery
from .reserve import narrow_reserve_note, percent_reserve, target_heart_rate, too_narrow, too_narrow_reason
from .settings import Asked
from .sheet_builder import Drafts
from .timeline import Held, hold
from .zones import edges_bpm, maximum_edges_bpm, time_in_zones, zone_index_by_maximum, zone_index_by_reserve

LEAST_COVERAGE = 80.0
"""Under this share of the work phase (in %) sums, means and times say nothing of the trial. Common practice."""
GOOD_COVERAGE = 90.0
OVER_RESERVE_S = 15.0
AROUND_BEATS_S = 5.0
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
            drafts.withhold(name, say.WHY_NO_HEART_RATE, refused=not moved)
        return
    covered = held.coverage_percent
    drafts.coverage = covered
    sure = 100.0 * (held.span_s - held.unknown_s) / held.span_s
    drafts.give("coverage_heart_rate", Bounded(covered, min(sure, covered), covered))
    _add_peak(drafts, held)
    _add_recovery(drafts, pulse, asked, phases, work)
    if covered < LEAST_COVERAGE:
        why = say.why_too_little(covered, LEAST_COVERAGE)
        for name in _NEEDS_WHOLE:
            drafts.withhold(name, why, refused=True)
        _withhold_unasked(drafts, asked)
        return
    if covered < GOOD_COVERAGE:
        drafts.cautions.append(say.caution_coverage(covered, GOOD_COVERAGE))
    means = means_of(drafts, held, pulse)
    _add_levels(drafts, held, means, asked)
    _add_reserve(drafts, held, means, asked)
    _add_target(drafts, held, asked)


def withhold_unplaced(drafts: Drafts) -> None:
    """Withhold what needs to know when rest, work and recovery were, where the strap cannot be placed in time."""
    for name in ("coverage_heart_rate", "heart_rate_peak", "reserve_peak", "recovery_60s", *_NEEDS_WHOLE):
        drafts.withhold(name, say.WHY_NOT_PLACED)
    drafts.refused = list(dict.fromkeys((*drafts.refused, *_NEEDS_WHOLE)))


def _withhold_unasked(drafts: Drafts, asked: Asked) -> None:
    """Where too little was measured, still give the plain reason to figures that nobody asked for."""
    if asked.target is None:
        for name in ("time_on_target", "longest_on_target"):
            drafts.withhold(name, say.WHY_NO_TARGET)
    if asked.distance_m is None:
        for name in ("beats_per_metre", "cost_index"):
            drafts.withhold(name, say.WHY_NO_DISTANCE)
    if drafts.basis.sex is None:
        drafts.withhold("training_impulse", say.WHY_NO_SEX)
    if drafts.rest_bpm is None:
        for name in ("heart_rate_rise", "share_above_125_rest", "share_above_150_rest", "beats_above_rest"):
            drafts.withhold(name, say.WHY_NO_REST)
    why = _why_no_reserve(drafts)
    if why:
        for name in ("reserve_mean", "training_impulse", *ZONE_FIGURES):
            drafts.withhold(name, why, refused=drafts.basis.asked)


def _add_peak(drafts: Drafts, held: Held) -> None:
    """Peaks hold for what was measured, whatever the coverage."""
    top = bounds.peak(held)
    if top.value is None:
        drafts.withhold("heart_rate_peak", say.WHY_NO_PEAK, refused=True)
        drafts.withhold("reserve_peak", say.WHY_NO_PEAK)
        return
    drafts.give("heart_rate_peak", top, note=say.NOTE_PEAK_MEASURED if held.unknown_s else say.NOTE_PEAK)
    why = _why_no_reserve(drafts)
    if why or drafts.rest_bpm is None or drafts.basis.maximum is None:
        drafts.withhold("reserve_peak", why, refused=drafts.basis.asked)
        return
    rest, maximum = drafts.rest_bpm, drafts.basis.maximum.bpm
    percent = top.through(partial(_share_of_reserve, rest_bpm=rest, maximum_bpm=maximum))
    drafts.give("reserve_peak", percent, basis=drafts.reserve_basis, note=drafts.basis.maximum.notes)


def _share_of_reserve(bpm: float, rest_bpm: float, maximum_bpm: float) -> float:
    """``percent_reserve`` of one rate [%]."""
    return float(percent_reserve(bpm, rest_bpm, maximum_bpm))


def _why_no_reserve(drafts: Drafts) -> Message | None:
    """The reason why figures of the reserve are not given; None if they are."""
    top, rest = drafts.basis.maximum, drafts.rest_bpm
    if top is None:
        return drafts.basis.no_reserve or say.WHY_NO_MAXIMUM_SHORT
    if rest is None:
        return say.WHY_NO_REST
    return too_narrow_reason(rest, top.bpm) if too_narrow(rest, top.bpm) else None


def _add_levels(drafts: Drafts, held: Held, means: Means, asked: Asked) -> None:
    """Mean, rise, shares above rest, beats, and what they cost for each metre: nothing here needs a maximum."""
    means.give(drafts, "heart_rate_mean")
    extended = () if not held.unknown_s else (say.NOTE_BEATS_EXTENDED,)
    means.give(drafts, "beats_total", partial(heart_beats, seconds=held.span_s), note=extended)
    rest = drafts.rest_bpm
    if rest is None:
        for name in ("heart_rate_rise", "share_above_125_rest", "share_above_150_rest", "beats_above_rest"):
            drafts.withhold(name, say.WHY_NO_REST)
    else:
        rested = drafts.rest_basis
        means.give(drafts, "heart_rate_rise", lambda bpm: bpm - rest, basis=rested)
        for name, factor in zip(("share_above_125_rest", "share_above_150_rest"), PAHR_FACTORS, strict=True):
            drafts.give(name, bounds.share_where(*bounds.above(held, factor * rest)), basis=rested)
        over = bounds.total(held, lambda bpm: above_rest_per_second(bpm, rest))
        drafts.give("beats_above_rest", over, basis=rested)
    _add_cost(drafts, held, means, asked, extended)


def _add_cost(drafts: Drafts, held: Held, means: Means, asked: Asked, extended: tuple[Message, ...]) -> None:
    """Beats per metre and the cost index, where a distance is known and the student covered it.

    Both take the mean for the whole phase: the distance is that of the whole phase too.
    """
    metres = asked.distance_m
    names = ("beats_per_metre", "cost_index")
    if metres is None or drafts.basis.power_chair:
        why = say.WHY_MOTOR_SPEED if drafts.basis.power_chair else say.WHY_NO_DISTANCE
        for name in names:
            drafts.withhold(name, why, refused=metres is not None)
        return
    index = partial(_beats_per_metre, metres=metres, seconds=held.span_s)
    means.give(drafts, "beats_per_metre", index, note=(say.note_metres(metres), *extended))
    if drafts.rest_bpm is None:
        drafts.withhold("cost_index", say.WHY_NO_REST)
        return
    rest = drafts.rest_bpm
    note = say.note_metres_minutes(metres, held.span_s / 60.0)
    index = partial(cost_index, rest_bpm=rest, metres=metres, seconds=held.span_s)
    means.give(drafts, "cost_index", index, basis=drafts.rest_basis, note=note)


def _beats_per_metre(mean_bpm: float, metres: float, seconds: float) -> float:
    """``beats_per_metre`` of work at a mean rate [/m]."""
    return beats_per_metre(heart_beats(mean_bpm, seconds), metres)


def zone_times(
    held: Held, rest_bpm: float | None, max_bpm: float, by: Literal["reserve", "maximum"]
) -> dict[str, float]:
    """Measured time in each zone [s]."""
    times = time_in_zones(_zone_index(held.bpm, rest_bpm, max_bpm, by), held.held_s)
    return dict(zip(ZONE_FIGURES, map(float, times), strict=True))


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
    share = partial(_share_of_reserve, rest_bpm=rest, maximum_bpm=top.bpm)
    means.give(drafts, "reserve_mean", share, basis=drafts.reserve_basis, note=top.notes)
    _add_zones(drafts, held, rest, top.bpm, asked)
    _add_impulse(drafts, held, rest, top.bpm)
    if caution := narrow_reserve_note(rest, top.bpm):
        drafts.cautions.append(caution)
    over = bounds.longest_where(*bounds.above(held, top.bpm)).value
    if over is not None and over >= OVER_RESERVE_S:
        drafts.cautions.append(say.caution_over_maximum(over))


def _add_zones(drafts: Drafts, held: Held, rest: float | None, max_bpm: float, asked: Asked) -> None:
    """Time in each intensity class, and how it moves with a predicted maximum."""
    top = drafts.basis.maximum
    by = "maximum" if asked.zones_by == "maximum" or rest is None else "reserve"
    shifts: list[dict[str, float]] = []
    if top is not None and top.predicted and top.see_bpm is not None:
        moved = [max_bpm - top.see_bpm, max_bpm + top.see_bpm]
        shifts = [zone_times(held, rest, bpm, by) for bpm in moved if rest is None or not too_narrow(rest, bpm)]
    edges = maximum_edges_bpm(max_bpm) if by == "maximum" or rest is None else edges_bpm(rest, max_bpm)
    spans = _spans(edges)
    place = _zone_index(held.bpm, rest, max_bpm, by)
    settled = held.without(place != _zone_index(held.least, rest, max_bpm, by))
    for index, (name, span) in enumerate(zip(ZONE_FIGURES, spans, strict=True)):
        notes = [say.NOTE_ZONES_MAXIMUM, span] if by == "maximum" else [span]
        if len(shifts) == 2:
            lower, higher = (shift[name] for shift in shifts)
            notes.append(say.note_one_error(lower, higher))
        drafts.give(name, bounds.time_where(settled, place == index), basis=drafts.reserve_basis, note=notes)


def _spans(edges: NDArray[np.float64]) -> list[Message]:
    """The five zones in beats/min."""
    found = [float(edge) for edge in edges]
    between = [say.note_zone_between(low, high) for low, high in pairwise(found)]
    return [say.note_zone_below(found[0]), *between, say.note_zone_above(found[-1])]


def _add_impulse(drafts: Drafts, held: Held, rest: float, max_bpm: float) -> None:
    """Banister's sum; its constants are split by sex."""
    sex = drafts.basis.sex
    if sex is None:
        drafts.withhold("training_impulse", say.WHY_NO_SEX)
        return
    notes = [say.NOTE_CONSTANTS] + ([] if not held.unknown_s else [say.NOTE_MEASURED_TIME])
    impulse = bounds.total(held, lambda bpm: impulse_weight(percent_reserve(bpm, rest, max_bpm) / 100.0, sex) / 60.0)
    drafts.give("training_impulse", impulse, basis=drafts.reserve_basis, note=notes)


def _add_target(drafts: Drafts, held: Held, asked: Asked) -> None:
    """Time in the target band and the longest stay."""
    names, band = ("time_on_target", "longest_on_target"), asked.target
    if band is None:
        for name in names:
            drafts.withhold(name, say.WHY_NO_TARGET)
        return
    low, high, told, basis = band.low, band.high, say.note_band(band.low, band.high), ()
    if band.unit == "%":
        why = _why_no_reserve(drafts)
        if why or drafts.rest_bpm is None or drafts.basis.maximum is None:
            for name in names:
                drafts.withhold(name, say.why_no_band_of_reserve(why or say.WHY_NO_REST), refused=True)
            return
        edges = target_heart_rate([band.low, band.high], drafts.rest_bpm, drafts.basis.maximum.bpm)
        low, high, basis = float(edges[0]), float(edges[1]), drafts.reserve_basis
        told = say.note_band_reserve(band.low, band.high, low, high)
    settled, inside = bounds.within(held, low - 1e-9, high + 1e-9)
    drafts.give(names[0], bounds.time_where(settled, inside), basis=basis, note=told)
    longest = bounds.longest_where(settled, inside, asked.dip_s)
    drafts.give(names[1], longest, basis=basis, note=(told, say.note_dips(asked.dip_s)))


def _add_recovery(drafts: Drafts, pulse: Stream, asked: Asked, phases: Phases, work: tuple[float, float]) -> None:
    """Fall of the heart rate in the minute after work.

    From the values that stand at the two moments; beat by beat from the mean of the 10 s around each, because
    single intervals swing with every breath.
    """
    end = work[1]
    asked_for = phases.recovery is not None
    if phases.recovery is not None and phases.recovery[1] < end + RECOVERY_S:
        drafts.withhold("recovery_60s", say.WHY_RECOVERY_SHORT, refused=True)
        return
    after = hold(pulse, work[0], end + RECOVERY_S + AROUND_BEATS_S + 1.0, asked.hold_s)
    found = [_level_at(after, moment, beats=pulse.cover_s is not None) for moment in (end, end + RECOVERY_S)]
    first, last = found
    if first.value is None or last.value is None:
        why = say.WHY_RECOVERY_AT_END if first.value is None else say.WHY_RECOVERY_AT_60
        drafts.withhold("recovery_60s", why, refused=asked_for)
        return
    fall = Bounded(recovery(first.value, last.value), recovery(first.low, last.high), recovery(first.high, last.low))
    note = say.note_recovery(first.value, last.value)
    if pulse.cover_s is not None:
        note = say.note_recovery_means(first.value, last.value, 2 * AROUND_BEATS_S)
    drafts.give("recovery_60s", fall, note=note)


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
