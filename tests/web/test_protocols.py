"""A protocol of one's own: what must match is written down on the page, by the same functions as on the terminal."""

import re

import pytest
from ownmark.records.adding import keep
from ownmark.records.catalogue import copy, edited
from ownmark.records.protocol_form import form_groups
from ownmark.records.store.history import history_of

from tests.records.store import made
from tests.records.test_shared_files import FIRST, PHASES, written

CHANGE = "/find/protocol/slalom-gym/change"


@pytest.fixture
def book(parts):
    logbook = parts.logbook()
    logbook.add_student(made.student("TH-11"))
    logbook.add_protocol(copy("power-chair-slalom", "slalom-gym"))
    return logbook


@pytest.fixture
def tested(book, tmp_path):
    keep(book, made.trial("TH-11", **PHASES, confirmed=("yes",)), [written(tmp_path, "strap.csv", FIRST)])
    return book


def test_every_line_of_the_card_that_is_to_be_settled_has_its_field(teacher, book):
    card = teacher.get("/find/protocol/slalom-gym").text
    assert "settle it before the trial" in card
    assert f'href="{CHANGE}"' in card
    assert "Set-up card of a protocol" in re.search("<title>(.*?)</title>", card)[1]
    form = teacher.get(CHANGE).text
    asked = set(re.findall(r'id="field-([a-z0-9_]+)"', form)) - {"why"}
    assert asked == {each.name for _, fields in form_groups() for each in fields}
    first, rest = form.split("What else can be written down")
    assert len(re.findall('id="field-', first)) == len(re.findall("settle it before the trial", card))
    assert "<details" not in first  # what is to be settled is seen at once
    assert re.findall('<details class="edit" id="[a-z]+" open', rest) == []


def test_what_is_typed_is_the_next_version(teacher, book):
    saved = teacher.post(CHANGE, data={"version": "1", "surface": "gym floor", "gates": "7", "turning": "left"})
    assert (saved.status_code, saved.headers["location"]) == (303, "/find/protocol/slalom-gym")
    now = book.protocol("slalom-gym")
    assert now == edited(
        book.protocol("slalom-gym", 1), {"surface": "gym floor", "gates": "7", "turning": "left"}
    ).model_copy(update={"version": 2})
    assert "slalom-gym is now at version 2." in teacher.get("/find/protocol/slalom-gym").text
    form = teacher.get(CHANGE).text
    assert 'name="surface" value="gym floor"' in form
    assert '<option value="left" selected>' in form
    again = teacher.post(CHANGE, data={"version": "2", "surface": "gym floor"})
    assert again.status_code == 303
    assert book.protocol("slalom-gym").version == 2
    assert "Nothing was changed." in teacher.get("/find/protocol/slalom-gym").text


def test_two_windows_change_what_each_typed(teacher, book):
    teacher.post(CHANGE, data={"version": "1", "surface": "gym floor", "gates": "7"})
    was = book.protocol("slalom-gym", 1)
    teacher.post(CHANGE, data={"version": "1", "surface": was.surface or "", "gates": "", "laps": "3"})
    now = book.protocol("slalom-gym")
    assert (now.surface, now.laps, now.version) == ("gym floor", 3, 3)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("gates", "six", "This is not a number."),
        ("gates", "6.5", "Write a whole number."),
        ("gates", "0", "Write a number above 0."),
        ("pause_s", "61", "60"),
        ("load_kg", "-2", "0"),
        ("target", "much", "40-60%"),
        ("surface", "x" * 300, "too long"),
    ],
)
def test_what_does_not_fit_is_told_beside_its_field_and_nothing_is_lost(teacher, book, name, text, told):
    answer = teacher.post(CHANGE, data={"version": "1", name: text, "device": "own power chair"})
    assert answer.status_code == 422
    (wrong,) = re.findall(rf'<p class="error" id="error-{name}">(.*?)</p>', answer.text)
    assert told in wrong
    assert f'<a href="#field-{name}">' in answer.text
    assert 'value="own power chair"' in answer.text
    assert re.search(f'<details[^>]* open>(?:(?!</details>).)*id="error-{name}"', answer.text, re.DOTALL) or (
        f'id="error-{name}"' in answer.text.split("<details")[0]
    )
    assert book.protocol("slalom-gym").version == 1


def test_a_name_in_a_text_is_asked_and_kept_by_the_button(teacher, book):
    typed = {"version": "1", "helpers": "Mrs. Miller pushes"}
    asked = teacher.post(CHANGE, data=typed)
    assert asked.status_code == 422
    assert 'value="keep-text"' in asked.text
    assert book.protocol("slalom-gym").version == 1
    assert teacher.post(CHANGE, data={**typed, "confirm": "keep-text"}).status_code == 303
    assert book.protocol("slalom-gym").helpers == "Mrs. Miller pushes"


def test_earlier_trials_are_given_it_where_that_is_wanted(teacher, tested):
    assert 'name="earlier"' in teacher.get(CHANGE).text
    teacher.post(CHANGE, data={"version": "1", "device_id": "chair 4"})
    assert tested.trial(1).protocol_version == 1
    told = teacher.get("/find/protocol/slalom-gym").text
    assert "One earlier trial could be given it too" in told
    teacher.post(CHANGE, data={"version": "2", "device_id": "chair 5", "earlier": "yes", "why": "one chair all year"})
    trial = tested.trial(1)
    assert tested.protocol("slalom-gym", trial.protocol_version).device_id == "chair 5"
    assert "One earlier trial was given it too." in teacher.get("/find/protocol/slalom-gym").text
    assert [each.why for each in history_of(tested, "protocol", "slalom-gym")] == ["one chair all year"]


def test_a_protocol_that_is_not_there(teacher, book):
    assert teacher.get("/find/protocol/other/change").status_code == 404
    assert teacher.post("/find/protocol/other/change", data={"surface": "x"}).status_code == 404
    assert 'name="earlier"' not in teacher.get(CHANGE).text  # nothing was done by it


def test_protocols_are_found_from_the_screen_of_tests(teacher, book):
    assert 'href="/find/protocol/slalom-gym"' in teacher.get("/find").text


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_the_form_is_in_the_language_of_the_session(teacher, book, language):
    teacher.post("/language", data={"language": language})
    for page in (teacher.get(CHANGE).text, teacher.post(CHANGE, data={"gates": "x"}).text):
        for english in ("Write down", "To settle", ">Not fixed", "number of gates", ">both<", "not a number"):
            assert english not in page
