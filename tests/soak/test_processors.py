"""No result hangs on the processor: the numeric checks again with the kernels that other processors would use.

OpenBLAS is told which processor to take itself for, and numpy not to use the widest instructions. What a simulator or a
filter gives then differs in its last digits, and a decision that stands on the edge falls to the other side.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.soak

ROOT = Path(__file__).resolve().parents[2]
NEEDS = {"Haswell": {"avx2", "fma"}, "SkylakeX": {"avx512f", "avx512bw", "avx512vl"}, "Zen": {"avx2", "fma"}}
TAKEN = """
from threadpoolctl import threadpool_info
import numpy, scipy.linalg
print({each.get("architecture") for each in threadpool_info()})
"""


def flags():
    """What this processor can do, by the names of Linux."""
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
    except OSError:
        return set()
    return set(next((line.partition(":")[2] for line in lines if line.startswith("flags")), "").split())


def narrow():
    """What makes numpy use only the instructions that every processor of this kind has."""
    from numpy._core._multiarray_umath import __cpu_dispatch__, __cpu_features__

    return {"NPY_DISABLE_CPU_FEATURES": " ".join(name for name in __cpu_dispatch__ if __cpu_features__.get(name))}


@pytest.mark.parametrize(
    ("core", "wide"), [("Haswell", True), ("Haswell", False), ("SkylakeX", True), ("Zen", True)], ids=str
)
def test_the_numeric_checks_hold_with_the_kernels_of(core, wide):
    if not NEEDS[core] <= flags():
        pytest.skip(f"this processor cannot run the kernels of {core}")
    # A size of the cache that somebody set would hide the core's own; CI is for the outer run.
    kept = {name: value for name, value in os.environ.items() if name not in ("OPENBLAS_L2_SIZE", "CI")}
    there = kept | {"OPENBLAS_CORETYPE": core} | ({} if wide else narrow())
    taken = subprocess.run([sys.executable, "-c", TAKEN], env=there, capture_output=True, text=True, check=True).stdout
    print(f"{core}: OpenBLAS takes {taken.strip()}")
    tests = sorted(str(path) for path in (ROOT / "tests").glob("test_*.py"))
    words = [sys.executable, "-m", "pytest", "-q", "-n", "2", "--dist", "worksteal", "-m", "not soak", *tests]
    done = subprocess.run(words, check=False, cwd=ROOT, env=there, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-8000:]
