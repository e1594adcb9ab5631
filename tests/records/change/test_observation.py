"""What a comparison sees of a kept sheet, and when two of them rest on the same rest and maximum."""

from functools import cache

import numpy as np
import pytest
from ownmark.metrics import choose_basis, effort
from ownmark.metrics.messages import heart_rate as messages
from ownmark.records.change.comparison import BasisSeen, basis_of_baseline, seen
from ownmark.records.change.observation import different_bases, rests_on_maximum, rests_on_rest
from ownmark.words.message import Message

from tests.makers.recordings import every_second
from tests.makers.sheets import altered, with_figure
from tests.records.makers import CRANK, ON_MAXIMUM, ON_REST, figure_of, sentence, trial

RISE = "heart_rate_rise"
MOVED = {
    "file": "a",
    "placement": "frame",
    "rate_hz": 50.0,
    "threshold_mg": None,
    "floor_mg": None,
    **dict.fromkeys(("moving", "unmeasured", "assisted", "cadence", "turns"), ()),
}
"""Movement of which nothing says what was counted."""


@cache
def made():
    return effort(every_second(np.full(600, 130.0)), choose_basis(rest_bpm=70, measured_max_bpm=190))


def sheet(movement=None, **figure):
    """A sheet that ownmark worked out, with the fields of one figure put in."""
    found = with_figure(made(), RISE, **figure)
    if movement is None:
        return found
    return altered(found, lambda page: page["provenance"].update(movement={**MOVED, **movement}))


def seen_of(kept):
    return seen(trial(0).trial.model_copy(update={"sheet": kept}), CRANK)


def test_a_trial_without_a_sheet_shows_what_was_entered_alone():
    found = seen_of(None)
    assert (found.figures, found.basis, found.work_s, found.conditions, found.cautions) == ({}, None, None, (), ())


def test_a_figure_is_seen_with_value_bounds_unit_note_and_what_it_rests_on():
    found = seen_of(sheet(low=58.5, high=61.0, note="Something.")).figures
    rise = found[RISE]
    assert (rise.value, rise.low, rise.high, rise.unit) == (pytest.approx(60), 58.5, 61, "/min")
    assert (rise.source, rise.notes) == ("common practice", (Message.english("Something."),))
    needs = {name: (rests_on_rest(each), rests_on_maximum(each)) for name, each in found.items()}
    assert (needs[RISE], needs["reserve_mean"], needs["heart_rate_mean"]) == (
        (True, False),
        (True, True),
        (False, False),
    )
    assert found["beats_total"].unit == "1"


@pytest.mark.parametrize(
    ("movement", "counts"),
    [
        ({"counted": "pair", "placement": "trunk"}, "pair"),
        ({"counted": None, "placement": "trunk"}, None),
        ({"placement": "trunk"}, "by an older rule"),
        ({"placement": "wrist"}, "cycle"),
        ({}, "cycle"),
    ],
)
def test_what_is_counted_is_what_the_sheet_says_or_what_older_ones_counted(movement, counts):
    assert seen_of(sheet(movement)).counted == counts


@pytest.mark.parametrize(
    ("stated", "needs"),
    [
        ("rest 70 /min", (True, False)),
        ("maximum 190 /min", (False, True)),
        ("rest 70 /min; maximum 190 /min", (True, True)),
        ("", (False, False)),
    ],
)
def test_a_sheet_of_the_schema_before_says_in_english_what_a_figure_rests_on(stated, needs):
    older = figure_of(40, rests_on=(Message.english(stated),))
    assert (rests_on_rest(older), rests_on_maximum(older)) == needs


def test_the_error_of_a_maximum_is_a_maximum_too():
    assert rests_on_maximum(
        figure_of(40, rests_on=(messages.basis_maximum_see(190.0, messages.BASIS_MAXIMUM_MEASURED, 10.0),))
    )


def test_the_basis_is_that_of_the_sheet():
    assert basis_of_baseline(sheet()) == BasisSeen(70, 190, messages.BASIS_MAXIMUM_MEASURED, None, "reserve")


