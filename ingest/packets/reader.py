"""Heart-rate packets: a time and the bytes of one Bluetooth SIG Heart Rate Measurement (0x2A37) on each line.

Source: Bluetooth SIG, Heart Rate Service and its characteristic 0x2A37: flags (bit 0: heart rate is 16 bits wide;
bits 1 and 2: skin contact; bit 3: energy; bit 4: RR intervals), heart rate, energy [kJ], RR [1/1024 s], all
little-endian, the oldest interval first.
"""

import re
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

import numpy as np

from ...errors import DamagedFile
from ...words.message import Message
from .. import messages as say
from ..flags import CONTACT, Flag
from ..limits import MOST_BEATS, refuse_many, refuse_many_lines
from ..recording import HEART_RATE, RR_INTERVAL, Recording, Source, Stream
from ..span import span_of
from ..table.axis import TimeAxis
from ..table.columns import Column, recognise
from ..table.times import times_of_cells
from ..text_encoding import decode, each_line, head_lines
from .beats import chain
from .lines import WITH_COMMA, WITH_POINT, is_written_in_hex, split_line

RR_PER_SECOND = 1024
"""Parts of a second in which RR is counted: not ms, which would be 2.4 % off."""

_WIDE, _CONTACT_KNOWN, _ENERGY, _RR = 0x01, 0x04, 0x08, 0x10
_CONTACT = 0x02
_SHARE = 0.8
_SAMPLE_LINES = 200


@dataclass(frozen=True, slots=True)
class Packet:
    """One decoded packet.

    heart_rate : [/min]
    contact : None where the sensor cannot tell; False is "no skin contact"
    energy_kj : energy since the last reset [kJ], None where it is not sent
    rr_s : RR intervals [s], the oldest first
    complete : False where the packet is longer or shorter than its flags say
    """

    heart_rate: int
    contact: bool | None
    energy_kj: int | None
    rr_s: tuple[float, ...]
    complete: bool


@dataclass(frozen=True, slots=True)
class _Log:
    """The lines of a log that hold a time and bytes, and the lines, from 1, that do not.

    A packet that ends before its heart rate does is None: its time is known, and nothing was measured.
    """

    header: str
    times: Sequence[str]
    packets: Sequence[Packet | None]
    lines: Sequence[int]
    unreadable: Sequence[int]


def decode_packet(payload: bytes) -> Packet:
    """Decode the bytes of one Heart Rate Measurement. The reserved bits 5 to 7 are ignored.

    An RR value of which one byte is missing is not read; the heart rate before it stands.

    Raises
    ------
    DamagedFile
        If the packet ends before its heart rate does.
    """
    flags = payload[0] if payload else 0
    at = 3 if flags & _WIDE else 2
    if len(payload) < at:
        raise DamagedFile("a packet ends before its heart rate does.", mend="Record it again.")
    heart_rate = int.from_bytes(payload[1:at], "little")
    contact = bool(flags & _CONTACT) if flags & _CONTACT_KNOWN else None
    energy_kj, complete = None, True
    if flags & _ENERGY:
        complete = len(payload) >= at + 2
        energy_kj = int.from_bytes(payload[at : at + 2], "little") if complete else None
        at += 2
    pairs = range(at, len(payload) - 1, 2) if flags & _RR else range(0)
    rr_s = tuple(int.from_bytes(payload[pair : pair + 2], "little") / RR_PER_SECOND for pair in pairs)
    return Packet(heart_rate, contact, energy_kj, rr_s, complete and len(payload) == at + 2 * len(rr_s))


@lru_cache(maxsize=4)  # tables and lists ask it too
def sniff(head: bytes) -> bool:
    """Tell whether lines are a time and the bytes of a heart-rate packet, written so that they are no numbers.

    head : the first 4096 bytes. Rubbish is False, never an error.
    """
    lines = head_lines(head)
    filled = [line for line in lines or () if line.strip() and not line.lstrip().startswith("#")]
    if not filled:
        return False
    form = _form(filled[:_SAMPLE_LINES])
    found = [split_line(line, form) for line in filled]
    rows = found[1:] if found[0] is None else found
    whole = sum(pair is not None and _is_whole(pair[1]) for pair in rows)
    return whole > 0 and whole >= _SHARE * len(rows) and any(is_written_in_hex(line, form) for line in filled)


