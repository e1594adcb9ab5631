"""Two readings at one moment, and a clock that runs twice: bounds say what both say, or the file is refused."""

import numpy as np
import pytest
from ownmark.errors import DamagedFile
from ownmark.ingest.formats import parse
from ownmark.ingest.recording import ACCELERATION, Source, Stream
from ownmark.metrics import Asked, Band, Phases, choose_basis, effort
from ownmark.metrics.timeline import hold

from tests.makers.recordings import pulse, recording

BASIS = choose_basis(rest_bpm=70, measured_max_bpm=200, sex="female")
ASKED = Asked(distance_m=500, target=Band(110, 140, "/min"), ceiling_bpm=150, dip_s=0.0)


def with_second(readings, *, at=50, seconds=100, bpm=120.0):
    """100 s at 120 /min (and 121 in between); the second ``at`` holds these readings in place of its own."""
    time = np.arange(float(seconds))
    rates = bpm + np.arange(seconds) % 2
    keep = time != at
    made = pulse(np.append(time[keep], [at] * len(readings)), np.append(rates[keep], readings))
    return effort(recording(made), BASIS, Phases(work=(0.0, float(seconds))), ASKED).figures


def ends(figure):
    return figure.low, figure.high


def test_the_mean_takes_the_least_and_the_highest_of_two_readings():
    figures = with_second([100.0, 140.0])
    rest_of_it = 50 * 121 + 49 * 120  # the second at 50 s is an even one
    assert ends(figures["heart_rate_mean"]) == pytest.approx(((rest_of_it + 100) / 100, (rest_of_it + 140) / 100))
    assert ends(figures["beats_total"]) == pytest.approx(((rest_of_it + 100) / 60, (rest_of_it + 140) / 60))
    over = rest_of_it - 99 * 70
    assert ends(figures["beats_above_rest"]) == pytest.approx(((over + 30) / 60, (over + 70) / 60))
    assert figures["heart_rate_mean"].value == pytest.approx((rest_of_it + 140) / 100)


def test_readings_of_one_value_and_what_is_no_reading_move_no_bound():
    for readings in ([120.0, 120.0], [0.0, 120.0], [120.0, 255.0], [120.0, np.nan], [29.0, 120.0]):
        figures = with_second(readings)
        assert ends(figures["heart_rate_mean"]) == pytest.approx((120.5, 120.5))
    assert with_second([30.0, 120.0])["heart_rate_mean"].low == pytest.approx((50 * 121 + 49 * 120 + 30) / 100)


def test_three_readings_count_by_their_ends_in_any_order():
    for readings in ([110.0, 130.0, 120.0], [130.0, 110.0, 120.0]):
        assert ends(with_second(readings)["heart_rate_mean"]) == pytest.approx((120.4, 120.6))


def test_the_peak_is_proven_by_the_least_reading_only():
    figures = with_second([121.0, 151.0])
    assert figures["heart_rate_peak"].value == pytest.approx((8 * 121 + 6 * 120 + 151) / 15)  # from 43 to 57 s
    assert figures["heart_rate_peak"].low == pytest.approx((9 * 121 + 6 * 120) / 15)


def test_a_second_on_both_sides_of_an_edge_may_be_on_either():
    figures = with_second([105.0, 121.0])
    assert ends(figures["time_on_target"]) == (99, 100)
    assert ends(figures["longest_on_target"]) == (50, 100)
    assert ends(with_second([150.0, 151.0])["time_above_ceiling"]) == (0, 1)
    assert ends(with_second([151.0, 152.0])["time_above_ceiling"]) == (1, 1)
    assert ends(with_second([100.0, 200.0])["time_on_target"]) == (99, 100)  # a third may have been in the band
    assert ends(with_second([141.0, 200.0])["time_on_target"]) == (99, 99)
    assert ends(with_second([110.0, 140.0])["time_on_target"]) == (100, 100)
    # 122 /min is 40 % of the reserve of 130 above 70: moderate; below it light, from 109 on.
    assert ends(with_second([121.0, 122.0])["time_moderate"]) == (0, 1)
    assert ends(with_second([121.0, 122.0])["time_light"]) == (99, 100)
    # 1.5 times the rest is 105 /min.
    assert ends(with_second([105.0, 106.0])["share_above_150_rest"]) == pytest.approx((99, 100))


def test_recovery_from_a_contested_second_may_be_anything():
    time = np.arange(200.0)
    bpm = 120 + time % 2
    phases = Phases(work=(0.0, 100.0))
    plain = effort(recording(pulse(time, bpm)), None, phases).figures["recovery_60s"]
    assert ends(plain) == (0, 0)
    twice = effort(recording(pulse(np.append(time, 160.0), np.append(bpm, 110.0))), None, phases).figures[
        "recovery_60s"
    ]
    assert (twice.value, twice.low, twice.high) == (0, 120 - 230, 120 - 30)


