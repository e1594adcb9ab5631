"""A second verdict by another figure than the protocol's own."""

import pytest
from ownmark.errors import UsageError
from ownmark.records.catalogue import entry
from ownmark.records.judging import judge_student
from ownmark.records.other_figure import figure_named, judged_by
from ownmark.records.store.logbook import open_logbook

from tests.records.store import made

from ..reports.exports.test_plan_sentence import DAYS, trial


def test_the_other_figure_is_a_figure_or_a_hand_measure_of_the_protocol():
    slalom = entry("power-chair-slalom")
    assert figure_named("Gates Passed", slalom) == "gates_passed"
    assert figure_named("moving_time", slalom) == "moving_time"
    with pytest.raises(UsageError, match="there is no figure") as refused:
        figure_named("xyzzy", slalom)
    assert "There are: gates_passed, " in str(refused.value)
    with pytest.raises(UsageError, match="is the primary figure of power-chair-slalom"):
        figure_named(slalom.primary_figure, slalom)


def test_nobody_stated_a_direction_or_a_smallest_change_for_another_figure():
    before = made.protocol(better="lower", smallest_worthwhile_change=5.0)
    after = judged_by(before, "moving_time")
    assert (after.primary_figure, after.better, after.smallest_worthwhile_change) == (
        "moving_time",
        "no direction",
        None,
    )
    assert before.better == "lower"


def test_both_verdicts_are_those_that_each_figure_has_alone(tmp_path):
    planned = made.protocol(primary_figure="heart_rate_peak", better="lower")
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_student(made.student())
        logbook.add_protocol(planned)
        for day, shift in zip(DAYS, (0.0, 1.0, -40.0), strict=True):
            logbook.add_trial(trial(day, shift))
        alone = judge_student(logbook, "TH-11")
        both = judge_student(logbook, "TH-11", figure="heart_rate_mean")
    assert both.model_copy(update={"beside": None}) == alone
    assert alone.beside is None
    # By hand: the mean heart rate was 120 and 121, then 80.
    assert (both.beside.baseline_value, both.beside.retest_value, both.beside.change) == (120.5, 80.0, -40.5)
    assert both.beside.for_the_better is None
    assert both.beside.notes[0].code == "remark.chosen_after"
    assert both.notes == alone.notes
    assert type(both).model_validate_json(both.to_json()) == both
