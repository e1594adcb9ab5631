"""A day that is planned again finds only those phases anew of which something changed, and says the same."""

from datetime import timedelta

from ownmark.records.plan import row as module
from ownmark.records.plan.day import plan_day
from ownmark.records.plan.row import Phases
from ownmark.records.plan.seen import see

from tests.makers.class_days import NINE
from tests.records.plan.bag import Bag


def test_phases_are_found_once_until_a_start_a_file_or_a_student_changes(tmp_path, monkeypatch):
    bag = Bag(tmp_path, "TH-11", "BF-07")
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("BF-07.csv", "BF-07", seed=2)
    seen = list(see(sorted(tmp_path.iterdir()), None, lambda _: ()))
    found = []
    of = module.phases_of
    monkeypatch.setattr(module, "phases_of", lambda *given: found.append(given[2]) or of(*given))
    plain, before = plan_day(seen, bag.sources()), Phases()
    assert plan_day(seen, bag.sources(), before) == plain
    assert plan_day(seen, bag.sources(), before) == plain
    assert len(found) == 4
    bag.begun("TH-11", NINE + timedelta(seconds=90))
    later = plan_day(seen, bag.sources(), before)
    assert len(found) == 5
    assert later != plain
    assert later == plan_day(seen, bag.sources())


def test_of_many_phases_the_oldest_makes_room():
    before, found = Phases(2), []
    for key in ("a", "b", "a", "c", "a", "b"):
        before.of(key, lambda key=key: found.append(key) or (key, []))
    assert found == ["a", "b", "c", "b"]
