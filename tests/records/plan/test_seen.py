"""A file as it was read: its day, its clock, and what is odd about it alone."""

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from ownmark.errors import IngestError
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import Provenance, Recording
from ownmark.records.plan.seen import CUT, Seen, clock_at_start, needs_zone, see
from ownmark.records.plan.seen import _judged as judged
from ownmark.sample_streams.writers import fit
from ownmark.words.message import Message
from ownmark.words.render import Words, english, texts

from tests.makers.class_days import NINE, table
from tests.makers.recordings import pulse
from tests.records.plan.bag import trial_bpm

SOURCES = (Provenance("a", "0" * 64, "table", "test"),)
UTC_15 = datetime(2026, 5, 12, 15, 0, 30, 500_000, tzinfo=UTC)


def recorded(start=None, clock_s=None):
    return Recording(streams=(), start=start, clock_s=clock_s, whole_s=(5.0, 65.0))


def file(start=None, clock_s=None):
    return Seen(Path("a.csv"), recorded(start, clock_s))


def test_only_utc_needs_a_zone():
    assert needs_zone(recorded(UTC_15), None)
    assert not needs_zone(recorded(UTC_15), "America/Denver")
    assert not needs_zone(recorded(NINE), None)
    assert not needs_zone(recorded(NINE.replace(tzinfo=timezone(timedelta(hours=-6)))), None)
    assert not needs_zone(recorded(clock_s=1.0), None)


def test_the_clock_on_the_wall_at_time_0():
    assert clock_at_start(recorded(), None) is None
    assert clock_at_start(recorded(clock_s=100.0), None) == 100.0
    assert clock_at_start(recorded(NINE), None) == 9 * 3600
    assert clock_at_start(recorded(UTC_15), "America/Denver") == 9 * 3600 + 30.5
    assert clock_at_start(recorded(UTC_15), None) is None
    at_home = UTC_15.astimezone(timezone(timedelta(hours=-6)))
    assert clock_at_start(recorded(at_home), "Europe/Paris") == 9 * 3600 + 30.5


def test_the_span_on_the_clock_and_the_day():
    assert file(NINE).clock_span(None) == (9 * 3600 + 5, 9 * 3600 + 65)
    assert file().clock_span(None) is None
    assert Seen(Path("a.csv")).clock_span(None) is None
    assert file(NINE).on(None) == date(2026, 5, 12)
    assert file(clock_s=5.0).on(None) is None
    assert Seen(Path("a.csv")).on(None) is None


def test_the_day_of_utc_is_that_of_the_school():
    sydney = datetime(2026, 5, 11, 23, 0, 0, tzinfo=UTC)
    assert file(sydney).on("Australia/Sydney") == date(2026, 5, 12)
    assert file(sydney).on("UTC") == date(2026, 5, 11)
    assert file(sydney).on(None) is None


def seen(folder, zone=None, holders=lambda _: ()):
    return list(see(sorted(folder.iterdir()), zone, holders))


def codes(found):
    return [each.code for each in found.checks]


@pytest.fixture
def bag(tmp_path):
    (tmp_path / "bag").mkdir()
    return tmp_path / "bag"


def test_a_plain_file_has_nothing_odd(bag):
    (bag / "a.csv").write_bytes(table(trial_bpm(), NINE))
    (found,) = seen(bag)
    assert found.checks == ()
    assert found.handed == ()
    assert found.has_heart_rate
    assert len(found.sha256) == 64
    assert found.shown.text == "a.csv"


def test_bad_files_stop_no_other_and_stand_in_their_order(bag):
    (bag / "a.csv").write_bytes(b"")
    (bag / "b.csv").write_bytes(bytes(range(256)) * 20)
    (bag / "c.csv").write_bytes(table(trial_bpm(), NINE))
    found = seen(bag)
    assert [codes(each) for each in found] == [["day_plan.empty"], ["day_plan.unread"], []]
    assert [each.recording is None for each in found] == [True, True, False]
    assert not found[0].has_heart_rate
    assert english(found[0].checks[0]["why"])


def test_a_file_that_cannot_be_used_is_called_by_its_name_without_its_folder(bag):
    (bag / "b.csv").write_bytes(bytes(range(256)) * 20)
    (bag / "c.csv").write_bytes(b"not,a\nrecording,x\n")
    for found in seen(bag):
        told = english(found.checks[0]["why"])
        assert told.startswith(f"{found.path.name}: ")
        assert str(bag) not in told


