"""A process that has everything imported and forks one writer for each line it reads: so a hundred kills are cheap.

A line is ``WHAT PLACE START COUNT``, for some with a folder behind it. The writer's number is told, then what it has
kept; then "ended". A line that is told ends with a mark: a writer that is killed in the middle of one leaves half a
line, and that is not read.
"""

import os
import queue
import signal
import subprocess
import sys
import threading
import traceback
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory

MARK = "."
SHIFT_S = 120.0
WORK = ("@8:03-@8:09", "@8:03-@8:08")
LONGEST_S = 120  # how long one line may be waited for


def say(*words):
    """Tell a line in one piece; it begins on a line of its own, whatever a killed writer left."""
    os.write(1, "\n{} {}\n".format(" ".join(map(str, words)), MARK).encode())


def add(place, start, count):
    """Add trials with a file and a sheet each, until killed or done, and print each number after it is kept."""
    from ownmark.errors import OwnmarkError
    from ownmark.records import open_logbook

    from tests.records.store import made

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
                say("refused", refusal.code)
                return
            say("kept", added.id, turn)


def forget_one(place, start, count):
    """Add trials of a second student and forget them again, over and over."""
    from ownmark.records import forget, open_logbook

    from tests.records.store import made

    with open_logbook(place) as logbook:
        for turn in range(start, start + count):
            if "BF-07" in {student.code for student in logbook.students()}:
                forget(logbook, "BF-07")  # what a writer that was killed had left
            logbook.add_student(made.student("BF-07"))
            for more in (0, 1):
                at = made.trial("BF-07", notes=f"{turn}", time_of_day=f"10:0{more}", sheet=made.sheet(more))
                logbook.add_trial(at, [("strap.csv", b"%d %d" % (turn, more) + made.recording())], again=True)
            forget(logbook, "BF-07")


def mend(place, start, count):
    """Edit, move, remove and put back the trials of a logbook, over and over."""
    from ownmark.records import open_logbook
    from ownmark.records.mending import Edit, edit_trial, move_trial
    from ownmark.records.removing import put_back, remove_trial
    from ownmark.records.student_mending import edit_student

    from tests.records.store import made

    with open_logbook(place) as logbook:
        for turn in range(start, start + count):
            there = {trial.id: trial for trial in logbook.trials()}
            if 1 not in there:
                put_back(logbook, 1)  # what a writer that was killed had left
                there = {trial.id: trial for trial in logbook.trials()}
            work = "01:00-08:00" if there[1].work == "01:00-07:00" else "01:00-07:00"
            edit_trial(logbook, 1, Edit(texts={"work": work}), today=made.DAY)
            move_trial(logbook, 1, "BF-07" if there[1].code == "TH-11" else "TH-11")
            edit_student(logbook, "TH-11", {"ceilings": ({"bpm": 110 + turn % 9, "set_by": "nurse"},)})
            remove_trial(logbook, 1, why="killed")
            say("kept", 1, turn)


def commanded(*words):
    """A command, as a teacher gives it; what it prints goes nowhere."""
    from contextlib import redirect_stderr, redirect_stdout
    from io import StringIO

    from ownmark.cli.main import main

    with redirect_stdout(StringIO()) as out, redirect_stderr(out):
        done = main([str(word) for word in words])
    say(*(("kept", 1, 1) if done == 0 else ("refused", *out.getvalue().split())))


def clock(place, start, count, folder):
    """Put the clock of a file right and wrong again, over and over."""
    from ownmark.records import open_logbook

    for _ in range(count):
        with open_logbook(place) as logbook:
            right = not logbook.trial(1).clock_shifts
        commanded("trial", "edit", 1, "--clock-shift", f"+{SHIFT_S:g}" if right else "none", "--logbook", place)


def correct(place, start, count, folder):
    """Correct both trials by the class's table, over and over."""
    from ownmark.records import open_logbook

    table = Path(folder) / "day.csv"
    for _ in range(count):
        rows = ["code,protocol,files,work,confirm"]
        with open_logbook(place) as logbook:
            for trial in logbook.trials():
                work = WORK[trial.work == WORK[0]]
                rows.append(f"{trial.code},{trial.protocol},{trial.code}.csv,{work},yes")
        table.write_text("\n".join(rows))
        commanded("class", "add", table, "--correct", "--logbook", place)


def students(place, start, count):
    """Add a list of students, a few rows in a transaction, and tell of each."""
    from datetime import date

    from ownmark.records import open_logbook, student_list
    from ownmark.records.student_table import StudentRow

    student_list.AT_ONCE = 7
    about = {"born": "2014-03", "ceiling": "150", "set_by": "nurse"}
    rows = [StudentRow(n, {"code": f"S-{n}", "rest": str(60 + n % 100), **about}) for n in range(start, start + count)]
    with open_logbook(place) as logbook:
        for each in student_list.add_list(logbook, rows, today=date(2026, 11, 28)):
            say("kept" if each.state in ("added", "there already") else "refused", 0, each.row.number)


