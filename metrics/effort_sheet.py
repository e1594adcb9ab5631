"""One recording to one effort sheet. Pure: no files, no clock, and everything that goes in and out can be pickled."""

from dataclasses import dataclass, replace

from .. import __version__
from ..errors import BasisError
from ..ingest.clock_times import span_told
from ..ingest.flags import Flag
from ..ingest.recording import ACCELERATION, HEART_RATE, RR_INTERVAL, Placing, Recording, Stream
from ..words.message import Message
from ..words.numbers import nearest
from ..words.vocabulary import MOTION_FIGURES
from . import figure as shape
from .basis import Basis
from .ceiling import add_ceiling_figures, look_above
from .clock_alignment import is_placed, on_one_clock
from .level_rate import level_within, settled
from .messages import heart_rate as say
from .messages import movement as about_movement
from .messages import trial
from .phases import Phases
from .pulse_figures import add_pulse_figures, withhold_unplaced, zone_times
from .reserve import too_narrow
from .rest import LAST_S, RestRate, rest_rate
from .sampling import MOSTLY_WHOLE, Sampling
from .settings import Asked
from .sheet_builder import Drafts
from .timeline import EVENT_HOLD_S, Held, hold, sampling_of, whole_span
from .unproven import unproven_caution, vouched

LEAST_S = 1.0
"""Movement of under a second is no trial; mostly it is a table whose times were read in another unit. A heart rate is
told however short it is: it may be above the ceiling."""


def effort(
    recording: Recording, basis: Basis | None = None, phases: Phases | None = None, asked: Asked | None = None
) -> shape.EffortSheet:
    """Work out every figure that this recording and basis allow, with bounds, and the reason for each that is not.

    Parameters
    ----------
    recording : cleaned, as ``ownmark.ingest.read`` gives it
    basis : from ``ownmark.metrics.choose_basis``; without one only figures that need neither rest nor maximum
    phases : without work, the whole recording is work

    Raises
    ------
    BasisError
        If a phase lies outside the recording, or rest cannot be found in the rest phase.
    """
    basis, phases, asked = basis or Basis(), phases or Phases(), asked or Asked()
    recording, notes = settled(recording, basis.conditions)
    pulse = _pulse(recording, asked.pulse_from)
    work = phases.work or (whole_span(pulse) if pulse is not None else _outer_span(recording))
    how = phases.how if phases.work else trial.PHASES_WHOLE
    _check_inside(work, recording, rated=pulse is not None)
    placed = phases.work is None or pulse is None or is_placed(recording, pulse.source)
    rest = _rest(basis, phases if placed else replace(phases, rest=None), pulse, notes)
    drafts = Drafts(basis, rest.bpm if rest else None, rest.how if rest else None)
    moved, pulse = _add_movement(drafts, recording, pulse, asked, work, notes)
    held = hold(pulse, *work, asked.hold_s) if pulse is not None and len(pulse) else None
    if not placed:
        held = None
    add_pulse_figures(drafts, held, pulse, asked, phases, work, moved=moved is not None)
    if not placed:
        withhold_unplaced(drafts)
    above = look_above(recording, pulse, asked, phases if placed else Phases())
    if pulse is not None and (held is not None or len(pulse)):
        add_ceiling_figures(drafts, above)
    if pulse is not None and held is not None and (caution := unproven_caution(pulse, held)):
        drafts.cautions.append(caution)
    found = None if pulse is None or pulse.cover_s is not None else sampling_of(pulse)
    notes += _sampling_notes(found, asked, with_rr=RR_INTERVAL in recording)
    return shape.EffortSheet(
        schema=shape.SCHEMA,
        figures=drafts.figures(),
        cautions=(*basis.cautions(), *drafts.cautions),
        flags=_flags(recording, pulse),
        provenance=shape.Provenance(
            ownmark=__version__,
            files=tuple(
                shape.FileRead(
                    path=each.path,
                    sha256=each.sha256,
                    format=each.format,
                    reader=each.reader,
                    content_sha256=each.content_sha256,
                )
                for each in recording.sources
            ),
            stream=None if pulse is None else (pulse.derived_from or pulse.name),
            start=recording.start.isoformat() if recording.start else None,
            span=_looked_at(recording),
            clocks=tuple(_clock_used(each) for each in recording.placings),
            phases=shape.PhasesUsed(rest=phases.rest, work=work, recovery=phases.recovery, decided=how),
            basis=_basis_used(basis, rest),
            zones_by=asked.zones_by,
            zones_if_maximum_is_one_see_lower=_shifted(held, drafts, asked, -1),
            zones_if_maximum_is_one_see_higher=_shifted(held, drafts, asked, +1),
            sampling=_sampling_used(found, asked),
            unmeasured=tuple(held.gaps()) if held is not None else (work,),
            above_ceiling=() if above is None else above.stretches,
            possible_crossings=() if above is None else above.possible,
            recording_unmeasured=() if above is None else tuple(above.held.gaps()),
            ceiling_bpm=asked.ceiling_bpm,
            refused=tuple(drafts.refused),
            movement=moved,
            notes=shape.as_messages((*recording.notes, *notes)),
        ),
    )


