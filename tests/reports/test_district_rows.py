"""Rows and sentences of some students are those of all, and only their trials are judged."""

from datetime import date

import pytest
from ownmark.records import open_logbook
from ownmark.records.store.listing import pairs
from ownmark.reports.exports.plans import plans, plans_of
from ownmark.reports.sheets.many_students import district_rows, district_rows_of

from tests.records.store import made


@pytest.fixture
def logbook(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as opened:
        made.filled(opened, ("A-1", "B-2", "C-3"))
        opened.add_protocol(made.protocol("another"))
        opened.add_trial(made.trial("B-2", date(2026, 9, 20), "another", sheet=made.sheet(4), practice=True))
        yield opened


def test_rows_of_a_part_are_the_rows_of_all(logbook):
    every = sorted(district_rows(logbook), key=lambda each: (each.code, each.protocol))
    wanted = pairs(logbook)
    assert district_rows_of(logbook, wanted) == every
    assert district_rows_of(logbook, wanted[1:2]) == every[1:2]
    assert [(each.code, each.trials, each.found) for each in every][1] == ("B-2", 0, None)
    assert district_rows_of(logbook, []) == []


def test_rows_of_some_days_are_of_these_days(logbook):
    days = {"since": date(2026, 9, 11), "until": date(2026, 9, 30)}
    every = sorted(district_rows(logbook, **days), key=lambda each: (each.code, each.protocol))
    assert district_rows_of(logbook, pairs(logbook, **days), **days) == every
    assert all(each.found is None for each in every)


@pytest.mark.parametrize("language", ["en", "es"])
def test_sentences_of_some_are_those_of_all(logbook, language):
    every = list(plans(logbook, language=language))
    wanted = [(each.code, each.protocol) for each in pairs(logbook)]
    found = plans_of(logbook, wanted, language)
    assert sorted(found.values()) == sorted(every)
    assert list(plans_of(logbook, [("A-1", "slalom-gym"), ("A-1", "another")], language)) == [("A-1", "slalom-gym")]
    days = {"since": date(2026, 9, 11), "until": date(2026, 9, 11)}
    assert sorted(plans_of(logbook, wanted, language, **days).values()) == sorted(
        plans(logbook, language=language, **days)
    )
