"""The caseload's screen: crossings first, any days, and the way to each ceiling."""

import re
from datetime import date

import pytest
from ownmark.records.student import Ceiling, Student
from ownmark.records.student_mending import edit_student

from tests.records.store import made


@pytest.fixture
def book(parts):
    """TH-11 above a ceiling that the recordings cross, BF-07 without one, C-3 without a trial."""
    logbook = parts.logbook()
    made.filled(logbook)
    logbook.add_student(Student(code="C-3"))
    edit_student(logbook, "TH-11", {"ceilings": (Ceiling(bpm=105, set_by="therapist", set_on=date(2026, 9, 1)),)})
    return logbook


def titles(page):
    return [re.sub("<[^>]*>", "", each).strip() for each in re.findall("<h2[^>]*>(.*?)</h2>", page)]


def test_crossings_come_first_with_the_ceiling_to_change_and_a_long_group_waits(teacher, book, parts):
    page = teacher.get("/caseload").text
    assert "August 15, 2026" in page
    assert titles(page)[:3] == [
        "Above the ceiling (2 trials)",
        "No ceiling is written down (2 trials)",
        "No trial in these days (one student)",
    ]
    way = f"/student/{parts.ids.of('TH-11')}"
    assert f'href="{way}/facts?open=ceiling&amp;back=caseload#ceiling"' in page
    assert "105\u00a0/min" in page
    assert page.count(f'href="/student/{parts.ids.of("BF-07")}"') == 2
    assert "Set a ceiling" in page


def test_a_long_group_in_which_nothing_is_to_be_looked_at_first_waits(teacher, book, parts):
    for day in range(12, 21):
        book.add_trial(made.trial("BF-07", date(2026, 9, day), sheet=made.sheet()))
    way = f'href="/student/{parts.ids.of("BF-07")}"'
    page = teacher.get("/caseload").text
    assert "No ceiling is written down (11 trials)" in titles(page)
    assert way not in page
    assert "Show all 11" in page
    assert teacher.get("/caseload?show=no_ceiling").text.count(way) == 11


def test_the_days_can_be_chosen_and_days_that_are_none_are_told(teacher, book):
    one = teacher.get("/caseload?from=2026-09-11&to=2026-09-11")
    assert "Above the ceiling (one trial)" in titles(one.text)
    turned = teacher.get("/caseload?from=2026-09-12&to=2026-09-11")
    assert turned.status_code == 422
    assert "The last day is before the first." in turned.text
    assert teacher.get("/caseload?from=x").status_code == 422
    none = teacher.get("/caseload?from=2020-01-01&to=2020-01-31").text
    assert "No trial in these days (3 students)" in titles(none)


def test_a_ceiling_that_was_set_here_is_counted_at_once(teacher, book, parts):
    teacher.get("/caseload")
    way = f"/student/{parts.ids.of('TH-11')}"
    data = {"ceiling_bpm": "180", "ceiling_by": "therapist", "ceiling_on": "2026-10-01", "back": "caseload"}
    assert teacher.post(f"{way}/facts/ceiling", data=data).headers["location"] == "/caseload"
    page = teacher.get("/caseload").text
    assert "Saved for TH-11." in page
    assert "Above the ceiling" not in " ".join(titles(page))


def test_an_empty_logbook_says_so(teacher, parts):
    parts.logbook()
    assert "Nothing was tested yet." in teacher.get("/caseload").text
    assert teacher.get("/sheet/caseload/html").status_code == 422


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_the_caseload_is_in_the_language_of_the_session(teacher, book, language):
    teacher.post("/language", data={"language": language})
    page = teacher.get("/caseload?show=no_ceiling").text
    for english in ("Above the ceiling", "Show these days", "Set a ceiling", "Show the codes", "trials"):
        assert english not in page


@pytest.mark.parametrize("form", ["html", "pdf"])
def test_the_caseload_is_printed(teacher, book, form):
    found = teacher.get(f"/sheet/caseload/{form}?lang=es&from=2026-09-10&to=2026-09-11")
    assert found.status_code == 200
    if form == "pdf":
        assert 'filename="caseload-2026-09-10-2026-09-11-es.pdf"' in found.headers["content-disposition"]
    assert teacher.get(f"/sheet/caseload/{form}?from=x").status_code == 400
