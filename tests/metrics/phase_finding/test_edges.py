"""Ends of the work: how sure they are, and which witness replaces which, at the edges of its reach."""

from math import erf, hypot, sqrt

import pytest
from ownmark.metrics.messages import phase_finding as say
from ownmark.metrics.phase_finding.edges import Edge, Edges, by_length, of_effort, overlapping, replaced
from ownmark.metrics.phase_finding.found import BUTTON, HEART_RATE, MOVEMENT
from ownmark.metrics.phase_finding.from_heart_rate import Effort


def heart(sd_s=5.0, start=240.0, end=600.0):
    return Edges(Edge(start, sd_s, HEART_RATE), Edge(end, sd_s, HEART_RATE), 0.8, (say.PROPOSAL_NO_REST,))


def test_an_effort_is_as_sure_as_its_evidence_and_what_differs_between_hearts():
    edges = of_effort(Effort(240.0, 600.0, 4.0, 0.0, 80.0, 40.0, 50.0))
    assert edges.start == Edge(240.0, hypot(4.0, 5.0, 160.0 / 40.0), HEART_RATE)
    assert edges.end == Edge(600.0, 5.0, HEART_RATE)
    assert (edges.trust, edges.notes) == (1.0, ())


def test_the_worse_end_counts_and_confidence_is_the_share_within_a_quarter_of_a_minute():
    edges = Edges(Edge(240.0, 10.0, HEART_RATE), Edge(600.0, 4.0, HEART_RATE), 0.5)
    assert edges.within_s == pytest.approx(21.0)
    # P(|x| <= 15) for deviations of 10 and 4: .866386 and .999823 (tables of the normal distribution: 1.5 and 3.75)
    assert edges.confidence == pytest.approx(0.5 * 0.866386 * 0.999823, abs=1e-6)
    assert edges.confidence == pytest.approx(0.5 * erf(1.5 / sqrt(2)) * erf(3.75 / sqrt(2)))


@pytest.mark.parametrize(("sd_s", "reach_s"), [(1.0, 20.0), (6.666, 20.0), (10.0, 30.0), (15.0, 45.0), (40.0, 45.0)])
def test_a_better_witness_may_lie_three_deviations_off_between_two_limits(sd_s, reach_s):
    assert Edge(0.0, sd_s, HEART_RATE).reach_s == reach_s


def test_both_ends_are_replaced_where_both_are_near():
    found = replaced(heart(), [222.0, 235.0, 500.0], [590.0, 617.0], BUTTON, 2.0)
    assert found == Edges(Edge(235.0, 2.0, BUTTON), Edge(590.0, 2.0, BUTTON), 0.8, (say.PROPOSAL_NO_REST,))


@pytest.mark.parametrize(("off", "near"), [(20.0, True), (20.1, False), (-20.0, True), (-20.1, False)])
def test_an_end_is_replaced_within_its_reach_and_not_beyond(off, near):
    found = replaced(heart(), [240.0 + off], [], BUTTON, 2.0)
    assert (found is not None) is near
    if found is not None:
        assert (found.start, found.end) == (Edge(240.0 + off, 2.0, BUTTON), heart().end)
    found = replaced(heart(), [], [600.0 + off], BUTTON, 2.0)
    assert (None if found is None else (found.start, found.end)) == (
        (heart().start, Edge(600.0 + off, 2.0, BUTTON)) if near else None
    )


def test_a_reach_can_be_given():
    assert replaced(heart(), [270.0], [], MOVEMENT, 2.4, 30.0) is not None
    assert replaced(heart(), [270.1], [], MOVEMENT, 2.4, 30.0) is None


