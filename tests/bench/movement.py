"""Movement and waveforms: a table to figures against a bare parse, a school day in memory, an ECG in real time."""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from ownmark.ingest import read
from ownmark.metrics import Asked, effort

from tests.bench.clock import median, ratio, side_by_side

_RATE_HZ = 100


def table(seconds: int, path: Path) -> None:
    time_s = np.arange(seconds * _RATE_HZ) / _RATE_HZ
    rng = np.random.default_rng(5)
    going = (time_s % 300) < 270
    angle = 2 * np.pi * 0.9 * time_s
    columns = {
        "Time (s)": time_s,
        "Accelerometer X (g)": 0.2 * going * np.sin(angle) + rng.normal(0, 0.006, len(time_s)),
        "Accelerometer Y (g)": 0.1 * going * np.cos(angle) + rng.normal(0, 0.006, len(time_s)),
        "Accelerometer Z (g)": 1.0 + rng.normal(0, 0.006, len(time_s)),
    }
    pd.DataFrame(columns).to_csv(path, index=False, float_format="%.4f")


def tables() -> None:
    """20 min at 100 Hz, file to figures, over a bare `pandas.read_csv`, and how much of it is reading.

    Then the same in a process that never gives memory back: how much the system takes for fetching it again differs
    from run to run, and weighs differently on the two.
    """
    print("20 min of 100 Hz acceleration, CSV to figures")
    one_table()
    never = "2000000000"
    kept = os.environ | {"MALLOC_TRIM_THRESHOLD_": never, "MALLOC_MMAP_THRESHOLD_": never}  # read by the GNU allocator
    code = "from tests.bench.movement import one_table; one_table()"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True, env=kept).stdout
    print("the same, with no memory given back to the system")
    print(shown, end="")


def one_table() -> None:
    """One comparison in this process."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wrist.csv"
        table(1200, path)
        asked = Asked(placement="wrist")
        jobs = {
            "ownmark": lambda: effort(read(path), None, None, asked),
            "pandas": lambda: pd.read_csv(path),
            "reading": lambda: read(path),
        }
        spent = side_by_side(jobs, 15)
    print(
        f"  {1000 * median(spent['ownmark']):.0f} ms, {ratio(spent, 'ownmark', 'pandas'):.2f} times pandas.read_csv "
        f"({1000 * median(spent['pandas']):.0f} ms); {ratio(spent, 'reading', 'pandas'):.2f} times is reading"
    )


def long_days() -> None:
    """Cost per hour and memory up to 8 h, each in a process of its own."""
    print("100 Hz acceleration, CSV to figures, each in its own process")
    with tempfile.TemporaryDirectory() as folder:
        for hours in (1, 4, 8):
            path = Path(folder) / f"{hours}.csv"
            table(3600 * hours, path)
            code = (
                "import resource, sys, time\n"
                "from ownmark.ingest import read; from ownmark.metrics import Asked, effort\n"
                "began = time.perf_counter(); effort(read(sys.argv[1]), None, None, Asked(placement='wrist'))\n"
                "print(time.perf_counter() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
            )
            words = [sys.executable, "-c", code, str(path)]
            seconds, megabytes = subprocess.run(words, capture_output=True, check=True, text=True).stdout.split()
            print(f"  {hours} h: {float(seconds) / hours:.2f} s an hour, {float(megabytes):.0f} MiB at the most")


def waves() -> None:
    """Beats of a 10 min ECG at 250 Hz."""
    rate, seconds = 250, 600
    time_s = np.arange(rate * seconds) / rate
    beat = (time_s % 0.8) - 0.2
    wave = np.exp(-0.5 * (beat / 0.012) ** 2) + 0.2 * np.exp(-0.5 * ((beat - 0.25) / 0.04) ** 2)
    wave += np.random.default_rng(6).normal(0, 0.02, len(wave))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ecg.csv"
        pd.DataFrame({"Time (s)": time_s, "ECG (mV)": wave}).to_csv(path, index=False, float_format="%.4f")
        read(path)  # imports
        began = time.perf_counter()
        found = read(path)["rr_interval"]
        spent = time.perf_counter() - began
    print("10 min of ECG at 250 Hz, file to beats")
    print(f"  {spent:.2f} s, {seconds / spent:.0f} times real time, {len(found)} intervals")
