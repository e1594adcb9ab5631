"""An invented district: schools with class tables as people write them, right and wrong in every way that counts."""

import io
import zipfile
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import xlsxwriter
from ownmark.executors.serial import Serial
from ownmark.records.batch.report import TableReport
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.whole import Batch
from ownmark.records.batch.writer import How, Writer
from ownmark.records.class_day import add_class, set_aside
from ownmark.records.class_table import read_class
from ownmark.records.store import settings

from tests.makers.class_days import table
from tests.records.store.made import protocol, student

TODAY = date(2026, 11, 20)
NINE = datetime(2026, 11, 10, 9, 0)  # noqa: DTZ001 a strap states no zone
CODES = tuple(f"TH-{number}" for number in range(11, 41))
PROTOCOL = {"rest_s": 60.0, "work_s": 180.0}


def beats(seed, rest=60, work=180, after=80):
    """A heart that rests, works and recovers; no two seeds are equal."""
    rng = np.random.default_rng(seed)
    course = np.concatenate(
        [np.full(rest, 84.0), 140 - 56 * np.exp(-np.arange(work) / 35.0), 90 + 50 * np.exp(-np.arange(after) / 40.0)]
    )
    return np.round(course + rng.normal(0, 1.0, len(course)))


def strap(seed, start=NINE, **more):
    """A strap's table of one trial, dated."""
    return table(beats(seed, **more), start)


def frame(seed, start=NINE, seconds=320, rate=10):
    """A frame's accelerometer beside it."""
    rng = np.random.default_rng(seed)
    lines = ["time,acc_x (g),acc_y (g),acc_z (g)"]
    for place in range(seconds * rate):
        at = start + timedelta(seconds=place / rate)
        x, y, z = rng.normal(0, 0.05, 3)
        lines.append(f"{at.isoformat()},{x:.4f},{y:.4f},{1 + z:.4f}")
    return ("\n".join(lines) + "\n").encode()


