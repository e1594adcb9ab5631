"""No page says a word that no catalogue holds: every page in a language that does not exist, and what stays English.

The language is made from the English catalogue (``words/pseudo.py``): none of its letters is an ASCII letter. A word of
ASCII letters on such a page is therefore something that a person typed, a code, a unit, or English from outside the
catalogue. It is a third longer than English and runs from the right, so a layout that breaks shows too.
"""

import io
import re
from dataclasses import replace
from datetime import date
from functools import cache, partial

import pypdf
import pytest
from matplotlib.text import Text
from ownmark.metrics.messages.heart_rate import WHY_NO_MAXIMUM
from ownmark.records.caseload import GROUPS, line_of
from ownmark.records.catalogue import entries
from ownmark.records.change.limits import Limit
from ownmark.records.checklist import checklist
from ownmark.records.plan.day_form import FormRow
from ownmark.records.safety import safety_of
from ownmark.records.student import Student
from ownmark.reports.exports.plan_sentence import plan_sentence
from ownmark.reports.page import Picture
from ownmark.reports.pictures import pair_picture, series_of, sides_picture, trial_picture
from ownmark.reports.render.html import to_html
from ownmark.reports.render.pdf import to_pdf
from ownmark.reports.render.text import _cells, to_text
from ownmark.reports.sheets.caseload_page import caseload_page
from ownmark.reports.sheets.change_sheet import change_sheet
from ownmark.reports.sheets.class_page import ClassLine, DayTrial, class_page
from ownmark.reports.sheets.day_form import day_form
from ownmark.reports.sheets.district_table import DistrictRow, district_table
from ownmark.reports.sheets.effort_sheet import effort_sheet
from ownmark.reports.sheets.index_page import Entry, index_page
from ownmark.reports.sheets.safety_sheet import safety_sheet
from ownmark.reports.sheets.set_up_card import set_up_card
from ownmark.reports.words import Words
from ownmark.sample_streams import FOLDER
from ownmark.words.render import by_text

from .. import pages_made as made
from ..caseload_made import CASES

PSEUDO = Words("pseudo")
SPOKEN = frozenset({"alt", "aria-label", "title", "placeholder", "data-label"})
"""Attributes that a person reads or hears."""
TYPED = frozenset({"load 3", "load mark 3", "crank", "reach"})
"""What the pages' own data holds beside the students', protocols and trials."""
UNITS = frozenset({"ms", "UTC"})
"""Signs of the unit or the time zone that a file states."""
FORMATS = frozenset({"HTML", "PDF"})
"""Kinds of files that an index leads to."""
CODE = re.compile(r"\b(?:TH-\d+|[SV]\d{3}|[0-9a-f]{64}|(?:fit|tcx|table|rr-list|heart-rate-packets)(?:-\d{4})?)\b")
"""Students' codes, hashes of files, and the neutral names of recordings."""
LEFT: dict[str, frozenset[str]] = {}
LATER = date(2026, 10, 19)


@cache
def picture_of(which):
    """The picture of a trial, drawn out of its recordings."""
    found = made.trial(which)
    originals = [(each.path, (FOLDER / each.path).read_bytes()) for each in found.files]
    series = series_of(found, made.STUDENTS[found.code], made.protocol(found.protocol), originals, found.sheet)
    return series, joined(trial_picture(series, PSEUDO), trial_picture(series, PSEUDO, width="phone"))


def joined(wide, narrow):
    return Picture(wide.svg, wide.alt, "", narrow.svg)


def effort(which, *, family=False, **changes):
    found = made.trial(which).model_copy(update=changes)
    student, plan = made.STUDENTS[found.code], made.protocol(found.protocol)
    return effort_sheet(found, student, plan, PSEUDO, picture=picture_of(which)[1], family=family)


def change(kind, *, family=False):
    sided = kind.startswith("sides")
    name = "seated-forward-reach" if sided else "arm-crank-steady"
    series = picture_of("crank")[0]
    found = made.comparison(kind)
    wide, narrow = (
        (sides_picture(found, PSEUDO, width=width) for width in ("paper", "phone"))
        if sided
        else (pair_picture(series, series, PSEUDO, width=width) for width in ("paper", "phone"))
    )
    pair = joined(wide, narrow)
    return change_sheet(
        found, made.protocol(name), PSEUDO, pair=None if sided else pair, sides=pair if sided else None, family=family
    )


