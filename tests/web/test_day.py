"""After class: files come, each student's row says what was found, answers are presses, trials go in one by one."""

import errno
import os
import re
from datetime import date

import pytest
from ownmark.cli.main import main
from ownmark.records.day.happened import happened
from ownmark.records.store import received
from ownmark.records.store.day_entries import entries_of
from ownmark.sample_streams.bag import BAG, SET_UP

DAY = "2026-11-18"
HERE = f"/day/{DAY}"


@pytest.fixture
def bag(teacher, parts, place):
    """The logbook of the bag's twelve students; the list of their class is dropped already."""
    for line in SET_UP.splitlines():
        assert main([*line.split(), "--logbook", place]) == 0
    drop(teacher, BAG / "class.csv")
    return parts.logbook()


def drop(teacher, *files):
    sent = [("files", (each.name, each.read_bytes())) for each in files]
    answer = teacher.post(f"{HERE}/files", files=sent)
    assert (answer.status_code, answer.headers["location"]) == (303, HERE)


def straps(*labels):
    return [BAG / f"{each}.fit" for each in labels]


def rows_of(text):
    """State and presses of each row, by the student."""
    found = {}
    for part in text.partition("</main>")[0].split('<li class="day-row is-')[1:]:
        state = re.match(r"\w+", part)[0]
        found[re.search(r'class="code">(.*?)</span>', part)[1]] = (state, part)
    return found


def accept(teacher, code):
    """Press that all which is asked of a row is right."""
    _, body = rows_of(teacher.get(HERE).text)[code]
    form = re.search(r'action="/day/2026-11-18/accept">(.*?)</form>', body, re.DOTALL)[1]
    teacher.post(f"{HERE}/accept", data={"row": field(form, "row")[0], "mark": field(form, "mark")})


def field(body, name):
    return re.findall(rf'name="{name}" value="([^"]*)"', body)


def now_of(logbook):
    return happened(date.fromisoformat(DAY), entries_of(logbook, date.fromisoformat(DAY)))


def test_the_list_of_the_class_comes_along_and_is_not_kept_as_a_file(teacher, bag):
    assert [each.code for each in now_of(bag).tests] == [f"TH-{number}" for number in range(31, 43)]
    assert now_of(bag).files == ()
    assert "The list of the class has 12 students." in teacher.get(HERE).text


def test_files_stand_by_their_names_in_whatever_order_they_came(teacher, bag):
    for label in ("S10", "S2", "S9"):
        drop(teacher, *straps(label))
    assert re.findall(r'class="file-name">(.*?)</span>', teacher.get(HERE).text) == ["S2.fit", "S9.fit", "S10.fit"]


def test_a_sure_row_is_ready_and_goes_in_by_one_press(teacher, bag):
    drop(teacher, *straps("S6"))
    text = teacher.get(HERE).text
    state, body = rows_of(text)["TH-38"]
    assert state == "ready"
    assert "S6.fit" in body
    assert "work 09:08:00–09:16:00" in body
    teacher.post(f"{HERE}/add", data={"row": field(body, "row")[0]})
    (trial,) = bag.trials()
    assert (trial.code, trial.on.isoformat(), trial.work) == ("TH-38", DAY, "09:08:00-09:16:00")
    assert f'href="/trial/{trial.id}"' in rows_of(teacher.get(HERE).text)["TH-38"][1]


def test_all_that_are_ready_go_in_at_once_and_their_files_leave_the_folder(teacher, bag, parts):
    drop(teacher, *straps("S6", "S7", "S8"))
    teacher.post(f"{HERE}/add", data={"all": "1"})
    assert {each.code for each in bag.trials()} == {"TH-38", "TH-39", "TH-40"}
    assert parts.received().paths(date.fromisoformat(DAY)) == {}
    assert "3 trials are in the logbook." in teacher.get(HERE).text


def test_a_clock_that_was_a_week_behind_is_put_right_by_one_press(teacher, bag):
    drop(teacher, *straps("S4", "S6", "S7"))
    state, body = rows_of(teacher.get(HERE).text)["TH-36"]
    assert state == "asked"
    form = re.search(r'action="/day/2026-11-18/answer" class="row">(.*?)</form>', body, re.DOTALL)[1]
    place = re.search(r'value="(\d+)">It was on November 18, 2026: its clock was off', form)[1]
    data = {"row": field(form, "row")[0], "mark": field(form, "mark")[0], "place": place}
    teacher.post(f"{HERE}/answer", data=data)
    assert rows_of(teacher.get(HERE).text)["TH-36"][0] == "ready"
    teacher.post(f"{HERE}/add", data={"row": data["row"]})
    (trial,) = bag.trials()
    assert (trial.on.isoformat(), trial.clock_shifts) == (DAY, {"S4.fit": 7 * 86_400.0})


