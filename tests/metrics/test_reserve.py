"""Heart-rate reserve against printed worked examples (tables, section 1)."""

import math

import numpy as np
import pytest
from ownmark.errors import BasisError
from ownmark.metrics.reserve import (
    narrow_reserve_note,
    percent_reserve,
    target_heart_rate,
    too_narrow,
    too_narrow_reason,
)
from ownmark.metrics.zones import zone_index_by_maximum, zone_index_by_reserve

from tests.makers.sheets import in_english

PRINTED = 0.005  # half of the last digit shown


def test_percent_of_reserve_agrees_with_the_university_course_page():
    # Source: university course page on heart-rate reserve: rest 50, maximum 200, rate 150 gives 67 % (66.6667).
    assert percent_reserve(150, 50, 200) == pytest.approx(66.6667, abs=5e-5)


@pytest.mark.parametrize(
    ("percent", "rest", "maximum", "target"),
    [
        (70, 70, 190, 154.0),  # computed by hand; a public answer page prints a wrong 140
        (70, 75, 200, 162.5),  # university course page, age 20
        (60, 75, 200, 150.0),  # college worksheet, printed
        (80, 75, 200, 175.0),  # same data
        (75, 50, 180, 147.5),  # printed rounded as 147
        (70, 70, 193, 156.1),  # health portal prints 156 after an early rounding
        (50, 67, 199, 133.0),  # student worksheet, printed
        (60, 67, 199, 146.2),  # same
        (70, 67, 199, 159.4),  # same
        (85, 67, 199, 179.2),  # same
        (60, 60, 200, 144.0),  # answer page, printed
    ],
)
def test_target_heart_rates_agree_with_printed_worked_examples(percent, rest, maximum, target):
    assert target_heart_rate(percent, rest, maximum) == pytest.approx(target, abs=PRINTED)
    assert percent_reserve(target, rest, maximum) == pytest.approx(percent, abs=PRINTED)


def test_rest_is_not_rounded_before_the_target_is_worked_out():
    # Same student worksheet with its unrounded rest, the mean of 66, 64 and 70.
    rest = (66 + 64 + 70) / 3
    found = target_heart_rate([50, 60, 70, 85], rest, 199)
    assert found == pytest.approx([132.8333, 146.0667, 159.3, 179.15], abs=5e-5)


@pytest.mark.parametrize(("rate", "percent"), [(60, -7.6923), (205, 103.8462)])
def test_percent_of_reserve_is_not_clipped_below_rest_or_above_the_maximum(rate, percent):
    # Computed in the tables, row 1.2: rest 70, maximum 200.
    assert percent_reserve(rate, 70, 200) == pytest.approx(percent, abs=5e-5)


def test_percent_of_maximum_is_another_scale_than_percent_of_reserve():
    # Tables, rows 1.8 and 2.7: 122 /min with rest 70 and maximum 200.
    assert zone_index_by_maximum(122, 200) == 1  # 61.0 % of the maximum: light
    assert zone_index_by_reserve(122, 70, 200) == 2  # 40.0 % of the reserve: moderate
    assert percent_reserve(122, 70, 200) == 40.0


def test_an_uncertain_maximum_of_plus_or_minus_20_moves_the_result_from_light_to_moderate():
    # Computed in the tables, row 1.11; the range of the maximum is that of Verschuren 2011 (174–214).
    found = [float(percent_reserve(130, 80, maximum)) for maximum in (174, 194, 214)]
    assert found == pytest.approx([53.1915, 43.8596, 37.3134], abs=5e-5)


def test_time_weighted_mean_of_percent_reserve_is_that_of_the_mean_rate():
    # Tables, row 1.9: a trapezoid over 0, 60 ... 240 s gives 23.9583 %.
    percent = percent_reserve([80, 110, 120, 115, 100], 80, 200)
    assert np.trapezoid(percent, dx=60) / 240 == pytest.approx(23.9583, abs=5e-5)


def test_a_whole_percent_of_whole_beats_is_exact_at_every_class_edge():
    # Tables, row 2.6: edges with rest 70 and maximum 200 are 109, 122, 148, 187 /min.
    assert percent_reserve([109, 122, 148, 187], 70, 200).tolist() == [30.0, 40.0, 60.0, 90.0]


def test_unmeasured_heart_rate_stays_unmeasured():
    assert np.isnan(percent_reserve([100, math.nan], 70, 200)).tolist() == [False, True]


@pytest.mark.parametrize(
    ("rest", "maximum", "said"),
    [
        (80, 80, "not above"),
        (190, 70, "not above"),
        (0, 180, "resting heart rate"),
        (math.nan, 180, "resting heart rate"),
        (70, math.inf, "maximum heart rate"),
    ],
)
def test_rest_and_maximum_without_a_reserve_are_refused(rest, maximum, said):
    with pytest.raises(BasisError, match=said):
        percent_reserve(100, rest, maximum)
    with pytest.raises(BasisError, match=said):
        target_heart_rate(50, rest, maximum)


@pytest.mark.parametrize("maximum", [0, -1, math.nan, math.inf])
def test_a_maximum_that_is_no_heart_rate_is_refused(maximum):
    with pytest.raises(BasisError, match="maximum heart rate"):
        zone_index_by_maximum(100, maximum)


def test_a_reserve_under_40_beats_is_pointed_out():
    # Common practice, tables row 1.1: below 40 /min percent of reserve is jumpy.
    note = narrow_reserve_note(100, 139)
    assert note is not None
    assert "39 /min" in in_english(note)
    assert "2.6" in in_english(note)  # 100 / 39
    assert narrow_reserve_note(100, 140) is None


def test_the_slowest_and_the_fastest_heart_are_hearts_and_a_note_needs_a_reserve():
    assert zone_index_by_maximum([30, 29], 30).tolist() == [4, 4]
    assert zone_index_by_maximum(115, 230) == 0
    for wrong in (29.9, 230.1):
        with pytest.raises(BasisError):
            zone_index_by_maximum(100, wrong)
    with pytest.raises(BasisError):
        narrow_reserve_note(100, 100)


@pytest.mark.parametrize(
    ("rest", "maximum", "narrow"), [(90, 95, True), (90, 109.9, True), (90, 110, False), (60, 80, False)]
)
def test_a_reserve_under_20_beats_is_not_divided(rest, maximum, narrow):
    # Common practice: the class "light" is a tenth of the reserve, and under 2 /min it is finer than rest and rate are
    # read, each to a whole beat.
    assert too_narrow(rest, maximum) is narrow


def test_why_a_reserve_is_not_divided_is_said_with_its_numbers():
    assert in_english(too_narrow_reason(90, 95)) == (
        "Not given: the maximum of 95.0 /min is only 5.0 /min above the rest of 90.0 /min, too little to divide;"
        " 20 are needed. Check both."
    )