def test_of_several_pairs_the_likeliest_is_taken_near_the_heart_and_as_long_as_expected():
    starts, ends = [220.0, 241.0], [601.0, 620.0]
    near = replaced(heart(), starts, ends, BUTTON, 2.0)
    assert near is not None
    assert (near.start, near.end) == (Edge(241.0, 2.0, BUTTON), Edge(601.0, 2.0, BUTTON))
    # both starts are 5 s off, a standard deviation; the length decides, and the other stays possible: 10 s of ±
    for work_s, start in ((365.0, 235.0), (345.0, 245.0), (None, 235.0)):
        found = replaced(heart(), [235.0, 245.0], [600.0], BUTTON, 2.0, None, work_s)
        assert found is not None
        assert found.start == Edge(start, pytest.approx(10.0 / 2.1), BUTTON)
        assert found.end == Edge(600.0, 2.0, BUTTON)
    # 20 s of length are worth as much as a standard deviation of the heart: 385 s make 1 + 1 of 235 and 0 + 1.5625
    # of 240; 420 s make 1 + 7.5625 and 0 + 9
    for work_s, start in ((385.0, 240.0), (420.0, 235.0)):
        found = replaced(heart(), [235.0, 240.0], [600.0], BUTTON, 2.0, None, work_s)
        assert found is not None
        assert found.start.time_s == start


@pytest.mark.parametrize(("off", "sd_s"), [(12.2, 12.2 / 2.1), (12.3, 2.0)])
def test_a_press_less_than_twenty_times_as_likely_as_another_is_as_good_as_they_lie_apart(off, sd_s):
    # (off / 5)² is 5.95 and 6.05; twice the logarithm of 20 is 5.99
    found = replaced(heart(), [240.0, 240.0 + off], [600.0, 600.0 - off], BUTTON, 2.0)
    assert found is not None
    assert found.start == Edge(240.0, pytest.approx(sd_s), BUTTON)
    assert found.end == Edge(600.0, pytest.approx(sd_s), BUTTON)


def test_two_presses_closer_than_a_press_is_good_are_as_good_as_one():
    found = replaced(heart(), [240.0, 243.5], [], BUTTON, 2.0)
    assert found is not None
    assert found.start == Edge(240.0, 2.0, BUTTON)


# ---- the protocol's length


def test_the_end_that_is_unsure_moves_towards_the_length():
    # 360 s were found, 335 are expected: 25 s too long. Variances 225, 0 and 400: the unsure end takes 9 of 25.
    edges = Edges(Edge(240.0, 15.0, HEART_RATE), Edge(600.0, 0.0, HEART_RATE), 0.8, (say.PROPOSAL_NO_REST,))
    moved = by_length(edges, 335.0)
    assert moved.start == Edge(pytest.approx(249.0), pytest.approx(12.0), HEART_RATE)
    assert (moved.end, moved.trust, moved.notes) == (edges.end, 0.8, (say.PROPOSAL_NO_REST,))
    other = by_length(Edges(Edge(240.0, 0.0, HEART_RATE), Edge(600.0, 15.0, HEART_RATE)), 335.0)
    assert (other.start.time_s, other.end.time_s, other.end.sd_s) == pytest.approx((240.0, 591.0, 12.0))
    short = by_length(edges, 385.0)
    assert (short.start.time_s, short.end.time_s) == pytest.approx((231.0, 600.0))


@pytest.mark.parametrize(("work_s", "start"), [(310.0, 258.0), (309.9, 240.0), (410.0, 222.0), (410.1, 240.0)])
def test_a_length_that_is_off_by_more_than_two_deviations_moves_nothing(work_s, start):
    edges = Edges(Edge(240.0, 15.0, HEART_RATE), Edge(600.0, 0.0, HEART_RATE))
    assert by_length(edges, work_s).start.time_s == pytest.approx(start)


@pytest.mark.parametrize(("end", "found"), [(270.0, True), (269.9, False)])
def test_a_pair_is_half_a_minute_long_at_least(end, found):
    assert (replaced(heart(15.0, 240.0, 280.0), [240.0], [end], BUTTON, 2.0) is not None) is found


def test_a_span_is_the_same_work_where_most_is_shared():
    # the work lasts from 240 to 600: 360 s
    assert overlapping(heart(), [(240.0, 456.0)]) == (240.0, 456.0)  # 216 of 360 s: 0.6
    assert overlapping(heart(), [(240.0, 455.0)]) is None
    assert overlapping(heart(), [(0.0, 600.0)]) == (0.0, 600.0)  # 360 of 600
    assert overlapping(heart(), [(0.0, 601.0)]) is None
    assert overlapping(heart(), [(0.0, 240.0), (250.0, 590.0), (240.0, 500.0)]) == (250.0, 590.0)
    assert overlapping(heart(), [(700.0, 900.0)]) is None
    assert overlapping(heart(), []) is None
