"""A table that is mended and given again makes no second trial of one heart: it says what differs, and corrects it."""

from datetime import date

from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.store.history import history_of

from tests.records.store import made
from tests.records.test_shared_files import FIRST, written
from tests.records.test_shared_files import school as two_students

school = two_students
DAY = date(2026, 10, 6)


def given(logbook, folder, *rows, correct=False):
    """What becomes of a table's rows."""
    table = folder / "day.csv"
    table.write_text("code,protocol,files,work,rest_phase,notes\n" + "\n".join(rows) + "\n")
    return [
        (each.state, each.sentence)
        for each in add_class(logbook, read_class(table, None), day=DAY, today=made.DAY, correct=correct)
    ]


ROW = "TH-11,slalom-gym,strap.csv,05:00-12:00,00:30-05:00,"


def test_a_row_that_says_otherwise_tells_what_and_changes_nothing(school, tmp_path):
    written(tmp_path, "strap.csv", FIRST)
    assert given(school, tmp_path, ROW)[0][0] == "added"
    before = school.trial(1)
    ((state, told),) = given(school, tmp_path, "TH-11,slalom-gym,strap.csv,05:00-11:00,00:30-05:00,windy")
    assert state == "there already"
    assert "work 05:00-11:00 (kept: 05:00-12:00); notes windy (kept: nothing)" in told or (
        "notes windy (kept: nothing)" in told and "work 05:00-11:00 (kept: 05:00-12:00)" in told
    )
    assert told.endswith("--correct applies it.")
    assert school.trial(1) == before
    ((state, told),) = given(school, tmp_path, ROW)
    assert (state, "--correct" in told) == ("there already", False)


def test_correct_applies_what_differs_and_an_empty_cell_takes_nothing_away(school, tmp_path):
    written(tmp_path, "strap.csv", FIRST)
    given(school, tmp_path, ROW + "windy")
    ((state, told),) = given(school, tmp_path, "TH-11,slalom-gym,strap.csv,05:00-11:00,00:30-05:00,", correct=True)
    assert (state, told) == ("corrected", "trial 1: work 05:00-11:00 (kept: 05:00-12:00)")
    now = school.trial(1)
    assert (now.work, now.notes) == ("05:00-11:00", "windy")
    assert [(each.what, each.why) for each in history_of(school, "trial", 1)] == [("edited", "class table")]


def test_a_second_file_that_was_mistyped_is_added_to_the_same_trial(school, tmp_path):
    written(tmp_path, "strap.csv", FIRST)
    other = written(tmp_path, "other.csv", FIRST + 2)
    first = given(school, tmp_path, ROW.replace("strap.csv", "strap.csv;othr.csv"))
    assert first[0][0] == "added"
    row = ROW.replace("strap.csv", "strap.csv;other.csv")
    ((state, told),) = given(school, tmp_path, row)
    assert (state, "a further file, other.csv" in told) == ("there already", True)
    ((state, _),) = given(school, tmp_path, row, correct=True)
    assert state == "corrected"
    (trial,) = school.trials()
    assert [file.path for file in trial.files] == ["strap.csv", other.name]
    ((state, told),) = given(school, tmp_path, row, correct=True)
    assert (state, "otherwise" in told) == ("there already", False)


def test_the_same_of_a_trial_that_takes_its_whole_file(school, tmp_path):
    written(tmp_path, "strap.csv", FIRST)
    written(tmp_path, "other.csv", FIRST + 2)
    row = "TH-11,slalom-gym,strap.csv,,,,yes"
    head = "code,protocol,files,work,rest_phase,notes,confirmed"
    table = tmp_path / "whole.csv"

    def became(line, *, correct):
        table.write_text(f"{head}\n{line}\n")
        ((outcome),) = add_class(school, read_class(table, None), day=DAY, today=made.DAY, correct=correct)
        return outcome.state

    assert became(row, correct=False) == "added"
    assert became(row.replace("strap.csv", "strap.csv;other.csv"), correct=False) == "there already"
    assert became(row.replace("strap.csv", "strap.csv;other.csv"), correct=True) == "corrected"
    assert len(list(school.trials())) == 1
