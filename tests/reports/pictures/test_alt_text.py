"""The text equivalents: their numbers are those of the series."""

import re
from dataclasses import replace

import pytest
from ownmark.metrics.messages.heart_rate import REASON_PACEMAKER, why_no_reserve, why_too_little
from ownmark.reports.pictures.alt_text import said_of_trial, why_no_zones
from ownmark.reports.pictures.pair import pair_picture
from ownmark.reports.pictures.ticks import length
from ownmark.reports.pictures.trial import trial_picture
from ownmark.reports.words import Words
from ownmark.words.message import Message

from .pictures_made import CASES, EN, ES, MOVING, made

NEVER = ("safe", "segur", "normal", "percentil", "good", "bad", "{", "nan", "None")


def said(series, words=EN):
    return said_of_trial(series, words)


def test_the_text_equivalent_is_the_same_on_paper_and_phone():
    for width in ("paper", "phone"):
        assert trial_picture(CASES["dropout"], EN, width).alt == said(CASES["dropout"])


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("language", ["en", "es"])
def test_two_to_five_sentences_that_judge_nobody(case, language):
    text = said(CASES[case], Words(language))
    assert text[0].isupper()
    assert text.endswith(".")
    assert 1 <= len(re.findall(r"\.(?:\s|$)", text)) <= 5
    assert not any(each in text for each in NEVER)


def test_range_mean_gap_and_crossings_are_those_of_the_series():
    series = made(ceiling_bpm=135.0)
    work = series.phases["work"]
    inside = series.measured & (series.time_s >= work[0]) & (series.time_s < work[1])
    text = said(series)
    low, high = series.bpm[series.measured].min(), series.bpm[series.measured].max()
    assert f"24 min of recording lies between {low:.0f} and {high:.0f} beats a minute" in text
    assert f"its mean at work, 5:00 to 17:00, is {series.bpm[inside].mean():.0f}." in text  # 1 Hz: each counts alike
    assert "One stretch of 3 min, from 9:00 on, was not measured" in text
    longest = max(b - a for a, b in series.crossings)
    whole = sum(b - a for a, b in series.crossings)
    assert whole == (series.bpm[series.measured] > 135).sum()  # 1 Hz
    assert f"above the ceiling of 135 for {length(whole, EN)} in all" in text
    assert f"the longest stay without a break lasts {length(longest, EN)}." in text


def test_a_time_above_the_ceiling_stands_with_its_bounds():
    series = made(crossings=((400.0, 431.0),), above_s=(30.0, 133.0))
    assert "once, from 6:40 on, for 31 s (30 s to 2 min 13 s, allowing for what was not measured)." in said(series)
    assert "allowing for what was not measured" not in said(replace(series, above_s=(31.0, 31.2)))
    assert "allowing for what was not measured" not in said(replace(series, above_s=None))
    two = replace(series, crossings=((400.0, 431.0), (500.0, 510.0)))
    assert (
        "for 41 s (30 s to 2 min 13 s, allowing for what was not measured) in all, first at 6:40; the longest"
        in said(two)
    )


def test_possible_crossings_are_told_and_then_nothing_is_said_to_have_stayed_below():
    doubts = ((400.0, 460.0), (450.0, 470.0), (500.0, 502.0))  # two sensors may tell of the same moment
    none = made(crossings=(), possible=doubts, above_s=(0.0, 100.0))
    assert (
        "No crossing of the ceiling of 140 is certain, but readings above it that were set aside make one possible for"
        " 1 min 12 s, first at 6:40."
    ) in said(none)
    assert "not seen above" not in said(none)
    some = replace(none, crossings=((600.0, 605.0),))
    assert "make more possible, 1 min 12 s in all, first at 6:40." in said(some)
    assert "not seen above the ceiling of 140" in said(made(crossings=()))
    nothing = made(gaps=((0, 1440),), crossings=(), possible=doubts)
    assert "make one possible" in said(nothing)
    assert "ceiling" not in said(made(gaps=((0, 1440),), crossings=()))


def test_of_many_gaps_the_number_the_sum_and_the_longest_are_told():
    text = said(made(gaps=((100, 110), (400, 475), (800, 805))))
    assert "3 stretches, 1 min 30 s together, were not measured and are hatched" in text
    assert "the longest, from 6:40 on, lasts 1 min 15 s" in text


