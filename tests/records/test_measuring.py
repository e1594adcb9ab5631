"""Rest and maximum of a kept trial: what protocol and student say of the work, and what a re-test borrows."""

from dataclasses import replace
from datetime import date

import pytest
from ownmark.metrics.messages import heart_rate as messages
from ownmark.records.catalogue import copy
from ownmark.records.change.observation import BasisSeen
from ownmark.records.measuring import measure
from ownmark.records.student import MeasuredRate

from tests.records.store.made import kept, protocol, recording, student, trial

DATA = recording()
FILE = kept("strap.csv", DATA)
VALUE_FOR_PALSY = 194.0
BORROWED = BasisSeen(
    rest_bpm=72.0,
    maximum_bpm=VALUE_FOR_PALSY,
    maximum_from=messages.basis_maximum_taken("verschuren-cp"),
    maximum_see_bpm=9.9,
)


def basis(who, how, on=date(2026, 10, 6), borrowed=None):
    """The basis behind a trial's sheet, and why its mean share of the reserve is not given."""
    sheet = measure(trial(on=on, files=(FILE,)), who, how, {FILE.sha256: DATA}, basis=borrowed)
    return sheet.provenance.basis, sheet.figures["reserve_mean"].note or ""


def with_palsy(born="2012-04", **more):
    return student(born=born, maxima=(), conditions=("cerebral-palsy",), **more)


@pytest.mark.parametrize(
    ("how", "maximum"),
    [
        (protocol(work_mode="legs"), VALUE_FOR_PALSY),
        (protocol(work_mode="legs", body_weight_support_percent=0), VALUE_FOR_PALSY),
        (protocol(work_mode="legs", body_weight_support_percent=20), None),
        (copy("peer-paced-run", "run"), VALUE_FOR_PALSY),
        (copy("gait-trainer-walk", "corridor"), None),
        (protocol(work_mode="arms"), None),
        (protocol(work_mode="arms and legs"), None),
        (protocol(work_mode="power chair"), None),
        (protocol(work_mode="breath"), None),
        (protocol(), None),  # nobody wrote down what does the work
    ],
)
def test_the_value_for_cerebral_palsy_needs_walking_or_running_on_ones_own_feet(how, maximum):
    found, why = basis(with_palsy(), how)
    assert found.maximum_bpm == maximum
    assert ("walking and running, not for other work" in why) is (maximum is None)


def test_a_birthday_behind_which_no_equation_holds_does_not_take_the_baselines_maximum_away():
    # 19 years and 11 months at the baseline, 20 years and a month at the re-test.
    who, how, day = with_palsy(born="2006-10"), protocol(work_mode="legs"), date(2026, 11, 2)
    assert basis(who, how, date(2026, 9, 1))[0].maximum_bpm == VALUE_FOR_PALSY
    assert basis(who, how, day)[0].maximum_bpm is None
    assert basis(who, how, day, BORROWED)[0].maximum_bpm == VALUE_FOR_PALSY


@pytest.mark.parametrize(
    ("condition", "predicted", "measured"),
    [("muscular-dystrophy", None, 180.0), ("pacemaker", None, None), ("epilepsy", VALUE_FOR_PALSY, 180.0)],
)
def test_a_condition_decides_about_a_borrowed_maximum_too(condition, predicted, measured):
    who = student(maxima=(), conditions=(condition,))
    by_test = replace(BORROWED, maximum_bpm=180.0, maximum_from=messages.BASIS_MAXIMUM_MEASURED, maximum_see_bpm=None)
    assert basis(who, protocol(work_mode="legs"), borrowed=BORROWED)[0].maximum_bpm == predicted
    assert basis(who, protocol(work_mode="legs"), borrowed=by_test)[0].maximum_bpm == measured


def test_spina_bifida_keeps_a_predicted_maximum_from_arm_work_when_it_is_borrowed():
    who = student(maxima=(), conditions=("spina-bifida",))
    for mode, given in (("legs", True), ("arms", False), ("power chair", False)):
        found, why = basis(who, protocol(work_mode=mode), borrowed=BORROWED)
        assert (found.maximum_bpm is not None) is given
        assert ("150 to 165 beats" in why) is not given


def test_a_baseline_without_a_maximum_lends_none():
    own = student(maxima=(MeasuredRate(bpm=188),))
    found, why = basis(own, protocol(work_mode="legs"), borrowed=BasisSeen(rest_bpm=72.0))
    assert (found.rest_bpm, found.maximum_bpm) == (72.0, None)
    assert why == "Not given: the baseline has no maximum."
    forbidden = student(maxima=(), conditions=("pacemaker",))
    assert "pacemaker" in basis(forbidden, protocol(work_mode="legs"), borrowed=BasisSeen(rest_bpm=72.0))[1]