def test_a_refusal_is_said_in_the_language_once_and_with_commands_on_the_terminal_alone(bag):
    (bag / "b.csv").write_bytes(bytes(range(256)) * 20)
    (found,) = seen(bag)
    what = "this is not a recording that ownmark can read: bytes of a kind that is not known here."
    assert english(found.checks[0]) == (
        f"This file cannot be read: its format is not known. b.csv: {what} `ownmark formats` lists what can be read."
    )
    page = Words("en").message(found.checks[0])
    assert page.startswith(f"This file cannot be read. b.csv: {what} Recordings are files in FIT")
    assert "`" not in page
    spanish = Words("es").message(found.checks[0])
    assert spanish.startswith(
        "Este archivo no se puede leer. b.csv: esto no es un registro que ownmark pueda leer: bytes"
    )
    assert "«" not in spanish
    (bag / "b.csv").write_bytes(b"")
    (empty,) = seen(bag)
    assert Words("es").message(empty.checks[0]) == (
        "En este archivo no hay nada que se pueda usar. b.csv: el archivo está vacío. Cópielo otra vez del dispositivo."
    )


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_refusal_of_a_file_has_a_word(language):
    codes = {each.code for each in IngestError.__subclasses__()}
    kinds = {code.removeprefix("refusal_kind.") for code in texts(language) if code.startswith("refusal_kind.")}
    assert kinds == codes


def test_a_file_that_is_gone_is_told(bag):
    (found,) = see([bag / "gone.csv"], None, lambda _: ())
    assert codes(found) == ["day_plan.unread"]


def test_an_archive_of_one_is_read_and_one_of_two_is_asked(bag):
    import zipfile

    for name, count in (("one.zip", 1), ("two.zip", 2)):
        with zipfile.ZipFile(bag / name, "w") as archive:
            for number in range(count):
                archive.writestr(f"{number}.csv", table(trial_bpm(number + 1), NINE))
            archive.writestr("notes.txt", "")
    one, two = seen(bag)
    assert one.recording is not None
    assert codes(two)[0] == "day_plan.many"
    assert two.checks[0]["count"] == 2
    assert two.recording is None


def test_utc_without_a_zone_and_what_the_logbook_holds(bag):
    (bag / "a.fit").write_bytes(fit(UTC_15, trial_bpm().astype(np.int64), (), 0))
    asked = []

    def holders(sha256):
        asked.append(sha256)
        return ((4, "TH-11"), (9, "TH-12"))

    (found,) = seen(bag, None, holders)
    assert codes(found) == ["day_plan.no_zone", "day_plan.seen"]
    assert [each["number"] for each in found.checks[1]["trials"]] == [4, 9]
    assert asked == [found.sha256]
    (found,) = seen(bag, "America/Denver", lambda _: ())
    assert codes(found) == []


def test_half_a_file_is_cut_off(bag):
    whole = fit(UTC_15, trial_bpm().astype(np.int64), (), 0)
    (bag / "a.fit").write_bytes(whole[: len(whole) // 2])
    (found,) = seen(bag, "UTC")
    assert codes(found) == ["fit.cut_off"]


@pytest.mark.parametrize("code", sorted(CUT))
def test_whatever_a_reader_says_of_a_missing_end_is_told(code):
    cut = Recording(
        streams=(pulse(np.arange(60.0), np.full(60, 80.0)),),
        notes=(Message(code), Message("table.other")),
        sources=SOURCES,
    )
    assert code in texts("en") or any(key.startswith(f"{code}.") for key in texts("en"))
    assert codes(judged(Path("a.csv"), cut, ())) == [code]


def test_one_usable_value_is_something_and_none_is_empty():
    flags = np.full(60, int(Flag.NO_CONTACT), np.uint16)
    off = Recording(streams=(pulse(np.arange(60.0), np.full(60, 80.0), flags=flags),), sources=SOURCES)
    (check,) = judged(Path("a.csv"), off, ()).checks
    assert check.code == "day_plan.empty"
    assert Words("es").message(check).strip() == "En este archivo no hay nada que se pueda usar."
    flags[30] = 0
    one = Recording(streams=(pulse(np.arange(60.0), np.full(60, 80.0), flags=flags),), sources=SOURCES)
    assert codes(judged(Path("a.csv"), one, ())) == []


def test_a_possible_hand_over_is_kept(bag):
    bpm = np.concatenate((trial_bpm(1), np.zeros(60), trial_bpm(2)))
    (bag / "a.csv").write_bytes(table(bpm, NINE))
    (found,) = seen(bag)
    assert len(found.handed) == 1
