"""Predicted maximum heart rates against the published equations, means and errors (tables, section 3)."""

import math

import pytest
from ownmark.errors import BasisError
from ownmark.metrics.maximum import EQUATIONS, predicted_maximum


def bpm(equation, age, **more):
    return predicted_maximum(equation, age, **more).bpm


@pytest.mark.parametrize(
    ("equation", "age", "maximum"),
    [
        ("fox", 10, 210),  # tables, row 3.1
        ("fox", 15, 205),
        ("fox", 20, 200),
        ("fox", 40, 180),
        ("tanaka", 8, 202.4),  # row 3.2
        ("tanaka", 10, 201.0),
        ("tanaka", 15, 197.5),
        ("tanaka", 18, 195.4),
        ("tanaka", 40, 180.0),
        ("gellish", 40, 179.0),  # row 3.3
        ("fernhall", 15, 195.40),  # row 3.8
        ("fernhall", 20, 192.20),
        ("fernhall-id", 15, 186.1),  # row 3.9, without Down syndrome
        ("fernhall-id", 20, 183.3),
        ("verschuren-cp", 6, 194),  # row 3.7: no effect of age
        ("verschuren-cp", 19, 194),
    ],
)
def test_equations_give_the_tabulated_maximum(equation, age, maximum):
    assert bpm(equation, age) == pytest.approx(maximum, abs=1e-9)


@pytest.mark.parametrize(("age", "maximum"), [(15, 170.6), (20, 167.8)])
def test_with_down_syndrome_the_maximum_is_15_5_beats_lower(age, maximum):
    # Fernhall 2001, tables row 3.9.
    assert bpm("fernhall-id", age, down_syndrome=True) == pytest.approx(maximum, abs=1e-9)
    assert bpm("fernhall-id", age) - bpm("fernhall-id", age, down_syndrome=True) == pytest.approx(15.5)


def test_down_syndrome_is_coded_1_without_and_2_with_because_only_that_goes_through_the_published_means():
    # Fernhall 2001, abstract: 276 people, 97 with Down syndrome; mean maximum 177; without the Down term the line
    # is 189 − 0.59 · age. A regression passes through its means, so the mean age is (189 − 177) / 0.59 = 20.34.
    mean_age = (189 - 177) / 0.59
    without, with_down = bpm("fernhall-id", mean_age), bpm("fernhall-id", mean_age, down_syndrome=True)
    mean = (179 * without + 97 * with_down) / 276
    assert mean == pytest.approx(177.66, abs=0.005)
    assert mean == pytest.approx(177, abs=1)  # the abstract's mean, rounded coefficients allowed for
    other_coding = mean + EQUATIONS["fernhall-id"].per_down  # 0 without, 1 with
    assert other_coding == pytest.approx(193.16, abs=0.005)
    assert other_coding - 177 > EQUATIONS["fernhall-id"].see_bpm


def test_at_20_years_the_coding_agrees_with_the_line_that_has_no_down_syndrome_term():
    # Fernhall 2001: 189 − 0.59 · 20 = 177.2; weighted by 179 and 97 people the two lines give 177.9.
    mean = (179 * bpm("fernhall-id", 20) + 97 * bpm("fernhall-id", 20, down_syndrome=True)) / 276
    assert mean == pytest.approx(177.9, abs=0.05)
    assert mean == pytest.approx(189 - 0.59 * 20, abs=1)


@pytest.mark.parametrize(
    ("equation", "see"),
    [
        ("fernhall", 9.9),  # abstract
        ("fernhall-id", 11.8),  # abstract
        ("verschuren-cp", 9.9),  # abstract; a standard deviation
        ("tanaka", 10),  # "about 10", from memory
        ("fox", 12),  # Gellish 2007 says 10–12; the wide end is carried
        ("gellish", None),
    ],
)
def test_every_prediction_carries_the_published_error(equation, see):
    prediction = predicted_maximum(equation, 20)
    assert prediction.see_bpm == see
    assert prediction.equation == equation
    assert "predicted" in prediction.note
    assert "not measured" in prediction.note


def test_an_equation_without_a_published_error_says_so():
    assert "not published" in predicted_maximum("gellish", 30).note
    assert "either direction" not in predicted_maximum("gellish", 30).note


def test_95_percent_of_youth_with_cerebral_palsy_lie_between_174_and_214():
    # Verschuren 2011: 194, SD 9.9, printed prediction interval 174–214; tables row 3.7 computes 174.6 to 213.4.
    found = predicted_maximum("verschuren-cp", 12)
    assert found.see_bpm is not None
    assert found.bpm - 1.96 * found.see_bpm == pytest.approx(174.6, abs=0.05)
    assert found.bpm + 1.96 * found.see_bpm == pytest.approx(213.4, abs=0.05)
    assert "20 /min" in found.note
    assert "not for arm work" in found.note