def read(data: bytes, source: Source) -> Recording:
    """Read a log of packets.

    Returns
    -------
    Recording with ``heart_rate``, one sample a packet, at the packet's time, and ``rr_interval``, if any packet
    holds one, on the running clock of ``packet_beats``. Samples of packets whose sensor says that it has no skin
    contact are flagged ``NO_CONTACT``; where it says that it has, the bit ``CONTACT`` tells the rules. An RR interval
    that ended at the first stamp starts before time 0.

    Raises
    ------
    DamagedFile, UnclearColumns
        If no line can be read, or no time.
    """
    refuse_many_lines(data, MOST_BEATS, "packets", source.name)
    text, notes = decode(data)
    log = _log(text)
    refuse_many(len(log.packets), MOST_BEATS, "packets", source.name)
    if not any(log.packets):
        raise DamagedFile(
            "no line holds a time and a heart-rate packet.",
            where=source.name,
            mend="Write a packet on each line, for example '12.5,16 4D 16 03'.",
        )
    axis = _times(log, source)
    timed = np.flatnonzero(np.isfinite(axis.time) & np.array([packet is not None for packet in log.packets]))
    if not len(timed):
        raise DamagedFile("no packet has a usable time.", where=source.name, mend="Record it again.")
    time = axis.time[timed]
    packets = [packet for at in timed.tolist() if (packet := log.packets[at]) is not None]
    flags = np.fromiter(map(_flags, packets), np.uint16)
    rates = np.fromiter((packet.heart_rate for packet in packets), np.float64)
    streams = [Stream.from_samples(HEART_RATE, time, rates, flags=flags, source=source.name)]
    beats = chain(time.tolist(), [packet.rr_s for packet in packets])
    if len(beats.rr_s):
        streams.append(
            Stream.from_samples(
                RR_INTERVAL,
                beats.start_s,
                beats.rr_s,
                cover_s=beats.rr_s,
                flags=flags[beats.packet],
                source=source.name,
            )
        )
    broken = tuple(log.lines[timed[at]] for at in beats.breaks)
    told = (*notes, *axis.notes, *_losses(log, axis, broken))
    ran_s = span_of(axis.time)
    return Recording(streams=tuple(streams), start=axis.start, clock_s=axis.clock_s, notes=told, ran_s=ran_s)


def _form(lines: list[str]) -> re.Pattern[str]:
    """Decimal point or comma in the times: the form in which more lines are whole packets; a point if both are."""

    def whole(form: re.Pattern[str]) -> int:
        return sum((pair := split_line(line, form)) is not None and _is_whole(pair[1]) for line in lines)

    return WITH_COMMA if whole(WITH_COMMA) > whole(WITH_POINT) else WITH_POINT


def _is_whole(payload: bytes) -> bool:
    """Tell whether bytes are a packet that ends where its flags say, or with half an RR value."""
    packet = _packet(payload)
    return packet is not None and (packet.complete or bool(payload[0] & _RR))


def _rows(text: str) -> Iterator[tuple[int, str]]:
    """Lines with their numbers, from 1, without blank ones and comments."""
    return (
        (number, line)
        for number, line in enumerate(each_line(text), 1)
        if line.strip() and not line.lstrip().startswith("#")
    )


def _log(text: str) -> _Log:
    """Read every line; a first one that is no packet is the header."""
    form = _form([line for _, line in islice(_rows(text), _SAMPLE_LINES)])
    header = ""
    times, packets, places, unreadable = [], [], array("q"), []
    known: dict[bytes, Packet | None] = {}  # a day of packets has few different ones
    for place, (number, line) in enumerate(_rows(text)):
        pair = split_line(line, form)
        if pair is not None:
            times.append(pair[0])
            if pair[1] not in known:
                known[pair[1]] = _packet(pair[1])
            packets.append(known[pair[1]])
            places.append(number)
        elif place:
            unreadable.append(number)
        else:
            header = line
    return _Log(header, times, packets, places, unreadable)


def _packet(payload: bytes) -> Packet | None:
    """The packet, None where it ends before its heart rate does."""
    try:
        return decode_packet(payload)
    except DamagedFile:
        return None


def _times(log: _Log, source: Source) -> TimeAxis:
    """Times of the packets, with the unit that the header's first cell states."""
    first = re.split(r"[,;\t|]", log.header)[0]
    column = recognise(first) or Column(0, first, "time")
    return times_of_cells(
        log.times,
        unit=column.unit if column.part == "time" else None,
        words=column.words,
        fastest=HEART_RATE,
        zone=source.hints.zone,
        where=source.name,
    )


def _flags(packet: Packet) -> int:
    """The flags that a packet's samples begin with."""
    if packet.contact is None:
        return int(Flag.UNCHECKED)
    return Flag.UNCHECKED | (CONTACT if packet.contact else int(Flag.NO_CONTACT))


def _losses(log: _Log, axis: TimeAxis, broken: tuple[int, ...]) -> list[Message]:
    """What could not be read, counted, with the first line."""
    packets = log.packets
    short = [log.lines[at] for at, packet in enumerate(packets) if packet is None]
    odd = [log.lines[at] for at, packet in enumerate(packets) if packet is not None and not packet.complete]
    untimed = [log.lines[at] for at in np.flatnonzero(~np.isfinite(axis.time)).tolist() if packets[at] is not None]
    told = (
        (say.packets_no_packet, log.unreadable),
        (say.packets_short, short),
        (say.unread_packets, odd),
        (say.packets_untimed, untimed),
        (say.packets_broken, broken),
    )
    return [what(len(lines), lines[0]) for what, lines in told if lines]
