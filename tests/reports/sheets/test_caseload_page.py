"""The therapist's caseload: crossings first, and never a count against another ceiling than today's."""

from dataclasses import replace
from functools import partial

from ownmark.cli.option_commands import terminal_words
from ownmark.records.caseload import line_of
from ownmark.records.change.limits import Limit
from ownmark.records.safety import safety_of
from ownmark.records.student import Student
from ownmark.reports.page import Heading, Listing, Table
from ownmark.reports.render.html import to_html
from ownmark.reports.sheets.caseload_page import caseload_page

from tests.reports import pages_made as made
from tests.reports.caseload_made import CASES, WITH, trial
from tests.reports.sheets_made import with_sheet


def test_crossings_come_first_and_each_group_stands_by_code():
    found = [line_of(safety_of(*each)) for each in reversed(CASES.values())]
    page = caseload_page(found, made.DAY, made.DAY, made.EN)
    assert page.blocks[0].text == (
        "Of 6 trials with a ceiling, 1 went above it, 1 may have by a reading that was set aside, "
        "1 may have while nothing was measured, and 2 could not be checked. "
        "Trials of students without a ceiling: 1."
    )
    titles = [block.text for block in page.blocks if isinstance(block, Heading)]
    assert titles[:7] == [
        "Above the ceiling",
        "Possibly above the ceiling",
        "Not counted with today's ceiling",
        "Not measured",
        "No crossing was recorded, but some of the time was not measured",
        "No crossing of the ceiling was recorded",
        "No ceiling is written down",
    ]
    tables = {block.caption: block.rows for block in page.blocks if isinstance(block, Table)}
    assert tables["Above the ceiling"][0][2:4] == ("110 /min", "31 s")
    partly = tables["No crossing was recorded, but some of the time was not measured"]
    assert partly[0][3] == "0 s (0 to 90 s)"  # the bound is never hidden
    assert tables["No crossing of the ceiling was recorded"][0][3] == "0 s"
    assert "150" in tables["Not counted with today's ceiling"][0][3]  # and no time that is not today's


def test_what_is_at_its_limit_is_told_by_code_and_day():
    found = [line_of(safety_of(*CASES["none"])), line_of(safety_of(*CASES["no_ceiling"]))]
    limit = Limit("moving_time", 480.0, 480.0, "s")
    reached = [replace(each, code=code, limits=(limit,)) for each, code in zip(found, "BA", strict=True)]
    page = caseload_page(reached, made.DAY, made.DAY, made.EN)
    assert after(page, "At the most that the test can show") == (
        f"A, {trial_named(found[1])}: Moving time: 480 s of 480 s, the most that this test can show.",
        f"B, {trial_named(found[0])}: Moving time: 480 s of 480 s, the most that this test can show.",
    )
    without = caseload_page(found, made.DAY, made.DAY, made.EN)
    assert "At the most" not in made.page_text(without)


def test_a_missing_maximum_is_told_once_for_each_student_with_its_command_where_that_is_known():
    none = {"value": None, "low": None, "high": None, "reason": {"code": "why.no_maximum", "values": {}}}
    tried = with_sheet(made.trial("chair"), {"reserve_mean": none, "time_light": none})
    of_trial = [(WITH, tried), (WITH, tried), (Student(code="TH-12"), trial())]
    found = [line_of(safety_of(*each)) for each in of_trial]
    plain = after(caseload_page(found, made.DAY, made.DAY, made.EN), "A maximum is missing")
    assert plain == ("TH-11: no maximum is known. Enter a measured one or the month of birth.",)
    told_in = partial(terminal_words, "en")
    page = caseload_page(found, made.DAY, made.DAY, made.EN, told_in=told_in)
    (told,) = after(page, "A maximum is missing")
    code = tried.code
    assert told == (
        f"TH-11: no maximum is known. Enter a measured one (`ownmark student edit {code} --max BPM`) or the month of "
        f"birth (`ownmark student edit {code} --born YYYY-MM`)."
    )


def after(page, heading):
    """The items of the list under a heading."""
    place = page.blocks.index(Heading(heading))
    return page.blocks[place + 1].items


def trial_named(found):
    return f"{found.protocol}, {made.EN.date(found.on)}, trial {found.trial or '–'}"


def test_an_index_leads_to_each_file_and_says_why_one_is_missing():
    html = to_html(made.index()).decode()
    assert '<a href="TH-12-sheet.html">TH-12 · crank · HTML</a>' in html
    assert '<a href="TH-12%20sheet.pdf">' in html
    assert "1 trial" in html
    assert "1 of 2 written" in html


def test_the_entries_of_a_student_stay_in_the_order_of_their_days():
    days = ("November 3, 2026", "November 10, 2026")
    entries = [
        made.Entry(code, f"crank, {day}", (f"{code}-{day[9:-6]}.pdf",)) for code in ("B-2", "A-1") for day in days
    ]
    page = made.index_page(entries, made.EN, "sheets")
    (links,) = (block.links for block in page.blocks if isinstance(block, Listing) and block.links)
    assert links == ("A-1-3.pdf", "A-1-10.pdf", "B-2-3.pdf", "B-2-10.pdf")
