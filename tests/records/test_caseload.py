"""Where a trial stands against today's ceiling, and lines that are kept only as long as the rows they are of."""

from datetime import date
from itertools import product

import pytest
from ownmark.records import caseload, forget, open_logbook
from ownmark.records.caseload import caseload_of, group_of, line_of, usual_days
from ownmark.records.safety import safety_of
from ownmark.records.student import Ceiling
from ownmark.records.student_mending import edit_student

from tests.makers.sheets import with_figure
from tests.records.store import made
from tests.reports.sheets.test_caseload_page import CASES, WITH, trial


@pytest.mark.parametrize(("high", "group"), [(0.0, "none"), (0.49, "none"), (0.5, "partly"), (110.0, "partly")])
def test_half_a_second_that_was_not_measured_is_the_least_that_may_have_been_above(high, group):
    assert group_of(safety_of(WITH, trial(0.0, 0.0, high))) == group


@pytest.mark.parametrize("name", CASES)
def test_a_trial_stands_where_it_belongs(name):
    assert group_of(safety_of(*CASES[name])) == name


def test_a_line_has_what_the_page_shows_and_nothing_of_the_sheet_beside():
    line = line_of(safety_of(*CASES["crossed"]))
    assert list(line.figures) == ["time_above_ceiling", "coverage_heart_rate", "recovery_60s"]
    assert (line.code, line.group, line.ceiling.bpm, line.changed, line.limits) == ("TH-11", "crossed", 110, None, ())
    stale = line_of(safety_of(*CASES["stale"]))
    assert "time_above_ceiling" not in stale.figures  # no time that is not today's
    assert stale.changed is not None


def test_who_waits_for_a_maximum_says_why():
    none = {"value": None, "low": None, "high": None, "reason": {"code": "why.no_maximum", "values": {}}}
    waiting = trial()
    waiting = waiting.model_copy(update={"sheet": with_figure(waiting.sheet, "reserve_mean", **none)})
    assert line_of(safety_of(WITH, waiting)).no_maximum.code == "why.no_maximum"
    assert line_of(safety_of(*CASES["none"])).no_maximum is None


DAYS = (date(2026, 9, 1), date(2026, 9, 29))


@pytest.fixture
def school(logbook):
    """Two students with a trial on each day, one without; one of the two has a ceiling."""
    logbook.add_protocol(made.protocol())
    logbook.add_students([made.student("A-1", ceilings=(Ceiling(bpm=150, set_by="therapist"),)), made.student("B-2")])
    logbook.add_student(made.student("C-3"))
    for seed, (code, on) in enumerate(product(("B-2", "A-1"), DAYS)):
        logbook.add_trial(made.trial(code, on, sheet=made.sheet(seed)), [("s.csv", made.recording(seed))])
    return logbook


def test_the_usual_days_are_the_four_weeks_up_to_the_last_test(logbook):
    assert usual_days(logbook) is None
    made.filled(logbook)
    assert usual_days(logbook) == (date(2026, 8, 15), date(2026, 9, 11))


def test_both_ends_of_the_days_count_and_who_has_no_trial_in_them_is_named(school):
    found = caseload_of(school, *DAYS)
    assert [(each.code, each.on, each.group) for each in found.lines] == [
        ("A-1", DAYS[0], "stale"),
        ("A-1", DAYS[1], "stale"),
        ("B-2", DAYS[0], "no_ceiling"),
        ("B-2", DAYS[1], "no_ceiling"),
    ]
    assert found.untested == ("C-3",)
    one = caseload_of(school, date(2026, 9, 2), DAYS[1])
    assert {each.on for each in one.lines} == {DAYS[1]}
    assert caseload_of(school, date(2026, 9, 2), date(2026, 9, 28)).untested == ("A-1", "B-2", "C-3")


def test_only_what_changed_is_worked_out_again(school, place, monkeypatch):
    worked_out = []
    real = caseload.line_of
    monkeypatch.setattr(caseload, "line_of", lambda found, of: worked_out.append(found.trial.id) or real(found, of))
    caseload_of(school, *DAYS)
    assert len(worked_out) == 4
    caseload_of(school, *DAYS)
    assert len(worked_out) == 4
    with open_logbook(place) as other:
        edit_student(other, "B-2", {"ceilings": (Ceiling(bpm=90, set_by="therapist"),)})
    found = caseload_of(school, *DAYS)
    assert sorted(worked_out[4:]) == sorted(each.trial for each in found.lines if each.code == "B-2")
    assert {each.ceiling.bpm for each in found.lines if each.code == "B-2"} == {90}


def test_who_is_forgotten_has_no_line(school):
    caseload_of(school, *DAYS)
    forget(school, "A-1")
    found = caseload_of(school, *DAYS)
    assert {each.code for each in found.lines} == {"B-2"}
    assert found.untested == ("C-3",)