def zipped(*files):
    """An archive of files (name, bytes)."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files:
            archive.writestr(name, data)
    return held.getvalue()


def handed_round(seed, count, minutes=10):
    """One strap that several students wore after each other: its file, and when each worked by the clock."""
    rng = np.random.default_rng(seed)
    whole, works = [], []
    for turn in range(count):
        course = beats(100 * seed + turn)
        whole += [*course, *np.zeros(60 * minutes - len(course))]
        begin = NINE + timedelta(minutes=minutes * turn, seconds=60)
        works.append(f"@{begin:%H:%M:%S}-@{begin + timedelta(seconds=180):%H:%M:%S}")
    return table(np.asarray(whole) + 0 * rng.normal(), NINE), works


WORK = "@09:01:00-@09:04:00"


def write(folder, name, data):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data if isinstance(data, bytes) else data.encode())


def plain(folder):
    """Rows as they should be, and what stands beside such rows."""
    for seed in range(1, 7):
        write(folder, f"S{seed}.csv", strap(seed))
    write(folder, "frame-2.csv", frame(2))
    write(folder, "broken.fit", b".FIT but nothing that can be read \x00\x01")
    write(folder, "bag.zip", zipped(("inside.csv", strap(7))))
    write(folder, "old.csv", strap(8, datetime(2026, 8, 3, 9, 0)))  # noqa: DTZ001 as above
    write(folder, "bare.csv", table(beats(9), None))
    write(
        folder,
        "monday.csv",
        "code,protocol,files,date,work,notes,confirmed,check,steps\n"
        f"TH-11,slalom-gym,S1.csv,2026-11-10,{WORK},first,,,\n"
        f"TH-12,slalom-gym,S2.csv; frame-2.csv,2026-11-10,{WORK},,,,\n"
        f"TH-13,slalom-gym,broken.fit,2026-11-10,{WORK},,,,\n"
        f"TH-14,slalom-gym,S3.csv; broken.fit,2026-11-10,{WORK},one of two,,,\n"
        f"TH-15,slalom-gym,missing.csv,2026-11-10,{WORK},,,,\n"
        f"TH-16,slalom-gym,S4.csv,2026-11-10,{WORK},,,who was it?,\n"
        f"TH-17,slalom-gym,S5.csv,2026-11-09,{WORK},another day,,,\n"
        f"TH-18,slalom-gym,S6.csv,2026-11-10,9:01-9:04,two readings,,,\n"
        f"TH-19,slalom-gym,bag.zip,2026-11-10,{WORK},in an archive,,,\n"
        f"TH-20,slalom-gym,old.csv,,{WORK},long ago,,,\n"
        f"TH-21,slalom-gym,bare.csv,,01:00-04:00,undated,,,\n"
        f"XX-99,slalom-gym,S4.csv,2026-11-10,{WORK},nobody knows,,,\n"
        f"TH-22,no-such-test,S4.csv,2026-11-10,{WORK},,,,\n"
        "TH-22,slalom-gym,,2026-11-10,,,,,41\n"
        f"TH-23,,S4.csv,2026-11-10,{WORK},,,,\n"
        f"TH-11,slalom-gym,S1.csv,2026-11-10,{WORK},first,,,\n"
        f"TH-24,slalom-gym,S1.csv,2026-11-10,{WORK},the same file,,,\n"
        f"TH-16,slalom-gym,S4.csv,2026-11-10,{WORK},,checked,it was,\n"
        "TH-22,slalom-gym,,2026-11-10,,,,,41\n"
        f"TH-25,slalom-gym,S6.csv,2026-11-10,{WORK},call 555 123 4567,,,\n"
        f"Maria,slalom-gym,S6.csv,2026-11-10,{WORK},a name,,,\n",
    )


def round_the_class(folder):
    """A strap that goes round, within a table and into a second one, by a list of straps and by name."""
    data, works = handed_round(3, 5)
    write(folder, "red-strap.csv", data)
    write(folder, "blue.csv", strap(31))
    lines = [f"TH-{26 + turn},slalom-gym,red-strap.csv,2026-11-10,{works[turn]}" for turn in (2, 0, 1)]
    write(folder, "tuesday.csv", "\n".join(["code,protocol,files,date,work", *lines]) + "\n")
    more = [f"TH-{26 + turn},slalom-gym,red-strap.csv,2026-11-10,{works[turn]}" for turn in (4, 3)]
    write(folder, "tuesday-2.csv", "\n".join(["code,protocol,files,date,work", *more]) + "\n")
    write(folder, "zz-by-list.csv", f"code,protocol,strap,date,work\nTH-31,slalom-gym,blue,2026-11-10,{WORK}\n")
    write(folder, "zz-by-list-straps.csv", "strap,code,from,until\nblue,TH-31,09:00,09:10\n")


def dates(folder):
    """Dates of which nobody says whether the day or the month stands first: one file settles them."""
    for seed in (41, 42, 43):
        write(folder, f"S{seed}.csv", table(beats(seed), None))
    write(folder, "dated.csv", strap(44, datetime(2026, 11, 3, 9, 0)))  # noqa: DTZ001 as above
    rows = [
        *(f"TH-{seed - 9},slalom-gym,S{seed}.csv,11/3/2026,01:00-04:00" for seed in (41, 42, 43)),
        "TH-35,slalom-gym,dated.csv,11/3/2026,@09:01:00-@09:04:00",
    ]
    write(folder, "dates.csv", "\n".join(["code,protocol,files,date,work", *rows]) + "\n")
    for seed in (45, 46):
        write(folder / "open", f"S{seed}.csv", table(beats(seed), None))
    rows = [f"TH-{seed - 9},slalom-gym,S{seed}.csv,3/11/2026,01:00-04:00" for seed in (45, 46)]
    write(folder / "open", "open.csv", "\n".join(["code,protocol,files,date,work", *rows]) + "\n")


def as_saved(folder):
    """As spreadsheets save tables, and a table that is none."""
    write(folder, "Bär.csv", strap(51))
    text = f"sep=;\r\nCode;Protocol;File;Date;Work;Note\r\nTH-38;slalom-gym;Bär.csv;2026-11-10;{WORK};entré\r\n"
    write(folder, "office.csv", text.encode("cp1252"))
    write(folder, "S52.csv", strap(52))
    with xlsxwriter.Workbook(folder / "book.xlsx") as book:
        sheet = book.add_worksheet()
        for row, cells in enumerate(
            (("code", "protocol", "files", "date", "work"), ("TH-39", "slalom-gym", "S52.csv", "2026-11-10", WORK))
        ):
            sheet.write_row(row, 0, cells)
    write(folder, "two-columns.csv", "code,protocol,code\nTH-40,slalom-gym,TH-40\n")
    write(folder, "no-row.csv", "code,protocol,files\n")
    write(folder, "shopping.csv", "what,how many\ntape,3\n")


def district(root: Path):
    """All of it in a folder."""
    plain(root / "north")
    round_the_class(root / "round")
    dates(root / "dates")
    as_saved(root / "saved")
    return root


def school(logbook, zone="America/Denver"):
    """A logbook that knows the district's students and its test."""
    logbook.add_students([student(code) for code in CODES])
    measure = {"name": "steps", "unit": "count", "kind": "other", "sides": False, "attempts": 1, "how": "counted"}
    logbook.add_protocol(protocol(hand_measures=(measure,), **PROTOCOL))
    if zone:
        settings.set_zone(logbook, zone)
    return logbook


