"""Who stands on the form of a day, and that what is typed from it is read back by the plan."""

from datetime import date

import pytest
from ownmark.errors import NotACode, NotATrial, NothingToCompare, UnknownProtocol
from ownmark.records import open_logbook
from ownmark.records.class_table import read_straps, with_column
from ownmark.records.plan.day_form import FormRow, form_rows, typed_table
from ownmark.records.plan.known import read_roster, read_starts
from ownmark.records.plan.sources import Listed
from ownmark.records.plan.written import Written, read_written
from ownmark.records.wearing import Worn

from tests.records.store.made import protocol, student, trial


@pytest.fixture
def logbook(tmp_path):
    """TH-13 was never tested, TH-12 by two protocols, TH-11 by one."""
    with open_logbook(tmp_path / "logbook.db", create=True) as found:
        for code in ("TH-13", "TH-12", "TH-11"):
            found.add_student(student(code))
        found.add_protocol(protocol())
        found.add_protocol(protocol(name="crank"))
        for code, name, on in (
            ("TH-11", "slalom-gym", date(2026, 5, 12)),
            ("TH-12", "crank", date(2026, 5, 12)),
            ("TH-12", "slalom-gym", date(2026, 10, 20)),
        ):
            found.add_trial(trial(code, protocol=name, on=on, files=()))
        yield found


def test_without_a_table_every_student_of_the_logbook_stands_on_it_with_the_last_protocol(logbook):
    assert form_rows(logbook) == (
        FormRow("TH-11", "slalom-gym"),
        FormRow("TH-12", "slalom-gym"),
        FormRow("TH-13", ""),
    )


def test_a_protocol_or_a_day_leaves_those_who_were_tested_by_it_or_since(logbook):
    assert form_rows(logbook, protocol="crank") == (FormRow("TH-12", "crank"),)
    assert [row.code for row in form_rows(logbook, since=date(2026, 5, 12))] == ["TH-11", "TH-12"]
    assert [row.code for row in form_rows(logbook, since=date(2026, 5, 13))] == ["TH-12"]
    assert [row.code for row in form_rows(logbook, since=date(2026, 10, 20))] == ["TH-12"]
    with pytest.raises(NothingToCompare, match="no student"):
        form_rows(logbook, since=date(2026, 10, 21))
    with pytest.raises(NothingToCompare, match="no student"):
        form_rows(logbook, protocol="crank", since=date(2026, 5, 13))
    with pytest.raises(UnknownProtocol):
        form_rows(logbook, protocol="crunk")


def test_a_roster_keeps_its_order_and_its_protocols_and_lacks_nobody_for_want_of_a_trial(logbook):
    roster = (Listed("TH-13", "crank"), Listed("th-12"), Listed("TH-99"))
    assert form_rows(logbook, roster) == (FormRow("TH-13", "crank"), FormRow("TH-12", "slalom-gym"), FormRow("TH-99"))
    assert {row.protocol for row in form_rows(logbook, roster, protocol="slalom-gym")} == {"slalom-gym"}


def test_each_strap_of_a_student_has_its_line_and_a_strap_that_is_handed_on_one_for_each(logbook):
    worn = (Worn("S2", "TH-12"), Worn("S1", "TH-11"), Worn("S3", "TH-12"), Worn("S1", "TH-12", "9:00", "9:10"))
    worn += (Worn("S1", "TH-12", "9:30", "9:40"), Worn("", "TH-11"))
    assert [(row.code, row.strap) for row in form_rows(logbook, worn=worn)] == [
        *(("TH-12", "S2"), ("TH-12", "S3"), ("TH-12", "S1")),
        ("TH-11", "S1"),
    ]
    roster = (Listed("TH-13"), Listed("TH-11"))
    assert [(row.code, row.strap) for row in form_rows(logbook, roster, worn)] == [("TH-13", ""), ("TH-11", "S1")]


@pytest.mark.parametrize(("roster", "worn"), [((Listed("ANNE"),), ()), ((), (Worn("S1", "ANNE"),))])
def test_a_name_in_the_place_of_a_code_is_never_printed(logbook, roster, worn):
    with pytest.raises(NotACode) as told:
        form_rows(logbook, roster, worn)
    assert "ANNE" not in str(told.value).upper()


def test_the_typed_form_is_roster_list_of_straps_and_time_table_in_one(tmp_path):
    rows = (FormRow("TH-11", "crank", "S1"), FormRow("TH-12", "crank", "S1"))
    blank = typed_table(rows).decode("utf-8-sig")
    assert blank == "code,protocol,strap,from,until,start,work,notes\r\nTH-11,crank,S1,,,,,\r\nTH-12,crank,S1,,,,,\r\n"
    path = tmp_path / "day.csv"
    path.write_text(
        blank.replace("TH-11,crank,S1,,,,,", "TH-11,crank,S1,9:00,9:20,9:02,9:04-9:12,").replace(
            "TH-12,crank,S1,,,,,", "TH-12,crank,S1,9:22,9:40,9:24:30,,tired"
        )
    )
    assert [(each.code, each.protocol) for each in read_roster(path)] == [("TH-11", "crank"), ("TH-12", "crank")]
    assert read_straps(path) == (Worn("S1", "TH-11", "9:00", "9:20"), Worn("S1", "TH-12", "9:22", "9:40"))
    assert read_starts(str(path)) == {"TH-11": 9 * 3600 + 120, "TH-12": 9 * 3600 + 24 * 60 + 30}
    assert read_written([path]) == Written({"TH-11": "9:04-9:12"}, {"TH-12": "tired"})


def test_a_student_with_a_second_strap_stands_on_the_roster_twice_and_with_a_second_test_is_refused(tmp_path):
    path = tmp_path / "day.csv"
    path.write_text("code,protocol,strap\nTH-11,crank,S1\nTH-12,crank,S2\nth-11,crank,S3\n")
    assert {each.code for each in read_roster(path)} == {"TH-11", "TH-12"}
    assert [(each.strap, each.code) for each in read_straps(path)] == [
        ("S1", "TH-11"),
        ("S2", "TH-12"),
        ("S3", "TH-11"),
    ]
    path.write_text("code,protocol\nTH-11,crank\nTH-11,slalom\n")
    with pytest.raises(NotATrial, match="TH-11 in two rows"):
        read_roster(path)


def test_a_table_is_another_one_too_where_it_has_its_column(tmp_path):
    path = tmp_path / "day.csv"
    path.write_text("Code,Strap\nTH-11,\n")
    assert with_column(str(path), "strap") == str(path)
    assert with_column(str(path), "start") is None
    assert with_column(None, "strap") is None


def test_no_cell_of_the_table_is_a_formula():
    assert "'=1+1" in typed_table((FormRow("TH-11", "=1+1", "S1"),)).decode("utf-8-sig")
