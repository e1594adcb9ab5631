"""The checklist to set a test up again."""

from datetime import date

from ownmark.records.catalogue import catalogue
from ownmark.records.checklist import GROUPS, SETTLE, checklist
from ownmark.records.protocol import FIELDS
from ownmark.records.trial import Trial

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
    assert items["surface"].value == SETTLE
    assert not items["surface"].known
    assert "number of gates" not in items
    assert items["medicines that act on the heart"].value == SETTLE
