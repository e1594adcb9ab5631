"""The checklist to set a test up again."""

from datetime import date

from ownmark.records.catalogue import catalogue
from ownmark.records.checklist import GROUPS, checklist
from ownmark.records.protocol import FIELDS
from ownmark.records.trial import Trial
from ownmark.words.render import Words

LAST = Trial(code="TH-11", protocol="a", protocol_version=1, on=date(2026, 5, 12), temperature_c=21.0)


def test_every_fact_of_a_protocol_has_its_place_once():
    placed = [name for _, names in GROUPS for name in names]
    assert sorted(placed) == sorted(FIELDS)


def test_every_fact_that_is_fixed_stands_on_the_list_and_what_must_match_is_marked():
    for protocol in catalogue().values():
        items = [item for section in checklist(protocol, LAST) for item in section.items]
        labels = {item.label: item for item in items}
        for name, rule in FIELDS.items():
            value = getattr(protocol, name)
            if value not in (None, "", ()):
                assert labels[rule.label].known, (protocol.name, name)
                assert labels[rule.label].must == (rule.rule == "must match")
        assert labels["room temperature"].value == "21 °C"


def test_what_nobody_wrote_down_is_something_to_settle_where_much_hangs_on_it():
    protocol = catalogue()["power-chair-slalom"].model_copy(update={"surface": None, "gates": None})
    items = {item.label: item for section in checklist(protocol, LAST) for item in section.items}
    assert items["surface"].value == "not written down: settle it before the trial"
    assert not items["surface"].known
    assert "number of gates" not in items
    assert not items["medicines that act on the heart"].known


def named(protocol, last):
    return {item.name: item for section in checklist(protocol, last) for item in section.items}


def test_a_device_and_the_help_that_the_last_trial_says_need_not_be_settled():
    protocol = catalogue()["arm-raise-to-front"]
    assert {"device", "assistance"} <= set(named(protocol, None))
    assert {"device", "assistance"} <= set(named(protocol, LAST))
    seen = LAST.model_copy(update={"device_used": "own chair", "assistance_given": "independent"})
    assert {"device", "assistance"}.isdisjoint(named(protocol, seen))
    assert named(protocol, seen)["device_used"].fact == "own chair"
    planned = protocol.model_copy(update={"device": "stool", "assistance": "verbal"})
    assert {"device", "assistance"} <= set(named(planned, seen))  # what is planned stays, whatever was used


def test_a_floor_is_settled_only_where_the_student_goes_over_it():
    assert "surface" not in named(catalogue()["head-switch-task"], None)
    assert "surface" in named(catalogue()["power-chair-slalom"].model_copy(update={"surface": None}), None)
    floor = catalogue()["head-switch-task"].model_copy(update={"surface": "mat"})
    assert named(floor, None)["surface"].fact == "mat"


def test_a_section_has_its_words_in_each_language_and_the_last_trial_its_day():
    *planned, last = checklist(catalogue()["power-chair-slalom"], LAST)
    assert planned[0].title == "The test"
    assert planned[0].titled(Words("es")) == "La prueba"
    assert (last.title, last.titled(Words("en"))) == (
        "As it was at the last trial, May 12, 2026",
        "As it was at the last trial, May 12, 2026",
    )


def test_what_the_staff_wrote_of_the_last_trial_stands_with_it_and_nothing_where_nothing_was_written():
    protocol = catalogue()["power-chair-slalom"]
    noted = LAST.model_copy(update={"notes": "left tire soft,\n pumped after lap 3"})
    *_, last = checklist(protocol, noted)
    (note,) = [item for item in last.items if item.name == "notes"]
    assert (note.value, note.must, note.label) == ("left tire soft, pumped after lap 3", False, "notes of the staff")
    *_, last = checklist(protocol, LAST.model_copy(update={"notes": " \n"}))
    assert "notes" not in [item.name for item in last.items]
