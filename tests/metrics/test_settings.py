"""What a person may ask for, each limit at its value: beside it is refused, on it is taken."""

import math

import pytest
from ownmark.errors import BasisError
from ownmark.metrics.settings import Asked, Band
from ownmark.words.vocabulary import HIGHEST_BPM, LOWEST_BPM

UP, DOWN = math.inf, -math.inf


def refused(make, what, mend=None):
    with pytest.raises(BasisError) as refusal:
        make()
    assert refusal.value.what == what
    if mend is not None:
        assert refusal.value.mend == mend


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("40-60%", (40, 60, "%")),
        ("40 % - 60 %", (40, 60, "%")),
        ("40–60", (40, 60, "%")),
        ("40-100", (40, 100, "%")),
        ("40-101", (40, 101, "/min")),
        ("40-100bpm", (40, 100, "/min")),
        (" 110-130bpm ", (110, 130, "/min")),
        ("110 - 130 /min", (110, 130, "/min")),
        ("110-130", (110, 130, "/min")),
        ("40.5-60.25%", (40.5, 60.25, "%")),
    ],
)
def test_a_band_as_people_write_it(text, band):
    assert Band.of(text) == Band(*band)


@pytest.mark.parametrize("text", ["", "40", "40-60-80", "x40-60%", "40-60%x", "-40-60", "40,5-60", "40-60 beats"])
def test_what_is_no_band_is_refused(text):
    refused(lambda: Band.of(text), f"“{text}” is not a target band.", "Write --target 40-60% or --target 110-130bpm.")


def test_a_band_rises_and_lies_where_there_are_rates():
    refused(lambda: Band(60, 60, "%"), "the target band ends at 60, which is not above its start, 60.")
    refused(lambda: Band(60, 50, "/min"), "the target band ends at 50, which is not above its start, 60.")
    assert (Band(0, 100, "%").low, Band(0, 0.5, "%").high) == (0, 0.5)
    lies = f"It must be between {LOWEST_BPM:g} and {HIGHEST_BPM:g} /min."
    assert Band(LOWEST_BPM, HIGHEST_BPM, "/min").high == HIGHEST_BPM
    for low, high in ((math.nextafter(LOWEST_BPM, DOWN), 100), (100, math.nextafter(HIGHEST_BPM, UP))):
        refused(lambda: Band(low, high, "/min"), f"{low:g} to {high:g} /min is not a target band.", lies)  # noqa: B023
    for low, high in ((-1e-9, 50), (50, math.nextafter(100, UP))):
        with pytest.raises(BasisError, match=r"is not a target band\. It must be between 0 and 100 %\."):
            Band(low, high, "%")


@pytest.mark.parametrize(
    ("name", "least", "most", "told", "mend"),
    [
        ("distance_m", 1, 100_000, "{:g} m is not a distance that can be measured.", "Give it in meters."),
        ("dip_s", 0, 60, "a dip of {:g} s is not possible.", "Give 0 to 60 seconds."),
        ("hold_s", 1, 60, "a hold of {:g} s is not possible.", "Give 1 to 60 seconds."),
        ("pause_s", 0, 60, "a pause of {:g} s is not possible.", "Give 0 to 60 seconds."),
        (
            "ceiling_bpm",
            LOWEST_BPM,
            HIGHEST_BPM,
            "a ceiling of {:g} /min is not possible.",
            "Give it in beats per minute.",
        ),
    ],
)
def test_every_number_has_its_limits(name, least, most, told, mend):
    for on in (least, most):
        assert getattr(Asked(**{name: on}), name) == on
    for beside in (math.nextafter(least, DOWN), math.nextafter(most, UP), math.nan):
        refused(lambda: Asked(**{name: beside}), told.format(beside), mend)  # noqa: B023


def test_what_is_not_asked_for_has_its_usual_value():
    assert Asked() == Asked(
        distance_m=None,
        target=None,
        dip_s=5.0,
        ceiling_bpm=None,
        hold_s=None,
        placement=None,
        floor_mg=None,
        floor_span=None,
        assisted=(),
        pause_s=1.0,
        stop_s=3.0,
        pulse_sensor=None,
        zones_by="reserve",
        pulse_from="heart_rate",
    )