def test_a_strap_that_was_handed_on_gives_each_wearer_the_own_minutes(teacher, bag, parts):
    drop(teacher, *straps("S1"))
    for code in ("TH-31", "TH-32"):
        assert len(parts.received().paths(date.fromisoformat(DAY))) == 1
        state, body = rows_of(teacher.get(HERE).text)[code]
        assert state == "asked"
        form = re.search(r'action="/day/2026-11-18/accept">(.*?)</form>', body, re.DOTALL)[1]
        teacher.post(f"{HERE}/accept", data={"row": field(form, "row")[0], "mark": field(form, "mark")})
    assert [(each.code, each.work) for each in bag.trials()] == [
        ("TH-31", "09:08:00-09:16:00"),
        ("TH-32", "09:29:00-09:37:00"),
    ]
    assert parts.received().paths(date.fromisoformat(DAY)) == {}


def test_recordings_that_are_all_read_are_no_longer_being_read(teacher, bag):
    drop(teacher, *straps("S6", "S7"))
    first = teacher.get(HERE).text
    assert "Reading 2 recordings" in first  # file by file, as each is looked at
    assert first.index('class="reading"') < first.index("S7.fit") < first.index('id="all-read"')
    again = teacher.get(HERE).text
    assert "Reading" not in again
    assert "all-read" not in again


def test_the_file_of_two_students_is_not_put_away_for_one_of_them(teacher, bag):
    drop(teacher, *straps("S1"))
    _, body = rows_of(teacher.get(HERE).text)["TH-31"]
    assert "Give it" in body
    assert "Put S1.fit away" not in body  # it holds the minutes of TH-32 too


def test_only_what_was_seen_is_accepted(teacher, bag):
    drop(teacher, *straps("S1"))
    _, body = rows_of(teacher.get(HERE).text)["TH-31"]
    form = re.search(r'action="/day/2026-11-18/accept">(.*?)</form>', body, re.DOTALL)[1]
    teacher.post(f"{HERE}/accept", data={"row": field(form, "row")[0], "mark": field(form, "mark")[1:]})
    assert list(bag.trials()) == []
    assert rows_of(teacher.get(HERE).text)["TH-31"][0] == "asked"


def test_a_file_without_a_heart_is_put_away_and_taken_back(teacher, bag):
    drop(teacher, *straps("S5"))
    state, body = rows_of(teacher.get(HERE).text)["TH-37"]
    assert (state, "/accept" in body) == ("asked", False)
    (file,) = now_of(bag).files
    teacher.post(f"{HERE}/file", data={"file": file.sha256})
    assert (
        rows_of(teacher.get(HERE).text)["TH-37"][0] != "asked"
        or "S5.fit" not in rows_of(teacher.get(HERE).text)["TH-37"][1]
    )
    teacher.post(f"{HERE}/file", data={"file": file.sha256})
    assert "S5.fit" in rows_of(teacher.get(HERE).text)["TH-37"][1]


def test_a_file_that_was_put_away_is_deleted_for_good_and_no_other(teacher, bag, parts):
    drop(teacher, *straps("S5", "S6"))
    first, second = now_of(bag).files
    assert teacher.post(f"{HERE}/delete", data={"file": second.sha256}).status_code == 404
    teacher.post(f"{HERE}/file", data={"file": first.sha256})
    teacher.post(f"{HERE}/delete", data={"file": first.sha256})
    assert set(parts.received().paths(date.fromisoformat(DAY))) == {second.sha256[:32]}
    assert "S5.fit is deleted." in teacher.get(HERE).text


def test_the_second_wearer_of_a_strap_is_not_asked_about_the_first_ones_trial(teacher, bag):
    drop(teacher, *straps("S1"))
    accept(teacher, "TH-31")
    _, body = rows_of(teacher.get(HERE).text)["TH-32"]
    assert "The logbook holds this recording already" not in body
    assert "The strap S1 was also worn by TH-31" in body


def test_the_same_file_twice_is_said_and_not_doubled(teacher, bag, tmp_path):
    again = tmp_path / "copy of S6.fit"
    again.write_bytes((BAG / "S6.fit").read_bytes())
    drop(teacher, *straps("S6"))
    drop(teacher, again)
    text = teacher.get(HERE).text
    assert "New: 0. There already, and kept once: 1." in text
    assert len(now_of(bag).files) == 1


