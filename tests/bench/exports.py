"""A district's export: 20,000 trials in every form, each in a process of its own; time, memory, size."""

import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

from ownmark.records import open_logbook
from ownmark.records.store.many_trials import add_trials
from ownmark.reports.exports import FORMATS

from tests.bench.logbook import _sheet
from tests.records.store.made import protocol, student, trial

TRIALS = 20_000
DAYS = (date(2025, 10, 6), date(2026, 5, 11))
CHILD = """
import resource, sys, time
from pathlib import Path
from ownmark.records import open_logbook
from ownmark.reports.exports import export
begin = time.perf_counter()
with open_logbook(sys.argv[1]) as logbook:
    found = export(logbook, sys.argv[2], sys.argv[3], change=sys.argv[4] == "change")
spent, used = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_SELF)
size = sum(each.stat().st_size for each in found.files)
print(f"{spent:.1f} {used.ru_utime + used.ru_stime:.1f} {used.ru_maxrss / 1024:.0f} {size / 1e6:.0f}")
"""


def district(trials: int = TRIALS) -> None:
    """Print time and memory of each form, for a tenth of the trials and for all: memory must not grow."""
    print("Exports of a district's logbook (wall s, processor s, peak memory MiB, size MB)")
    with tempfile.TemporaryDirectory() as folder:
        for count in (trials // 10, trials):
            place = Path(folder) / f"{count}.db"
            _fill(place, count)
            for form, change in (*((form, "plain") for form in (*FORMATS, "all")), ("csv", "change")):
                words = [
                    sys.executable,
                    "-c",
                    CHILD,
                    str(place),
                    form,
                    str(Path(folder) / f"out-{count}-{form}"),
                    change,
                ]
                done = subprocess.run(words, check=True, capture_output=True, text=True)
                wall, processor, memory, size = done.stdout.split()
                name = form if change == "plain" else f"{form} with change"
                print(f"  {count:6} trials, {name:<15} {wall:>6} s  {processor:>6} s  {memory:>4} MiB  {size:>5} MB")
                for made in Path(folder).glob("out-*"):
                    made.unlink()


def _fill(place: Path, count: int) -> None:
    """A logbook of students with two trials each."""
    codes = [f"D-{number:05d}" for number in range(count // 2)]
    with open_logbook(place) as logbook:
        logbook.add_protocol(protocol())
        logbook.add_students([student(code) for code in codes])
        entries = (
            trial(code, day, sheet=_sheet(number, turn), notes=f"turn {turn} of {code}")
            for number, code in enumerate(codes)
            for turn, day in enumerate(DAYS)
        )
        add_trials(logbook, entries)


if __name__ == "__main__":
    district(int(sys.argv[1]) if len(sys.argv) > 1 else TRIALS)
