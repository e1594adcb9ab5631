"""What is known before a file is read: the tables that people wrote, and what the logbook holds."""

from datetime import date

import pytest
from ownmark.errors import NotATrial, UnreadableFile, UsageError
from ownmark.records import open_logbook
from ownmark.records.class_table import read_straps
from ownmark.records.plan.known import by_name, read_roster, read_starts, sources_of, with_roster
from ownmark.records.plan.sources import Listed, Sources
from ownmark.records.store.recent import last_trial, newest_files, student_codes
from ownmark.records.store.student_overview import Outline
from ownmark.records.wearing import Worn

from tests.records.store import made


def wrote(tmp_path, text):
    path = tmp_path / "table.csv"
    path.write_text(text)
    return path


def test_a_roster_has_a_code_and_may_have_a_protocol_and_a_strap(tmp_path):
    path = wrote(tmp_path, "Code,Protocol,Strap\nth-11,slalom,S1\nTH-12,,\n,,S3\n")
    assert read_roster(path) == (Listed("TH-11", "slalom", "S1"), Listed("TH-12"))
    assert read_roster(wrote(tmp_path, "code\nTH-11\n")) == (Listed("TH-11"),)


def test_a_roster_with_a_student_twice_or_without_codes_is_refused(tmp_path):
    with pytest.raises(NotATrial, match="TH-11 in two rows"):
        read_roster(wrote(tmp_path, "code,protocol\nTH-11,slalom\nth-11,ramp\n"))
    with pytest.raises(NotATrial, match=r"no column code.*first line must name it: code"):
        read_roster(wrote(tmp_path, "student,strap\nTH-11,S1\n"))
    with pytest.raises(UnreadableFile):
        read_roster(tmp_path / "none.csv")


def test_a_student_may_have_two_straps_for_one_protocol(tmp_path):
    path = wrote(tmp_path, "code,protocol,strap\nTH-11,slalom,S1\nTH-11,slalom,S2\n")
    assert [each.strap for each in read_roster(path)] == ["S1", "S2"]


def test_starts_are_one_time_or_a_table(tmp_path):
    assert read_starts("9:05") == {"": 32700.0}
    path = wrote(tmp_path, "code,start\nth-11,9:05\nTH-12,09:06:30\nTH-11,9:05\nTH-13,\n,9:00\n")
    assert read_starts(str(path)) == {"TH-11": 32700.0, "TH-12": 32790.0}


@pytest.mark.parametrize(
    ("rows", "what"), [("TH-11,soon", "no time of day"), ("TH-11,9:05\nTH-11,9:06", "begins twice")]
)
def test_starts_that_say_nothing_or_two_things_are_refused(tmp_path, rows, what):
    with pytest.raises(NotATrial, match=what):
        read_starts(str(wrote(tmp_path, f"code,start\n{rows}\n")))
    with pytest.raises(NotATrial, match="no column start"):
        read_starts(str(wrote(tmp_path, "code,when\nTH-11,9:05\n")))


@pytest.mark.parametrize("text", ["25:00", "9.05", "nosuch.csv"])
def test_a_start_that_is_neither_a_time_nor_a_table_says_both(text):
    with pytest.raises(UsageError, match=f"“{text}” is neither a time of day nor a table"):
        read_starts(text)


@pytest.mark.parametrize("read", [read_roster, read_straps, lambda path: read_starts(str(path))])
def test_a_column_that_stands_twice_is_refused_in_every_table(tmp_path, read):
    with pytest.raises(NotATrial, match="two columns code"):
        read(wrote(tmp_path, "code,Code ,strap,start\nTH-11,TH-12,S1,9:05\n"))


@pytest.mark.parametrize(
    ("times", "what"), [("9:99,10:00", "“9:99” in the column from"), (",later", "“later” in the column until")]
)
def test_a_time_of_wearing_that_is_none_is_refused_with_its_row(tmp_path, times, what):
    path = wrote(tmp_path, f"strap,code,from,until\nS1,TH-11,9:05 AM,@9:20\nS2,TH-12,,\nS1,TH-12,{times}\n")
    with pytest.raises(NotATrial, match=f"row 4: {what} is no time of day"):
        read_straps(path)


