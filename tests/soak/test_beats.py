"""Many hearts with extra, missed and premature beats, made ones and real ones: no bound may miss."""

import numpy as np
import pytest

from tests.ingest.cleaning.test_beat_patterns import assert_bounds_hold
from tests.makers.beats import heart

pytestmark = pytest.mark.soak


def chances(rng):
    return dict(zip(("extra", "missed", "premature"), rng.uniform(0, 0.02, 3), strict=True))


def test_bounds_hold_for_a_thousand_hearts():
    for seed in range(1000, 2000):
        rng = np.random.default_rng(seed)
        assert_bounds_hold(rng, heart(rng, *rng.uniform(40, 210, 2)), **chances(rng))


def test_bounds_hold_for_real_hearts_at_other_rates(real_dir):
    whole = np.load(real_dir / "rr_long.npy") / 1000
    for seed in range(300):
        rng = np.random.default_rng(seed)
        begin, rate = rng.integers(0, len(whole) - 400), rng.uniform(0.4, 1.4)
        piece = whole[begin : begin + 400] * rate
        steady = piece.mean() + (piece - piece.mean()) * min(rate, 1.0)  # the faster, the more even
        assert_bounds_hold(rng, steady, **chances(rng))