def class_lines():
    lines = [ClassLine("TH-17"), ClassLine("TH-18", (), LATER)]
    for one in made.TRIALS:
        found = made.trial(one)
        lines.append(ClassLine(found.code, (DayTrial(found, made.protocol(found.protocol).title, 1),)))
    return lines


def district_rows():
    rows = [
        DistrictRow(f"S{number:03d}", "crank", 3, "heart_rate_rise", made.comparison("within")) for number in range(12)
    ]
    rows += [
        DistrictRow(f"V{number:03d}", "crank", 3, "heart_rate_rise", made.comparison(kind))
        for number, kind in enumerate(made.VERDICTS)
    ]
    return [*rows, DistrictRow("S100", "reach", 1, "forward_reach", None)]


def safety(which):
    found = made.trial(which)
    student, plan = made.STUDENTS[found.code], made.protocol(found.protocol)
    return safety_sheet(safety_of(student, found), plan, PSEUDO, picture=picture_of(which)[1])


INDEX = (Entry("TH-12", "arm-crank-steady", ("TH-12.html", "TH-12.pdf")), Entry("TH-11", "power-chair-slalom", ()))
FORM = tuple(FormRow(f"TH-{number}", "power-chair-slalom", f"S{number:03d}") for number in range(11, 14))


def caseload_lines():
    """A line of every group, one at the limit of its test, and one that waits for a maximum."""
    found = [line_of(safety_of(*each)) for each in CASES.values()]
    assert {each.group for each in found} == set(GROUPS)
    at_limit = replace(found[0], limits=(Limit("moving_time", 480.0, 480.0, "s"),))
    waits = replace(found[0], code="TH-12", no_maximum=WHY_NO_MAXIMUM)
    return [*found, at_limit, waits]


PAGES = {
    **{f"effort, {which}": partial(effort, which) for which in made.TRIALS},
    "effort, family": lambda: effort("loose", family=True),
    "effort, by hand": lambda: effort_sheet(
        made.reach(made.DAY, 21, 24), Student(code="TH-14"), made.protocol("seated-forward-reach"), PSEUDO
    ),
    **{f"change, {kind}": partial(change, kind) for kind in made.VERDICTS},
    "change, family": lambda: change("cannot", family=True),
    "card": lambda: set_up_card(
        "TH-11",
        checklist(made.protocol("power-chair-slalom"), made.trial("chair")),
        made.protocol("power-chair-slalom"),
        PSEUDO,
        last_on=made.DAY,
        newest=2,
        student=made.STUDENTS["TH-11"],
    ),
    **{f"safety, {which}": partial(safety, which) for which in made.TRIALS},
    "class": lambda: class_page(class_lines(), made.DAY, PSEUDO),
    "find": lambda: made.finding(PSEUDO),
    "find, nothing": lambda: made.finding(PSEUDO, "breath", "stay-in-chair"),
    "find, all": lambda: made.finding(PSEUDO, "", ""),
    "district": lambda: district_table(district_rows(), PSEUDO, since=made.DAY, until=LATER),
    "caseload": lambda: caseload_page(caseload_lines(), made.DAY, LATER, PSEUDO, ("TH-17",)),
    "caseload, empty": lambda: caseload_page([], made.DAY, made.DAY, PSEUDO),
    **{f"index, {kind}": partial(index_page, INDEX, PSEUDO, kind) for kind in ("sheets", "changes", "cards")},
    "form": lambda: day_form(FORM, PSEUDO),
    "form, one": lambda: day_form(FORM[:1], PSEUDO),
}
"""What makes every kind of page in the language that does not exist, by name."""


@cache
def made_once():
    """The pages, and every word that was set on their pictures: there they are outlines, so they are taken before."""
    written, set_text = [], Text.set_text
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Text, "set_text", lambda self, text: (written.append(str(text)), set_text(self, text))[1])
        return {name: make() for name, make in PAGES.items()}, tuple(written)


def pages():
    return made_once()[0]


