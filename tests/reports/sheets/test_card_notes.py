"""What stands at the top of a set-up card: how the student leaves the chair, and why the test may not fit."""

from ownmark.records.catalogue import copy
from ownmark.records.checklist import checklist
from ownmark.records.student import Student
from ownmark.reports.page import Note, Paragraph
from ownmark.reports.sheets.set_up_card import set_up_card
from ownmark.reports.words import Words
from ownmark.words.render import texts

EN, ES = Words("en"), Words("es")
TRANSFER = texts("en")["planned.transfer"]


def test_how_the_student_leaves_the_chair_is_asked_at_the_top_of_the_card():
    protocol = copy("gait-trainer-walk", "walk")
    notes = [each for each in made_card(protocol).blocks if isinstance(each, Note)]
    assert [(each.title, each.text) for each in notes] == [("Before leaving the chair", TRANSFER)]
    assert [type(each) for each in made_card(protocol).blocks[:2]] == [Paragraph, Note]


def made_card(protocol, student=None, words=EN):
    return set_up_card("TH-11", checklist(protocol, None), protocol, words, student=student)


def unfit(name, can=(), needs=(), words=EN):
    """What the card says of a test that may not be one for a student."""
    student = Student(code="TH-11", answers=({"can": can, "needs": needs},) if can or needs else ())
    notes = [each for each in made_card(copy(name, "own"), student, words).blocks if isinstance(each, Note)]
    return [each.text for each in notes if each.title == words.get("card.unfit")]


def test_a_card_says_what_the_test_takes_and_the_student_is_not_said_to_have():
    assert unfit("curl-up-own-cadence", ("arms", "see"), ("stay-in-chair",)) == [
        "It is not written down that the student can move the trunk and leave the chair, which this test takes. "
        "As it is written it does not offer what the student needs: staying in the chair."
    ]
    assert unfit("shuttle-own-pace", ("head",)) == [
        "The test takes one of these, and none is written down of the student: push a chair; walk; walk with a device."
    ]
    assert unfit("curl-up-own-cadence", ("arms",), words=ES) == [
        "No está anotado que el estudiante pueda mover el tronco y salir de la silla, y esta prueba lo exige."
    ]


def test_a_card_says_nothing_of_a_test_that_fits_or_of_a_student_of_whom_nothing_is_kept():
    assert unfit("curl-up-own-cadence", ("walk", "trunk")) == []
    assert unfit("curl-up-own-cadence") == []
    assert unfit("curl-up-own-cadence", ("see",)) == []
    assert unfit("arm-crank-steady", (), ("own-pace",)) == [
        "As it is written it does not offer what the student needs: the student's own pace."
    ]
