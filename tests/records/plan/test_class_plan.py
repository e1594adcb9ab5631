"""The plan by the command: its table, what it tells, the way back through ``class add``, what it never writes over."""

import csv
import json

import numpy as np
import pytest
from ownmark.cli.main import main

from tests.makers.class_days import table
from tests.records.plan.school import NINE, School, checks, one, planned, table_rows


@pytest.fixture
def school(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    return School(tmp_path)


def test_a_code_in_the_name_and_a_start_make_a_sure_row(school, capsys):
    school.trial("TH-11.csv", "TH-11")
    row = one(school, capsys)
    assert row["checks"] == []
    assert row["sure"]
    assert (row["date"], row["protocol"]) == ("2026-05-12", "slalom-gym")
    assert (row["rest"], row["work"], row["recovery"]) == (
        "09:01:00-09:03:00",
        "09:03:00-09:09:00",
        "09:09:00-09:11:00",
    )


def test_a_sure_row_is_added_and_one_to_look_at_is_kept_aside_until_it_was_checked(school, capsys):
    school.only("TH-11", "TH-12")
    school.trial("TH-11.csv", "TH-11")
    school.trial("TH-12.csv", "TH-12", stated=False, seed=2)
    exit_code, found, _ = planned(school, capsys)
    assert exit_code == 1
    assert [(row["code"], row["sure"]) for row in found] == [("TH-11", True), ("TH-12", False)]
    assert checks(found[1]) == {"proposal.rests_on"}
    assert main(["class", "add", "day.csv"]) == 1
    told = capsys.readouterr().out
    assert "row 2, TH-11: added" in told
    assert "row 3, TH-12: to confirm" in told
    lines = (school.root / "day.csv").read_text().splitlines()
    for answer, state in (("yes", "to confirm"), ("checked", "added")):
        cells = next(csv.reader([lines[2]]))
        cells[8] = answer
        with (school.root / "mended.csv").open("w", newline="") as handle:
            csv.writer(handle).writerows([next(csv.reader([lines[0]])), cells])
        main(["class", "add", "mended.csv"])
        told = " ".join(capsys.readouterr().out.split())
        assert f"row 2, TH-12: {state}" in told
        answered = f". Answered by “checked”: {' '.join(cells[10].split()).rstrip('.')}"
        assert (answered in told) == (state == "added")


def test_an_out_file_that_is_there_is_never_replaced(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    (school.root / "day.csv").write_text("mine")
    assert school.plan() == 1
    assert (school.root / "day.csv").read_text() == "mine"
    assert "Name another" in capsys.readouterr().err


def test_a_day_on_which_all_is_sure_ends_with_0(school, capsys):
    school.only("TH-11", "TH-12")
    school.trial("TH-11.csv", "TH-11")
    school.straps = [("S2", "TH-12", "", "")]
    school.trial("S2.csv", "TH-12", seed=2)
    capsys.readouterr()
    assert school.plan() == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[-2:] == [
        "2 rows sure, 0 to look at. Written to " + str(school.root / "day.csv") + ".",
        f"Then: ownmark class add {school.root / 'day.csv'}",
    ]
    assert "sure: TH-11, slalom-gym, TH-11.csv, work 09:03:00-09:09:00." in out
    assert err == ""  # no bar where nobody looks at a terminal


def test_a_missing_strap_alone_ends_with_1(school, capsys):
    school.only("TH-11")
    school.straps = [("S9", "", "", "")]
    school.trial("TH-11.csv", "TH-11")
    assert school.plan() == 1
    assert "There is no file of the strap S9." in capsys.readouterr().out


def test_the_roster_may_say_who_has_which_strap(school, capsys):
    school.trial("S1.csv", "TH-11")
    roster = school.table("r.csv", "code,protocol,strap", [("TH-11", "slalom-gym", "S1")])
    starts = school.table("s.csv", "code,start", school.starts.items())
    assert main(["class", "plan", "bag", "--roster", roster, "--start", starts, "--out", "day.csv"]) == 0
    (row,) = table_rows(school)
    assert (row["code"], row["files"], row["check"]) == ("TH-11", "bag/S1.csv", "")


def test_a_table_of_the_plan_corrects_and_what_it_asks_is_kept_aside(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    assert school.plan() == 0
    assert main(["class", "add", "day.csv"]) == 0
    (row,) = table_rows(school)
    mended = {**row, "work": "09:03:10-09:09:00", "check": "Is it?"}
    for confirm, code, told in (
        ("", 1, "to confirm. Its column check says what to look at. When that is right, write checked into"),
        ("checked", 0, "corrected. trial 1: work 09:03:10-09:09:00 (kept: 09:03:00-09:09:00)"),
        ("checked", 0, "there already"),
    ):
        with (school.root / "mended.csv").open("w", newline="") as handle:
            writer = csv.DictWriter(handle, list(row))
            writer.writeheader()
            writer.writerow({**mended, "confirm": confirm})
        capsys.readouterr()
        assert main(["class", "add", "mended.csv", "--correct"]) == code
        shown = " ".join(capsys.readouterr().out.split())
        assert told in shown
        assert "Is it?" not in shown  # it stands in the table
    main(["trial", "show", "1", "--json"])
    trial = json.loads(capsys.readouterr().out)
    assert trial["work"] == "09:03:10-09:09:00"
    assert "check" not in trial


def test_files_in_folders_below_and_those_that_are_hidden(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    (school.bag / "deep" / ".trash").mkdir(parents=True)
    (school.bag / "TH-11.csv").rename(school.bag / "deep" / "TH-11.csv")
    (school.bag / ".DS_Store").write_bytes(b"x")
    (school.bag / "deep" / ".trash" / "TH-11 (2).csv").write_bytes(b"x")
    assert school.plan() == 0
    assert [row["files"] for row in table_rows(school)] == ["bag/deep/TH-11.csv"]


def test_a_folder_is_not_left_by_its_links(school, capsys, tmp_path):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    other = tmp_path / "other"
    other.mkdir()
    (other / "TH-12.csv").write_bytes((school.bag / "TH-11.csv").read_bytes())
    (school.bag / "TH-12.csv").symlink_to(other / "TH-12.csv")
    (school.bag / "folder").symlink_to(other)
    (school.bag / "up.csv").symlink_to("../other/../bag/TH-11.csv")  # it stays inside, and is the same file
    assert school.plan() == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "links that lead out of the folder: TH-12.csv. Name the file itself" in told
    assert [row["files"] for row in table_rows(school)] == ["bag/TH-11.csv"]
    assert main(["class", "plan", "bag", "other/TH-12.csv", "--out", "both.csv", "--lang", "es"]) == 1
    assert "enlace" not in capsys.readouterr().out  # it was named by itself
    (school.bag / "TH-11.csv").unlink()
    assert main(["class", "plan", "bag", "--out", "none.csv"]) == 2


def test_tables_beside_the_recordings_are_none_themselves(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    roster = school.table("bag/roster.csv", "code,protocol", school.roster.items())
    starts = school.table("bag/starts.csv", "code,start", school.starts.items())
    assert main(["class", "plan", "bag", "bag/TH-11.csv", "--roster", roster, "--start", starts, "--out", "d.csv"]) == 0
    assert len(table_rows(school, "d.csv")) == 1


def test_an_empty_folder_and_a_wrong_zone_are_refused_before_anything_is_read(school, capsys):
    assert main(["class", "plan", "bag", "--out", "d.csv"]) == 2
    assert "no file to plan" in capsys.readouterr().err
    school.trial("TH-11.csv")
    assert main(["class", "plan", "bag", "--out", "d.csv", "--zone", "Denver"]) == 2
    assert main(["class", "plan", "bag", "--out", "none/d.csv"]) == 1
    assert "Name another with --out." in capsys.readouterr().err


def test_a_table_that_appears_while_the_files_are_read_stays(school, capsys, monkeypatch):
    from ownmark.records.plan import day

    real = day.plan_day

    def slow(*given):
        (school.root / "day.csv").write_text("mine")
        return real(*given)

    monkeypatch.setattr(day, "plan_day", slow)
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    assert school.plan() == 1
    assert (school.root / "day.csv").read_text() == "mine"
    assert [path.name for path in school.root.iterdir() if ".part-" in path.name] == []


def test_the_times_of_a_strap_list_are_work_neither_in_the_plan_nor_when_it_is_added(school, capsys):
    school.only("TH-11")
    quiet = table(np.full(660, 80.0), NINE)
    school.write("S1.csv", quiet)
    school.straps = [("S1", "TH-11", "09:00", "09:11")]
    assert school.plan() == 1
    (row,) = table_rows(school)
    assert (row["rest"], row["work"], row["recovery"]) == ("", "", "")
    (school.bag / "class.csv").write_text("code,protocol,strap,work,date\nTH-11,slalom-gym,S1,,2026-05-12\n")
    (school.bag / "timed.csv").write_text(
        "code,protocol,strap,work,date\nTH-11,slalom-gym,S1,@09:03-@09:09,2026-05-12\n"
    )
    capsys.readouterr()
    straps = str(school.root / "straps.csv")
    assert main(["class", "add", "bag/class.csv", "--straps", straps]) == 1
    assert "No work phase is written down" in " ".join(capsys.readouterr().out.split())
    assert main(["class", "add", "bag/timed.csv", "--straps", straps]) == 0
    capsys.readouterr()
    main(["trial", "show", "1", "--json"])
    assert json.loads(capsys.readouterr().out)["work"] == "@09:03-@09:09"


@pytest.mark.parametrize(("days", "sure"), [("05/12/2026", True), ("12/05/2026", True), ("05/11/2026", False)])
def test_a_day_that_can_be_read_in_two_ways_is_that_of_most_files_or_it_is_asked(school, days, sure):
    school.only("TH-11", "TH-12")
    school.trial("TH-11.csv", "TH-11")
    school.trial("TH-12.csv", "TH-12", seed=2)
    path = school.bag / "TH-12.csv"
    path.write_text(path.read_text().replace("2026-05-12T", f"{days} "))
    assert school.plan() == (0 if sure else 1)
    of_most, open_day = table_rows(school)
    assert (of_most["code"], of_most["date"], of_most["check"]) == ("TH-11", "2026-05-12", "")
    assert (open_day["code"], open_day["date"]) == ("TH-12", "2026-05-12" if sure else "")
    assert bool(open_day["check"]) is not sure
    assert main(["class", "add", "day.csv"]) == (0 if sure else 1)  # what is asked stays aside


def test_a_file_without_a_day_gets_that_of_most_files_as_a_proposal(school):
    school.only("TH-11", "TH-12")
    school.trial("TH-11.csv", "TH-11")
    school.trial("TH-12.csv", "TH-12")
    path = school.bag / "TH-12.csv"
    path.write_text(path.read_text().replace("2026-05-12T", ""))
    assert school.plan() == 1
    _, asked = table_rows(school)
    assert (asked["code"], asked["date"]) == ("TH-12", "2026-05-12")
    assert asked["check"].startswith("The file states no day; most are from ")
    path.rename(school.bag / "TH-11.csv")  # alone there is no day to propose
    school.only("TH-11")
    del school.starts["TH-12"]
    assert school.plan(out="alone.csv") == 0
    assert table_rows(school, "alone.csv")[0]["date"] == ""


def test_the_typed_form_says_when_the_work_was_and_what_was_noted(school, capsys):
    school.only("TH-11")
    school.trial("S1.csv")
    typed = school.table(
        "typed.csv",
        "code,protocol,strap,from,until,start,work,notes",
        [("TH-11", "slalom-gym", "S1", "8:59", "9:13", "9:01", "9:03:05-9:09", "chair pulled left")],
    )
    capsys.readouterr()
    assert main(["class", "plan", "bag", "--roster", typed, "--out", "day.csv", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["rows"]
    assert (row["work"], row["notes"], row["checks"]) == ("09:03:05-09:09:00", "chair pulled left", [])
    assert main(["class", "add", "day.csv"]) == 0
    capsys.readouterr()
    main(["trial", "show", "1", "--json"])
    trial = json.loads(capsys.readouterr().out)
    assert (trial["rest_phase"], trial["work"]) == ("09:01:00-09:03:00", "09:03:05-09:09:00")
    assert trial["notes"] == "chair pulled left"


def test_a_time_table_with_work_is_a_form_too_and_one_time_for_all_is_none(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv")
    form = school.table("t.csv", "code,start,work", [("TH-11", "9:01", "9:03:05-9:09")])
    assert main(["class", "plan", "bag", "--start", form, "--out", "a.csv"]) == 1  # no protocol is known
    roster = school.table("r.csv", "code,protocol,work", [("TH-11", "slalom-gym", "9:03:05-9:09")])
    assert main(["class", "plan", "bag", "--roster", roster, "--start", "9:01", "--out", "b.csv"]) == 0
    assert table_rows(school, "b.csv")[0]["work"] == "09:03:05-09:09:00"
    plain = school.table("p.csv", "code,protocol", [("TH-11", "slalom-gym")])
    assert main(["class", "plan", "bag", "--roster", plain, "--start", form, "--out", "c.csv"]) == 0
    assert table_rows(school, "c.csv")[0]["work"] == "09:03:05-09:09:00"


def test_a_name_too_long_for_the_table_is_refused_in_a_sentence(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    assert main(["class", "plan", str(school.bag), "--out", f"{'x' * 300}.csv"]) == 1
    told = capsys.readouterr().err
    assert "too long" in told
    assert "itself failed" not in told


def test_an_empty_table_that_did_not_fit_on_the_disk_is_not_left_behind(school, capsys, monkeypatch):
    def full(_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr("os.fsync", full)
        assert main(["class", "template", "--out", "class.csv"]) == 1
    assert "No space left" in capsys.readouterr().err
    assert [path.name for path in school.root.iterdir() if path.name.startswith("class")] == []
    assert main(["class", "template", "--out", "class.csv"]) == 0
    assert main(["class", "template", "--out", "class.csv"]) == 2
    assert "there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        ["trial", "edit", "1", "--exer", "5"],
        ["student", "edit", "TH-11", "--ceil", "120"],
        ["look", "a.csv", "--rat", "5"],
    ],
)
def test_the_beginning_of_an_option_is_no_option(school, capsys, words):
    assert main(words) == 2
    assert "unrecognized arguments" in capsys.readouterr().err
