"""The open movement recordings of the folder of real data, read without ownmark's readers."""

import gzip
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.recording import ACCELERATION, Stream

from tests.makers.motion import GRAVITY, stream

Floats = NDArray[np.float64]


def at_rate(values: Floats, rate_hz: float) -> Stream:
    """Rows of acceleration at equal steps."""
    return stream(ACCELERATION, np.arange(len(values)) / rate_hz, np.asarray(values, dtype=float))


def pieces(real_dir: Path, part: str) -> list[tuple[str, Floats]]:
    """(label, acceleration in m/s²) of each piece of BasicMotions; 10 s at 10 Hz, gravity removed."""
    out = []
    for line in _lines(real_dir / f"BasicMotions_{part}.ts.gz"):
        if line and line[0] not in "#@":
            *channels, label = line.split(":")
            out.append(
                (label.lower(), np.array([[float(v) for v in channel.split(",")] for channel in channels[:3]]).T)
            )
    return out


def shank(real_dir: Path) -> Floats:
    """Acceleration in m/s² at 120 Hz: about two seconds still, then walking."""
    return np.array(
        [[float(cell) for cell in row.split("\t")[1:4]] for row in _lines(real_dir / "shank_120hz.txt.gz")[5:]]
    )


def waist(real_dir: Path) -> Stream:
    """Three walks at 50 Hz in g, with its own time stamps from 10:25:50 on."""
    rows = [row.split(",") for row in _lines(real_dir / "waist_walks_50hz.csv.gz")[100:]]
    clock = [datetime.strptime(row[0], "%Y-%m-%d %H:%M:%S:%f") for row in rows]  # noqa: DTZ007
    time = np.array([(moment - clock[0]).total_seconds() for moment in clock])
    return stream(ACCELERATION, time, np.array([[float(cell) for cell in row[1:4]] for row in rows]))


def table(real_dir: Path, name: str, rate_hz: float) -> Stream:
    """A table of three columns in g without a clock."""
    return at_rate(np.loadtxt(real_dir / name, delimiter=",", skiprows=1), rate_hz)


def in_g(metres_per_second_squared: Floats) -> Floats:
    return metres_per_second_squared / GRAVITY


def _lines(path: Path) -> list[str]:
    return gzip.decompress(path.read_bytes()).decode().splitlines()
