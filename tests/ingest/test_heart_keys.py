"""Keys of a heart: the same in every format, and never those of another heart."""

from datetime import datetime

import numpy as np
import pytest
from ownmark.ingest.excerpt.cut import cut
from ownmark.ingest.formats import parse
from ownmark.ingest.heart_keys import AMONG, CHANGES, READINGS, heart_keys
from ownmark.ingest.recording import Source
from ownmark.sample_streams import writers

from tests.makers.recordings import pulse, recording

NINE = datetime(2026, 10, 6, 9, 0)  # noqa: DTZ001 as a strap states it


def heart(seed, seconds=900):
    return (100 + np.cumsum(np.random.default_rng(seed).integers(-1, 2, seconds)).clip(-40, 80)).astype(int)


def of(values, step=1.0, begin=0.0):
    return heart_keys(recording(pulse(begin + step * np.arange(len(values)), np.asarray(values, float))))


def test_a_fit_a_tcx_and_a_table_of_one_strap_have_the_same_keys():
    bpm = heart(1)
    table = "time_s,heart_rate\n" + "".join(f"{second},{value}\n" for second, value in enumerate(bpm))
    forms = (writers.fit(NINE, bpm, (300, 600), 0), writers.tcx(NINE, bpm, (300, 600)), table.encode())
    found = [heart_keys(parse(data, Source("x"))) for data in forms]
    assert found[0] == found[1] == found[2]
    assert len(found[0]) > 15  # 2 of 61 stretches are keys on the average (Schleimer and others, 2003)


def test_what_shares_a_hundred_readings_shares_a_key_wherever_they_begin():
    assert READINGS + AMONG == 100
    bpm = heart(2)
    whole = set(of(bpm))
    for begin in range(0, 800, 37):
        assert whole & set(of(bpm[begin : begin + 100], begin=5000.0)), begin


def test_hearts_that_are_not_the_same_share_none():
    found = [set(of(heart(seed))) for seed in range(60)]
    assert sum(map(len, found)) == len(set().union(*found))


def test_a_cut_has_keys_of_its_own_part_alone():
    bpm = heart(3)
    whole = recording(pulse(np.arange(900.0), bpm.astype(float)))
    part = cut(whole, (300.0, 600.0))
    assert heart_keys(part) == of(bpm[300:600])
    assert len(set(heart_keys(part)) & set(heart_keys(whole))) >= 4


@pytest.mark.parametrize(("changes", "some"), [(CHANGES - 1, False), (CHANGES, True)])
def test_a_rate_that_hardly_changes_makes_no_key(changes, some):
    values = np.full(READINGS + 1, 80)
    for place in range(changes):
        values[READINGS - place :] += 1
    assert bool(of(values)) is some


def test_missing_readings_are_no_readings_and_too_few_make_no_key():
    bpm = heart(4, 200).astype(float)
    holed = np.insert(bpm, [50, 90], [0.0, 255.0])
    time = np.insert(np.arange(200.0), [50, 90], [49.5, 89.5])
    assert heart_keys(recording(pulse(time, holed))) == of(bpm)
    assert of(bpm[:READINGS]) == ()
    assert len(of(bpm[: READINGS + 1])) == 1
    assert heart_keys(recording()) == ()


def test_the_time_between_readings_counts_by_the_second():
    bpm = heart(5, 200)
    assert of(bpm, step=1.0) == of(bpm, step=1.2)
    assert not set(of(bpm, step=1.0)) & set(of(bpm, step=2.0))
