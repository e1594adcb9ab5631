"""Finding a test: answers in a form and in no address, least changed first, kept with a student, made a protocol."""

import re

import pytest
from ownmark.records.abilities import MOVEMENTS, NEEDS, SENSES
from ownmark.records.catalogue import entries, families
from ownmark.records.catalogue.choosing import Asked, find
from ownmark.records.student import Student

PUSHES = {"can": ["push-chair", "hear"], "needs": ["reminders"]}


@pytest.fixture
def book(parts):
    logbook = parts.logbook()
    logbook.add_student(Student(code="TH-11"))
    return logbook


def names(page):
    return re.findall(r'<h4><a class="row-way" href="/find/test/([a-z0-9-]+)', page)


def test_the_questions_come_first_as_boxes(teacher, book):
    page = teacher.get("/find").text
    assert page.count('type="checkbox"') == len(MOVEMENTS) + len(SENSES) + len(NEEDS)
    assert names(page) == []
    assert 'method="post" action="/find"' in page


@pytest.mark.parametrize("component", ["", "aerobic", "flexibility"])
def test_the_tests_are_those_of_the_terminal_in_its_order(teacher, book, component):
    page = teacher.post("/find", data={**PUSHES, "component": component})
    assert page.status_code == 200
    asked = Asked(frozenset(PUSHES["can"]), frozenset(PUSHES["needs"]))
    expected = find(entries().values(), families(), asked, component or None)
    assert names(page.text) == [each.entry.name for each in expected.fits]
    assert page.text.count(" checked") == 3
    assert "Gives up:" in page.text
    assert "Nothing is ruled out for a diagnosis." in page.text


def test_unknown_words_are_passed_over(teacher, book):
    page = teacher.post("/find", data={"can": ["fly", "<b>"], "needs": "x", "component": "y"})
    assert page.status_code == 200
    assert "<b>" not in page.text


def test_answers_are_kept_with_a_student_and_found_again(teacher, book, parts):
    kept = teacher.post("/find/keep", data={**PUSHES, "code": "th-11"})
    way = f"/find?student={parts.ids.of('TH-11')}"
    assert (kept.status_code, kept.headers["location"]) == (303, way)
    answer = book.student("TH-11").answer
    assert (answer.can, answer.needs, answer.on) == (("push-chair", "hear"), ("reminders",), parts.now().date())
    page = teacher.get(way).text
    assert "The answers are kept with TH-11." in page
    assert names(page)
    assert f'href="/find/test/{names(page)[0]}?student={parts.ids.of("TH-11")}"' in page
    assert "Keep these answers" not in page  # they are
    changed = teacher.post("/find", data={"can": "arms", "student": parts.ids.of("TH-11")}).text
    assert "Keep them with TH-11" in changed
    assert teacher.post("/find/keep", data={"can": "arms", "student": parts.ids.of("TH-11")}).status_code == 303
    assert book.student("TH-11").answer.can == ("arms",)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({**PUSHES}, "Type a code."),
        ({**PUSHES, "code": "Maria"}, "cannot be a student"),
        ({**PUSHES, "code": "TH-99"}, "No student has the code"),
        ({"code": "TH-11"}, "Choose what the student can do or needs."),
        ({"can": "fly", "code": "TH-11"}, "fly"),
    ],
)
def test_what_cannot_be_kept_is_told(teacher, book, data, told):
    answer = teacher.post("/find/keep", data=data)
    assert answer.status_code == 422
    assert told in answer.text
    assert book.student("TH-11").answers == ()


def test_nobody_is_found_by_a_wrong_identifier(teacher, book):
    assert teacher.get("/find?student=0123456789abcdef").status_code == 404
    assert teacher.post("/find", data={"student": "x"}).status_code == 404


def test_a_test_becomes_a_protocol_and_the_card_follows(teacher, book, parts):
    assert teacher.get("/find/test/no-such").status_code == 404
    page = teacher.get("/find/test/power-chair-slalom").text
    assert 'value="power-chair-slalom"' in page
    made = teacher.post("/find/test/power-chair-slalom", data={"name": "slalom-gym"})
    assert (made.status_code, made.headers["location"]) == (303, "/find/protocol/slalom-gym")
    kept = book.protocol("slalom-gym")
    assert (kept.version, kept.from_catalogue) == (1, "power-chair-slalom")
    card = teacher.get("/find/protocol/slalom-gym").text
    assert "slalom-gym is in the logbook as version 1." in card
    assert "must match" in card
    assert teacher.get("/sheet/plan/slalom-gym/html?lang=es").status_code == 200
    assert 'filename="card-slalom-gym.pdf"' in teacher.get("/sheet/plan/slalom-gym/pdf").headers["content-disposition"]
    way = parts.ids.of("TH-11")
    of_student = teacher.post("/find/test/power-chair-slalom", data={"name": "slalom-b", "student": way})
    assert of_student.headers["location"] == f"/student/{way}/card/slalom-b"
    assert "not done yet" in teacher.get(of_student.headers["location"]).text


@pytest.mark.parametrize(
    ("name", "told"),
    [("", "Type a name."), ("Big Name", "Use small letters"), ("taken", "There is a protocol taken already.")],
)
def test_a_name_that_cannot_be_is_told(teacher, book, name, told):
    teacher.post("/find/test/power-chair-slalom", data={"name": "taken"})
    refused = teacher.post("/find/test/power-chair-slalom", data={"name": name})
    assert refused.status_code == 422
    assert told in refused.text
    assert [each.name for each in book.protocols()] == ["taken"]


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_finding_is_in_the_language_of_the_session(teacher, book, language):
    teacher.post("/language", data={"language": language})
    for page in (teacher.post("/find", data=PUSHES), teacher.get("/find/test/power-chair-slalom")):
        assert page.status_code == 200
        for english in ("Find a test", "Keep these", "Show the tests", "Make the protocol", "Use this test"):
            assert english not in page.text
