"""Trials that may count different things are not compared: strides in one, steps in another."""

import pytest
from ownmark.metrics import Asked, effort
from ownmark.records.catalogue import edited
from ownmark.records.change.borrowed import Borrowed
from ownmark.records.change.comparison import compare, seen
from ownmark.records.change.counting import Apart, counted_apart
from ownmark.records.change.observation import OLDER
from ownmark.records.store.rows import kept_sheet, sheet_row
from ownmark.records.trial import Trial

from tests.makers import recordings
from tests.makers.sheets import altered
from tests.makers.walks import Walk, walk
from tests.records.makers import CRANK, FIRST, figure_of, trial

LENT = Borrowed(1.0, 4.0, 20)
BY_RHYTHM = edited(CRANK, {"primary_figure": "cadence_mean", "better": "no direction"})


def rhythm(cadence):
    """The figures of a trial: a cadence."""
    return {"cadence_mean": figure_of(cadence, cadence, cadence, "/min")}


def paced(day, cadence, counts):
    """A trial of a cadence and what it counts."""
    return trial(day, protocol=BY_RHYTHM, figures=rhythm(cadence), counted=counts)


def apart(*trials, name="cadence_mean"):
    return counted_apart([paced(day, *each) for day, each in enumerate(trials)], name)


@pytest.mark.parametrize("kind", ["cycle", "pair"])
def test_what_is_sure_in_all_trials_is_compared_whatever_the_change(kind):
    assert apart((96, kind), (48, kind)) is None


@pytest.mark.parametrize("kinds", [("cycle", "pair"), ("pair", "cycle or half"), ("cycle or half", "cycle or half")])
def test_what_is_unsure_is_compared_up_to_half_way_to_the_double(kinds):
    # On a scale of ratios, half way from 1 to 2 is the square root of 2: 48 to 67.88 a minute.
    assert apart((48, kinds[0]), (67.88, kinds[1])) is None
    assert apart((67.88, kinds[0]), (48, kinds[1])) is None
    assert apart((48, kinds[0]), (67.89, kinds[1])) == Apart(48, 67.89, older=False)
    assert apart((96, kinds[0]), (48, kinds[1])) == Apart(48, 96, older=False)


def test_baselines_are_held_against_each_other_too():
    assert apart((48, "pair"), (96, "cycle or half"), (48, "pair")) == Apart(48, 96, older=False)


def test_an_older_sheet_of_the_trunk_is_not_compared_with_a_new_one():
    assert apart((48, OLDER), (48, "pair")) == Apart(48, 48, older=True)
    assert apart((48, OLDER), (50, OLDER)) is None
    assert apart((96, OLDER), (48, OLDER)) == Apart(48, 96, older=False)


def test_only_counts_hang_on_what_is_counted_and_trials_without_a_cadence_do_not_matter():
    assert apart((96, "pair"), (48, "cycle"), name="cycle_count") is not None
    for name in ("cadence_variation", "heart_rate_mean", "moving_time"):
        assert apart((96, "pair"), (48, "cycle"), name=name) is None
    assert apart((48, "pair"), (None, None), (50, "pair")) is None
    assert apart((None, None)) is None
    assert counted_apart([trial(0, 40)], "cadence_mean") is None


def test_strides_against_steps_are_no_change_and_the_reason_is_given():
    steps, strides = paced(0, 96, "cycle or half"), paced(60, 48, "pair")
    found = compare([steps], [strides], LENT)
    assert (found.verdict, found.change) == ("not given", None)
    assert found.sentence == (
        "Not given: mean cadence may count left and right together in one trial and separately in another (48 and"
        " 96 /min)."
    )
    true = compare([paced(0, 96, "cycle")], [paced(60, 48, "cycle")], LENT)
    assert true.verdict == "decrease beyond day-to-day variation"
    older = compare([paced(0, 96, OLDER)], [paced(60, 48, "pair")], LENT)
    assert older.verdict == "not given"
    assert "recompute" in older.sentence


def test_a_rhythm_that_may_count_something_else_tells_no_load():
    one, other = (
        trial(0, 40, figures=rhythm(96), counted="cycle or half"),
        trial(60, 20, figures=rhythm(48), counted="pair"),
    )
    assert compare([one], [other], LENT).verdict == "decrease beyond day-to-day variation"
    one, other = trial(0, 40, figures=rhythm(96), counted="cycle"), trial(60, 20, figures=rhythm(48), counted="cycle")
    assert compare([one], [other], LENT).verdict == "not given"
    # The distance is asked all the same.
    one = trial(0, 40, figures=rhythm(96), counted="cycle or half", distance_m=500)
    other = trial(60, 20, figures=rhythm(48), counted="pair", distance_m=300)
    assert "from 500 to 300 m" in compare([one], [other], LENT).sentence


def worn_at_the_wrist_unsaid(page):
    movement = page["provenance"]["movement"]
    del movement["counted"]
    movement["placement"] = "wrist"


def test_a_kept_sheet_says_what_it_counts():
    protocol = edited(CRANK, {"placement": "trunk"})
    felt, _ = walk(Walk(), 90.0, 1)
    sheet = effort(recordings.recording(felt), asked=Asked(placement="trunk"))

    def counts(sheet):
        kept = Trial(code="TH-11", protocol=protocol.name, protocol_version=1, on=FIRST, sheet=sheet)
        return seen(kept, protocol).counted

    assert counts(sheet) == "pair"
    unsaid = altered(sheet, lambda page: page["provenance"]["movement"].pop("counted"))
    assert counts(unsaid) == OLDER
    _, kept, _ = sheet_row(1, unsaid)  # and so it is after it was kept
    assert counts(kept_sheet(kept, ())) == OLDER
    wrist = altered(sheet, worn_at_the_wrist_unsaid)
    assert counts(wrist) == "cycle"
    none = altered(sheet, lambda page: page["provenance"].update(movement=None))
    assert counts(none) == "cycle"
