"""A district's logbook: adding figures in bulk, every student's change, and opening it cold."""

import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from ownmark.metrics.figure import EffortSheet
from ownmark.records import open_logbook
from ownmark.records.change.shapes import Comparison
from ownmark.records.judging import judge_all
from ownmark.records.store.many_trials import add_trials

from tests.outside.database import programs
from tests.records.store.made import protocol, sheet, student, trial
from tests.records.store.server import Server

STUDENTS = 10_000
DAYS = (date(2025, 10, 6), date(2026, 5, 11))


def district(students: int = STUDENTS) -> None:
    """Print the figures for SQLite and, where its programs are, for PostgreSQL."""
    print(f"A logbook of {students} students with 2 trials each")
    with tempfile.TemporaryDirectory() as folder:
        _measure("SQLite", str(Path(folder) / "logbook.db"), students)
    if programs() is None:
        print("  PostgreSQL: its server programs are not on this machine")
        return
    server = Server(programs(), settings=())
    try:
        _measure("PostgreSQL", server.url(), students)
    finally:
        server.stop()


def _measure(name: str, place: str, students: int) -> None:
    """Fill, judge, open."""
    codes = [f"D-{number:05d}" for number in range(students)]
    with open_logbook(place) as logbook:
        logbook.add_protocol(protocol())
        begin = time.perf_counter()
        logbook.add_students([student(code) for code in codes])
        added = time.perf_counter()
        add_trials(
            logbook,
            (trial(code, day, sheet=_sheet(n, k)) for n, code in enumerate(codes) for k, day in enumerate(DAYS)),
        )
        filled = time.perf_counter()
        verdicts: dict[str, int] = {}
        for _, found in judge_all(logbook, "slalom-gym"):
            verdict = found.verdict if isinstance(found, Comparison) else "refused"
            verdicts[verdict] = verdicts.get(verdict, 0) + 1
        judged = time.perf_counter()
    print(
        f"  {name}: students {added - begin:.1f} s, trials and figures {filled - added:.1f} s, "
        f"change of all {judged - filled:.1f} s ({verdicts})"
    )
    command = [str(Path(sys.executable).with_name("ownmark")), "student", "show", codes[-1], "--logbook", place]
    spent = []
    for _ in range(7):
        begin = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        spent.append(time.perf_counter() - begin)
    print(f"  {name}: one student shown cold in {sorted(spent)[3]:.2f} s ({min(spent):.2f} to {max(spent):.2f})")


def _sheet(number: int, turn: int) -> EffortSheet:
    """A sheet of one of a few made recordings; the primary figure differs by student and day."""
    found = sheet((number + turn) % 7)
    figure = found.figures["heart_rate_mean"]
    shift = ((number * 7919 + turn * 104729) % 1000) / 500 - 1
    moved = {part: getattr(figure, part) + shift for part in ("value", "low", "high")}
    figures = {**found.figures, "heart_rate_mean": figure.model_copy(update=moved)}
    return found.model_copy(update={"figures": figures})


if __name__ == "__main__":
    district(int(sys.argv[1]) if len(sys.argv) > 1 else STUDENTS)
