"""Pages: an effort sheet as PDF after the first, and a class of 30 as PDF and HTML, pictures included."""

import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
from ownmark.records import Student, Trial, open_logbook
from ownmark.records.adding import keep
from ownmark.records.catalogue import copy
from ownmark.reports.render.pdf import to_pdf
from ownmark.reports.sheets.effort_sheet import effort_sheet
from ownmark.reports.sheets.pictures_of import trial_drawn
from ownmark.reports.words import Words
from ownmark.sample_streams.hearts import Effort, heart
from ownmark.sample_streams.writers import fit

STUDENTS = 30
DAY = date(2026, 10, 20)


def main(students: int = STUDENTS) -> None:
    """Print both."""
    print(f"Pages of {students} students, 20 min of heart rate each")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "logbook.db"
        _fill(place, students)
        _one_by_one(place)
        words = [str(Path(sys.executable).with_name("ownmark")), "class", "page", "--sheets", "--pdf", "--html"]
        begin = time.perf_counter()
        subprocess.run(
            [*words, "--logbook", str(place), "--out", str(Path(folder) / "pages")], check=True, capture_output=True
        )
        spent = time.perf_counter() - begin
        made = len(list((Path(folder) / "pages").iterdir()))
        print(f"  the class as PDF and HTML: {spent:.1f} s for {made} files, the program's start included")


def _fill(place: Path, students: int) -> None:
    """A class with a trial each."""
    rng = np.random.default_rng(5)
    with open_logbook(place) as logbook:
        protocol = copy("manual-chair-distance", "corridor-chair")
        logbook.add_protocol(protocol)
        for number in range(students):
            code = f"CL-{number:02d}"
            logbook.add_student(Student(code=code, born="2012-05"))
            start = datetime(2026, 10, 20, 9, 0, tzinfo=UTC) + timedelta(minutes=number)
            bpm = heart((Effort(300, 80), Effort(720, 120 + number), Effort(180, 95)), 80, rng)
            trial = Trial(
                code=code,
                protocol=protocol.name,
                protocol_version=1,
                on=DAY,
                rest_phase="00:00-05:00",
                work="05:00-17:00",
                recovery="17:00-20:00",
            )
            path = place.with_name(f"{code}.fit")
            path.write_bytes(fit(start, bpm, (300, 720, 180), 0))
            keep(logbook, trial, [path])


def _one_by_one(place: Path) -> None:
    """Time of each sheet in one process: page and picture, then the PDF alone."""
    words, drawing, setting = Words("en"), [], []
    with open_logbook(place, create=False) as logbook:
        for trial in logbook.trials():
            student, protocol = logbook.student(trial.code), logbook.protocol(trial.protocol, 1)
            begin = time.perf_counter()
            picture, why = trial_drawn(logbook, trial, student, protocol, words, phone=False)
            page = effort_sheet(trial, student, protocol, words, picture=picture, no_picture=why)
            drawn = time.perf_counter()
            to_pdf(page)
            drawing.append(drawn - begin)
            setting.append(time.perf_counter() - drawn)
    whole = [sum(pair) for pair in zip(drawing[1:], setting[1:], strict=True)]
    print(
        f"  an effort sheet as PDF: the first {drawing[0] + setting[0]:.2f} s, then {statistics.median(whole):.2f} s "
        f"({min(whole):.2f} to {max(whole):.2f}), of it the picture {statistics.median(drawing[1:]):.2f} s"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else STUDENTS)
