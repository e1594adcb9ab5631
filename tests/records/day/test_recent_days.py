"""The last weeks' days as they are now, over a logbook."""

from datetime import date, datetime

from ownmark.records.day import recent_days as module
from ownmark.records.day.recent_days import recent_days
from ownmark.records.day_entry import Listed, Press, entry
from ownmark.records.store.day_entries import append, states_since
from ownmark.records.store.forgetting import forget
from ownmark.records.store.logbook import open_logbook
from ownmark.records.student import Student

MONDAY, TUESDAY = date(2026, 10, 5), date(2026, 10, 6)


def pressed(day, code, clock="10:00:00"):
    return entry(day, datetime.fromisoformat(f"{day}T{clock}"), Press(what="work_begins"), code)


def logbook_with(tmp_path, *codes):
    logbook = open_logbook(tmp_path / "logbook.db")
    logbook.add_students([Student(code=each) for each in codes])
    return logbook


def test_the_newest_day_comes_first_and_older_days_than_asked_for_do_not(tmp_path):
    with logbook_with(tmp_path, "TH-11") as logbook:
        append(logbook, pressed(MONDAY, "TH-11"), pressed(TUESDAY, "TH-11"))
        assert [each.day for each in recent_days(logbook, MONDAY)] == [TUESDAY, MONDAY]
        assert [each.day for each in recent_days(logbook, TUESDAY)] == [TUESDAY]
        assert recent_days(logbook, date(2026, 10, 7)) == ()


def test_a_day_is_folded_again_only_where_something_was_entered(tmp_path, monkeypatch):
    folded = []
    plain = module.happened
    monkeypatch.setattr(module, "happened", lambda day, entries: folded.append(day) or plain(day, entries))
    with logbook_with(tmp_path, "TH-11") as logbook:
        append(logbook, pressed(MONDAY, "TH-11"), pressed(TUESDAY, "TH-11"))
        recent_days(logbook, MONDAY)
        assert [each.open for each in recent_days(logbook, MONDAY)] == [True, True]
        assert sorted(folded) == [MONDAY, TUESDAY]
        append(logbook, pressed(TUESDAY, "TH-11", "10:05:00"))
        recent_days(logbook, MONDAY)
        assert sorted(folded) == [MONDAY, TUESDAY, TUESDAY]


def test_a_student_who_was_forgotten_is_no_longer_counted(tmp_path):
    with logbook_with(tmp_path, "TH-11", "TH-12") as logbook:
        append(logbook, pressed(MONDAY, "TH-11"), pressed(MONDAY, "TH-12"))
        assert states_since(logbook, MONDAY) == {MONDAY: (2, 2)}
        assert len(recent_days(logbook, MONDAY)[0].tests) == 2
        forget(logbook, "TH-11")
        assert states_since(logbook, MONDAY) == {MONDAY: (2, 1)}  # the last entry is still the last
        assert [each.code for each in recent_days(logbook, MONDAY)[0].tests] == ["TH-12"]


def test_two_logbooks_do_not_share_their_days(tmp_path):
    (tmp_path / "other").mkdir()
    with logbook_with(tmp_path, "TH-11") as one, logbook_with(tmp_path / "other", "TH-11") as other:
        append(one, pressed(MONDAY, "TH-11"))
        append(other, entry(MONDAY, datetime.fromisoformat("2026-10-05T09:00:00"), Listed(), "TH-11"))
        assert [each.open for each in recent_days(one, MONDAY)] == [True]
        assert [each.open for each in recent_days(other, MONDAY)] == [False]
