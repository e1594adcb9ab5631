"""Pages out of the invented school's recordings, measured anew, for the tests of pages. Each is made once."""

import re
from collections.abc import Callable
from datetime import date
from functools import cache
from html.parser import HTMLParser

from ownmark.records.caseload import line_of
from ownmark.records.catalogue import copy, entries, families
from ownmark.records.catalogue.choosing import Asked, find
from ownmark.records.change.borrowed import Borrowed
from ownmark.records.change.comparison import compare, seen
from ownmark.records.checklist import checklist
from ownmark.records.measuring import measured
from ownmark.records.plan.day_form import FormRow
from ownmark.records.protocol import Protocol
from ownmark.records.safety import safety_of
from ownmark.records.student import Ceiling, MeasuredRate, Student
from ownmark.records.trial import HandResult, KeptFile, Trial
from ownmark.reports.page import Page, Picture
from ownmark.reports.sheets.caseload_page import caseload_page
from ownmark.reports.sheets.change_sheet import change_sheet
from ownmark.reports.sheets.class_page import ClassLine, DayTrial, class_page
from ownmark.reports.sheets.day_form import day_form
from ownmark.reports.sheets.district_table import DistrictRow, district_table
from ownmark.reports.sheets.effort_sheet import effort_sheet
from ownmark.reports.sheets.find_page import find_page
from ownmark.reports.sheets.index_page import Entry, index_page
from ownmark.reports.sheets.safety_sheet import safety_sheet
from ownmark.reports.sheets.set_up_card import set_up_card
from ownmark.reports.words import Words
from ownmark.sample_streams import FOLDER

from .sheets_made import changed

DAY = date(2026, 5, 12)
EN, ES = Words("en"), Words("es")
SVG = (
    b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    b' viewBox="0 0 600 160" width="600pt" height="160pt"><metadata>http://example.org</metadata>'
    b'<defs><clipPath id="cut"><rect width="600" height="160"/></clipPath>'
    b"<style>*{stroke-linejoin: round}</style></defs>"
    b'<g clip-path="url(#cut)"><path id="line" d="M0 120L600 90" stroke="#1d2733" fill="none"/>'
    b'<use xlink:href="#line"/></g></svg>'
)
"""A stand-in with what drawing libraries write: prologue, metadata, ids, a style, namespaces."""
PICTURE = Picture(SVG, "A line that falls.", "A picture", SVG)
STUDENTS = {
    "TH-11": Student(
        code="TH-11",
        born="2011-09",
        conditions=("muscular-dystrophy",),
        ceilings=(Ceiling(bpm=110, set_by="therapist", set_on=date(2026, 4, 1)),),
    ),
    "TH-12": Student(code="TH-12", sex="female", maxima=(MeasuredRate(bpm=176),), conditions=("spina-bifida",)),
    "TH-13": Student(code="TH-13", born="2009-11", conditions=("t4",)),
    "TH-15": Student(code="TH-15", born="2010-06", conditions=("beta-blocker",)),
    "TH-16": Student(code="TH-16", born="2011-09", conditions=("down-syndrome",)),
}
TRIALS = {
    "chair": (
        "TH-11",
        "power-chair-slalom",
        ("TH-11-power-chair-slalom.fit", "TH-11-chair-frame.csv.gz"),
        "06:00-16:00",
    ),
    "crank": ("TH-12", "arm-crank-steady", ("TH-12-arm-crank.tcx", "TH-12-crank-sensor.csv.gz"), "05:00-13:00"),
    "loose": ("TH-12", "hand-cycle-distance", ("TH-12-loose-strap.csv",), "04:00-14:00"),
    "spinal": ("TH-13", "hand-cycle-distance", ("TH-13-hand-cycle.csv",), "04:00-14:00"),
    "run": ("TH-16", "tethered-run", ("TH-16-tethered-run-rr.txt",), "04:00-11:00"),
    "circles": ("TH-15", "arm-movement-sustained", ("TH-15-arm-circles-packets.csv",), "03:00-11:00"),
}


@cache
def protocol(name: str) -> Protocol:
    return copy(name, name)


