"""The school's time zone is set where it is asked: on the first screen of an empty logbook, and beside the question."""

import re

import pytest
from ownmark.records.store.settings import set_zone, zone_of
from ownmark.web.zones import ZONES

from tests.records.store import made
from tests.records.test_shared_files import FIRST

DAY = "/day/2026-10-06"
FORM = 'action="/zone"'


@pytest.fixture
def in_utc(teacher, parts, tmp_path):
    """A student whose recording gives its times in UTC, and a day's work by the wall: 9:05 in Denver."""
    logbook = parts.logbook()
    logbook.add_student(made.student("TH-11"))
    logbook.add_protocol(made.protocol(rest_s=None, work_s=None, recovery_s=None))
    table, path = tmp_path / "class.csv", tmp_path / "TH-11.csv"
    table.write_text("code,protocol,work\nTH-11,slalom-gym,9:05:00-9:12:00\n")
    rows = "".join(f"2026-10-06T15:{n // 60:02d}:{n % 60:02d}Z,{bpm}\n" for n, bpm in enumerate(FIRST))
    path.write_text(f"time,heart_rate\n{rows}")
    for each in (table, path):
        teacher.post(f"{DAY}/files", files=[("files", (each.name, each.read_bytes()))])
    return logbook


def test_an_empty_logbook_asks_for_it_and_then_no_more(teacher, parts):
    page = teacher.get("/").text
    assert "In which time zone is the school?" in page
    assert [each for each in ZONES if f'value="{each}"' in page] == list(ZONES)
    kept = teacher.post("/zone", data={"zone": "America/Denver", "other": ""})
    assert (kept.status_code, kept.headers["location"]) == (303, "/")
    assert zone_of(parts.logbook()) == "America/Denver"
    page = teacher.get("/").text
    assert "The school is in America/Denver." in page
    assert "In which time zone is the school?" not in page
    assert "Time zone of the school: America/Denver" in page  # where it is changed
    assert '<option value="America/Denver" selected>' in page


def test_a_logbook_with_students_keeps_the_form_behind_a_line(teacher, parts):
    parts.logbook().add_student(made.student("TH-11"))
    assert re.search(r"<details><summary>In which time zone is the school\?</summary>\s*<form", teacher.get("/").text)


def test_any_other_zone_is_typed(teacher, parts):
    teacher.post("/zone", data={"zone": "America/Denver", "other": " Europe/Madrid "})
    assert zone_of(parts.logbook()) == "Europe/Madrid"
    assert 'name="other" autocomplete="off" value="Europe/Madrid"' in teacher.get("/").text


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({}, "Choose a time zone, or type one."),
        ({"zone": "", "other": "  "}, "Choose a time zone, or type one."),
        ({"other": "Utopia/Nowhere"}, "“Utopia/Nowhere” is not a time zone."),
        ({"zone": "../etc"}, "is not a time zone."),
        ({"other": "x" * 101}, "is not a time zone."),
    ],
)
def test_what_is_no_zone_is_told_and_nothing_is_kept(teacher, parts, typed, told):
    set_zone(parts.logbook(), "America/Chicago")
    assert teacher.post("/zone", data=typed).status_code == 303
    assert told in teacher.get("/").text
    assert zone_of(parts.logbook()) == "America/Chicago"


def test_it_is_asked_beside_the_question_and_answers_it(teacher, in_utc):
    before = teacher.get(DAY).text
    assert FORM in before.partition('class="class-list rows"')[0]
    assert "make the plan again" not in before
    assert "--zone" not in before
    (row,) = re.findall(rf'href="({DAY}/row/[^"]+)"', before)
    assert FORM in teacher.get(row).text
    kept = teacher.post("/zone", data={"zone": "America/Denver"})
    assert kept.headers["location"] == row  # back to where it was asked
    after = teacher.get(DAY).text
    assert "In which time zone" not in after
    assert "9:00 to 9:15" in after  # the file stands in the school's time
    assert 'class="day-row is-ready"' in after
    teacher.post(f"{DAY}/add", data={"all": "1"})
    assert in_utc.trial(1).zone == "America/Denver"


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_the_form_is_in_the_language_of_the_session(teacher, in_utc, language):
    teacher.get(f"{DAY}")
    teacher.post("/language", data={"language": language})
    for page in (teacher.get("/").text, teacher.get(DAY).text):
        assert FORM in page
        for english in ("time zone", "Mountain", "Keep the"):
            assert english not in page
