"""Which figures stand above everything else: by the protocol, then by what an adapted test can tell best."""

import pytest
from ownmark.metrics.figure import MovementUsed
from ownmark.metrics.messages.movement import WHY_NO_MOVEMENT_SENSOR
from ownmark.reports.page import Heading, Table
from ownmark.reports.sheets.most_useful import MOST, ORDER, crossed, in_short, most_useful, on_chair
from ownmark.reports.words import Words
from ownmark.words.vocabulary import FIGURES

from .. import pages_made as made
from ..sheets_made import FRAME, changed

EN = Words("en")


MISSING = {"value": None, "low": None, "high": None, "note": "Not given: tried."}


def without(sheet, *names):
    """The sheet with these figures not given."""
    return changed(sheet, dict.fromkeys(names, MISSING))


@pytest.fixture(scope="module")
def crank():
    """With movement of the crank, a maximum and a target."""
    return made.trial("crank").sheet


@pytest.fixture(scope="module")
def chair():
    """With a sensor on the chair's frame, and without a crossing of the ceiling."""
    return without(made.trial("chair").sheet, "time_above_ceiling")


def test_the_order_names_figures_each_once():
    assert set(ORDER) <= set(FIGURES)
    assert len(set(ORDER)) == len(ORDER)
    assert MOST == 3


def test_the_share_of_the_reserve_then_the_rise_then_the_moving_time(crank):
    assert most_useful(crank) == ("reserve_mean", "heart_rate_rise", "moving_time")


def test_the_protocols_primary_figure_stands_first_and_once(crank):
    assert most_useful(crank, "cadence_variation") == ("cadence_variation", "reserve_mean", "heart_rate_rise")
    assert most_useful(crank, "heart_rate_rise") == ("heart_rate_rise", "reserve_mean", "moving_time")
    assert most_useful(crank, "a measure by hand") == most_useful(crank)


def reasoned(sheet, name, why):
    """The sheet with a figure that is not given for this reason."""
    missing = {"value": None, "low": None, "high": None, "notes": (), "reason": why}
    return sheet.model_copy(update={"figures": {**sheet.figures, name: sheet.figures[name].model_copy(update=missing)}})


def test_a_primary_figure_that_is_not_given_keeps_its_place_and_says_why(crank):
    gone = reasoned(crank, "moving_time", WHY_NO_MOVEMENT_SENSOR)
    assert most_useful(gone, "moving_time") == ("moving_time", "reserve_mean", "heart_rate_rise")
    assert blocks(gone, primary="moving_time")[1].rows[0][:2] == (
        "Moving time",
        "not given: there is no movement sensor in the recording.",
    )
    assert "no se da: no hay sensor" in blocks(gone, primary="moving_time", words=Words("es"))[1].rows[0][1]
    bounded = changed(gone, {"reserve_mean": {"value": 50.0, "low": 40.0, "high": 60.0}})
    assert [row[2] for row in blocks(bounded, primary="moving_time")[1].rows][:2] == ["–", "40.0 to 60.0 %"]


CROSSED = {"from_s": 30.0, "until_s": 34.0, "highest_bpm": 160.0, "rules": ["too_fast"]}


def test_a_crossing_of_the_ceiling_is_the_first_line_with_its_bounds(crank):
    above = {"time_above_ceiling": {"value": 12.0, "low": 12.0, "high": 40.0, "note": None}}
    sheet = changed(crank, above)
    assert crossed(sheet) == "time_above_ceiling"
    assert most_useful(sheet, "cadence_variation") == ("time_above_ceiling", "cadence_variation", "reserve_mean")
    rows = blocks(sheet, [("Reach", "7 cm")], primary="reach")[1].rows
    assert rows[0] == ("Time above the ceiling", "12 s", "12 to 40 s")
    assert [row[0] for row in rows[1:]] == ["Reach", "Mean share of the reserve"]


