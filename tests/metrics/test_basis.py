"""Rest, maximum, and whether figures of the reserve may be given at all: which rule decides, and what is said."""

import pytest
from ownmark.errors import BasisError
from ownmark.metrics import choose_basis
from ownmark.metrics.basis import Basis, Maximum, why_forbidden
from ownmark.metrics.conditions import (
    ARMS_ONLY_CAUTION,
    CONDITIONS,
    GENERAL_CAUTIONS,
    POWER_CHAIR_CAUTION,
    find_condition,
)
from ownmark.metrics.maximum import EQUATIONS
from ownmark.metrics.messages import heart_rate as messages

from tests.makers.sheets import in_english

ALLOW = "A maximum measured in the same kind of exercise (--max) would make it possible."
GIVE = "Enter a maximum measured in the same kind of exercise (--max)."


def chosen(**facts):
    return choose_basis(**facts).maximum


def why(**facts):
    found = choose_basis(**facts)
    assert found.maximum is None
    return in_english(found.no_reserve)


def test_a_measured_maximum_wins_and_carries_no_error():
    found = choose_basis(rest_bpm=70, measured_max_bpm=181, age_years=14)
    assert found.maximum == Maximum(181, messages.BASIS_MAXIMUM_MEASURED, None, predicted=False, notes=())
    assert found.no_reserve is None
    assert found.asked


def test_without_anything_nobody_asked_and_the_reason_is_said():
    assert choose_basis() == Basis(no_reserve=messages.WHY_NO_MAXIMUM)


@pytest.mark.parametrize("facts", [{"measured_max_bpm": 180}, {"age_years": 2.3}, {"equation": "tanaka"}])
def test_a_maximum_an_age_or_an_equation_asks_for_figures_of_the_reserve(facts):
    assert choose_basis(**facts).asked


def test_a_prediction_carries_how_and_how_good_it_is():
    found = chosen(age_years=15.04)
    assert (found.bpm, found.see_bpm, found.predicted) == (pytest.approx(208 - 0.7 * 15.04), 10, True)
    assert in_english(found.how) == "predicted from age 15.0 by Tanaka 2001"
    assert "leg work" not in in_english(found.notes)
    taken = chosen(age_years=15, conditions=["cp"])
    assert (taken.bpm, taken.see_bpm) == (194, 9.9)
    assert in_english(taken.how) == "predicted by Verschuren 2011 for cerebral palsy, the same at every age"
    down = chosen(age_years=15, conditions=["ds"])
    assert down.bpm == pytest.approx(170.6)
    assert in_english(down.how) == "predicted from age 15.0 by Fernhall 2001 for intellectual disability"


@pytest.mark.parametrize("work", [{"arms_only": True}, {"power_chair": True}])
def test_in_other_work_than_the_legs_a_prediction_says_that_zones_read_too_low(work):
    found = chosen(age_years=15, **work)
    assert found.bpm == pytest.approx(197.5)
    assert in_english(found.notes).endswith("other work peaks lower by an unknown amount, so these zones read too low.")


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_what_each_condition_forbids_it_forbids_with_its_reason(name):
    condition = CONDITIONS[name]
    by_age = choose_basis(age_years=15, conditions=[name])
    by_test = choose_basis(measured_max_bpm=170, conditions=[name])
    if condition.blocks_reserve:
        expected = f"Not given: {condition.title}. {in_english(condition.reason)} The cardiology plan decides."
        assert (by_age.maximum, in_english(by_age.no_reserve)) == (None, expected)
        assert (by_test.maximum, in_english(by_test.no_reserve)) == (None, expected)
    elif condition.blocks_prediction:
        assert (by_age.maximum, in_english(by_age.no_reserve)) == (
            None,
            f"Not given: {condition.title}. {in_english(condition.reason)} {ALLOW}",
        )
        assert (by_test.maximum.bpm, by_test.no_reserve) == (170, None)
    else:
        assert by_age.maximum is not None
        assert by_test.maximum.bpm == 170


def test_muscular_dystrophy_gets_a_measured_maximum_or_none():
    assert why(age_years=15, conditions=["muscular-dystrophy"]).startswith("Not given: muscular dystrophy.")
    assert chosen(age_years=15, measured_max_bpm=150, conditions=["muscular-dystrophy"]).bpm == 150


def test_a_medicine_that_raises_the_rate_forbids_a_prediction_as_one_that_limits_it_does():
    for name in ("stimulant", "beta-blocker"):
        assert why(age_years=15, conditions=[name]).endswith(ALLOW)
        assert chosen(measured_max_bpm=190, conditions=[name]).bpm == 190


@pytest.mark.parametrize("work", [{"arms_only": True}, {"power_chair": True}, {"walking": False}])
def test_the_value_of_youth_who_walk_and_run_is_for_no_other_work_and_no_other_equation_stands_in(work):
    # At 16.5 years Tanaka's equation would say 196.4 /min: more than those who walk reach, in whom age told nothing.
    assert why(age_years=16.5, conditions=["cerebral-palsy"], **work) == (
        "Not given: Verschuren 2011 for cerebral palsy is for walking and running, not for other work or where a "
        f"device carries the body. {GIVE}"
    )


@pytest.mark.parametrize(("age", "given"), [(5.99, False), (6.0, True), (19.99, True), (20.0, False)])
def test_the_value_for_cerebral_palsy_is_given_at_the_ages_of_its_sample(age, given):
    # Verschuren 2011: 6 to 19 years.
    found = choose_basis(age_years=age, conditions=["cerebral-palsy"])
    assert (found.maximum is not None) is given
    assert ("from 6 to 19 years" in in_english(found.no_reserve)) is not given


