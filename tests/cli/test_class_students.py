"""``ownmark class students``: a list of students as a coordinator gives it, and what the command says of it."""

import json

import pytest
from ownmark.cli.main import main

LIST = """\
Student;born;condition;rest;ceiling;set by;note
TH-11;Mar-14;muscular dystrophy;84;140;therapist;new chair
TH-12;2014-03-12;;;;;
Maria Lopez;2014-03;;;;;
TH-13;;;;;;ask Maria Lopez
TH-14;;;;;;
"""


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "students.csv"
    path.write_bytes(LIST.encode("cp1252"))
    return path


def test_a_list_goes_in_row_by_row_and_is_mended_and_given_again(typed, table):
    told = typed("class", "students", table, code=1)
    assert "row 2, TH-11: added. Kept: born 2014-03, muscular dystrophy, rest 84 /min, ceiling 140 /min," in told
    assert "row 3, TH-12: refused. The cell born holds a day of birth, and the day is not kept." in told
    assert "row 4, no code: refused. This cannot be a student's code: it holds no digit" in told
    assert "row 5, TH-13: to confirm. Someone may be named in notes of the staff (“M…”)." in told
    assert "row 6, TH-14: added. Kept: the code alone." in told
    assert told.endswith("2 added, 0 there already, 1 to confirm, 2 refused.")
    assert "Maria" not in told
    text = (
        LIST.replace("2014-03-12", "2014-03")
        .replace("Maria Lopez;2014-03;;;;;\n", "")
        .replace("TH-14;;", "TH-14;2015-01;")
    )
    table.write_text(text.replace("ask Maria Lopez", "ask the aide"))
    told = typed("class", "students", table, code=1)
    assert (
        "row 5, TH-14: to confirm. The row says otherwise: born 2015-01 (new). Look which is right; --correct" in told
    )
    assert told.endswith("2 added, 1 there already, 1 to confirm, 0 refused.")
    told = typed("class", "students", table, "--correct")
    assert "row 5, TH-14: corrected. Corrected: born 2015-01 (new)." in told
    assert told.endswith("0 added, 3 there already, 1 corrected, 0 refused.")
    assert typed("class", "students", table).endswith("0 added, 4 there already, 0 refused.")
    assert typed("student", "list") == "TH-11 TH-12 TH-13 TH-14"


def test_the_report_is_plain_values_in_the_keys_of_a_batch(typed, table):
    typed("student", "add", "TH-14", "--born", "2015-02")
    found = json.loads(typed("class", "students", table, "--json", code=1))
    counts = {
        name: found[name] for name in ("all_rows", "added", "there_already", "corrected", "to_confirm", "refused")
    }
    assert counts == {
        "all_rows": 5,
        "added": 1,
        "there_already": 1,
        "corrected": 0,
        "to_confirm": 1,
        "refused": 2,
    }
    assert (found["table"], found["only_show"]) == (str(table), False)
    assert [(each["row"], each["student"], each["state"], each["code"]) for each in found["rows"]] == [
        (2, "TH-11", "added", None),
        (3, "TH-12", "refused", "not_a_student"),
        (4, None, "refused", "not_a_code"),
        (5, "TH-13", "to_confirm", "not_confirmed"),
        (6, "TH-14", "there_already", None),
    ]
    assert found["rows"][3]["answers"] == ["keep-text"]
    table.write_text("code,born\nTH-14,2015-03\n")
    (row,) = json.loads(typed("class", "students", table, "--json", code=1))["rows"]
    assert (row["state"], row["fields"]) == ("to_confirm", {"born": {"kept": "2015-02", "said": "2015-03"}})


def test_what_would_become_of_the_rows_is_shown_and_no_logbook_is_made(typed, table, tmp_path):
    told = typed("class", "students", table, "--only-show", code=1)
    assert told.endswith("2 added, 0 there already, 1 to confirm, 2 refused. Nothing was written: --only-show.")
    assert not (tmp_path / "logbook.db").exists()
    typed("student", "add", "TH-11")
    told = typed("class", "students", table, "--only-show", "--correct", code=1)
    assert "row 2, TH-11: corrected." in told
    assert typed("student", "list") == "TH-11"


def test_a_column_of_names_is_asked_about_and_left_out_where_that_is_said(table, capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    table.write_text("code,Full Name,dob\nTH-11,Maria Lopez,2014-03\n")
    assert main(["class", "students", str(table)]) == 1
    told = " ".join(capsys.readouterr().err.split())
    assert "the column “full_name”; the column “dob” (did you mean born?). Nothing was added." in told
    assert "--leave-out COLUMN" in told
    assert "Maria" not in told
    assert not (tmp_path / "logbook.db").exists()
    assert main(["class", "students", str(table), "--leave-out", "Full name", "--leave-out", "dob"]) == 0
    assert "row 2, TH-11: added. Kept: the code alone." in capsys.readouterr().out


def test_the_empty_list_is_written_once_and_goes_in_when_it_is_filled(typed, tmp_path):
    told = typed("class", "template", "--students")
    assert told.startswith("students.csv: 16 columns. Fill in code, and whatever is known;")
    assert "students.csv is there already" in typed("class", "template", "--students", code=2)
    with (tmp_path / "students.csv").open("a") as handle:
        handle.write("TH-11,2014-03\n")
    assert "row 3, TH-11: added. Kept: born 2014-03." in typed("class", "students", "students.csv")
    assert typed("class", "template", "--students", "--out", "a.xlsx").startswith("a.xlsx: 16 columns.")
    assert "Name it students.csv or students.xlsx." in typed(
        "class", "template", "--students", "--out", "a.ods", code=2
    )
    assert typed("class", "template").startswith("class.csv: ")


def test_a_fault_of_ownmark_is_shown_where_that_is_asked(typed, table, monkeypatch):
    from ownmark.records import student_list

    monkeypatch.setattr(student_list, "said_in", lambda *_: 1 / 0)
    told = typed("class", "students", table, code=1)
    assert "row 2, TH-11: refused. Ownmark itself failed at this row (ZeroDivisionError)" in told
    monkeypatch.setenv("OWNMARK_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        main(["class", "students", str(table)])
