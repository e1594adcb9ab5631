"""From a trial's kept originals to what a picture shows: by the same steps as its sheet, so that both agree."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...ingest.clock_times import on_the_wall
from ...ingest.recording import ACCELERATION, HEART_RATE, Recording, Stream
from ...metrics import Asked, Basis
from ...metrics.clock_alignment import on_one_clock
from ...metrics.conditions import find_condition
from ...metrics.figure import EffortSheet, Figure, PhasesUsed
from ...metrics.level_rate import settled
from ...metrics.reserve import too_narrow
from ...metrics.sheet_builder import Drafts
from ...metrics.timeline import hold, whole_span
from ...metrics.zones import ZONES, edges_bpm, maximum_edges_bpm
from ...records.measuring import asked_of, recording_of
from ...records.protocol import Protocol
from ...records.student import Student
from ...records.trial import Trial
from ...words.message import Message
from .series import PHASES, Series, Span, tiled

SHORT_S = 5.0
"""A second file that begins so little before the first adds nothing to see [s]."""
LAST_S = 1.0
"""The last window of a grid ends a little before the recording does; that is no gap [s]."""
Originals = Sequence[tuple[str, bytes]]


@dataclass(frozen=True, eq=False)
class Read:
    """A trial's series beside what it was made from.

    recording : all of the trial on one clock
    pulse : its heart rate with the flags that the sheet uses; None: there is none
    asked : what protocol, trial and plan state
    """

    series: Series
    recording: Recording
    pulse: Stream | None
    asked: Asked


def series_of(trial: Trial, student: Student, protocol: Protocol, originals: Originals, sheet: EffortSheet) -> Series:
    """What a picture shows of a trial; as ``read_again``."""
    return read_again(trial, student, protocol, originals, sheet).series


def read_again(trial: Trial, student: Student, protocol: Protocol, originals: Originals, sheet: EffortSheet) -> Read:
    """Read the originals again.

    Parameters
    ----------
    originals : name and bytes of each kept file
    sheet : the trial's sheet: phases, zones and ceiling are shown as it states them

    Raises
    ------
    OwnmarkError
        If no file can be read.
    """
    stated = sheet.provenance
    conditions = [find_condition(name) for name in stated.basis.conditions]
    recording, _ = settled(recording_of(trial, originals), conditions)
    asked = asked_of(trial, student, protocol, recording)
    work = stated.phases.work
    pulse = next(iter(recording.all(HEART_RATE)), None)
    pulse, movement, agree = _with_movement(recording, pulse, asked, work, chair=protocol.work_mode == "power chair")
    zones, why = _zones(sheet)
    series = Series(
        **pulse_rows(recording, pulse, asked.hold_s),
        on=trial.on.isoformat(),
        start=on_the_wall(recording.start, trial.zone).isoformat() if recording.start else None,
        phases=_phases(stated.phases),
        mean_bpm=sheet.figures["heart_rate_mean"].value if "heart_rate_mean" in sheet.figures else None,
        whole=trial.work is None,
        zones=zones,
        no_zones=why,
        ceiling_bpm=stated.ceiling_bpm,
        crossings=stated.above_ceiling,
        above_s=_bounds(sheet.figures.get("time_above_ceiling")),
        possible=tuple((each.from_s, each.until_s) for each in stated.possible_crossings),
        **movement,
        clocks_agree=agree,
    )
    return Read(series, recording, pulse, asked)


def _phases(stated: PhasesUsed) -> dict[str, Span]:
    spans = zip(PHASES, (stated.rest, stated.work, stated.recovery), strict=True)
    return {name: span for name, span in spans if span is not None}


def _bounds(figure: Figure | None) -> Span | None:
    if figure is None or figure.low is None or figure.high is None:
        return None
    return figure.low, figure.high


def pulse_rows(recording: Recording, pulse: Stream | None, hold_s: float | None = None) -> dict[str, Any]:
    """Rows of heart rate over the whole recording, movement's time included, and its ends."""
    spans = [whole_span(stream) for stream in recording.streams if len(stream)]
    begin, end = min((a for a, _ in spans), default=0.0), max((b for _, b in spans), default=0.0)
    if begin > -SHORT_S and recording.whole_s is None:
        begin = 0.0
    none = np.empty(0)
    rows = (none, none, none)
    if pulse is not None:
        held = hold(pulse, begin, end, hold_s)
        rows = tiled(held.start_s, held.held_s, held.bpm, from_s=begin, until_s=end)
    return {**dict(zip(("time_s", "until_s", "bpm"), rows, strict=True)), "begin_s": begin, "end_s": end}


def _with_movement(
    recording: Recording, pulse: Stream | None, asked: Asked, work: Span, *, chair: bool
) -> tuple[Stream | None, dict[str, Any], bool]:
    """Heart rate with locked stretches flagged as on the sheet, the movement's stretches, and if the clocks agree."""
    if ACCELERATION not in recording:
        return pulse, {}, True
    from ...metrics.heart_rate_while_moving import unlocked
    from ...metrics.motion_figures import add_motion_figures

    found = add_motion_figures(Drafts(Basis(power_chair=chair), None, None), recording, asked, work)
    if found is None:
        return pulse, {}, True
    agree = pulse is None or on_one_clock(recording, pulse.source, found.source)
    if agree:
        pulse = unlocked(pulse, found, asked, [])
    whole, beat = found.whole, found.rhythm
    unseen = [*whole.unmeasured, *_outside(recording, (whole.from_s, whole.until_s))]
    shown = np.isfinite(beat.per_minute) & (found.counted is not None)
    rate = beat.per_minute[shown]
    return (
        pulse,
        {
            "moving": tuple(whole.moving),
            "movement_unmeasured": tuple(sorted(unseen)),
            "assisted": tuple(whole.left_out),
            "placement": asked.placement,
            "cadence": tuple(zip(beat.time_s[shown].tolist(), rate.tolist(), strict=True)),
        },
        agree,
    )


def _outside(recording: Recording, span: Span) -> list[Span]:
    """What of the recording lies before and behind a stretch [s]."""
    ends = [whole_span(stream) for stream in recording.streams if len(stream)]
    begin, end = min(a for a, _ in ends), max(b for _, b in ends)
    return [(a, b) for a, b in ((min(begin, 0.0), span[0]), (span[1], end)) if b - a > LAST_S]


def _zones(sheet: EffortSheet) -> tuple[tuple[tuple[str, float, float], ...] | None, Message | None]:
    """The classes by the rest and maximum that the sheet used, or None and why."""
    rest, top = sheet.provenance.basis.rest_bpm, sheet.provenance.basis.maximum_bpm
    by_maximum = sheet.provenance.zones_by == "maximum"
    if top is None or (rest is None and not by_maximum) or (rest is not None and too_narrow(rest, top)):
        moderate = sheet.figures.get("time_moderate")
        return None, moderate and moderate.reason
    edges = maximum_edges_bpm(top) if by_maximum or rest is None else edges_bpm(rest, top)
    low, high = [0.0, *edges.tolist()], [*edges.tolist(), float("inf")]
    return tuple(zip(ZONES, low, high, strict=True)), None