@pytest.mark.parametrize(
    ("facts", "outside"),
    [
        ({"age_years": 2.3}, "from 7 to 81 years old, not for 2.3 years."),
        ({"age_years": 12, "equation": "fox"}, "adults from 18 to 55 years old, not for 12.0 years."),
        ({"age_years": 12, "equation": "gellish"}, "from 27 to 78 years old, not for 12.0 years."),
        ({"age_years": 8.5, "conditions": ["ds"]}, "from 9 to 46 years old, not for 8.5 years."),
        ({"age_years": 12, "conditions": ["cp"], "equation": "tanaka"}, "; it does not cover cerebral palsy."),
        ({"age_years": 12, "conditions": ["id"], "equation": "fernhall"}, "not cover intellectual disability."),
        (
            {"age_years": 12, "conditions": ["cp", "id"]},
            "people with an intellectual disability; it does not cover cerebral palsy.",
        ),
    ],
)
def test_an_equation_is_given_inside_its_ages_and_people_or_refused_with_that_reason(facts, outside):
    reason = why(**facts)
    assert reason.startswith("Not given: ")
    assert reason.endswith(f"{outside} {GIVE}")


def test_an_equation_that_is_asked_for_is_used_where_it_holds():
    assert chosen(age_years=15, equation="fernhall").bpm == pytest.approx(195.4)
    assert chosen(age_years=20, equation="fox").bpm == 200


def test_spina_bifida_forbids_a_prediction_in_arm_work_and_in_a_power_chair_alone():
    for work in ({"arms_only": True}, {"power_chair": True}):
        assert "150 to 165 beats" in why(age_years=12, conditions=["spina-bifida"], **work)
        assert chosen(measured_max_bpm=160, conditions=["spina-bifida"], **work).bpm == 160
    assert chosen(age_years=12, conditions=["spina-bifida"]).bpm == pytest.approx(199.6)


def test_what_blocks_the_reserve_is_said_before_what_blocks_a_prediction():
    known = tuple(find_condition(name) for name in ("stimulant", "pacemaker"))
    assert in_english(why_forbidden(known, predicted=True, legs=True)).startswith("Not given: pacemaker.")
    assert in_english(why_forbidden(known[:1], predicted=True, legs=True)).startswith("Not given: stimulant")
    assert why_forbidden(known[:1], predicted=False, legs=True) is None
    assert why_forbidden((), predicted=True, legs=False) is None


def test_rest_lies_below_the_maximum():
    with pytest.raises(BasisError, match=r"rest \(180 /min\) is not below the maximum \(180 /min\)"):
        choose_basis(rest_bpm=180, measured_max_bpm=180)
    assert chosen(rest_bpm=179, measured_max_bpm=180).bpm == 180
    with pytest.raises(BasisError, match="not below"):
        choose_basis(rest_bpm=200, age_years=15)
    assert choose_basis(rest_bpm=200, age_years=15, conditions=["pacemaker"]).rest_bpm == 200  # no maximum to lie below


@pytest.mark.parametrize(
    ("facts", "which"),
    [({"rest_bpm": 29.9}, "rest"), ({"rest_bpm": 230.1}, "rest"), ({"measured_max_bpm": 230.1}, "the maximum")],
)
def test_rates_of_no_student_are_refused(facts, which):
    with pytest.raises(BasisError, match=rf"^{which} of [0-9.]+ /min is not a heart rate"):
        choose_basis(**facts)


@pytest.mark.parametrize("age", [0, -1, 121, float("nan")])
def test_an_age_of_nobody_is_refused(age):
    with pytest.raises(BasisError, match="is not an age"):
        choose_basis(age_years=age)


def test_unknown_names_are_refused_with_the_known_ones():
    with pytest.raises(BasisError, match="no equation “gulati”") as caught:
        choose_basis(equation="gulati")
    assert all(name in caught.value.mend for name in EQUATIONS)
    with pytest.raises(BasisError, match="not a value for sex"):
        choose_basis(sex="x")
    assert [choose_basis(sex=sex).sex for sex in ("female", "male", None)] == ["female", "male", None]


def test_a_condition_named_twice_or_by_two_words_counts_once():
    found = choose_basis(conditions=["cp", "cerebral-palsy", "epilepsy"]).conditions
    assert [each.name for each in found] == ["cerebral-palsy", "epilepsy"]


def test_cautions_are_the_general_ones_then_those_of_the_work_then_of_each_condition_each_once():
    found = choose_basis(age_years=15, power_chair=True, conditions=["ds", "neck-instability", "epilepsy"]).cautions()
    assert found == (
        *GENERAL_CAUTIONS,
        POWER_CHAIR_CAUTION,
        CONDITIONS["down-syndrome"].reason,
        *CONDITIONS["down-syndrome"].cautions,
        *CONDITIONS["epilepsy"].cautions,
    )
    assert choose_basis().cautions() == GENERAL_CAUTIONS


def test_the_caution_of_arm_work_is_said_unless_a_maximum_was_measured_in_it():
    assert ARMS_ONLY_CAUTION in choose_basis(arms_only=True).cautions()
    assert ARMS_ONLY_CAUTION in choose_basis(arms_only=True, age_years=15).cautions()
    assert ARMS_ONLY_CAUTION not in choose_basis(arms_only=True, measured_max_bpm=170).cautions()
    assert ARMS_ONLY_CAUTION not in choose_basis(age_years=15).cautions()