def test_time_moving_is_that_of_the_work_phase():
    text = said(CASES["dropout"])
    # 300-600, 640-800 and 900-1010 of 300-1020: the first stretch began ten seconds before work
    assert "There was movement for 9 min 30 s of the 12 min of work" in text
    assert "40 s movement was not measured" in text
    assert "1 min 40 s was left out because someone else moved the student" in text
    rates = [rate for _, rate in MOVING["cadence"]]
    assert f"cadence lies between {min(rates):.0f} and {max(rates):.0f} times a minute" in text
    assert "The chair moved for 9 min 30 s" in said(CASES["frame"])


def test_a_figure_of_nought_is_a_figure():
    text = said(CASES["zeros"])
    assert "The chair moved for 0 s of the 12 min of work" in text
    assert "cadence lies between 0 and 0" in text
    assert "was not seen above the ceiling of 140" in text


def test_what_is_missing_is_said():
    assert said(CASES["all unmeasured"]).startswith("Heart rate was not measured at any moment of the 24 min")
    assert said(CASES["only movement"]).startswith("The recording of 24 min holds no heart rate.")
    assert "no maximum is known" in said(CASES["no maximum"])
    assert "measured throughout" in said(CASES["only heart rate"])


def test_spanish_has_the_same_numbers():
    for case in ("dropout", "no work", "many gaps", "zeros", "only movement"):
        english, spanish = (re.findall(r"[\d:]+", said(CASES[case], words)) for words in (EN, ES))
        assert sorted(english) == sorted(spanish)


def test_a_pair_tells_each_range_and_mean_and_their_difference():
    first, last = made(), made(seed=2, peak=128.0, gaps=((300, 340),), on="2026-10-19")
    text = pair_picture(first, last, EN).alt
    means = []
    for series, day in ((first, "Baseline, May 12, 2026"), (last, "Re-test, October 19, 2026")):
        inside = series.measured & (series.time_s >= 300) & (series.time_s < 1020)
        bpm = series.bpm[inside]
        means.append(round(bpm.mean()))
        assert f"{day}: between {bpm.min():.0f} and {bpm.max():.0f} beats a minute in 12 min of work" in text
        assert f"mean {bpm.mean():.0f};" in text
    assert "3 min not measured" in text
    assert "40 s not measured" in text
    assert f"is {means[0] - means[1]} beats a minute lower at the re-test." in text


def test_a_mean_that_the_sheet_does_not_give_is_not_told_by_its_picture_either():
    given, withheld = made(), made(mean_bpm=None)
    assert "its mean at work" in said(given)
    assert "mean" not in said(withheld)
    text = pair_picture(given, withheld, EN).alt
    assert text.count("mean") == 1
    assert "in 12 min of work; 3 min not measured." in text
    assert "at the re-test." not in text


def test_a_pair_with_nothing_measured_at_one_of_them_says_so():
    first = made(gaps=((0, 1440),))
    text = pair_picture(first, made(), ES).alt
    assert "la frecuencia cardíaca no se midió durante el ejercicio" in text
    same = pair_picture(made(), replace(made(), on=None), EN).alt
    assert "The mean at work is the same at both." in same


def test_lengths_are_read_as_people_say_them():
    assert [length(each, EN) for each in (0, 0.4, 59.5, 185, 3600, 3725)] == [
        *("0 s", "0 s", "1 min", "3 min 5 s", "1 h", "1 h 2 min"),
    ]


@pytest.mark.parametrize(
    ("why", "told"),
    [
        (None, "rest or maximum is not known."),
        (Message.english("Not given: wires came loose. Mend them."), "; the list of figures says why."),
        (why_no_reserve("pacemaker", REASON_PACEMAKER), ": pacemaker."),
        (why_too_little(40.0, 80.0), ": too little of the work phase was measured."),
    ],
)
def test_why_there_are_no_classes_is_told_in_a_few_words_by_its_code(why, told):
    found = why_no_zones(made(zones=None, no_zones=why), EN)
    assert found.startswith("No classes of effort are drawn")
    assert found.endswith(told)