@cache
def trial(which: str) -> Trial:
    """A trial with its sheet."""
    code, name, files, work = TRIALS[which]
    rest = f"00:00-{int(work[:2]) - 1:02d}:00"
    found = Trial(
        id=7,
        code=code,
        protocol=name,
        protocol_version=1,
        on=DAY,
        rest_phase=rest,
        work=work,
        files=tuple(KeptFile(path=each, sha256="0" * 64, size=1) for each in files),
    )
    originals = [(each, (FOLDER / each).read_bytes()) for each in files]
    sheet, refused = measured(found, STUDENTS[code], protocol(name), originals)
    assert sheet is not None
    assert not refused
    return found.model_copy(update={"sheet": sheet})


def reach(on: date, left: float, right: float, **more) -> Trial:
    results = (HandResult(name="forward_reach", value=left, side="left"),)
    results += (HandResult(name="forward_reach", value=right, side="right"),)
    return Trial(
        id=9, code="TH-14", protocol="seated-forward-reach", protocol_version=1, on=on, hand_results=results, **more
    )


def effort(which: str, words: Words = EN, *, family: bool = False, picture: Picture | None = PICTURE, **changes):
    found = trial(which).model_copy(update=changes)
    return effort_sheet(found, STUDENTS[found.code], protocol(found.protocol), words, picture=picture, family=family)


def comparison(kind: str):
    """A comparison of each kind of verdict."""
    crank = protocol("arm-crank-steady")

    def at(number: int, on: date, rise: float, low: float, high: float, **more):
        base = trial("crank")
        sheet = changed(base.sheet, {"heart_rate_rise": {"value": rise, "low": low, "high": high}})
        return seen(base.model_copy(update={"id": number, "on": on, "sheet": sheet, **more}), crank)

    before = [at(1, DAY, 42.1, 42.1, 42.1), at(2, date(2026, 5, 19), 43.3, 43.3, 43.3)]
    later = date(2026, 10, 19)
    after = {
        "increase": [at(3, later, 95.25, 94.0, 96.5)],
        "decrease": [at(3, later, 7.5, 7.5, 7.5)],
        "within": [at(3, later, 43.0, 43.0, 43.0)],
        "cannot": [at(3, later, 45.0, 20.0, 90.0)],
        "not comparable": [at(3, later, 45.0, 45.0, 45.0, assistance_given="full physical")],
        "same": [at(3, later, 42.7, 42.7, 42.7)],
        "borrowed": [at(3, later, 30.0, 30.0, 30.0)],
        "one": [at(3, later, 30.0, 30.0, 30.0)],
        "asked": [at(3, later, 7.5, 7.5, 7.5, device_settings="load mark 3")],
        "rising": [at(5, later, 95.25, 94.0, 96.5)],
    }
    if kind == "asked":
        before = [at(each.trial.id, each.trial.on, 42.1, 42.1, 42.1, device_settings="load 3") for each in before]
    if kind == "rising":
        rises = enumerate((42.1, 44.0, 45.2, 47.0), start=1)
        before = [at(number, date(2026, 5, 4 + number), rise, rise, rise) for number, rise in rises]
    if kind == "not comparable":
        before = [at(1, DAY, 42.1, 42.1, 42.1, assistance_given="independent")]
    if kind == "one":
        return compare(before[:1], after[kind])
    if kind in ("sides", "sides borrowed"):
        plan = protocol("seated-forward-reach")
        ours = [reach(DAY, 21.5, 24), reach(date(2026, 5, 14), 22.5, 25), reach(later, 60, 24.5)]
        ours = [seen(each.model_copy(update={"id": place}), plan) for place, each in enumerate(ours, start=1)]
        return compare(ours[:2], ours[2:], Borrowed(0.5, 4.0, 12) if kind == "sides borrowed" else None)
    lent = Borrowed(1.5, 4.0, 12) if kind == "borrowed" else None
    return compare(before, after[kind], lent)


VERDICTS = (
    *("increase", "decrease", "within", "cannot", "not comparable", "same", "borrowed", "one", "sides"),
    *("asked", "rising", "sides borrowed"),
)


def change(kind: str, words: Words = EN, *, family: bool = False, pictures: bool = True):
    name = "seated-forward-reach" if kind.startswith("sides") else "arm-crank-steady"
    pair = PICTURE if pictures else None
    return change_sheet(comparison(kind), protocol(name), words, pair=pair, family=family)


def caseload(words: Words = EN):
    """The caseload page of every trial, one of them counted with another ceiling."""
    found = [safety_of(STUDENTS.get(trial(one).code, Student(code=trial(one).code)), trial(one)) for one in TRIALS]
    return caseload_page([line_of(each) for each in found], DAY, date(2026, 10, 19), words)