def test_a_maximum_is_taken_over_as_what_it_was():
    assert BasisSeen().maximum() is None
    plain = BasisSeen(maximum_bpm=190.0).maximum()
    assert plain is not None
    assert (plain.bpm, plain.how, plain.see_bpm) == (190, messages.BASIS_MAXIMUM_MEASURED, None)
    assert (plain.predicted, plain.notes) == (False, ())
    predicted = BasisSeen(
        maximum_bpm=198.6, maximum_from=messages.basis_maximum_predicted(14.0, "tanaka"), maximum_see_bpm=10.0
    ).maximum()
    assert predicted is not None
    assert (predicted.bpm, predicted.see_bpm, predicted.predicted) == (198.6, 10, True)
    assert predicted.notes == (messages.BASIS_MAXIMUM_OF_BASELINE,)


def on(rest=None, maximum=None, zones_by="reserve", *, needs=(True, True)):
    rests_on = (*(ON_REST if needs[0] else ()), *(ON_MAXIMUM if needs[1] else ()))
    figures = {"reserve_mean": figure_of(40, unit="%", rests_on=rests_on)}
    basis = BasisSeen(rest_bpm=rest, maximum_bpm=maximum, zones_by=zones_by)
    return trial(0, figures=figures, basis=basis)


def apart(*trials):
    return different_bases(trials, "reserve_mean")


def test_rates_are_the_same_to_five_thousandths():
    assert apart(on(70.0, 190.0), on(70.0, 190.0)) is None
    assert apart(on(70.0, 190.0), on(70.0049, 190.0)) is None
    assert sentence(apart(on(70.0, 190.0), on(70.0051, 190.0))) == "rest of 70.0 /min"
    assert sentence(apart(on(70.0, 190.0), on(70.0, 191.25))) == "maximum of 190.0 and 191.3 /min"
    assert sentence(apart(on(70.0, 190.0), on(71.0, 191.0))) == "rest of 70.0 and 71.0 /min"
    assert sentence(apart(on(70.0, 190.0), on(70.0, 190.0), on(71.0, 190.0))) == "rest of 70.0 and 71.0 /min"
    assert sentence(apart(on(71.0, 190.0), on(70.0, 190.0), on(70.0, 190.0))) == "rest of 71.0 and 70.0 /min"


def test_an_unknown_rate_is_not_a_rate_of_nothing():
    assert sentence(apart(on(70.0), on(None))) == "rest of 70.0 and none /min"
    assert sentence(apart(on(None), on(70.0))) == "rest of none and 70.0 /min"
    assert apart(on(None), on(None)) is None
    assert sentence(apart(on(70.0, 190.0), on(70.0))) == "maximum of 190.0 and none /min"
    assert apart(on(None, 190.0), on(None, 190.0)) is None


def test_a_figure_hangs_only_on_what_it_rests_on():
    assert apart(on(70.0, 190.0, needs=(False, True)), on(80.0, 190.0, needs=(False, True))) is None
    assert apart(on(70.0, 190.0, needs=(True, False)), on(70.0, 195.0, needs=(True, False))) is None
    assert (
        sentence(apart(on(70.0, 190.0), on(70.0, 190.0, "maximum")))
        == "classes by reserve in one and by maximum in another"
    )
    rest_only = (True, False)
    assert apart(on(70.0, 190.0, needs=rest_only), on(70.0, 190.0, "maximum", needs=rest_only)) is None
    assert different_bases([on(70.0), on(80.0)], "heart_rate_mean") is None
    # A trial of which only hand results are known has no basis.
    assert sentence(different_bases([on(70.0), seen_of(None)], "reserve_mean")) == "rest of 70.0 and none /min"
    # Where one of two sheets gives the figure with a maximum, both are held against it.
    assert sentence(apart(on(70.0, 190.0), on(70.0, 195.0, needs=(True, False)))) == "maximum of 190.0 and 195.0 /min"
    assert sentence(apart(on(70.0, 190.0), on(80.0, 190.0, needs=(False, True)))) == "rest of 70.0 and 80.0 /min"
    assert BasisSeen().zones_by == "reserve"
