"""EDF and EDF+: the open format of recorders of waveforms, which carries movement and heart rate as well.

Values come from edfio; where they lie, and the times of records, from ``edf_header`` and ``edf_annotations``, because a
file that is cut off or damaged must keep its whole records. What a channel is, is decided in ``edf_channels``.

The format states no zone, so ``start`` has none. Nothing of the patient, the recording or the device is kept.
"""

import warnings
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile, NothingMeasured
from ...words.message import Message
from ...words.render import english
from .. import messages as say
from .. import refusal_messages as refused
from ..limits import MOST_SAMPLES, refuse_many
from ..recording import HEART_RATE, WAVEFORM, Mark, Recording, Source, Stream
from ..table.streams import HEART_RATES
from .annotations import FURTHEST_S, Noted, annotations, record_times
from .channels import Part, assign_channels, unused
from .header import Header, looks_like_edf, parse_header, start_of

if TYPE_CHECKING:
    from edfio import Edf

Floats = NDArray[np.float64]
_FAULTS = (ValueError, ArithmeticError, LookupError, TypeError, AttributeError, NameError, AssertionError, MemoryError)
"""What edfio raises at headers that are no EDF; the last but two because it names a rate only where it can."""


def sniff(head: bytes) -> bool:
    """Tell an EDF file by the fields of its header."""
    return looks_like_edf(head)


def read(data: bytes, source: Source) -> Recording:
    """Read a file: ECGs, pulse waves, acceleration, angular rate, heart rate, and annotations as marks.

    Raises
    ------
    DamagedFile
        If the header cannot be read, or not one record is whole.
    NothingMeasured
        If no channel is one that ownmark uses.
    TooLarge
        If a channel holds more than a day of samples, at 200 a second.
    """
    header = parse_header(data)
    if header is None:
        raise DamagedFile(refused.FILE_EDF_HEADER, where=source.name, mend=refused.MEND_EXPORT_DEVICE)
    parts, notes = assign_channels(header.channels)
    if not parts:
        what = "no channel of this EDF file is heart rate, an ECG, a pulse wave or movement."
        raise NothingMeasured(
            " ".join([what, *map(english, notes)]), where=source.name, mend="Use the file of another sensor."
        )
    if not header.record_s or not header.record_size:
        raise DamagedFile(refused.FILE_EDF_NO_LENGTH, where=source.name, mend=refused.MEND_EXPORT_DEVICE)
    noted, records = _records(data, header, notes, source)
    samples = max(header.channels[number].samples for part in parts for number in part.channels)
    refuse_many(records * samples, MOST_SAMPLES, "samples", source.name)
    begin_s, even = record_times(noted.onset_s, header.record_s)
    streams = _streams(data, header, parts, records, None if even else begin_s, notes, source)
    if not streams:
        what = f"no channel of this EDF file can be used. {' '.join(map(english, notes))}"
        raise NothingMeasured(what, where=source.name, mend="Use the file of another sensor.")
    if told := unused(header.channels, parts):
        notes.append(told)
    first_s = float(noted.onset_s[0]) if np.isfinite(noted.onset_s[:1]).all() and len(noted.onset_s) else 0.0
    start, clock_s = _start(data, first_s, notes)
    return Recording(
        streams=tuple(streams),
        start=start,
        clock_s=clock_s,
        marks=_placed(noted.marks, first_s, notes),
        notes=tuple(notes),
    )


def _records(data: bytes, header: Header, notes: list[Message], source: Source) -> tuple[Noted, int]:
    """How many whole records there are, and what they say of themselves; what is wrong with them is noted."""
    held, rest = divmod(len(data) - header.size, header.record_size)
    stated = header.stated_records
    if held <= 0:
        raise DamagedFile(refused.FILE_EDF_CUT, where=source.name, mend=refused.MEND_EXPORT_DEVICE)
    if 0 < stated < held and not header.annotated:
        behind = len(data) - header.size - stated * header.record_size
        notes.append(say.unread_behind_stated(behind, stated))
        held = stated
    elif stated > held or (rest and stated != held):
        notes.append(say.edf_cut_off_of(held + 1, stated) if stated > held else say.edf_cut_off(held + 1))
    elif rest:
        notes.append(say.unread_behind_last(rest))
    elif 0 < stated < held:
        notes.append(say.edf_stated(stated, held))
    noted = annotations(data, header, held)
    if not header.annotated or not noted.lost:
        return noted, held
    readable = np.flatnonzero(np.isfinite(noted.onset_s))
    if not len(readable):
        raise DamagedFile(refused.FILE_EDF_NOT_THERE, where=source.name, mend=refused.MEND_EXPORT_DEVICE)
    kept = int(readable[-1]) + 1
    if held - kept > 1:
        notes.append(say.unread_records(held - kept, kept + 1))
        held = kept
    lost = int(np.count_nonzero(np.isnan(noted.onset_s[:held])))
    if lost:
        notes.append(say.edf_untimed(lost))
    return noted._replace(onset_s=noted.onset_s[:held], lost=lost), held