def leaves(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from leaves(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from leaves(each)


@cache
def typed():
    """What the made students' own data holds in letters, the longest first: what is a word of ours is not among it."""
    found = set()
    for plan in {each[1] for each in made.TRIALS.values()} | {"seated-forward-reach"}:
        found |= set(leaves(made.protocol(plan).model_dump(mode="json")))
    for name, each in entries().items():
        found |= {name, each.gives_up, *each.protocol.ask}
    for which in made.TRIALS:
        trial = made.trial(which)
        found |= {trial.code, trial.protocol, *(each.path for each in trial.files)}
    found |= {each.strip(" .") for each in found}
    kept = {each for each in found if each and each.casefold() not in by_text()}
    return sorted(kept | TYPED | UNITS | FORMATS, key=len, reverse=True)


def untranslated(text):
    """Words of ASCII letters in a text that are neither typed nor a code."""
    for each in typed():
        text = text.replace(each, " ")
    return re.findall(r"[A-Za-z][A-Za-z'’-]*", CODE.sub(" ", re.sub(r"\{\w+\}", " ", text)))


def svg_texts(svg):
    return re.findall(r">([^<>]*[A-Za-z][^<>]*)</(?:text|tspan)>", svg.decode())


def visible(html):
    """Every text that a browser shows or reads out."""
    seen = made.Seen(html)
    spoken = [value for _, attributes in seen.tags for name, value in attributes.items() if name in SPOKEN and value]
    drawn = [text for svg in re.findall(rb"<svg.*?</svg>", html, re.DOTALL) for text in svg_texts(svg)]
    title = re.findall(r"<title>(.*?)</title>", html.decode())
    return [*seen.parts, *spoken, *drawn, *title]


def leftovers(texts):
    return {" ".join(words) for words in map(untranslated, texts) if words}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_no_word_that_no_catalogue_holds(name):
    page = pages()[name]
    found = leftovers(made.page_texts(page)) | leftovers(visible(to_html(page)))
    assert found == LEFT.get(name.partition(",")[0], frozenset())


@pytest.mark.parametrize("width", [100, 80])
@pytest.mark.parametrize("name", PAGES)
def test_on_the_terminal_nothing_is_english_and_no_line_is_too_long(name, width):
    text = to_text(pages()[name], width)
    assert [line for line in text.split("\n") if _cells(line) > width] == []
    assert leftovers([" ".join(text.split())]) <= {" ".join(LEFT.get(name.partition(",")[0], ()))}


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize(
    "name",
    [
        "effort, crank",
        "effort, loose",
        "change, sides",
        "card",
        "safety, chair",
        "class",
        "district",
        "find",
        "find, all",
        "caseload",
        "index, sheets",
        "form",
    ],
)
def test_no_page_runs_over_the_edge_of_a_phone_or_a_screen(shown, name, width):
    tab = shown(pages()[name], width)
    assert tab.evaluate("document.documentElement.dir") == "rtl"
    assert tab.evaluate("document.documentElement.scrollWidth") <= width


def test_on_paper_nothing_is_english():
    # Paper wants the code of a real language: one that runs from the right.
    sheets = pypdf.PdfReader(io.BytesIO(to_pdf(replace(pages()["safety, loose"], language="he")))).pages
    text = " ".join(sheet.extract_text() for sheet in sheets)
    assert len(sheets) >= 1
    assert leftovers([" ".join(text.split())]) == set()


@pytest.mark.parametrize("which", made.TRIALS)
def test_the_sentences_for_a_plan_say_no_word_that_no_catalogue_holds(which):
    found = made.trial(which)
    plan = made.protocol(found.protocol)
    assert untranslated(plan_sentence(found, plan, language="pseudo")) == []
    assert untranslated(plan_sentence(found.model_copy(update={"practice": True}), plan, language="pseudo")) == []


@pytest.mark.parametrize("kind", made.VERDICTS)
def test_what_changed_is_said_for_a_plan_without_an_english_word(kind):
    sided = kind.startswith("sides")
    plan = made.protocol("seated-forward-reach" if sided else "arm-crank-steady")
    found = made.reach(made.DAY, 21, 24) if sided else made.trial("crank")
    assert untranslated(plan_sentence(found, plan, made.comparison(kind), language="pseudo")) == []


def test_an_english_word_on_a_page_would_be_found():
    page = replace(pages()["district"], subtitle="every trial")
    assert leftovers(made.page_texts(page)) == {"every trial"}
    assert "every trial" in leftovers(visible(to_html(page)))


def test_no_picture_has_an_english_word_on_it():
    _, written = made_once()
    assert leftovers(written) == set()
    assert sum("·" in each for each in written) > 50