def _clock_used(placing: Placing) -> shape.ClockUsed:
    """How one file was laid on the trial's clock, for the provenance."""
    return shape.ClockUsed(
        path=placing.path,
        offset_s=placing.offset_s,
        how=placing.how,
        within_s=placing.within_s,
        confidence=placing.confidence,
        drift_ppm=placing.drift_ppm,
        anchor_s=placing.anchor_s,
        notes=placing.notes,
    )


def _flags(recording: Recording, pulse: Stream | None) -> dict[str, dict[str, int]]:
    """Samples that each rule flagged, by stream; those of cadence lock by the stream that heart rate came from."""
    found = {stream.name: stream.flag_counts() for stream in reversed(recording.streams)}
    if pulse is not None:
        rule = str(Flag.CADENCE_LOCK.name).lower()
        locked = pulse.flag_counts().get(rule, 0)
        found[pulse.derived_from or pulse.name] |= {rule: locked} if locked else {}
    return found


def _add_movement(
    drafts: Drafts,
    recording: Recording,
    pulse: Stream | None,
    asked: Asked,
    work: tuple[float, float],
    notes: list[Message],
) -> tuple[shape.MovementUsed | None, Stream | None]:
    """Add the movement figures; give back what they rest on, and heart rate with locked stretches flagged.

    The movement modules are loaded only here: most recordings hold none.
    """
    if ACCELERATION not in recording:
        for name in MOTION_FIGURES:
            drafts.withhold(name, about_movement.WHY_NO_MOVEMENT_SENSOR)
        return None, pulse
    from .heart_rate_while_moving import (
        add_heart_with_movement,
        add_rises,
        movement_used,
        unlocked,
        withhold_for_clocks,
    )
    from .motion_figures import add_motion_figures

    movement = add_motion_figures(drafts, recording, asked, work)
    if movement is None:
        return None, pulse
    notes += movement.findings
    if pulse is not None and not on_one_clock(recording, pulse.source, movement.source):
        notes.append(withhold_for_clocks(drafts))
        return movement_used(movement, asked), pulse
    pulse = unlocked(pulse, movement, asked, notes)
    pulse = pulse if pulse is None else vouched(pulse, movement)
    add_heart_with_movement(drafts, hold(pulse, *work, asked.hold_s) if pulse else None, movement)
    add_rises(drafts, pulse, movement, asked, notes)
    return movement_used(movement, asked), pulse


def _pulse(recording: Recording, wanted: str) -> Stream | None:
    """The stream that heart-rate figures are taken from."""
    if wanted == RR_INTERVAL and RR_INTERVAL in recording:
        from ..ingest.cleaning.judge import beat_by_beat

        return beat_by_beat(recording[RR_INTERVAL])
    return next(iter(recording.all(HEART_RATE)), None)


def _outer_span(recording: Recording) -> tuple[float, float]:
    """From the first sample of any stream to the last, or as long as the files ran; of a part, those of the whole."""
    if recording.whole_s is not None:
        return recording.whole_s
    spans = [(float(stream.time[0]), float(stream.time[-1])) for stream in recording.streams if len(stream)]
    if not spans:
        raise BasisError("the recording holds no sample.", mend="Use another file.")
    spans += [recording.ran_s] if recording.ran_s is not None else []
    return min(begin for begin, _ in spans), max(end for _, end in spans)


def _looked_at(recording: Recording) -> tuple[float, float] | None:
    """What of the files belongs to the trial; None where that is all of them."""
    part, whole = recording.ran_s, recording.whole_s
    if part is None or whole is None or (part[0] <= whole[0] and part[1] >= whole[1]):
        return None
    return part


