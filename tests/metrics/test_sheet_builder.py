"""Figures in the making: what is given, stated and withheld, each field in its place."""

import pytest
from ownmark.metrics.basis import Basis, Maximum
from ownmark.metrics.bounds import Bounded
from ownmark.metrics.figure import Figure, as_messages
from ownmark.metrics.messages.heart_rate import (
    BASIS_MAXIMUM_MEASURED,
    BASIS_REST_ENTERED,
    WHY_NO_HEART_RATE,
    basis_maximum_predicted,
)
from ownmark.metrics.sheet_builder import Drafts
from ownmark.words.vocabulary import FIGURES

from tests.makers.sheets import in_english

PREDICTED = basis_maximum_predicted(20.0, "tanaka")
MEAN = FIGURES["heart_rate_mean"]


def drafts(rest_bpm=72.25, rest_how=BASIS_REST_ENTERED, **basis):
    return Drafts(Basis(**basis), rest_bpm, rest_how)


def test_a_figure_is_given_with_its_bounds_its_basis_and_the_coverage_of_the_sheet_or_its_own():
    made = drafts()
    made.coverage = 91.0
    made.give("heart_rate_mean", Bounded(100.0, 96.0, 106.0))
    made.give(
        "heart_rate_peak",
        Bounded(120.0, 118.0, 130.0),
        basis="a basis",
        note="a note",
        coverage=80.0,
        own_rhythm=Bounded(120.0, 119.0, 121.0),
    )
    plain = {"name": "heart_rate_mean", "value": 100.0, "unit": "/min", "low": 96.0, "high": 106.0}
    assert made.figures()["heart_rate_mean"] == Figure(**plain, coverage=91.0, source=MEAN.source)
    peak = {"name": "heart_rate_peak", "value": 120.0, "unit": "/min", "low": 118.0, "high": 130.0}
    assert made.figures()["heart_rate_peak"] == Figure(
        **peak,
        own_rhythm_low=119.0,
        own_rhythm_high=121.0,
        coverage=80.0,
        rests_on=as_messages("a basis"),
        source=FIGURES["heart_rate_peak"].source,
        notes=as_messages("a note"),
    )


def test_what_is_stated_has_no_bounds_and_its_own_coverage_alone():
    made = drafts()
    made.coverage = 91.0
    made.state("heart_rate_mean", 100.0, note="a note", coverage=None)
    assert made.figures()["heart_rate_mean"] == Figure(
        name="heart_rate_mean", value=100.0, unit="/min", source=MEAN.source, notes=as_messages("a note")
    )
    made.state("heart_rate_mean", 100.0, note=None, coverage=70.0)
    assert made.figures()["heart_rate_mean"].coverage == 70.0


def test_what_is_withheld_says_why_and_is_refused_only_where_it_was_asked_for():
    made = drafts()
    made.coverage = 40.0
    made.withhold("heart_rate_mean", WHY_NO_HEART_RATE)
    assert made.refused == []
    assert made.figures()["heart_rate_mean"] == Figure(
        name="heart_rate_mean", value=None, unit="/min", coverage=40.0, source=MEAN.source, reason=WHY_NO_HEART_RATE
    )
    made.withhold("heart_rate_peak", WHY_NO_HEART_RATE, refused=True)
    assert made.refused == ["heart_rate_peak"]


def test_a_figure_is_there_where_it_has_a_value():
    made = drafts()
    assert not made.has("heart_rate_mean")
    made.withhold("heart_rate_mean", WHY_NO_HEART_RATE)
    assert not made.has("heart_rate_mean")
    made.give("heart_rate_mean", Bounded(0.0, 0.0, 0.0))
    assert made.has("heart_rate_mean")


def test_figures_stand_in_the_order_of_the_vocabulary():
    made = drafts()
    order = [name for name in FIGURES if name.startswith("heart_rate")]
    for name in reversed(order):
        made.withhold(name, WHY_NO_HEART_RATE)
    assert list(made.figures()) == order
    assert (made.cautions, made.refused, made.coverage) == ([], [], None)


@pytest.mark.parametrize(
    ("made", "rest", "reserve"),
    [
        (drafts(None, None), "", ""),
        (drafts(), "rest 72.3 /min (entered)", "rest 72.3 /min (entered)"),
        (
            drafts(maximum=Maximum(194.0, PREDICTED, 9.9)),
            "rest 72.3 /min (entered)",
            "rest 72.3 /min (entered); maximum 194.0 /min (predicted from age 20.0 by Tanaka 2001, standard error "
            "9.9 /min)",
        ),
        (drafts(None, None, maximum=Maximum(181.05, BASIS_MAXIMUM_MEASURED)), "", "maximum 181.1 /min (measured)"),
    ],
)
def test_the_basis_in_words(made, rest, reserve):
    assert in_english(made.rest_basis) == rest
    assert in_english(made.reserve_basis) == reserve
