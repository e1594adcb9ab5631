"""A column that a person names is looked for in the file that is named, or in those that have it."""

import io
import zipfile
from dataclasses import replace

import pytest
from ownmark.errors import UnclearColumns, UsageError
from ownmark.ingest.column_choices import choices, for_files
from ownmark.ingest.excerpt.cut import cut
from ownmark.ingest.excerpt.form import excerpt
from ownmark.ingest.files import Refused, parse_each
from ownmark.ingest.recording import Hints, Recording

STRAP = b"t,HR,HR2\n" + b"".join(b"%d,%d,%d\n" % (n, 90 + n % 5, 120 + n % 5) for n in range(60))
SENSOR = b"time_s,AX,AY,AZ\n" + b"".join(b"%.2f,0.1,0.2,0.98\n" % (n / 50) for n in range(600))
HINTS = {"time": "t", "heart_rate": "HR"}
AXES = {"acceleration_x": "AX", "acceleration_y": "AY", "acceleration_z": "AZ"}


def test_written_with_or_without_the_file():
    found = choices(
        ["heart_rate=HR (bpm)", "strap.csv = time = t=0", "a b=1.csv=heart_rate=2"], ["x/strap.csv", "a b=1.csv"]
    )
    assert found.columns == {"heart_rate": "HR (bpm)"}
    assert found.by_file == {"x/strap.csv": {"time": "t=0"}, "a b=1.csv": {"heart_rate": "2"}}
    assert choices(["heart_rate=time=1"], []).columns == {"heart_rate": "time=1"}


@pytest.mark.parametrize("text", ["HR", "pulse=HR", "heart_rate=", "=heart_rate=HR", "strap.csv=pulse=HR"])
def test_what_names_nothing_is_refused_with_what_there_is(text):
    with pytest.raises(UsageError, match=r"does not name a column.*heart_rate, rr_interval"):
        choices([text], ["strap.csv"])


def test_another_file_is_refused():
    with pytest.raises(UsageError, match=r"names none of the files.*strap\.csv"):
        choices(["other.csv=heart_rate=HR"], ["strap.csv"])


def read(originals, hints):
    """By name, what is read of each file or refused."""
    hints = for_files(originals, hints)
    return {name: list(parse_each([(name, data)], hints.of(name))) for name, data in originals}


def test_each_file_takes_the_columns_that_it_has():
    found = read([("strap.csv", STRAP), ("sensor.csv", SENSOR)], Hints({**HINTS, **AXES}))
    (strap,), (sensor,) = found["strap.csv"], found["sensor.csv"]
    assert (strap.names, sensor.names) == (("heart_rate",), ("acceleration",))


def test_a_column_that_no_file_has_is_refused_in_each():
    found = read([("strap.csv", STRAP), ("sensor.csv", SENSOR)], Hints({**HINTS, **AXES, "rr_interval": "RR"}))
    for (each,) in found.values():
        assert isinstance(each, Refused)
        assert isinstance(each.reason, UnclearColumns)
        assert "no column is called" in str(each.reason)


def test_a_named_file_alone_takes_the_column_and_must_have_it():
    twin = STRAP.replace(b"HR2", b"HRX")
    hints = Hints({**HINTS}, by_file={"b.csv": {"heart_rate": "HRX"}})
    found = read([("a.csv", STRAP), ("b.csv", twin)], hints)
    assert [each["heart_rate"].values[0] for (each,) in found.values()] == [90.0, 120.0]
    (refused,) = read([("a.csv", STRAP), ("b.csv", STRAP)], hints)["b.csv"]
    assert isinstance(refused, Refused)
    assert "HRX" in str(refused.reason)


def test_files_of_an_archive_count_each():
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("strap.csv", STRAP)
        archive.writestr("sensor.csv", SENSOR)
    found = read([("bag.zip", packed.getvalue())], Hints({**HINTS, **AXES}))
    assert [each.names for each in found["bag.zip"]] == [("heart_rate",), ("acceleration",)]


def test_beside_an_excerpt_its_columns_are_not_missed():
    (strap,) = parse_each([("strap.csv", STRAP)], Hints(HINTS))
    assert isinstance(strap, Recording)
    part = excerpt(cut(replace(strap), (0.0, 30.0)))
    found = read([("strap.csv", part), ("sensor.csv", SENSOR)], Hints({**HINTS, **AXES}))
    assert [each.names for (each,) in found.values()] == [("heart_rate",), ("acceleration",)]