def test_what_no_one_can_read_is_told_and_stops_nothing(teacher, bag, tmp_path):
    bad, empty = tmp_path / "S7.fit", tmp_path / "S8.fit"
    bad.write_bytes(b"\x0e\x10 no recording")
    empty.write_bytes(b"")
    drop(teacher, bad, empty, *straps("S6"))
    text = teacher.get(HERE).text
    assert "Left out" in text
    assert rows_of(text)["TH-38"][0] == "ready"
    assert rows_of(text)["TH-39"][0] == "asked"


def test_a_day_goes_on_after_a_new_start(teacher, bag, parts):
    drop(teacher, *straps("S6", "S7"))
    teacher.get(HERE)
    parts.looked.clear()
    parts.measuring.close()
    object.__setattr__(parts, "measuring", type(parts.measuring)(parts.place))
    assert {code for code, (state, _) in rows_of(teacher.get(HERE).text).items() if state == "ready"} == {
        "TH-38",
        "TH-39",
    }


def test_on_a_full_disk_what_arrived_whole_is_kept_and_the_rest_is_told(teacher, bag, parts, monkeypatch):
    kept, fsync = [], os.fsync

    def full(handle):
        if kept:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        kept.append(handle)
        fsync(handle)

    monkeypatch.setattr(received.os, "fsync", full)
    sent = [("files", (each.name, each.read_bytes())) for each in straps("S6", "S7")]
    answer = teacher.post(f"{HERE}/files", files=sent)
    assert answer.status_code == 422
    assert "there is no room" in answer.text.casefold()
    text = teacher.get(HERE).text
    assert rows_of(text)["TH-38"][0] == "ready"
    assert [each.name for each in now_of(bag).files] == ["S6.fit"]
    assert not list((parts.received().folder / "incoming").iterdir())


def test_nothing_chosen_is_said(teacher, bag):
    teacher.post(f"{HERE}/files", files=[("files", ("", b""))])
    assert "No file was chosen." in teacher.get(HERE).text


def test_an_answer_to_what_is_asked_no_more_changes_nothing(teacher, bag):
    before = now_of(bag).last
    teacher.post(f"{HERE}/answer", data={"row": "TH-31 1", "mark": "0" * 16, "place": "0"})
    assert now_of(bag).last == before
    assert "answered or changed meanwhile" in teacher.get(HERE).text


def test_a_row_that_is_stored_gives_no_numbers_of_a_strap_that_is_still_there_for_another_student(teacher, bag, parts):
    drop(teacher, *straps("S1"))
    numbers = f"{HERE}/row/{parts.ids.of('TH-31')}/1/trace"
    assert teacher.get(numbers).json()["lines"]["pulse"]["t"]
    form = re.search(
        r'action="/day/2026-11-18/accept">(.*?)</form>', rows_of(teacher.get(HERE).text)["TH-31"][1], re.DOTALL
    )[1]
    teacher.post(f"{HERE}/accept", data={"row": field(form, "row")[0], "mark": field(form, "mark")})
    assert rows_of(teacher.get(HERE).text)["TH-31"][0] == "stored"
    assert len(parts.received().paths(date.fromisoformat(DAY))) == 1
    assert teacher.get(numbers).status_code == 404


@pytest.mark.parametrize(
    ("language", "told"),
    [
        (
            "en",
            "letter.pdf: this is not a recording that ownmark can read: a PDF document. Recordings are files in FIT",
        ),
        ("es", "letter.pdf: esto no es un registro que ownmark pueda leer: un documento PDF. Los registros son"),
    ],
)
def test_a_file_that_is_no_recording_is_told_in_the_page_s_words(teacher, bag, tmp_path, language, told):
    teacher.post("/language", data={"language": language})
    letter = tmp_path / "letter.pdf"
    letter.write_bytes(b"%PDF-1.7\n\x00\x01")
    drop(teacher, letter)
    page = teacher.get(HERE).text
    assert told in page
    assert "ownmark formats" not in page
    empty = tmp_path / "empty.fit"
    empty.write_bytes(b"")
    drop(teacher, empty)
    said = {
        "en": "empty.fit: the file is empty. Copy it again",
        "es": "empty.fit: el archivo está vacío. Cópielo otra vez",
    }
    assert said[language] in teacher.get(HERE).text
