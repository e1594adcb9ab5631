"""A second call does what is left, and reads nothing again."""

import pytest
from ownmark.ingest import files
from ownmark.records.batch.report import TableReport
from ownmark.records.batch.tables import tables_in
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.removing import remove_trial

from tests.records.batch import district
from tests.records.batch.district import WORK, batch, by_class_add, contents, school, simple, write


@pytest.fixture
def counted(monkeypatch):
    """How often a file was read."""
    calls = []
    real = files.parse

    def parse(data, source):
        calls.append(source.name)
        return real(data, source)

    monkeypatch.setattr(files, "parse", parse)
    return calls


def test_what_is_there_is_known_by_its_bytes_and_its_row_and_is_not_read(logbook, tmp_path, counted):
    folder = tmp_path / "north"
    simple(folder, 40)
    write(folder, "bag.zip", district.zipped(("a.csv", district.strap(5)), ("b.csv", district.frame(5))))
    write(folder, "more.csv", f"code,protocol,files,date,work\nTH-11,slalom-gym,bag.zip,2026-11-10,{WORK}\n")
    first = batch(school(logbook), folder)
    assert dict(first.counts) == {"added": 41}
    before, read = contents(logbook), len(counted)
    assert read >= 42
    again = batch(logbook, folder)
    assert dict(again.counts) == {"there already": 41}
    assert len(counted) == read
    assert again.clean
    assert contents(logbook) == before


def test_a_shared_strap_is_known_too(logbook, tmp_path, counted):
    district.round_the_class(tmp_path / "round")
    batch(school(logbook), tmp_path)
    read = len(counted)
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 6}
    assert len(counted) == read


def test_a_row_without_a_date_and_one_with_an_open_date_are_known(logbook, tmp_path, counted):
    write(tmp_path, "dated.csv", district.strap(44, district.datetime(2026, 11, 3, 9, 0)))
    write(tmp_path, "new.csv", district.strap(45))
    rows = (f"TH-11,slalom-gym,dated.csv,11/3/2026,{WORK}", f"TH-12,slalom-gym,new.csv,,{WORK}")
    write(tmp_path, "class.csv", "\n".join(["code,protocol,files,date,work", *rows]) + "\n")
    assert dict(batch(school(logbook), tmp_path).counts) == {"added": 2}
    read = len(counted)
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 2}
    assert len(counted) == read
    assert dict(batch(logbook, tmp_path, correct=True).counts) == {"there already": 2}


def test_a_mended_table_does_what_is_left(logbook, tmp_path):
    place = simple(tmp_path, 6)
    text = place.read_text()
    place.write_text(text.replace("F1002.csv", "missing.csv").replace(f"{WORK},turn 4", "9:01-9:04,turn 4"))
    first = batch(school(logbook), tmp_path)
    assert dict(first.counts) == {"added": 4, "refused": 1, "to confirm": 1}
    place.write_text(text)
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 4, "added": 2}
    assert len(list(logbook.trials())) == 6


def test_what_a_row_says_otherwise_is_told_and_corrected_by_whoever_asks_for_it(logbook, tmp_path):
    first, second = simple(tmp_path, 3, "one.csv"), simple(tmp_path, 3, "two.csv", seed=2000)
    batch(school(logbook), tmp_path)
    for place in (first, second):
        place.write_text(place.read_text().replace("turn 1", "turn one"))
    told = batch(logbook, tmp_path)
    assert dict(told.counts) == {"there already": 6}
    assert [row.otherwise for table in told.tables for row in table.open_rows] == [True, True]
    assert told.clean
    assert dict(batch(logbook, tmp_path, correct=True).counts) == {"there already": 4, "corrected": 2}
    assert sum(trial.notes == "turn one" for trial in logbook.trials()) == 2


