"""The trace of files that are stored nowhere yet, in the child that reads them: from recordings to plain JSON.

Phases come as they are typed (``rest``, ``work``, ``recovery``: FROM-UNTIL), because only the recordings say what$
moment a clock time is.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from ..errors import OwnmarkError
from ..ingest.clock_times import resolve_span, zone_from
from ..ingest.combine import combine
from ..ingest.recording import Recording, Span
from ..metrics import align
from ..reports.pictures.series import PHASES
from ..reports.trace.of_recording import trace_of_recording
from ..reports.trace.trace import ANYWHERE, Trace
from ..reports.words import Words
from .trace import asked_view, levels, shown


@dataclass(frozen=True, eq=False)
class FileTrace:
    """Files of one trial, laid on one clock, with the trace of all of them."""

    recording: Recording
    trace: Trace
    zone: str | None

    def with_phases(self, phases: Mapping[str, str], free: Span | None, margin_s: float | None) -> Trace:
        """With phases as they are typed; one that cannot be understood is not drawn, and the form says why.

        free : what no other student's trial of the recording holds  [s]
        margin_s : how much around the phases will be kept; None: as much as always  [s]
        """
        spans: dict[str, Span] = {}
        for name in PHASES:
            text = phases.get(name)
            if text:
                with suppress(OwnmarkError):
                    begin, end = resolve_span(text, self.recording, zone_from(self.zone))
                    spans |= {name: (begin, end)} if begin < end else {}
        made = replace(self.trace, series=replace(self.trace.series, phases=spans), free=free or ANYWHERE)
        return made if margin_s is None else replace(made, margin_s=margin_s)


def file_trace(recordings: Sequence[Recording], zone: str | None = None) -> FileTrace:
    """The files of one trial together, each as it was judged when it was read.

    Raises
    ------
    OwnmarkError
        If they cannot belong together.
    """
    whole = recordings[0] if len(recordings) == 1 else combine(recordings, {}, align(recordings, {}))
    return FileTrace(whole, trace_of_recording(whole, {}, zone=zone), zone)


def file_shown(
    found: FileTrace,
    language: str,
    *,
    phases: Mapping[str, str] | None = None,
    free: Span | None = None,
    margin_s: float | None = None,
    query: Mapping[str, str] | None = None,
    address: str = "",
    data: str = "",
    name: str = "trace",
    editable: bool = True,
) -> dict[str, Any]:
    """What ``templates/trace.html`` shows of files; as ``trace.shown``.

    query : of the screen's address: the part that is looked at, and whether flags are shown
    """
    trace = found.with_phases(phases or {}, free, margin_s)
    asked = query or {}
    return shown(
        trace,
        Words(language),
        view=asked_view(trace, asked),
        flags="flags" in asked,
        address=address,
        data=data,
        editable=editable,
        name=name,
    )


def file_levels(found: FileTrace, query: Mapping[str, str]) -> dict[str, Any]:
    """The numbers of a part for the script; as ``trace.levels``."""
    return levels(found.trace, query)
