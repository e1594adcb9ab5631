"""The published intensity classes and their edges (tables, section 2)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.errors import BasisError
from ownmark.metrics.reserve import percent_reserve
from ownmark.metrics.zones import (
    EDITION,
    NOT_MEASURED,
    ZONES,
    edges_bpm,
    maximum_edges_bpm,
    time_in_zones,
    zone_index_by_maximum,
    zone_index_by_reserve,
)

# Garber 2011 as tabulated in a consensus statement, lower edges in %HRR, written out a second time.
PUBLISHED = (30, 40, 60, 90)


def by_reserve(rate, rest, maximum):
    return ZONES[int(zone_index_by_reserve(rate, rest, maximum))]


def by_maximum(rate, maximum):
    return ZONES[int(zone_index_by_maximum(rate, maximum))]


@pytest.mark.parametrize(
    ("percent", "zone"),
    [(29.9, "very_light"), (35, "light"), (50, "moderate"), (75, "vigorous"), (92, "near_maximal")],
)
def test_classes_by_reserve_are_those_of_the_2011_position_stand(percent, zone):
    # Tables, row 2.1. A reserve of 100 makes the percent readable.
    assert by_reserve(100 + percent, 100, 200) == zone


@pytest.mark.parametrize(
    ("percent", "zone_2011"),
    [(25, "very_light"), (87, "vigorous")],
)
def test_the_edition_of_2000_is_not_the_one_used(percent, zone_2011):
    # Tables, row 2.8: the edition of 2000 calls 25 %HRR light and 87 %HRR very hard.
    assert by_reserve(100 + percent, 100, 200) == zone_2011
    assert "2011" in EDITION


@pytest.mark.parametrize(
    ("rate", "zone"),
    [
        (108, "very_light"),
        (109, "light"),
        (121.99, "light"),
        (122, "moderate"),
        (147.9, "moderate"),
        (148, "vigorous"),
        (186.9, "vigorous"),
        (187, "near_maximal"),
        (205, "near_maximal"),
        (60, "very_light"),
    ],
)
def test_classes_by_reserve_are_half_open_without_gaps(rate, zone):
    # Tables, row 2.6: rest 70, maximum 200. Printed tables leave a gap between 39 and 40 %.
    assert by_reserve(rate, 70, 200) == zone


def test_edges_by_reserve_in_beats():
    # Tables, rows 2.6 and 2.11.
    assert edges_bpm(70, 200).tolist() == [109, 122, 148, 187]
    assert edges_bpm(80, 194) == pytest.approx([114.2, 125.6, 148.4, 182.6])


@pytest.mark.parametrize(
    ("below", "edge", "zone"),
    [(113, 114, "light"), (127, 128, "moderate"), (153, 154, "vigorous"), (191, 192, ZONES[4])],
)
def test_classes_by_maximum_begin_at_57_64_77_and_96_percent(below, edge, zone):
    # Tables, row 2.2: maximum 200. One printed table begins near-maximal at 95 %; 96 is followed here.
    assert by_maximum(edge, 200) == zone
    assert ZONES.index(by_maximum(below, 200)) == ZONES.index(zone) - 1
    assert edge in maximum_edges_bpm(200)


def test_the_two_scales_disagree_on_one_and_the_same_beat():
    # Tables, row 2.7: rest 70, maximum 200, 122 /min.
    assert by_reserve(122, 70, 200) == "moderate"
    assert by_maximum(122, 200) == "light"


def test_every_form_of_the_edge_agrees_for_all_whole_beats():
    # Tables, row 2.6: rest 40–120, maximum 140–220, all integers; the oracle compares whole numbers only.
    rates = np.arange(30, 231)
    edges = np.array(PUBLISHED)
    for rest in range(40, 121):
        for maximum in range(140, 221):
            whole = (100 * (rates[:, None] - rest) >= edges * (maximum - rest)).sum(axis=1)
            np.testing.assert_array_equal(zone_index_by_reserve(rates, rest, maximum), whole)
            by_percent = (percent_reserve(rates, rest, maximum)[:, None] >= edges).sum(axis=1)
            np.testing.assert_array_equal(by_percent, whole)
            by_beats = (rates[:, None] >= edges_bpm(rest, maximum)).sum(axis=1)
            np.testing.assert_array_equal(by_beats, whole)


@given(rate=st.integers(20, 260), maximum=st.integers(100, 230))
def test_classes_by_maximum_agree_with_whole_number_comparison(rate, maximum):
    assert zone_index_by_maximum(rate, maximum) == sum(100 * rate >= edge * maximum for edge in (57, 64, 77, 96))


@given(st.floats(40, 120), st.floats(121, 230), st.lists(st.floats(20, 260), min_size=2, max_size=20))
def test_a_higher_heart_rate_is_never_in_a_lower_class(rest, maximum, rates):
    index = zone_index_by_reserve(sorted(rates), rest, maximum)
    assert (np.diff(index) >= 0).all()


def test_time_in_band_of_the_worked_trial():
    # Tables, row 2.11: 5 s epochs, rest 80, maximum 194; 600 s in all, mean 44.2982 %HRR.
    rates = np.repeat([100.0, 120.0, 130.0, 150.0, 185.0], [24, 36, 24, 24, 12])
    found = time_in_zones(zone_index_by_reserve(rates, 80, 194), np.full(120, 5.0))
    assert found.tolist() == [120, 180, 120, 120, 60]
    assert percent_reserve(rates, 80, 194).mean() == pytest.approx(44.2982, abs=5e-5)


def test_unmeasured_time_is_in_no_class_and_is_what_is_missing_from_the_sum():
    # Tables, row 2.11: bands and invalid time together are the recorded time.
    index = zone_index_by_reserve([100, math.nan, 150, math.nan], 80, 194)
    held_s = np.array([5.0, 12.0, 5.0, 3.0])
    assert index[1] == NOT_MEASURED
    assert time_in_zones(index, held_s).sum() + held_s[index == NOT_MEASURED].sum() == 25.0
    assert time_in_zones(index, held_s).tolist() == [5, 0, 0, 5, 0]


def test_nothing_recorded_is_zero_seconds_in_every_class():
    assert time_in_zones([], []).tolist() == [0, 0, 0, 0, 0]
    assert zone_index_by_maximum(math.nan, 200) == NOT_MEASURED == -1


def test_a_class_without_a_reserve_is_refused():
    with pytest.raises(BasisError, match="not above"):
        zone_index_by_reserve([100], 120, 110)
    with pytest.raises(BasisError, match="maximum"):
        zone_index_by_maximum([100], 0)
    with pytest.raises(BasisError, match="maximum"):
        maximum_edges_bpm(-5)