def _streams(
    data: bytes,
    header: Header,
    parts: list[Part],
    records: int,
    begin_s: Floats | None,
    notes: list[Message],
    source: Source,
) -> list[Stream]:
    """A stream for each part; channels of one rate share their times."""
    edf = _opened(data, header, records, source)
    ordinary = [number for number, channel in enumerate(header.channels) if not channel.notes]
    times: dict[int, Floats] = {}
    streams = []
    for part in parts:
        scaled = all(header.channels[number].scaled for number in part.channels)
        if not scaled and part.name != WAVEFORM:
            notes.append(say.edf_no_scale(part.name))
            continue
        signals = [edf.signals[ordinary.index(number)] for number in part.channels]
        values = [signal.data if scaled else signal.digital.astype(np.float64) for signal in signals]
        samples = header.channels[part.channels[0]].samples
        if any(len(column) != records * samples for column in values):
            raise _contradicts(source)
        if samples not in times:
            times[samples] = _times(samples, records, header.record_s, begin_s)
        stacked = np.column_stack(values) if len(values) > 1 else values[0]
        if part.unit is not None and part.name != WAVEFORM and part.unit.times != part.unit.over:
            stacked = stacked * part.unit.times / part.unit.over
        if part.name == HEART_RATE and part.unit is None and not _can_be_heart_rate(stacked):
            notes.append(say.EDF_NO_HEART_RATE)
            continue
        streams.append(Stream.from_samples(part.name, times[samples], stacked, source=source.name, kind=part.kind))
    return streams


def _opened(data: bytes, header: Header, records: int, source: Source) -> "Edf":
    """The file as edfio sees it; its warnings tell nothing that is not known by now.

    edfio takes the size of the header from a field that may be damaged: it is given the true one.
    """
    from edfio import read_edf

    size = str(header.size).encode().ljust(8)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return read_edf(data[:184] + size + data[192 : header.size + records * header.record_size])
        except _FAULTS as fault:
            raise _contradicts(source) from fault


def _contradicts(source: Source) -> DamagedFile:
    """The refusal of a header of which one field does not fit another."""
    return DamagedFile(refused.FILE_EDF_CONTRADICTS, where=source.name, mend=refused.MEND_EXPORT_DEVICE)


def _times(samples: int, records: int, record_s: float, begin_s: Floats | None) -> Floats:
    """When each sample was taken [s] from the first record, shape (records * samples,)."""
    if begin_s is None:
        return np.arange(records * samples) * record_s / samples
    return (begin_s[:, None] + np.arange(samples) * record_s / samples).ravel()


def _can_be_heart_rate(values: Floats) -> bool:
    """Tell whether the middle of the values other than 0 is one that a heart can have."""
    asked = values[values > 0]
    return bool(len(asked)) and HEART_RATES[0] <= float(np.median(asked)) <= HEART_RATES[1]


def _start(data: bytes, first_s: float, notes: list[Message]) -> tuple[datetime | None, float | None]:
    """Wall clock at the first record, or only the time of day where the file keeps its date to itself."""
    day, clock = start_of(data)
    if clock is None:
        notes.append(say.EDF_NO_START)
        return None, None
    if day is not None:
        return datetime.combine(day, clock) + timedelta(seconds=first_s), None
    seconds = clock.hour * 3600.0 + clock.minute * 60 + clock.second + first_s
    known = seconds > 0
    notes.append(say.EDF_ONLY_TIME if known else say.EDF_NO_DATE)
    return None, seconds if known else None


def _placed(marks: list[Mark], first_s: float, notes: list[Message]) -> tuple[Mark, ...]:
    """Marks in seconds from the first record, in order of time; broken ones are counted."""
    placed = [
        Mark(
            round(mark.time_s - first_s, 6),
            mark.kind,
            mark.label,
            None if mark.until_s is None else round(mark.until_s - first_s, 6),
        )
        for mark in marks
        if abs(mark.time_s - first_s) <= FURTHEST_S
    ]
    if len(placed) < len(marks):
        notes.append(say.edf_far_annotations(len(marks) - len(placed)))
    return tuple(sorted(placed, key=lambda mark: mark.time_s))
