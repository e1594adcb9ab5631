"""Ends of the work: how sure they are, and which witness replaces which, at the edges of its reach."""

from math import erf, hypot, sqrt

import pytest
from ownmark.metrics.messages import phase_finding as say
from ownmark.metrics.phase_finding.edges import Edge, Edges, of_effort, overlapping, replaced
from ownmark.metrics.phase_finding.found import BUTTON, HEART_RATE, MOVEMENT
from ownmark.metrics.phase_finding.from_heart_rate import Effort


def heart(sd_s=5.0, start=240.0, end=600.0):
    return Edges(Edge(start, sd_s, HEART_RATE), Edge(end, sd_s, HEART_RATE), 0.8, (say.PROPOSAL_NO_REST,))


def test_an_effort_is_as_sure_as_its_evidence_and_what_differs_between_hearts():
    edges = of_effort(Effort(240.0, 600.0, 4.0, 0.0, 80.0, 40.0, 50.0))
    assert edges.start == Edge(240.0, hypot(4.0, 3.0, 160.0 / 40.0), HEART_RATE)
    assert edges.end == Edge(600.0, 3.0, HEART_RATE)
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
    found = replaced(heart(), [222.0, 235.0, 500.0], [590.0, 615.0], BUTTON, 2.0)
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


def test_of_several_pairs_the_one_of_the_expected_length_is_taken():
    starts, ends = [225.0, 241.0], [601.0, 618.0]
    near = replaced(heart(), starts, ends, BUTTON, 2.0)
    long = replaced(heart(), starts, ends, BUTTON, 2.0, None, 393.0)
    assert near is not None
    assert (near.start.time_s, near.end.time_s) == (241.0, 601.0)
    assert long is not None
    assert (long.start.time_s, long.end.time_s) == (225.0, 618.0)


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
