"""Writers for the demo files: just enough of each format to be read by anyone's reader."""

import struct
from datetime import datetime, timedelta

import numpy as np
from fastcrc import crc16
from numpy.typing import NDArray

_FIT_EPOCH_OFFSET_S = 631_065_600  # from the Unix epoch to the FIT epoch
_RECORD, _LAP, _ACTIVITY, _FILE_ID = 20, 19, 34, 0
_UINT32, _UINT8, _ENUM = 0x86, 0x02, 0x00


def fit(start: datetime, bpm: NDArray[np.int64], laps_s: tuple[int, ...], utc_offset_s: int) -> bytes:
    """A FIT file: one record a second, laps of the given lengths, the device's local time."""
    begin = int(start.timestamp()) - _FIT_EPOCH_OFFSET_S
    body = _definition(0, _FILE_ID, ((0, 1, _ENUM), (4, 4, _UINT32))) + struct.pack("<BBI", 0, 4, begin)
    body += _definition(1, _RECORD, ((253, 4, _UINT32), (3, 1, _UINT8)))
    body += b"".join(struct.pack("<BIB", 1, begin + second, rate) for second, rate in enumerate(bpm.tolist()))
    body += _definition(2, _LAP, ((253, 4, _UINT32), (2, 4, _UINT32), (7, 4, _UINT32)))
    now = begin
    for seconds in laps_s:
        body += struct.pack("<BIII", 2, now + seconds, now, 1000 * seconds)
        now += seconds
    body += _definition(3, _ACTIVITY, ((253, 4, _UINT32), (5, 4, _UINT32)))
    body += struct.pack("<BII", 3, now, now + utc_offset_s)
    head = struct.pack("<BBHI4s", 14, 0x10, 2132, len(body), b".FIT")
    head += struct.pack("<H", crc16.arc(head))
    return head + body + struct.pack("<H", crc16.arc(head + body))


def _definition(local: int, message: int, fields: tuple[tuple[int, int, int], ...]) -> bytes:
    """A little-endian definition message; a field is (number, size, base type)."""
    return struct.pack("<BBBHB", 0x40 | local, 0, 0, message, len(fields)) + b"".join(
        struct.pack("BBB", *entry) for entry in fields
    )


def tcx(start: datetime, bpm: NDArray[np.int64], laps_s: tuple[int, ...]) -> bytes:
    """A TCX file, without a namespace: a lap for each phase, a point a second."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        "<TrainingCenterDatabase>",
        f' <Activities><Activity Sport="Other"><Id>{_iso(start)}</Id>',
    ]
    second = 0
    for seconds in laps_s:
        lines.append(
            f'  <Lap StartTime="{_iso(start + timedelta(seconds=second))}">'
            f"<TotalTimeSeconds>{seconds}</TotalTimeSeconds><Track>"
        )
        lines += [
            f"   <Trackpoint><Time>{_iso(start + timedelta(seconds=moment))}</Time>"
            f"<HeartRateBpm><Value>{bpm[moment]}</Value></HeartRateBpm></Trackpoint>"
            for moment in range(second, second + seconds)
        ]
        lines.append("  </Track></Lap>")
        second += seconds
    lines += [" </Activity></Activities>", "</TrainingCenterDatabase>", ""]
    return "\n".join(lines).encode()


def gpx(start: datetime, bpm: NDArray[np.int64]) -> bytes:
    """A GPX 1.1 file from indoors: points that do not move, heart rate in an extension."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="ownmark" xmlns="http://www.topografix.com/GPX/1/1" xmlns:heart="urn:heart-rate">',
        " <trk><trkseg>",
    ]
    lines += [
        f'  <trkpt lat="0.0" lon="0.0"><time>{_iso(start + timedelta(seconds=second))}</time>'
        f"<extensions><heart:hr>{rate}</heart:hr></extensions></trkpt>"
        for second, rate in enumerate(bpm.tolist())
    ]
    lines += [" </trkseg></trk>", "</gpx>", ""]
    return "\n".join(lines).encode()


def packets(start: datetime, rr_s: NDArray[np.float64]) -> bytes:
    """A log of heart-rate packets, one a second: the time, then the bytes of the 0x2A37 characteristic in hex."""
    ends = np.cumsum(rr_s)
    lines, sent = ["time,heart rate measurement"], 0
    for second in range(1, int(ends[-1]) + 1):
        upto = int(np.searchsorted(ends, second, side="right"))
        new = rr_s[sent:upto]
        if not len(new):
            continue
        sent = upto
        payload = bytes([0x16, round(60.0 / float(new.mean()))])
        payload += b"".join(struct.pack("<H", round(float(interval) * 1024)) for interval in new)
        lines.append(f"{_iso(start + timedelta(seconds=second))},{payload.hex(' ')}")
    return "\n".join([*lines, ""]).encode()


def semicolons(start: datetime, bpm: NDArray[np.int64]) -> bytes:
    """A table as a spreadsheet with decimal commas writes it: local clock, heart rate, skin temperature."""
    lines = ["Fecha y hora;FC (lpm);Temperatura piel (°C)"]
    lines += [
        f"{(start + timedelta(seconds=second)):%Y-%m-%d %H:%M:%S};{rate};{31 + second / 1000:.2f}".replace(".", ",")
        for second, rate in enumerate(bpm.tolist())
    ]
    return "\n".join([*lines, ""]).encode()


def rr_list(rr_s: NDArray[np.float64]) -> bytes:
    """RR intervals in whole ms, one a line."""
    return "\n".join([*(str(round(1000 * float(interval))) for interval in rr_s), ""]).encode()


def _iso(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")
