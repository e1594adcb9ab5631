"""Fields of a trial, and the edit out of what was changed."""

import pytest
from ownmark.records.mending import Edit
from ownmark.records.protocol import HandMeasure
from ownmark.records.trial import HandResult
from ownmark.web.forms import Form
from ownmark.web.trial_fields import edit_of, groups_of

from tests.records.store import made
from tests.reports.pictures.pictures_made import EN

MEASURES = (
    HandMeasure(name="reach", unit="cm", kind="range by tape", sides=True, attempts=2, how="by tape"),
    HandMeasure(name="laps", unit="laps", kind="count", sides=False, attempts=1, how="counted"),
)
FILE = made.kept("strap.csv", b"1")
TRIAL = made.trial(
    files=(FILE,),
    clock_shifts={"strap.csv": 3600.0},
    hand_results=(HandResult(name="reach", value=31.5, side="left", attempt=3),),
    temperature_c=21,
)


def form(**fields):
    return Form({name: [text] if isinstance(text, str) else text for name, text in fields.items()})


def changed(**fields):
    """Each field with what it was and what it is."""
    found = {}
    for name, (was, now) in fields.items():
        found |= {f"was:{name}": was, name: now}
    return edit_of(TRIAL, form(**found))


def test_what_is_as_it_was_is_no_change():
    assert changed(notes=("windy", " windy ")) == Edit()
    assert changed(notes=("one\ntwo", "one\r\ntwo")) == Edit()
    assert edit_of(TRIAL, form(notes="windy")) == Edit()


def test_texts_results_shifts_and_files():
    assert changed(notes=("windy", "")) == Edit(texts={"notes": ""})
    assert changed(**{"result:reach left 1": ("", "30")}) == Edit(results=("reach left 1=30",))
    assert changed(**{"result:reach left 1": ("30", "")}) == Edit(results=("reach left 1=none",))
    assert changed(**{"shift:strap.csv": ("", "+0:00:05")}) == Edit(clock_shifts=("strap.csv=+0:00:05",))
    assert changed(**{"shift:strap.csv": ("+1:00:00", "")}) == Edit(clock_shifts=("strap.csv=none",))
    assert edit_of(TRIAL, form(take_out=["strap.csv", "other.csv"])) == Edit(take_out=("strap.csv",))
    assert edit_of(TRIAL, form(answer=["yes", "utc"])) == Edit(answers=("yes", "utc"))


def test_a_file_that_the_trial_has_not_is_not_named():
    assert changed(**{"shift:../strap.csv": ("", "+0:00:05")}) == Edit()


def test_phases_are_texts_of_the_edit():
    sent = form(times="clock", work_from="9:35", work_until="9:47", work_was="-")
    assert edit_of(TRIAL, sent) == Edit(texts={"work": "@9:35-@9:47"})


def by_name(*, sent=None, protocol=None):
    found = groups_of(TRIAL, protocol or made.protocol(hand_measures=MEASURES), EN, sent or form())
    return {each.name: each for _, fields in found for each in fields}, [group for group, _ in found]


def test_every_attempt_of_every_side_has_its_field_and_one_beyond_too():
    found, groups = by_name()
    assert groups == ["results", "happened", "conditions", "when", "files"]
    results = [name for name in found if name.startswith("result:")]
    assert results == [
        *("result:reach left 1", "result:reach left 2", "result:reach right 1", "result:reach right 2"),
        *("result:laps 1", "result:reach left 3"),
    ]
    assert found["result:reach left 3"].text == "31.5"
    assert by_name(protocol=made.protocol())[1][0] == "results"


def test_a_field_shows_what_is_kept_or_what_was_sent():
    found, _ = by_name()
    assert (found["temperature_c"].text, found["shift:strap.csv"].text) == ("21", "+1:00:00")
    assert found["temperature_c"].label == "room temperature, °C"
    assert found["time_of_day"].label == "time of day"
    assert found["result:reach left 2"].label == "Reach, left, attempt 2, cm"
    found, _ = by_name(sent=form(temperature_c="hot"))
    assert (found["temperature_c"].text, found["temperature_c"].was) == ("hot", "21")


@pytest.mark.parametrize(
    ("name", "kind"),
    [("notes", "long"), ("on", "date"), ("exertion_scale", "choice"), ("practice", "choice"), ("exertion", "text")],
)
def test_kinds_of_fields(name, kind):
    assert by_name()[0][name].kind == kind


def test_choices_have_the_values_that_are_kept():
    found, _ = by_name()
    assert [value for value, _ in found["exertion_scale"].choices] == ["6-20", "0-10", "pictures 0-10"]
    assert found["practice"].choices == (("yes", "yes"), ("no", "no"))
    assert found["practice"].text == "no"
