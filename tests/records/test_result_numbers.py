"""Numbers typed for a trial: a decimal comma is one, thousands are not, and no count lies below zero."""

import pytest
from ownmark.errors import NotAProtocol, NotATrial
from ownmark.records.catalogue import edited, entry
from ownmark.records.protocol import HandMeasure
from ownmark.records.result_numbers import measured, number_of


def measure(kind="range by tape", unit="cm", limit=None):
    return HandMeasure(name="side_reach", unit=unit, kind=kind, sides=True, attempts=3, how="x", limit=limit)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12,5", 12.5),
        (" 12.5 cm", 12.5),
        ("12cm", 12),
        ("−5", -5),
        ("-5", -5),
        ("+5", 5),
        ("１２", 12),
        ("0,125", 0.125),  # no thousands begin with a zero
        ("12,34", 12.34),
        ("1,2345", 1.2345),
        (",5", 0.5),
        ("5.", 5),
        ("1e3", 1000),
        ("1000000", 1e6),
        ("-1000000", -1e6),
    ],
)
def test_a_number_as_it_is_typed(text, value):
    assert measured(measure(), text) == value


def test_minus_zero_is_zero():
    assert str(measured(measure(), "-0")) == "0.0"


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "-inf", "1e400", "1_000", "0x10", "½", "ditto", "″", '"', "dto.", "12 in", "12 m", "12%", "12 left",
     "١٢", "5/6", "5;6", "1,234.5", "1.234,5", "- 5", "--5", "", "cm", "1e9999"],
)  # fmt: skip
def test_anything_else_is_no_number_and_the_unit_is_said(text):
    with pytest.raises(NotATrial, match=r"is not a number for side reach\. Write it alone in cm"):
        measured(measure(), text)


def test_a_comma_before_three_digits_is_never_guessed_at():
    with pytest.raises(NotATrial, match=r"two ways for distance m\. Write 1234, or 1\.234 with a point"):
        number_of("distance_m", "1,234")
    with pytest.raises(NotATrial, match="Write 1234567, or"):
        number_of("distance_m", "1,234,567")


@pytest.mark.parametrize("text", ["1000001", "-1000001", "1e308"])
def test_what_nobody_measures_is_refused(text):
    with pytest.raises(NotATrial, match="too large for side reach"):
        measured(measure(), text)


@pytest.mark.parametrize("kind", ["count", "hold time", "distance", "time"])
def test_nothing_is_counted_or_timed_below_zero(kind):
    assert measured(measure(kind), "0") == 0
    with pytest.raises(NotATrial, match="below zero for side reach"):
        measured(measure(kind), "-0.1")


@pytest.mark.parametrize("kind", ["range by tape", "range by ruler", "other"])
def test_a_reach_may_end_before_the_zero(kind):
    assert measured(measure(kind), "-3") == -3


def test_nothing_is_more_than_where_the_test_ends():
    assert measured(measure("count", "lengths", 30), "30 lengths") == 30
    with pytest.raises(NotATrial, match=r"“31” is more than the 30 lengths at which side reach ends"):
        measured(measure("count", "lengths", 30), "31")


def test_a_percent_sign_stands_behind_percents_alone():
    assert number_of("battery_start_percent", "80 %") == 80
    with pytest.raises(NotATrial, match=r"“80 %” is not a number for distance m\. Write it alone\."):
        number_of("distance_m", "80 %")


def test_a_protocol_takes_numbers_alike():
    slalom = entry("power-chair-slalom")
    assert edited(slalom, {"gate_spacing_m": "2,5"}).gate_spacing_m == 2.5
    assert edited(slalom, {"gates": "8"}).gates == 8
    for field, text in (("gates", "8.5"), ("gate_spacing_m", "1,234"), ("gate_spacing_m", "nan"), ("gates", "1_0")):
        with pytest.raises(NotAProtocol, match="is not a"):
            edited(slalom, {field: text})
