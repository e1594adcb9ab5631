"""A result at the most that its test can show says so, at the edge."""

from datetime import date

import pytest
from ownmark.metrics.figure import Figure
from ownmark.records.catalogue import edited, entry
from ownmark.records.change.comparison import compare
from ownmark.records.change.limits import limits_reached
from ownmark.records.change.observation import TrialSeen
from ownmark.records.protocol import HandMeasure
from ownmark.records.trial import HandResult
from ownmark.words.render import english

from tests.records.store import made

SHUTTLE = {"pacing": "set speed", "speed_target_m_per_s": 1.5, "duration_s": 360.0}


def times(**values):
    return {
        name: Figure(name=name, value=value, unit="s", low=value, high=value, source="")
        for name, value in values.items()
    }


def measure(kind, unit, **more):
    how = {"name": "result", "sides": False, "attempts": 2, "how": "Read off."}
    return HandMeasure(kind=kind, unit=unit, **how, **more)


def by_hand(value, measured, **fields):
    """The most of a hand result at its limit; None where it is not."""
    planned = made.protocol(hand_measures=(measured,), **fields)
    results = (HandResult(name="result", value=1.0, attempt=1), HandResult(name="result", value=value, attempt=2))
    found = limits_reached({}, None, made.trial(hand_results=results), planned)
    return found[0].most if found else None


@pytest.mark.parametrize(("value", "reached"), [(480.0, True), (479.6, True), (479.5, False), (400.0, False)])
def test_a_time_that_fills_the_work_phase_as_it_is_shown_is_at_its_limit(value, reached):
    found = limits_reached(times(moving_time=value), 480.0, made.trial(), made.protocol())
    assert [(each.name, each.value, each.most) for each in found] == (
        [("moving_time", value, 480.0)] if reached else []
    )


def test_every_time_of_the_work_has_the_limit_and_other_figures_have_none():
    all_of_it = times(moving_time=480.0, longest_moving=480.0, time_on_target=480.0, longest_on_target=480.0)
    others = times(time_above_ceiling=480.0, time_light=480.0)
    found = limits_reached({**all_of_it, **others}, 480.0, made.trial(), made.protocol())
    assert {each.name for each in found} == set(all_of_it)
    assert limits_reached(all_of_it, None, made.trial(), made.protocol()) == ()
    assert (
        limits_reached(
            {"moving_time": all_of_it["moving_time"].model_copy(update={"value": None})},
            480.0,
            made.trial(),
            made.protocol(),
        )
        == ()
    )


@pytest.mark.parametrize(
    ("value", "measured", "fields", "most"),
    [
        (20.0, measure("count", "lengths", limit=20.0), {}, 20.0),  # the whole count
        (19.0, measure("count", "lengths", limit=20.0), {}, None),
        (20.0, measure("count", "lengths"), {}, None),  # nothing says where it ends
        (360.0, measure("time", "s"), {"duration_s": 360.0}, 360.0),
        (359.5, measure("time", "s"), {"duration_s": 360.0}, None),
        (359.6, measure("time", "s"), {"duration_s": 360.0}, 360.0),
        (6.0, measure("time", "min"), {"duration_s": 6.0}, None),  # another unit
        # A shuttle test to its end: 1.5 m/s kept for 360 s are 540 m.
        (540.0, measure("distance", "m"), SHUTTLE, 540.0),
        (539.0, measure("distance", "m"), SHUTTLE, None),
        (540.0, measure("distance", "m"), SHUTTLE | {"pacing": "own pace"}, None),
        (400.0, measure("distance", "m"), {"distance_m": 400.0}, 400.0),
        (400.0, measure("distance", "m"), {}, None),
    ],
)  # fmt: skip
def test_a_result_by_hand_is_at_its_limit_where_the_protocol_says_where_it_ends(value, measured, fields, most):
    assert by_hand(value, measured, **fields) == most


def test_the_most_of_a_measure_is_written_behind_how_it_is_taken():
    found = edited(
        entry("power-chair-slalom"), {"hand_measures": "lengths | lengths | count | one | 1 | Count them. | 20"}
    )
    assert found.hand_measures[0].limit == 20.0
    without = edited(entry("power-chair-slalom"), {"hand_measures": "lengths | lengths | count | one | 1 | Count."})
    assert without.hand_measures[0].limit is None


def test_a_change_says_on_which_side_it_cannot_rise_further():
    planned = made.protocol(primary_figure="moving_time", better="higher")

    def seen(day, value):
        return TrialSeen(made.trial(on=day, id=day.month), planned, times(moving_time=value), work_s=480.0)

    def codes(before, after):
        found = compare([seen(date(2026, 5, 12), before)], [seen(date(2026, 10, 6), after)])
        return [each for each in found.notes if each.code.startswith("remark.limit")]

    assert [each.code for each in codes(480.0, 480.0)] == ["remark.limit_baseline", "remark.limit_retest"]
    assert [each.code for each in codes(480.0, 300.0)] == ["remark.limit_baseline"]
    (told,) = codes(300.0, 480.0)
    assert english(told) == (
        "At the re-test, moving time was 480 s, the most that this test can show: it cannot rise further, and may be "
        "more than is shown."
    )
    assert codes(300.0, 400.0) == []