def test_straps_of_the_roster_join_the_list():
    roster = (Listed("TH-11", None, "S1"), Listed("TH-12", None, "s2"), Listed("TH-13"))
    listed = (Worn("S2", "TH-12", "9:00", "9:10"), Worn("", "TH-14"), Worn("", "TH-15", files=("a.csv",)))
    assert with_roster(listed, roster) == (listed[0], listed[2], Worn("S1", "TH-11"))
    other = (Worn("S1", "TH-12"),)
    assert with_roster(other, roster[:1]) == (Worn("S1", "TH-12"), Worn("S1", "TH-11"))


def test_who_is_expected():
    found = Sources(
        roster=(Listed("TH-12"),),
        worn=(Worn("S1", "TH-11"), Worn("S2", ""), Worn("S3", "TH-12")),
        starts={"": 1.0, "TH-13": 2.0},
    )
    assert found.expected == ("TH-12", "TH-11", "TH-13")


def test_a_start_is_the_students_own_or_that_of_all():
    found = Sources(starts={"": 1.0, "TH-13": 2.0})
    assert (found.start_of("TH-13"), found.start_of("TH-11"), found.start_of(None)) == (2.0, 1.0, 1.0)
    assert Sources().start_of("TH-11") is None


def outline(number, code, on=date(2026, 4, 1), protocol="slalom"):
    return Outline(number, code, protocol, 1, on, practice=False)


def test_files_by_their_names_without_dates_the_newest_trial_of_each_student():
    newest = (
        (outline(9, "TH-11", date(2026, 4, 9)), "S1_2026-04-09.csv"),
        (outline(8, "TH-12"), "s1.fit"),
        (outline(7, "TH-11"), "S1_2026-03-01.csv"),
        (outline(6, "TH-13"), "2026-03-01.csv"),
    )
    found = by_name(newest)
    assert set(found) == {"s1"}
    assert [(each.code, each.on) for each in found["s1"]] == [("TH-11", date(2026, 4, 9)), ("TH-12", date(2026, 4, 1))]


@pytest.fixture
def logbook(tmp_path):
    with open_logbook(tmp_path / "logbook.db", create=True) as opened:
        opened.add_protocol(made.protocol())
        for code in ("TH-11", "TH-12"):
            opened.add_student(made.student(code))
        yield opened


def added(logbook, code, on, name, seed):
    data = made.recording(seed)
    files = (made.kept(name, data),)
    return logbook.add_trial(made.trial(code, on, files=files), [(name, data)])


def test_the_last_trial_is_that_of_the_last_day_then_of_the_highest_number(logbook):
    added(logbook, "TH-11", date(2026, 4, 9), "a.csv", 1)
    added(logbook, "TH-11", date(2026, 4, 2), "b.csv", 2)
    last = added(logbook, "TH-11", date(2026, 4, 9), "c.csv", 3)
    found = last_trial(logbook, "TH-11")
    assert (found.id, found.on) == (last.id, date(2026, 4, 9))
    assert last_trial(logbook, "TH-12") is None
    assert student_codes(logbook) == {"TH-11", "TH-12"}


def test_the_newest_files_are_those_of_the_newest_trials_and_no_more(logbook):
    assert newest_files(logbook) == ()
    for seed in range(1, 5):
        added(logbook, "TH-11", date(2026, 4, seed), f"{seed}.csv", seed)
    assert [name for _, name in newest_files(logbook, 2)] == ["4.csv", "3.csv"]
    assert [each.on.day for each, _ in newest_files(logbook)] == [4, 3, 2, 1]


def test_a_large_logbook_is_not_walked_through(logbook, monkeypatch):
    added(logbook, "TH-11", date(2026, 4, 1), "S1.csv", 1)
    monkeypatch.setattr(type(logbook), "trials", None)
    monkeypatch.setattr(type(logbook), "students", None)
    found = sources_of(logbook, (Listed("TH-11", None, "S1"),), today=date(2026, 5, 12))
    assert found.known == {"TH-11", "TH-12"}
    assert list(found.protocols) == ["slalom-gym"]
    assert found.worn == (Worn("S1", "TH-11"),)
    assert (found.last("TH-11").protocol, found.last("TH-12")) == ("slalom-gym", None)
    assert [each.code for each in found.named["s1"]] == ["TH-11"]
    assert found.today == date(2026, 5, 12)