def test_in_boys_of_10_to_16_the_equations_miss_the_measured_mean_as_published():
    # Machado & Denadai 2011, 69 boys: measured 200.2; 220 − age 207.4 (so mean age 12.6), 208 − 0.7 · age 199.2.
    assert bpm("fox", 12.6) == pytest.approx(207.4, abs=0.05)
    assert bpm("tanaka", 12.6) == pytest.approx(199.2, abs=0.05)
    assert bpm("fox", 12.6) - 200.2 == pytest.approx(7.2, abs=0.05)
    assert bpm("tanaka", 12.6) - 200.2 == pytest.approx(-1.0, abs=0.05)


@pytest.mark.parametrize("age", [15, 18])
def test_in_obese_youth_every_adult_equation_reads_too_high_as_published(age):
    # Tables row 3.16: 59 people of 15–18 years, measured 190.0; the 220, 208 and 207 forms were all too high, and
    # 200 − 0.48 · age fits (192.8 and 191.4).
    assert min(bpm(equation, age) for equation in ("fox", "tanaka", "gellish")) > 200 - 0.48 * age > 190.0


def test_the_two_best_known_lines_cross_at_40_years():
    # Tables, row 3.2.
    assert bpm("fox", 40) == bpm("tanaka", 40)
    assert bpm("fox", 39) > bpm("tanaka", 39)


@pytest.mark.parametrize(
    ("equation", "inside", "outside"),
    [
        ("fernhall", 9, 8),
        ("fernhall", 46, 47),
        ("fernhall-id", 9, 8),
        ("fernhall-id", 46, 47),
        ("verschuren-cp", 6, 5),
        ("verschuren-cp", 19.9, 20),
        ("tanaka", 18, 17),
        ("fox", 18, 12),
    ],
)
def test_an_age_outside_the_published_range_is_said_and_not_silent(equation, inside, outside):
    assert "outside" not in predicted_maximum(equation, inside).note
    assert f"the age of {outside:.1f} lies outside" in predicted_maximum(equation, outside).note


def test_in_youth_the_published_bias_of_an_adult_equation_is_told():
    # Cicone 2019, meta-analysis: 220 − age over by 12.4, 208 − 0.7 · age under by 2.7.
    assert "12.4 /min high" in predicted_maximum("fox", 12).note
    assert "2.7 /min low" in predicted_maximum("tanaka", 12).note


def test_with_down_syndrome_the_published_bias_in_adults_is_told():
    # Boer 2017: measured minus predicted +4.7, limits +26.7 to −17.4.
    note = predicted_maximum("fernhall-id", 15, down_syndrome=True).note
    assert all(number in note for number in ("4.7", "17.4", "26.7"))
    assert "Down syndrome the measured" not in predicted_maximum("fernhall-id", 15).note


@pytest.mark.parametrize("equation", ["fox", "tanaka", "gellish", "fernhall", "verschuren-cp"])
def test_an_equation_without_a_term_for_down_syndrome_is_refused_for_it(equation):
    # Tables, 3B: 220 − age is refused; the others were made from people without Down syndrome, or do not tell.
    with pytest.raises(BasisError, match="fernhall-id"):
        predicted_maximum(equation, 15, down_syndrome=True)


@pytest.mark.parametrize("name", ["gulati", "brawner", "Tanaka", ""])
def test_an_unknown_equation_is_refused_with_the_list_of_names(name):
    # Gulati 2010 (middle-aged women) and Brawner 2004 (patients on beta-blockers) are left out on purpose.
    with pytest.raises(BasisError) as caught:
        predicted_maximum(name, 15)
    assert all(known in caught.value.mend for known in EQUATIONS)


@pytest.mark.parametrize("age", [0, -3, 121, math.nan, math.inf])
def test_an_age_that_is_none_is_refused(age):
    with pytest.raises(BasisError, match="not an age"):
        predicted_maximum("tanaka", age)


def test_every_equation_names_its_source_and_whom_it_was_made_for():
    for name, equation in EQUATIONS.items():
        assert equation.name == name
        assert equation.for_whom
        assert name.split("-")[0] in equation.source.lower()
        assert f"{equation.constant:g}" in equation.formula
        assert equation.per_year == 0 or f"{equation.per_year:g} · age" in equation.formula.replace("− age", "1 · age")