def finding(words: Words = EN, can: str = "push-chair hear", needs: str = "reminders own-pace"):
    """The page of tests that fit a student, every component."""
    asked = Asked(frozenset(can.split()), frozenset(needs.split()))
    return find_page(find(entries().values(), families(), asked), words, STUDENTS["TH-11"])


def index(words: Words = EN):
    """An index of a page that was written and of one that was not."""
    entries = [
        Entry("TH-12", "crank", ("TH-12-sheet.html", "TH-12 sheet.pdf")),
        Entry("TH-11", "slalom", (), "1 trial"),
    ]
    return index_page(entries, words, "sheets")


def class_lines():
    return [ClassLine("TH-17"), *(ClassLine(trial(one).code, (DayTrial(trial(one), "Test", 1),)) for one in TRIALS)]


def district_rows():
    return [DistrictRow(f"S{number:03d}", "crank", 3, "heart_rate_rise", comparison("within")) for number in range(31)]


PAGES: dict[str, Callable[[], Page]] = {
    "effort": lambda: effort("crank"),
    "effort of a chair": lambda: effort("chair", notes="The belt slipped once."),
    "effort with gaps": lambda: effort("loose"),
    "effort with no reserve": lambda: effort("spinal"),
    "effort by hand": lambda: effort_sheet(
        reach(DAY, 21, 24), Student(code="TH-14"), protocol("seated-forward-reach"), EN
    ),
    "effort for the family": lambda: effort("loose", EN, family=True),
    "effort in Spanish": lambda: effort("chair", ES, family=True),
    "change": lambda: change("increase"),
    "change of sides": lambda: change("sides"),
    "change in Spanish": lambda: change("cannot", ES, family=True),
    "card": lambda: set_up_card(
        "TH-11",
        checklist(protocol("power-chair-slalom"), trial("chair")),
        protocol("power-chair-slalom"),
        EN,
        last_on=DAY,
        newest=2,
    ),
    "safety": lambda: safety_sheet(
        safety_of(STUDENTS["TH-11"], trial("chair")), protocol("power-chair-slalom"), EN, picture=PICTURE
    ),
    "class": lambda: class_page(class_lines(), DAY, EN),
    "district": lambda: district_table(district_rows(), EN, since=DAY, until=date(2026, 10, 19)),
    "caseload": caseload,
    "index": index,
    "find": finding,
    "find in Spanish": lambda: finding(ES),
    "form": lambda: day_form([FormRow(f"TH-{number}", "crank-55", f"S{number}") for number in range(11, 41)], EN),
}
"""What makes one of each kind of page, by name."""
NAMES = tuple(PAGES)


@cache
def every_page():
    """One of each kind of page, by name; made when the first of them is asked for."""
    return {name: make() for name, make in PAGES.items()}


class Seen(HTMLParser):
    """What a browser would make of a page: tags in order, attributes, text, rows of tables."""

    def __init__(self, html: bytes) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.parts: list[str] = []
        self.rows: list[list[str]] = []
        self.inside: list[str] = []
        self.feed(html.decode("utf-8"))
        self.text = " ".join(" ".join(self.parts).split())

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "input", "col"):
            self.inside.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")

    def handle_endtag(self, tag):
        if tag in self.inside:
            while self.inside.pop() != tag:
                pass

    def handle_data(self, data):
        if {"style", "title", "svg"} & set(self.inside):
            return
        self.parts.append(data)
        if {"td", "th"} & set(self.inside) and self.rows:
            self.rows[-1][-1] += data


def numbers(text: str) -> list[str]:
    """Every number in a text, as written."""
    return re.findall(r"\d+(?:[.,:]\d+)*", text)


def page_text(page) -> str:
    """Every text of a page that a reader sees, with its title, headers and foot."""
    return "\n".join(page_texts(page)).replace("{number}", "").replace("{total}", "")


def page_texts(page) -> list[str]:
    """The same, one by one."""
    parts = [page.title, page.subtitle, *page.footer, page.running, page.sheet_of]
    for block in page.blocks:
        for name in block.__dataclass_fields__:
            value = getattr(block, name)
            if name in ("kind", "level", "svg", "phone_svg", "numeric", "shares", "links", "by_hand"):
                continue
            parts += _texts(value)
    return [part for part in parts if part]


def _texts(value) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple):
        return [text for each in value for text in _texts(each)]
    return [value.label, value.value, value.mark]
