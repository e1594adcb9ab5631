"""The readers, one row each, and the one way from bytes to a recording.

Detection is by content, never by a file's name, and asks every reader: none or two claims is an error.
To add a format, write ``sniff(head)`` and ``read(data, source)`` in a module of its own and add its row here.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from ..errors import IngestError, ReaderFault, UnknownFormat
from ..words.message import Quoted
from . import refusal_messages as refused
from . import rr_list
from .edf import reader as edf
from .excerpt import mark as excerpt
from .fit import reader as fit
from .packets import reader as packets
from .recording import Mark, Provenance, Recording, Source
from .span import with_spans
from .table import reader as table
from .unknown_formats import describe_unknown
from .xml import gpx, tcx

HEAD_BYTES = 4096
_NUMBERED = re.compile(r"annotation \d{1,9}")


@dataclass(frozen=True, slots=True)
class Format:
    """A file format: how a person calls it, what it may hold, and its two functions."""

    name: str
    holds: str
    sniff: Callable[[bytes], bool]
    read: Callable[[bytes, Source], Recording]


def _excerpt(data: bytes, source: Source) -> Recording:
    """Read an excerpt, by the reader that only these need."""
    from .excerpt.reader import read

    return read(data, source)


FORMATS = (
    Format("FIT", "heart rate, RR intervals, movement, laps, button presses", fit.sniff, fit.read),
    Format("TCX", "heart rate, laps", tcx.sniff, tcx.read),
    Format("GPX", "heart rate from the points' extensions", gpx.sniff, gpx.read),
    Format("EDF", "ECG or pulse wave, acceleration, angular rate, heart rate, annotations", edf.sniff, edf.read),
    Format("heart-rate packets", "heart rate, RR intervals, skin contact", packets.sniff, packets.read),
    Format("RR list", "RR intervals, one a line, in ms or s", rr_list.sniff, rr_list.read),
    Format("excerpt", "the part of a recording that a logbook keeps", excerpt.sniff, _excerpt),
    Format("table", "any of the streams, in named columns (CSV, TSV, semicolons)", table.sniff, table.read),
)


def detect(head: bytes, where: str) -> Format:
    """Find the one format that claims these first bytes.

    Raises
    ------
    UnknownFormat
        If none does, or more than one.
    ReaderFault
        If none does, and one failed at looking.
    """
    claims, mistakes = [], []
    for entry in FORMATS:
        try:
            if entry.sniff(head):
                claims.append(entry)
        except Exception as mistake:  # noqa: BLE001 whatever it is, the other readers are asked
            mistakes.append((entry, mistake))
    if len(claims) == 1:
        return claims[0]
    if mistakes and not claims:
        entry, mistake = mistakes[0]
        raise _fault(entry, mistake, where) from mistake
    if claims:
        raise UnknownFormat(
            refused.file_could_be(tuple(Quoted(entry.name) for entry in claims)),
            where=where,
            mend=refused.MEND_EXPORT_OTHER,
        )
    raise UnknownFormat(refused.file_no_recording(describe_unknown(head)), where=where, mend=refused.MEND_FORMATS)


def parse(data: bytes, source: Source) -> Recording:
    """Read one file's bytes, uncleaned, with its provenance.

    Raises
    ------
    IngestError
        With the sentence that says why; a reader's own mistake is one too (``ReaderFault``), so that one bad file
        never stops the others.
    """
    entry = detect(data[:HEAD_BYTES], source.name)
    try:
        recording = entry.read(data, source)
    except (IngestError, Warning):  # a warning that is an error (tests ask for that) stays one
        raise
    except Exception as mistake:
        raise _fault(entry, mistake, source.name) from mistake
    reader = f"ownmark.{entry.read.__module__.split('.')[-1]}"
    provenance = Provenance(source.name, source.sha256, entry.name, reader, content_sha256=source.content_sha256)
    of = tuple(replace(each, path=source.name) for each in recording.sources) or (provenance,)  # an excerpt's own file
    return replace(with_spans(recording), sources=of, marks=_nameless(recording.marks))


def _fault(entry: Format, mistake: Exception, where: str) -> ReaderFault:
    """The refusal for a reader's own mistake."""
    return ReaderFault(
        refused.file_fault(Quoted(entry.name), Quoted(type(mistake).__name__)), where=where, mend=refused.MEND_REPORT
    )


def _nameless(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """Marks without the free text that a person typed into the file: it could be a name."""
    return tuple(
        replace(mark, label=f"annotation {number}") if _typed(mark) else mark for number, mark in enumerate(marks, 1)
    )


def _typed(mark: Mark) -> bool:
    """Whether a mark bears free text, and not the number that stands for it."""
    return mark.kind == "annotation" and _NUMBERED.fullmatch(mark.label) is None
