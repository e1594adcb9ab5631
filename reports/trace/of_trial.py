"""The trace of a kept trial: of its own span, with phases, classes and ceiling as its sheet has them."""

from typing import TYPE_CHECKING

from ...ingest.recording import ACCELERATION
from ...metrics.phases import MARGIN_S
from ..pictures.trial_series import Originals, read_again
from .lines import movement_line
from .trace import Trace, flagged_of

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet
    from ...records.protocol import Protocol
    from ...records.student import Student
    from ...records.trial import Trial


def trace_of_trial(
    trial: "Trial", student: "Student", protocol: "Protocol", originals: Originals, sheet: "EffortSheet"
) -> Trace:
    """Read the originals again; as ``pictures.trial_series.read_again``.

    Raises
    ------
    OwnmarkError
        If no file can be read.
    """
    read = read_again(trial, student, protocol, originals, sheet)
    floor = read.asked.floor_span
    return Trace(
        series=read.series,
        movement=movement_line(next(iter(read.recording.all(ACCELERATION)), None)),
        flagged=flagged_of(read.pulse),
        margin_s=MARGIN_S if trial.margin_s is None else trial.margin_s,
        beside=(*read.asked.assisted, *(() if floor is None else (floor,))),
    )
