"""The trace of a recording that is no trial yet: what it holds, with the phases that are thought of."""

from collections.abc import Mapping

from ...ingest.clock_times import wall_of, zone_from
from ...ingest.recording import ACCELERATION, HEART_RATE, Recording
from ...metrics.phases import MARGIN_S
from ..pictures.series import Series, Span
from ..pictures.trial_series import pulse_rows
from .lines import movement_line
from .trace import ANYWHERE, Trace, flagged_of


def trace_of_recording(
    recording: Recording,
    phases: Mapping[str, Span],
    *,
    zone: str | None = None,
    margin_s: float | None = None,
    free: Span = ANYWHERE,
) -> Trace:
    """Look into a recording before anything of it is kept.

    Parameters
    ----------
    recording : cleaned, all of it
    phases : stretches by name (``pictures.series.PHASES``); one that nobody stated is missing  [s]
    zone : in which the school's clocks are
    margin_s : how much around the phases will be kept; None: as much as always  [s]
    free : what no other student's trial of the recording holds  [s]
    """
    pulse = next(iter(recording.all(HEART_RATE)), None)
    start = wall_of(recording, zone_from(zone))
    dated = recording.start is not None
    series = Series(
        **pulse_rows(recording, pulse),
        on=start.date().isoformat() if start is not None and dated else None,
        start=None if start is None else start.isoformat(),
        phases=dict(phases),
    )
    return Trace(
        series=series,
        movement=movement_line(next(iter(recording.all(ACCELERATION)), None)),
        flagged=flagged_of(pulse),
        margin_s=MARGIN_S if margin_s is None else margin_s,
        free=free,
    )
