"""Whole commands, cold: each as a process of its own, side by side with a bare interpreter."""

import sys
import tempfile
from pathlib import Path

from tests.bench.clock import median, process, ratio, side_by_side
from tests.bench.files import fit_file


def cold() -> None:
    """Help against `python -c pass`; one 20 min FIT to a sheet."""
    ownmark = str(Path(sys.executable).with_name("ownmark"))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "strap.fit"
        path.write_bytes(fit_file(1200))
        spent = side_by_side(
            {
                "bare": process([sys.executable, "-c", "pass"]),
                "help": process([ownmark, "--help"]),
                "effort": process([ownmark, "effort", str(path), "--rest", "70", "--max", "195"]),
            },
            15,
        )
    print("Whole commands, cold")
    print(f"  ownmark --help: {ratio(spent, 'help', 'bare'):.1f} times a bare `python -c pass`")
    print(f"  ownmark effort on 20 min of FIT: {median(spent['effort']):.2f} s")
