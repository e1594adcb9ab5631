"""The page of tests that fit: the first at the top, why each fits, what it gives up, the cautions of the student."""

from ownmark.metrics.conditions import CONDITIONS
from ownmark.records.catalogue import copy, entries, families
from ownmark.records.catalogue.choosing import Asked, find
from ownmark.records.checklist import checklist
from ownmark.records.student import Student
from ownmark.reports.page import Heading, Listing, Paragraph
from ownmark.reports.render.text import to_text
from ownmark.reports.sheets.find_page import find_page
from ownmark.reports.sheets.set_up_card import set_up_card
from ownmark.reports.words import Words
from ownmark.words.render import texts

EN, ES = Words("en"), Words("es")
TRANSFER = texts("en")["planned.transfer"]


def page(can="", needs="", component="aerobic", words=EN, student=None):
    asked = Asked(frozenset(can.split()), frozenset(needs.split()))
    return find_page(find(entries().values(), families(), asked, component), words, student)


def headings(found, level):
    return [each.text for each in found.blocks if isinstance(each, Heading) and each.level == level]


def lead(found):
    return next(each.text for each in found.blocks if isinstance(each, Paragraph) and each.kind == "lead")


def lines_of(found, title):
    at = next(place for place, each in enumerate(found.blocks) if isinstance(each, Heading) and title in each.text)
    listing = found.blocks[at + 1]
    assert isinstance(listing, Listing)
    return listing.items


def test_it_begins_with_the_first_test_of_up_to_three_families():
    assert lead(page("push-chair see")) == (
        "Begin with: Set distance in a chair; Shuttle course with a visible signal; Seated jacks at a set rhythm."
    )
    assert lead(page("drive-chair")) == "Begin with: Distance in a power chair."
    assert lead(page()) == texts("en")["choose.all"]
    assert lead(page("", "reminders")) == texts("en")["choose.no_movement"]


def test_no_test_is_the_first_to_try_where_only_senses_are_named():
    assert lead(page("see")) == texts("en")["choose.no_movement"]
    assert lead(page("see hear", "stay-in-chair")) == texts("en")["choose.no_movement"]
    assert lead(page("eyes see")) == "Begin with: Looking to a switch."
    assert lead(page("breath", "", "strength")) == texts("en")["choose.none"]


def test_what_was_said_stands_in_the_order_of_the_vocabulary():
    text = to_text(page("rhythm see arms head", "lying reminders"))
    assert "What was said: the student can move an arm, move the head, see and follow a rhythm." in text
    assert "What the student needs: reminders and lying down." in text
    assert "What was said" not in to_text(page("", "lying"))
    assert "What the student needs" not in to_text(page("arms"))


def test_each_test_says_why_it_fits_what_it_gives_up_and_what_to_ask():
    found = page("drive-chair", "reminders")
    assert headings(found, 2)[0] == "Driving a power chair"
    assert headings(found, 3) == [
        "Distance in a power chair (power-chair-distance), step 1",
        "Slalom in a power chair (power-chair-slalom), step 2",
    ]
    entry = entries()["power-chair-distance"]
    assert lines_of(found, "power-chair-distance") == (
        "Fits because the student can drive a power chair.",
        "Meets what the student needs: reminders.",
        f"Gives up: {entry.gives_up}",
        "Find out: the student has to see the course, the signal or the person who shows it.",
        *(f"Ask first: {each}" for each in entry.protocol.ask),
    )


def test_the_transfer_is_asked_about_where_one_can_happen():
    found = page("arms leave-chair")
    assert TRANSFER in lines_of(found, "hand-cycle-distance")
    assert TRANSFER not in lines_of(found, "arm-crank-steady")


def test_a_family_has_one_heading():
    found = headings(page("walk legs arms"), 2)
    assert len(found) == len(set(found))


def test_what_one_more_fact_would_open_is_a_list_of_its_own_and_not_there_without_any():
    found = lines_of(page("head", "own-pace"), EN.get("ladder.find_nearly"))
    assert "If the student can also move the trunk: Rocking the trunk." in found
    assert any(each.startswith("If the student can do without") for each in lines_of(
        page("arms", "lying"), EN.get("ladder.find_nearly")
    ))  # fmt: skip
    assert EN.get("ladder.find_nearly") not in headings(page(), 2)


def test_a_component_without_a_test_is_told():
    assert "Trunk: no test of the catalogue fits. Ask the therapist" in to_text(page("breath", component=None))


def test_conditions_bring_their_cautions_and_rule_nothing_out():
    student = Student(code="TH-11", conditions=("shunt",))
    with_it, without = page("arms", student=student), page("arms")
    caution = EN.message(CONDITIONS["shunt"].cautions[0])
    assert caution in " ".join(to_text(with_it).split())
    assert caution not in " ".join(to_text(without).split())
    assert headings(with_it, 3) == headings(without, 3)
    assert with_it.title == "Which test fits TH-11"
    assert without.title == "Which test fits"
    assert (with_it.running, without.running) == ("Tests that fit, TH-11", "Tests that fit")
    assert without.sheet_of.format(number=1, total=3) == "sheet 1 of 3"
    small = [each for each in without.blocks if isinstance(each, Paragraph) and each.kind == "small"]
    assert [each.text for each in small] == [EN.get("ladder.find_nothing_ruled")]
    assert "Nothing is ruled out for a diagnosis" in to_text(without)


def test_in_spanish_what_the_catalogue_says_itself_is_a_quotation():
    lines = lines_of(page("drive-chair see", words=ES), "power-chair-distance")
    assert lines[0] == "Se ajusta porque el estudiante puede conducir una silla eléctrica."
    assert lines[1] == f"Renuncia a: «{entries()['power-chair-distance'].gives_up}»"


def card(protocol):
    return " ".join(to_text(set_up_card("TH-11", checklist(protocol, None), protocol, EN)).split())


def test_a_card_carries_the_ladder_what_is_comparable_what_it_cannot_say_and_what_to_ask():
    protocol, entry = copy("gait-trainer-walk", "walk"), entries()["gait-trainer-walk"]
    told = card(protocol)
    assert f"Step 2 of “Walking with crutches, a walker or a gait trainer”. It gives up: {entry.gives_up}" in told
    for each in (protocol.comparable, protocol.cannot_say, " ".join(protocol.ask)):
        assert each in told
    assert told.count(TRANSFER) == 1


def test_a_copy_of_before_has_the_transfer_on_its_card_and_a_protocol_of_ones_own_has_no_ladder():
    older = copy("gait-trainer-walk", "walk").model_copy(update={"cautions": ("Look.",)})
    assert card(older).count(TRANSFER) == 1
    assert TRANSFER not in card(older.model_copy(update={"from_catalogue": None}))
    assert "Ladder" not in card(older.model_copy(update={"from_catalogue": None}))
    assert TRANSFER not in card(copy("arm-crank-steady", "crank"))