@pytest.mark.parametrize("texts", [{"work": "@09:01:30-@09:04:00"}, {"notes": "wheel loose"}], ids=list)
def test_a_trial_that_was_edited_meanwhile_is_compared_as_it_stands_now(texts, logbook, tmp_path):
    simple(tmp_path, 2)
    batch(school(logbook), tmp_path)
    edit_trial(logbook, 1, Edit(texts=texts), today=district.TODAY)
    found = batch(logbook, tmp_path)
    assert dict(found.counts) == {"there already": 2}
    assert [(row.row.number, row.otherwise) for row in found.tables[0].open_rows] == [(2, True)]


def test_a_removed_trial_is_put_in_again(logbook, tmp_path):
    simple(tmp_path, 3)
    batch(school(logbook), tmp_path)
    remove_trial(logbook, 2, why="by mistake")
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 2, "added": 1}


def test_the_same_file_in_another_name_and_folder_is_the_same_work(logbook, tmp_path):
    simple(tmp_path / "a", 2)
    batch(school(logbook), tmp_path / "a")
    simple(tmp_path / "b", 2)
    assert dict(batch(logbook, tmp_path / "b").counts) == {"there already": 2}
    (other,) = by_class_add(logbook, tables_in([tmp_path / "b"]))
    assert dict(other.counts) == {"there already": 2}


@pytest.fixture
def entered(monkeypatch):
    """What became of every row, of those too that need nobody."""
    seen = []
    real = TableReport.enter

    def enter(report, outcome):
        seen.append((outcome.row.code, outcome.state, outcome.sentence, outcome.code, outcome.number))
        real(report, outcome)

    monkeypatch.setattr(TableReport, "enter", enter)
    return seen


def given_again(logbook, folder, entered):
    """What class add and a batch say of the same tables; neither changes anything."""
    before = contents(logbook)
    entered.clear()
    by_class_add(logbook, tables_in([folder]))
    said = tuple(entered)
    entered.clear()
    batch(logbook, folder)
    assert contents(logbook) == before
    return said, tuple(entered)


def test_a_row_that_is_there_is_told_as_class_add_tells_it(logbook, tmp_path, entered):
    simple(tmp_path, 2)
    district.round_the_class(tmp_path / "round")
    batch(school(logbook), tmp_path)
    said, found = given_again(logbook, tmp_path, entered)
    assert found == said
    assert {(state, "holds the same files" in sentence) for _, state, sentence, *_ in found} == {
        ("there already", True)
    }


def test_a_row_that_gives_up_its_work_beside_another_students_trial_is_refused(logbook, tmp_path, entered):
    data, works = district.handed_round(3, 2)
    write(tmp_path, "red.csv", data)
    rows = [f"TH-1{turn},slalom-gym,red.csv,2026-11-10,{works[turn - 1]}," for turn in (1, 2)]
    write(tmp_path, "class.csv", "\n".join(["code,protocol,files,date,work,confirm", *rows]) + "\n")
    assert dict(batch(school(logbook), tmp_path).counts) == {"added": 2}
    write(tmp_path, "class.csv", "code,protocol,files,date,work,confirm\nTH-11,slalom-gym,red.csv,2026-11-10,,yes\n")
    said, found = given_again(logbook, tmp_path, entered)
    assert found == said
    assert [state for _, state, *_ in found] == ["refused"]


def test_a_row_that_gives_up_its_answer_is_asked_again(logbook, tmp_path, entered):
    write(tmp_path, "S1.csv", district.strap(1))
    row = "TH-11,slalom-gym,S1.csv,2026-11-09,@09:01:00-@09:04:00,"
    write(tmp_path, "class.csv", f"code,protocol,files,date,work,confirm\n{row}yes\n")
    assert dict(batch(school(logbook), tmp_path).counts) == {"added": 1}
    write(tmp_path, "class.csv", f"code,protocol,files,date,work,confirm\n{row}\n")
    said, found = given_again(logbook, tmp_path, entered)
    assert found == said
    assert [state for _, state, *_ in found] == ["to confirm"]
