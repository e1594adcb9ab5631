"""Trials for the caseload page: one for each of its groups."""

from datetime import date

from ownmark.records.student import Ceiling, Student

from . import pages_made as made
from .sheets_made import with_sheet

WITH = Student(code="TH-11", ceilings=(Ceiling(bpm=110, set_by="therapist", set_on=date(2026, 4, 1)),))
DOUBT = [{"from_s": 300.0, "until_s": 372.0, "highest_bpm": 240.0, "rules": ["implausible"]}]


def trial(seconds=0.0, low=None, high=None, *, used=110.0, above=(), possible=(), measured=True):
    low, high = seconds if low is None else low, seconds if high is None else high
    shown = {"value": seconds, "low": low, "high": high} if measured else {"value": None, "low": None, "high": None}
    return with_sheet(
        made.trial("chair"),
        {"time_above_ceiling": shown},
        ceiling_bpm=used,
        above_ceiling=list(above),
        possible_crossings=list(possible),
    )


CASES = {
    "crossed": (WITH, trial(31.0, above=[(390.0, 421.0)], possible=DOUBT)),
    "possible": (WITH, trial(possible=DOUBT)),
    "partly": (WITH, trial(0.0, 0.0, 90.0)),
    "none": (WITH, trial(0.0, 0.0, 0.4)),
    "unmeasured": (WITH, trial(measured=False)),
    "no_ceiling": (Student(code="TH-12"), trial(used=None, measured=False)),
    "stale": (WITH, trial(used=150.0)),
}
