"""Bounds against many losses, and the narrower ones against many events in a gap."""

import pytest

from tests.makers.gap_events import OWN_RHYTHM
from tests.metrics.test_bounds_under_loss import check
from tests.metrics.test_kinetics import missed

pytestmark = pytest.mark.soak


def test_bounds_hold_over_many_losses():
    assert [seed for seed in range(8_000) if check(seed)] == []


@pytest.mark.parametrize("event", OWN_RHYTHM)
def test_no_event_of_a_heart_in_its_own_rhythm_leaves_the_bounds(event):
    assert missed(event, range(10_000)) == []