def batch(place, start, count, folder):
    """Put the class tables of a folder in, a few rows in a transaction, and tell of each table what became of it."""
    from ownmark.executors.serial import Serial
    from ownmark.records import open_logbook
    from ownmark.records.batch import writer
    from ownmark.records.batch.tables import tables_in
    from ownmark.records.batch.whole import Batch

    from tests.records.batch.district import TODAY

    writer.AT_ONCE = 4
    with open_logbook(place) as logbook:
        how = writer.How(None, TODAY)
        found = Batch(
            Serial(), writer.Writer(logbook, how), tables_in([Path(folder)]), on_row=lambda: say("kept", 0, 0)
        ).run()
    say("counts", found.counts["added"], found.counts["there already"], sum(found.counts.values()))


def _holder(where):
    """The module or class that a function belongs to, and its name in it."""
    holder, _, name = where.rpartition(".")
    try:
        return import_module(holder), name
    except ModuleNotFoundError:
        module, _, kind = holder.rpartition(".")
        return getattr(import_module(module), kind), name


def _killed_at(real, *, after):
    """A function that kills who calls it, before or after it has done its work."""

    def killed(*given, **more):
        if after:
            real(*given, **more)
        os.kill(os.getpid(), signal.SIGKILL)

    return killed


def dies(place, start, count, folder, functions, when, *words):
    """Give a command in a folder, and be killed before or after any of some functions (``a.b,a.c``) is called.

    Whoever is not killed says that it survived.
    """
    os.chdir(folder)
    for where in functions.split(","):
        holder, name = _holder(where)
        setattr(holder, name, _killed_at(getattr(holder, name), after=when == "after"))
    try:
        commanded(*words, "--logbook", place)
    finally:
        say("survived")


def half_a_line(place, start, count):
    """End as a writer does that is killed in the middle of its line."""
    say("kept", 1, start)
    os.write(1, b"\nkept 2")
    os.kill(os.getpid(), signal.SIGKILL)


def open_it(place, start, count):
    """Open a logbook, which brings it up to date."""
    from ownmark.records import open_logbook

    open_logbook(place).close()


WRITERS = {"open": open_it, "add": add, "forget": forget_one, "mend": mend, "half": half_a_line}
WRITERS |= {"clock": clock, "correct": correct, "dies": dies, "batch": batch, "students": students}


def serve():
    """Fork a writer for each line."""
    import psycopg  # noqa: F401
    from ownmark.cli.main import COMMANDS, MODULES
    from ownmark.records import Trial, open_logbook
    from ownmark.records.adding import keep

    from tests.records.batch import district  # noqa: F401
    from tests.records.store import made

    for command in COMMANDS:
        import_module(f"ownmark.cli.{MODULES.get(command, command)}")
    with TemporaryDirectory() as folder, open_logbook(f"{folder}/first.db") as logbook:
        made.filled(logbook)
        strap = Path(folder) / "strap.csv"
        strap.write_bytes(made.recording(7))
        fields = {"code": "TH-11", "protocol": "slalom-gym", "protocol_version": 1, "on": "2026-10-07"}
        keep(logbook, Trial(**fields, work="01:00-08:00"), [strap])
    say("ready")
    for line in sys.stdin:
        what, place, start, count, *more = line.split()
        child = os.fork()
        if child == 0:
            try:
                WRITERS[what](place, int(start), int(count), *more)
            except BaseException:  # noqa: BLE001 whatever it is, it is told
                traceback.print_exc()  # or nobody would learn why the writer ended by itself
            finally:
                os._exit(0)
        say("pid", child)
        os.waitpid(child, 0)
        say("ended")


class Zygote:
    """The parent's side."""

    def __init__(self):
        self.early = []
        self.lines = queue.SimpleQueue()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.records.store.zygote"],
            cwd=Path(__file__).parents[3],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        threading.Thread(target=self._listen, daemon=True).start()
        self.ready = False  # two of them can get ready at the same time

    def _listen(self):
        for line in self.process.stdout:
            words = line.split()
            if words and words[-1] == MARK:
                self.lines.put(words[:-1])
        self.lines.put(None)

    def read(self):
        """The next whole line, in words."""
        words = self.lines.get(timeout=LONGEST_S)
        if words is None:
            raise EOFError("the process that forks writers has ended")
        return words

    def begin(self, what, place, start=0, count=1000, *more):
        """Fork a writer and give its number."""
        if not self.ready:
            self.ready = self.read() == ["ready"]
        self.process.stdin.write(" ".join(map(str, (what, place, start, count, *more))) + "\n")
        self.process.stdin.flush()
        words = self.read()
        while words[0] != "pid":  # the writer may be faster than its own number
            self.early.append(words)
            words = self.read()
        return int(words[1])

    def wait_for_one(self):
        """Wait until the writer says that it has kept one, or has ended."""
        if not self.early:
            self.early.append(self.read())

    def rest(self):
        """All that the writer said, to its end."""
        found = self.early[:]
        self.early.clear()
        while found[-1:] != [["ended"]]:
            found.append(self.read())
        return found[:-1]

    def stop(self):
        """End it: it ends when it is told nothing more, and with it its line."""
        self.process.stdin.close()
        self.process.wait(30)
        self.process.stdout.close()


if __name__ == "__main__":
    serve()
