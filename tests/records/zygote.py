"""A process that has everything imported and forks one writer for each line it reads: so a hundred kills are cheap.

A line is ``WHAT PLACE START COUNT``. The writer's number is printed, then what it has kept; then "ended".
"""

import os
import subprocess
import sys
import traceback
from pathlib import Path
from tempfile import TemporaryDirectory


def add(place, start, count):
    """Add trials with a file and a sheet each, until killed or done, and print each number after it is kept."""
    from ownmark.errors import OwnmarkError
    from ownmark.records import open_logbook

    from tests.records import made

    with open_logbook(place) as logbook:
        for thing in (lambda: logbook.add_protocol(made.protocol()), lambda: logbook.add_student(made.student())):
            try:
                thing()
            except OwnmarkError as refusal:
                if refusal.code != "already_there":
                    raise
        for turn in range(start, start + count):
            trial = made.trial(notes=f"turn {turn}", sheet=made.sheet(turn % 3))
            try:
                added = logbook.add_trial(trial, [("strap.csv", b"%d " % turn + made.recording(turn))])
            except OwnmarkError as refusal:
                print("refused", refusal.code, flush=True)
                return
            print("kept", added.id, turn, flush=True)


def forget_one(place, start, count):
    """Add trials of a second student and forget them again, over and over."""
    from ownmark.records import forget, open_logbook

    from tests.records import made

    with open_logbook(place) as logbook:
        for turn in range(start, start + count):
            if "BF-07" in {student.code for student in logbook.students()}:
                forget(logbook, "BF-07")  # what a writer that was killed had left
            logbook.add_student(made.student("BF-07"))
            for more in (0, 1):
                at = made.trial("BF-07", notes=f"{turn}", time_of_day=f"10:0{more}", sheet=made.sheet(more))
                logbook.add_trial(at, [("strap.csv", b"%d %d" % (turn, more) + made.recording())], again=True)
            forget(logbook, "BF-07")


def serve():
    """Fork a writer for each line."""
    import psycopg  # noqa: F401
    from ownmark.records import open_logbook

    from tests.records import made

    with TemporaryDirectory() as folder, open_logbook(f"{folder}/first.db") as logbook:
        made.filled(logbook)
    print("ready", flush=True)
    for line in sys.stdin:
        what, place, start, count = line.split()
        child = os.fork()
        if child == 0:
            try:
                {"add": add, "forget": forget_one}[what](place, int(start), int(count))
            except BaseException:  # noqa: BLE001 whatever it is, it is told
                traceback.print_exc()  # or nobody would learn why the writer ended by itself
            finally:
                os._exit(0)
        print("pid", child, flush=True)
        os.waitpid(child, 0)
        print("ended", flush=True)


class Zygote:
    """The parent's side."""

    def __init__(self):
        self.early = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.records.zygote"],
            cwd=Path(__file__).parents[2],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.ready = False  # two of them can get ready at the same time

    def read(self):
        """The next line, in words."""
        return self.process.stdout.readline().split()

    def begin(self, what, place, start=0, count=1000):
        """Fork a writer and give its number."""
        if not self.ready:
            self.ready = self.read() == ["ready"]
        self.process.stdin.write(f"{what} {place} {start} {count}\n")
        self.process.stdin.flush()
        words = self.read()
        while words[0] != "pid":  # the writer may be faster than its own number
            self.early.append(words)
            words = self.read()
        return int(words[1])

    def wait_for_one(self):
        """Wait until the writer says that it has kept one."""
        if not self.early:
            self.early.append(self.read())

    def rest(self):
        """All that the writer printed, to its end."""
        found = self.early[:]
        self.early.clear()
        while (words := self.read()) != ["ended"]:
            found.append(words)
        return found

    def stop(self):
        """End it."""
        self.process.stdin.close()
        self.process.stdout.close()
        self.process.wait(30)


if __name__ == "__main__":
    serve()
