"""The files that benchmarks read: a wandering heart rate, one value a second."""

import struct
from datetime import UTC, datetime, timedelta

import numpy as np
from fastcrc import crc16

_BEGIN = datetime(2026, 5, 12, 14, 5, tzinfo=UTC)
_EPOCH = datetime(1989, 12, 31, tzinfo=UTC)


def _rates(seconds: int) -> list[int]:
    wander = np.cumsum(np.random.default_rng(7).normal(0, 0.7, seconds))
    return np.clip(np.rint(125 + 25 * np.sin(wander / 20)), 60, 190).astype(int).tolist()


def fit_file(seconds: int) -> bytes:
    """FIT: time stamp, heart rate, cadence and distance in each record, as a common strap and watch write."""
    begin = int((_BEGIN - _EPOCH).total_seconds())
    fields = ((253, 4, 0x86), (3, 1, 0x02), (4, 1, 0x02), (5, 4, 0x86))
    body = b"\x40\x00\x00" + struct.pack("<HB", 0, 2) + bytes((0, 1, 0, 4, 4, 0x86)) + struct.pack("<BBI", 0, 4, begin)
    body += b"\x41\x00\x00" + struct.pack("<HB", 20, len(fields)) + b"".join(bytes(field) for field in fields)
    body += b"".join(
        struct.pack("<BIBBI", 1, begin + second, rate, 55, 120 * second) for second, rate in enumerate(_rates(seconds))
    )
    head = struct.pack("<BBHI4s", 14, 0x10, 2132, len(body), b".FIT")
    head += struct.pack("<H", crc16.arc(head))
    return head + body + struct.pack("<H", crc16.arc(head + body))


def tcx_file(seconds: int) -> bytes:
    """TCX with one lap."""
    points = "".join(
        f"<Trackpoint><Time>{_stamp(second)}</Time><HeartRateBpm><Value>{rate}</Value></HeartRateBpm></Trackpoint>\n"
        for second, rate in enumerate(_rates(seconds))
    )
    return (
        "<TrainingCenterDatabase><Activities><Activity Sport='Other'>"
        f"<Lap StartTime='{_stamp(0)}'><TotalTimeSeconds>{seconds}</TotalTimeSeconds><Track>\n{points}"
        "</Track></Lap></Activity></Activities></TrainingCenterDatabase>"
    ).encode()


def gpx_file(seconds: int) -> bytes:
    """GPX 1.1 with heart rate in an extension."""
    points = "".join(
        f'<trkpt lat="0" lon="0"><time>{_stamp(second)}</time>'
        f"<extensions><x:TrackPointExtension><x:hr>{rate}</x:hr></x:TrackPointExtension></extensions></trkpt>\n"
        for second, rate in enumerate(_rates(seconds))
    )
    return (
        '<gpx version="1.1" creator="made" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x"><trk><trkseg>\n'
        f"{points}</trkseg></trk></gpx>"
    ).encode()


def _stamp(second: int) -> str:
    return f"{_BEGIN + timedelta(seconds=second):%Y-%m-%dT%H:%M:%SZ}"
