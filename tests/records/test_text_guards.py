"""Names, telephone numbers and mail addresses in free texts are asked about before they are kept."""

import json
from datetime import date

import pytest
from ownmark.cli.main import main
from ownmark.errors import NotConfirmed
from ownmark.records import open_logbook, text_guards
from ownmark.records.adding import keep
from ownmark.records.catalogue import edited, entry
from ownmark.records.class_day import add_class
from ownmark.records.class_table import Row
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.store.history import history_of
from ownmark.records.trial import Stop

from tests.records.store.made import protocol, student, trial

TODAY = date(2026, 11, 3)


@pytest.fixture
def logbook(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as book:
        book.add_student(student())
        book.add_protocol(protocol())
        yield book


def by_hand(**more):
    return trial(**{"distance_m": 120.0, **more})


@pytest.mark.parametrize(
    "more",
    [
        {"notes": "Maria was tired"},
        {"health": "call 555-0123 first"},
        {"device_settings": "ask k.o@school.example"},
        {"stops": (Stop(at="09:14", why="Mrs. Whitcombe came"),)},
    ],
)
def test_each_free_text_of_a_trial_is_asked_and_its_own_answer_settles_it(logbook, more):
    with pytest.raises(NotConfirmed, match="confirm keep-text") as refused:
        keep(logbook, by_hand(**more), [])
    assert "--confirm" in str(refused.value)
    with pytest.raises(NotConfirmed):  # a yes to something else is no answer to this
        keep(logbook, by_hand(**more, confirmed=("yes",)), [])
    assert logbook.count()["trials"] == 0
    assert keep(logbook, by_hand(**more, confirmed=("Keep-Text",)), []).trial.id == 1


def test_what_is_not_to_be_kept_is_not_repeated(logbook):
    with pytest.raises(NotConfirmed) as refused:
        keep(logbook, by_hand(notes="Guadalupe, 303-555-0142"), [])
    told = str(refused.value)
    assert "Guadalupe" not in told
    assert "0142" not in told
    assert "There may be a phone number in notes of the staff." in told
    assert "Someone may be named in notes of the staff (“G…”)." in told


def test_an_edit_asks_about_the_texts_that_it_changes_and_of_no_other(logbook):
    keep(logbook, by_hand(notes="Maria was tired", confirmed=("keep-text",)), [])
    edit_trial(logbook, 1, Edit(texts={"temperature": "21"}), today=TODAY)
    with pytest.raises(NotConfirmed):  # what was let stand once is not let stand for another text
        edit_trial(logbook, 1, Edit(texts={"medicines": "ask Emily"}), today=TODAY)
    assert logbook.trial(1).medicines == ""
    done = edit_trial(logbook, 1, Edit(texts={"medicines": "ask Emily"}, answers=("keep-text",)), today=TODAY)
    assert done.fields == ("medicines",)


def test_a_row_of_a_class_is_kept_aside_and_goes_in_with_its_answer(logbook):
    texts = {"code": "TH-11", "protocol": "slalom-gym", "distance_m": "120", "notes": "Emily ran beside"}
    rows = [Row(2, texts, ()), Row(3, {**texts, "confirmed": "keep-text"}, ())]
    first, second = add_class(logbook, rows, day=TODAY, today=TODAY)
    assert (first.state, second.state) == ("to confirm", "added")
    assert "may be named" in first.sentence


def test_a_protocol_is_asked_about_the_texts_that_are_new():
    before = entry("power-chair-slalom")
    after = edited(before, {"helpers": "Mrs. Whitcombe at the turn", "gates": "8"})
    assert [each.asked.code for each in text_guards.of_protocol(before, after)] == ["guard.named"]
    assert text_guards.of_protocol(after, edited(after, {"gates": "9"})) == ()
    how = edited(before, {"hand_measures": "lengths | lengths | count | one | 1 | Counted by Emily."})
    assert [each.asked["field"] for each in text_guards.of_protocol(before, how)] == ["hand_measures"]


def test_the_commands_ask_and_take_the_answer(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "book.db"))

    def run(*words, code=0):
        assert main(list(words)) == code
        return " ".join("".join(capsys.readouterr()).split())

    keep_it = ("--confirm", "keep-text")
    asked = "(“E…”)"
    assert asked in run("student", "add", "TH-11", "--note", "Emily helps", code=1)
    run("student", "add", "TH-11", "--note", "Emily helps", *keep_it)
    assert asked in run("student", "edit", "TH-11", "--rest", "70", "--why", "Emily said so", code=1)
    assert json.loads(run("student", "show", "TH-11", "--json"))["rests"] == []
    run("student", "edit", "TH-11", "--rest", "70", "--why", "Emily said so", *keep_it)
    run("protocol", "copy", "power-chair-slalom", "slalom")
    assert asked in run("protocol", "edit", "slalom", "--set", "helpers=Emily", code=1)
    assert "version 1" in run("protocol", "list")
    run("protocol", "edit", "slalom", "--set", "helpers=Emily", *keep_it)
    trial_add = ("trial", "add", "TH-11", "slalom", "--distance", "120", "--date", "2026-05-12", "--note", "Emily ran")
    assert asked in run(*trial_add, code=1)
    run(*trial_add, *keep_it)
    assert asked in run("trial", "edit", "1", "--note", "Emily walked", code=1)
    run("trial", "edit", "1", "--note", "Emily walked", *keep_it)
    assert asked in run("trial", "remove", "1", "--why", "Emily's", code=1)
    run("trial", "remove", "1", "--why", "Emily's", *keep_it)
    assert asked in run("trial", "restore", "1", "--why", "Emily's", code=1)
    run("trial", "restore", "1", "--why", "Emily's", *keep_it)
    run("student", "add", "TH-12")
    assert asked in run("trial", "move", "1", "TH-12", "--why", "Emily's", code=1)
    with open_logbook(tmp_path / "book.db") as book:
        assert [each.what for each in history_of(book, "trial", 1)] == ["edited", "removed", "put back"]