def by_class_add(logbook, tables, *, correct=False):
    """Each table by class add; a report of the same form."""
    found = []
    for each in tables:
        report = TableReport(each.path, aside=each.aside)
        try:
            if each.refused is not None:
                raise each.refused
            rows = read_class(each.path, each.straps)
        except Exception as reason:  # noqa: BLE001 compared by its text
            report.refused = reason
            found.append(report)
            continue
        report.rows = len(rows)
        for outcome in add_class(logbook, rows, day=None, today=TODAY, correct=correct):
            report.enter(outcome)
        report.copies = set_aside([each for each in report.open_rows if each.refused], each.aside)
        found.append(report)
    return found


def batch(logbook, *arguments, executor=None, patience=None, stop=None, aside=None, **how):
    """The report of a batch over tables and folders."""
    writer = Writer(logbook, How(None, TODAY, **how), *([patience] if patience else []))
    return Batch(executor or Serial(), writer, tables_in(arguments, aside), stop=stop).run()


def told(reports, logbook):
    """What reports say, line by line, to be compared; the place of the logbook is left out."""

    def plain(reason):
        return str(reason).replace(logbook.place.shown, "LOGBOOK")

    found = []
    for each in reports:
        found.append((each.path.name, each.rows, dict(each.counts), plain(each.refused)))
        found += [(copy.name,) for copy in each.copies]
        for row in each.open_rows:
            of_row = (row.row.number, row.row.code, row.state, plain(row.sentence), row.code, row.number, row.otherwise)
            found.append((*of_row, *(question.answers for question in row.questions)))
            found += [(one.path, plain(one.reason)) for one in row.refused]
    return found


def contents(logbook):
    """All that a logbook holds of trials and what was changed, field by field, files byte for byte."""
    trials = {each.id: each.model_dump(mode="json") for each in logbook.trials()}
    held = {
        (number, file["sha256"]): logbook.original(file["sha256"])
        for number, each in trials.items()
        for file in each["files"]
    }
    with logbook.reading() as connection:
        from ownmark.records.store.tables import history
        from ownmark.records.store.tables import trials as narrow
        from sqlalchemy import select

        past = [tuple(row[:5]) + tuple(row[6:9]) for row in connection.execute(select(history).order_by(history.c.id))]
        rows = [tuple(row) for row in connection.execute(select(narrow).order_by(narrow.c.id))]
    return trials, held, past, rows


def simple(folder, rows, name="class.csv", seed=1000):
    """A table of plain rows, a file each, as many as are asked for; students come round."""
    lines = ["code,protocol,files,date,work,notes"]
    for turn in range(rows):
        day = date(2026, 9, 1) + timedelta(days=turn // len(CODES))
        start = datetime.combine(day, NINE.time())
        write(folder, f"F{seed + turn}.csv", strap(seed + turn, start))
        code = CODES[turn % len(CODES)]
        lines.append(f"{code},slalom-gym,F{seed + turn}.csv,{day},{WORK},turn {turn}")
    write(folder, name, "\n".join(lines) + "\n")
    return folder / name