def test_a_possible_crossing_is_the_first_line_too_and_a_moment_is_one(crank):
    none_sure = {"time_above_ceiling": {"value": 0.0, "low": 0.0, "high": 0.0, "note": None}}
    for seconds, told in ((4.0, "4 s"), (0.0, "a moment")):
        possible = {"possible_above_ceiling": {"value": seconds, "low": None, "high": None, "note": None}}
        sheet = changed(crank, {**none_sure, **possible}, possible_crossings=[CROSSED])
        assert crossed(sheet) == "possible_above_ceiling"
        assert blocks(sheet)[1].rows[0][:2] == ("Possible time above the ceiling", told)
    nothing = changed(crank, none_sure, possible_crossings=[])
    assert crossed(nothing) is None
    assert crossed(None) is None
    assert "ceiling" not in blocks(nothing)[1].rows[0][0]


def test_what_is_not_given_makes_room_for_the_next(crank):
    gone = ("reserve_mean", "moving_time", "time_on_target")
    assert most_useful(without(crank, *gone)) == ("heart_rate_rise", "longest_moving", "heart_rate_mean")
    assert most_useful(without(crank, *gone, "longest_moving", "heart_rate_rise")) == (
        *("heart_rate_mean", "heart_rate_peak", "beats_total"),
    )
    assert most_useful(without(crank, *ORDER)) == ()
    assert most_useful(None, "reserve_mean") == ()


def test_a_chairs_movement_is_no_effort_and_stands_first_only_where_the_protocol_names_it(chair, crank):
    assert on_chair(chair)
    assert not on_chair(crank)
    assert not {"moving_time", "longest_moving"} & set(most_useful(without(chair, "reserve_mean", "heart_rate_rise")))
    assert most_useful(chair, "moving_time")[0] == "moving_time"
    for placement, is_chair in (("frame", True), ("wheel", True), ("wrist", False), ("crank", False)):
        moved = MovementUsed.model_validate({**FRAME, "placement": placement}).model_dump(mode="json")
        assert on_chair(changed(crank, movement=moved)) == is_chair


def blocks(sheet, by_hand=(), *, primary="", family=False, words=EN):
    return list(in_short(sheet, by_hand, words, primary=primary, family=family))


def test_the_table_has_a_heading_and_bounds_where_one_figure_has_them():
    edges = {"value": 57.05, "low": 49.74, "high": 63.35}
    heading, table = blocks(changed(made.trial("loose").sheet, {"reserve_mean": edges}))
    assert heading == Heading("In short")
    assert isinstance(table, Table)
    assert table.header == ("Figure", "Value", "Could lie between")
    assert table.caption == "In short"
    assert table.shares == (46.0, 27.0, 27.0)
    assert table.rows[0] == ("Mean share of the reserve", "57.1 %", "49.7 to 63.4 %")


def test_without_any_bounds_there_is_no_column_for_them(crank):
    _, table = blocks(changed(crank, {name: {"low": None, "high": None} for name in ORDER[:3]}))
    assert table.header == ("Figure", "Value")
    assert {len(row) for row in table.rows} == {2}
    assert table.shares == (46.0, 27.0)


def test_a_figure_without_bounds_among_others_says_the_same():
    loose = made.trial("loose").sheet
    value = loose.figures["reserve_mean"].value
    _, table = blocks(changed(loose, {"reserve_mean": {"low": value, "high": value}}))
    assert table.rows[0][2] == "the same"
    assert all(" to " in row[2] for row in table.rows[1:])


def test_a_family_reads_units_in_words(crank):
    _, table = blocks(crank, family=True)
    assert table.rows[1][1].endswith(" beats a minute")


def test_the_chairs_moving_time_is_called_the_chairs(chair, crank):
    assert blocks(chair, primary="moving_time")[1].rows[0][0] == "Moving time (of the chair)"
    assert blocks(chair, primary="heart_rate_mean")[1].rows[0][0] == "Mean heart rate"
    assert blocks(crank, primary="moving_time")[1].rows[0][0] == "Moving time"


def test_results_by_hand_come_first_and_three_stand_in_all(crank):
    by_hand = [(f"Reach {number}", f"{number} cm") for number in range(4)]
    assert [row[0] for row in blocks(crank, by_hand[:1])[1].rows] == [
        *("Reach 0", "Mean share of the reserve", "Rise of heart rate over rest"),
    ]
    assert blocks(None, by_hand)[1].rows == tuple(by_hand[:3])
    assert blocks(None) == []
