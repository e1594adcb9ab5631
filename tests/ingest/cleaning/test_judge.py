"""Which stream is judged by which rules, and when heart rate is worked out from intervals: by hand."""

import math
import warnings

import numpy as np
import pytest
from ownmark.ingest.cleaning.judge import beat_by_beat, clean, with_heart_rate
from ownmark.ingest.flags import Flag
from ownmark.ingest.messages import READ_LATIN
from ownmark.ingest.recording import ACCELERATION, ECG, HEART_RATE, RR_INTERVAL, WAVEFORM, Recording, Stream

from tests.makers.edf_files import beats
from tests.makers.sheets import texts

UNCHECKED = Flag.UNCHECKED


def stream(name, values, flags=None, **more):
    time = np.arange(float(len(values)))
    return Stream.from_samples(name, time, values, flags=flags, source="made.csv", **more)


def judged(*streams):
    return [each.flags.tolist() for each in clean(Recording(streams=streams)).streams]


def test_each_stream_is_judged_by_its_own_rules():
    rates, intervals = stream(HEART_RATE, [90, 0, 240, 91]), stream(RR_INTERVAL, [0.8, 0, 2.5, 0.8])
    movement = stream(ACCELERATION, [[0, 0, 1], [0, math.nan, 1], [0, 0.1, 1], [0, 0.2, 1]])
    assert judged(rates, intervals, movement) == [
        [0, Flag.DROPOUT, Flag.IMPLAUSIBLE, 0],
        [0, Flag.DROPOUT, Flag.IMPLAUSIBLE, 0],
        [0, Flag.DROPOUT, 0, 0],
    ]
    assert judged(stream(HEART_RATE, [])) == [[]]


def test_what_the_reader_said_of_stamps_and_contact_stays_and_its_other_flags_go():
    flags = [UNCHECKED | Flag.BACKWARD_STAMP, UNCHECKED | Flag.FROZEN, UNCHECKED]
    assert judged(stream(HEART_RATE, [90, 91, 92], flags)) == [[Flag.BACKWARD_STAMP, 0, 0]]


@pytest.mark.parametrize("flag", [Flag.DUPLICATE_STAMP, Flag.NO_CONTACT])
def test_a_sample_that_is_out_already_is_judged_no_more_and_stands_in_no_course(flag):
    flags = np.full(6, UNCHECKED, np.uint16)
    flags[[2, 3]] |= np.uint16(flag)
    rates = stream(HEART_RATE, [90, 91, 0, 150, 240, 90], flags)
    assert judged(rates) == [[0, 0, flag, flag, Flag.IMPLAUSIBLE, 0]]


def test_heart_rate_from_an_interval_stands_for_it():
    # 0.5 and 1.0 s: 2 beats in 1.5 s are 80 /min, which their mean over time is.
    flags = [0, 0, Flag.DROPOUT, Flag.DROPOUT]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        rates = beat_by_beat(stream(RR_INTERVAL, [0.5, 1.0, 0.0, -1.0], flags, cover_s=[0.5, 1.0, 0.0, 0.0]))
    assert rates.values[:2].tolist() == [120, 60]
    assert np.isnan(rates.values[2:]).all()
    assert (rates.values[:2] * rates.cover_s[:2]).sum() / 1.5 == 80
    assert rates.flags.tolist() == flags
    assert (rates.name, rates.unit, rates.derived_from) == (HEART_RATE, "/min", RR_INTERVAL)


def kinds(*streams):
    """Names of the streams with what each was worked out from, and how many notes there are."""
    made = with_heart_rate(clean(Recording(streams=streams, notes=(READ_LATIN,))))
    return [(each.name, each.derived_from) for each in made.streams], texts(made.notes)[1:]


NOTE = ("Heart rate is worked out from the RR intervals, beat by beat.",)


def test_heart_rate_is_worked_out_only_where_none_is_usable():
    rr, good, bad = stream(RR_INTERVAL, [0.8, 0.8]), stream(HEART_RATE, [75, 76]), stream(HEART_RATE, [0, 0])
    partly = stream(HEART_RATE, [75, 0])
    derived, held, rates = (HEART_RATE, RR_INTERVAL), (RR_INTERVAL, None), (HEART_RATE, None)
    assert kinds(rr) == ([derived, held], NOTE)
    assert kinds(rr, good) == ([held, rates], ())
    assert kinds(rr, partly) == ([held, rates], ())
    assert kinds(bad, rr, good) == ([rates, held, rates], ())
    assert kinds(bad, rr) == ([derived, rates, held], NOTE)
    assert kinds(rr, rr) == ([derived, derived, held, held], NOTE)
    assert kinds(good) == ([rates], ())
    assert kinds(bad) == ([rates], ())


def test_a_waveform_gives_intervals_first():
    wave = Stream.from_samples(WAVEFORM, np.arange(2500) / 250, beats(10, 96, 250), kind=ECG, source="made.csv")
    found, _ = kinds(wave)
    assert (HEART_RATE, RR_INTERVAL) in found
    assert (RR_INTERVAL, WAVEFORM) in found
