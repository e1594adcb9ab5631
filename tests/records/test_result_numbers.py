"""Numbers typed for a trial: a decimal comma is one, thousands are not, and no count lies below zero."""

from datetime import date

import pytest
from ownmark.errors import NotAProtocol, NotATrial, UsageError
from ownmark.ingest.clock_times import zone_from
from ownmark.records.catalogue import copy, edited, entry
from ownmark.records.entry import trial_of
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
    assert edited(slalom, {"work_s": "1000000"}).work_s == 1e6
    for field, text in (
        ("work_s", "1000001"),
        ("gates", "8.5"),
        ("gate_spacing_m", "1,234"),
        ("gate_spacing_m", "nan"),
        ("gates", "1_0"),
    ):
        with pytest.raises(NotAProtocol, match="is not a"):
            edited(slalom, {field: text})


@pytest.mark.parametrize("attempts", ["²", "0", "1e1", "9999", "9" * 5000, "-1", ""])
def test_attempts_of_a_hand_measure_are_a_number_of_times(attempts):
    with pytest.raises(NotAProtocol):
        edited(entry("side-reach-down"), {"hand_measures": f"side_reach|cm|range by tape|sides|{attempts}|x"})


@pytest.mark.parametrize("name", ["notes", "date", "work", "time", "hand_results"])
def test_a_hand_measure_is_not_called_like_what_every_trial_writes_down(name):
    changes = {"hand_measures": f"side_reach|cm|count|one|2|x; {name}|cm|count|one|2|x"}
    if name == "hand_results":  # nobody types that one
        assert [each.name for each in edited(entry("side-reach-down"), changes).hand_measures][1] == name
        return
    with pytest.raises(NotAProtocol, match=f"“{name}” is what a trial writes down already"):
        edited(entry("side-reach-down"), changes)


@pytest.mark.parametrize("header", ["side reach left ²", "side reach left " + "9" * 5000, "side reach left 1000"])
def test_an_attempt_that_is_no_number_is_a_sentence(header):
    with pytest.raises(NotATrial):
        trial_of({"code": "TH-11", header: "5"}, entry("side-reach-down"), today=date(2026, 11, 28))


@pytest.mark.parametrize("zone", ["+²:00", "+0²", "+01:²0", "+" + "9" * 5000, "+01:" + "9" * 5000, "+15", "+1:60", "+"])
def test_a_zone_that_is_no_offset_is_a_sentence(zone):
    with pytest.raises(UsageError):
        zone_from(zone)


@pytest.mark.parametrize(
    ("text", "seconds"), [("+2", 7200), ("+02:00", 7200), ("+2:", 7200), ("-03:30", -12600), ("+14:59", 53940)]
)
def test_an_offset_is_read_as_it_is_typed(text, seconds):
    assert zone_from(text).utcoffset(None).total_seconds() == seconds


def test_a_name_that_is_too_long_is_told_plainly():
    with pytest.raises(NotAProtocol, match=r"of a protocol: it should be a text of at most 60 characters\."):
        copy("power-chair-slalom", "a" * 61)