def _check_inside(work: tuple[float, float], recording: Recording, *, rated: bool) -> None:
    """Refuse a work phase that misses the recording altogether, or has no length."""
    first, last = _outer_span(recording)
    if first == last and max((len(stream) for stream in recording.streams), default=0) > 1:
        raise BasisError("every sample has the same time, so nothing can be measured.", mend="Check the time column.")
    if not rated and first < last < first + LEAST_S:
        raise BasisError(
            "the whole recording lasts under a second, in which no movement can be judged.",
            mend="Check the time column and its unit.",
        )
    if work[1] <= first or work[0] >= last > first or work[0] > last or work[1] <= work[0]:
        start = recording.start
        zone = f" {start.tzname()}" if start and start.tzinfo else ""
        began = f"; second 0 is {start:%Y-%m-%d %H:%M:%S}{zone}" if start else ""
        raise BasisError(
            f"the work phase, {span_told(work, start)}, lies outside the recording, which runs "
            f"from {span_told((first, last), start)}{began}.",
            mend="Check the times with `ownmark look`.",
        )


@dataclass(frozen=True, slots=True)
class _Rest:
    bpm: float
    how: Message


def _rest(basis: Basis, phases: Phases, pulse: Stream | None, notes: list[Message]) -> _Rest | None:
    """Rest as entered, or from the rest phase."""
    if basis.rest_bpm is not None:
        return _Rest(basis.rest_bpm, say.BASIS_REST_ENTERED)
    if phases.rest is None or pulse is None or not len(pulse):
        return None
    held = hold(pulse, *phases.rest)
    begin, end = phases.rest
    level = level_within(pulse, max(begin, end - LAST_S), end)
    found: RestRate = rest_rate(held.start_s, held.held_s, held.bpm, from_s=begin, until_s=end, level=level)
    notes += found.notes
    if basis.maximum is not None and found.bpm >= basis.maximum.bpm:
        raise BasisError(
            f"the rest phase has a rate of {nearest(found.bpm)} /min, not below the maximum of "
            f"{nearest(basis.maximum.bpm)}.",
            mend="Check both: one of them is wrong.",
        )
    return _Rest(found.bpm, say.basis_rest_mean(found.from_s, found.until_s))


def _basis_used(basis: Basis, rest: _Rest | None) -> shape.BasisUsed:
    """Rest and maximum for the provenance."""
    top = basis.maximum
    return shape.BasisUsed(
        rest_bpm=None if rest is None else rest.bpm,
        rest_from=None if rest is None else rest.how,
        maximum_bpm=None if top is None else top.bpm,
        maximum_from=None if top is None else top.how,
        maximum_see_bpm=None if top is None else top.see_bpm,
        conditions=tuple(condition.name for condition in basis.conditions),
    )


def _shifted(held: Held | None, drafts: Drafts, asked: Asked, direction: int) -> shape.ZoneShift | None:
    """Zone times with the predicted maximum one SEE lower or higher; None for a measured one."""
    top = drafts.basis.maximum
    if held is None or top is None or not top.predicted or top.see_bpm is None or not drafts.has("time_moderate"):
        return None
    moved = top.bpm + direction * top.see_bpm
    if drafts.rest_bpm is not None and too_narrow(drafts.rest_bpm, moved):
        return None
    return shape.ZoneShift(maximum_bpm=moved, times_s=zone_times(held, drafts.rest_bpm, moved, asked.zones_by))


def _sampling_used(found: Sampling | None, asked: Asked) -> shape.SamplingFound | None:
    """How the recorder wrote, for the provenance; None where each value stands for a time of its own."""
    if found is None:
        return None
    return shape.SamplingFound(
        step_s=found.step_s,
        regular=found.regular,
        hold_s=asked.hold_s,
        kind=found.kind,
        vouches_s=found.vouches_s,
        whole_share=found.whole_share,
    )


def _sampling_notes(found: Sampling | None, asked: Asked, *, with_rr: bool) -> list[Message]:
    """Say what was assumed of the time between values."""
    if found is None or found.step_s is None:
        return []
    notes = [note] if (note := _sampling_note(found, found.step_s, asked)) else []
    if note and with_rr:
        notes.append(say.FOUND_ALSO_RR)
    if asked.hold_s is not None and not found.held_on:
        notes.append(say.found_hold_asked(asked.hold_s))
    return notes


def _sampling_note(found: Sampling, step_s: float, asked: Asked) -> Message | None:
    """What the recorder did other than write every value in its turn; None if nothing."""
    if found.held_on:
        return say.found_on_change(asked.hold_s or EVENT_HOLD_S, found.vouches_s)
    if found.kind == "unclear":
        return say.found_unclear_step(step_s)
    if found.whole_share < MOSTLY_WHOLE:
        return say.found_lost_seconds(step_s, 100 * found.whole_share, EVENT_HOLD_S)
    return None