def test_the_bounds_reach_as_far_as_a_reading_that_was_set_aside():
    # 60 s at 240 /min are set aside as implausible; the heart may have been there, and as fast elsewhere.
    def figures(odd):
        bpm = np.append(120 + np.arange(540) % 2, np.full(60, float(odd)))
        return effort(
            recording(pulse(np.arange(600.0), bpm, flags=np.where(bpm == odd, 4, 0))), BASIS, None, ASKED
        ).figures

    assert ends(figures(240)["heart_rate_mean"]) == pytest.approx((540 * 120.5 / 600 + 3, 540 * 120.5 / 600 + 24))
    assert figures(240)["heart_rate_peak"].high == pytest.approx(240)
    assert figures(240)["beats_total"].high == pytest.approx(9 * 120.5 + 240)
    assert figures(240)["beats_above_rest"].high == pytest.approx(9 * 50.5 + 170)
    assert figures(300)["heart_rate_peak"].high == pytest.approx(300)
    assert figures(301)["heart_rate_peak"].high == pytest.approx(230)  # no heart's
    assert figures(20)["heart_rate_mean"].low == pytest.approx(540 * 120.5 / 600 + 2)
    assert figures(20)["heart_rate_peak"].high == pytest.approx(230)


def test_only_what_was_set_aside_in_the_phase_widens_it():
    flags = np.zeros(20, np.uint16)
    flags[10] = 4
    stream = pulse(np.arange(20.0), np.where(flags, 250.0, 100.0), flags=flags)
    assert hold(stream, 10.0, 20.0).highest_bpm == 250
    assert hold(stream, 0.0, 10.0).highest_bpm == 230
    assert hold(stream, 11.0, 20.0).highest_bpm == 230
    assert hold(stream, 0.0, 20.0).part(0.0, 5.0).highest_bpm == 250
    dropout = pulse(np.arange(20.0), np.where(flags, 250.0, 100.0), flags=flags // 2)
    assert hold(dropout, 0.0, 20.0).highest_bpm == 230


def test_the_least_reading_without_skin_contact_counts_for_nothing():
    flags = np.array([0, 128, 0], np.uint16)
    assert hold(pulse([0.0, 1.0, 1.0], [100.0, 90.0, 95.0], flags=flags), 0.0, 3.0).least.tolist() == [100, 95]
    assert hold(pulse([0.0, 1.0, 1.0], [100.0, 90.0, 95.0]), 0.0, 3.0).least.tolist() == [100, 90]
    part = hold(pulse([0.0, 1.0, 1.0, 2.0], [100.0, 90.0, 95.0, 99.0]), 0.0, 3.0).part(1.0, 3.0)
    assert part.least.tolist() == [90, 99]


# --- a clock that runs over the same time twice ---


def runs(*pieces):
    return np.concatenate([np.arange(*piece, dtype=float) for piece in pieces])


def stream(time, *levels):
    values = np.concatenate([np.full(len(piece), level) for piece, level in zip(time, levels, strict=True)])
    return pulse(np.concatenate(time), values)


def test_a_second_run_over_the_same_time_is_refused():
    with pytest.raises(DamagedFile, match=r"steps back by 299 s and covers 300 s a second time"):
        stream([runs((0, 300)), runs((0, 300))], 100.0, 170.0)
    with pytest.raises(DamagedFile, match=r"steps back by 20 s and covers 11 s a second time"):
        stream([runs((0, 32)), runs((11, 22)) + 0.5], 100.0, 100.0)


def test_small_steps_back_blocks_in_another_order_and_copies_are_put_in_order():
    stream([runs((0, 32)), runs((11, 21)) + 0.5], 100.0, 170.0)  # ten seconds twice
    stream([runs((0, 31)), runs((21, 42))], 100.0, 170.0)  # ten seconds back
    stream([runs((300, 600)), runs((0, 300))], 100.0, 170.0)  # nothing twice
    assert stream([runs((0, 300)), runs((0, 300))], 100.0, 100.0).flag_counts() == {
        "duplicate_stamp": 300,
        "backward_stamp": 299,  # the last is no earlier than what stood before it
    }
    stream([runs((0, 300)), runs((0, 300))], 100.0, 0.0)  # 0 is no reading
    stream([runs((0, 300)), runs((0, 300))], 0.0, np.nan)


def test_movement_is_refused_as_well_and_so_is_a_file_of_any_format():
    values = np.random.default_rng(1).normal(size=(600, 3))
    with pytest.raises(DamagedFile):
        Stream.from_samples(ACCELERATION, runs((0, 300), (0, 300)), values)
    lines = "".join(f"{second},{bpm}\n" for bpm in (100, 170) for second in range(300))
    with pytest.raises(DamagedFile, match="a second time"):
        parse(f"time_s,heart_rate\n{lines}".encode(), Source("twice.csv"))
