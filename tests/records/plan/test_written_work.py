"""Work that was written down while it happened: it is the work of the plan, and what speaks against it is said."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from ownmark.errors import NotATrial
from ownmark.ingest.recording import Mark
from ownmark.metrics.messages import phase_finding as found_say
from ownmark.metrics.phase_finding import BUTTON, HEART_RATE, STATED, FoundPhases, NotFound, Side
from ownmark.records.plan import written_work as module
from ownmark.records.plan.sources import Sources
from ownmark.records.plan.written import clock_span, read_written
from ownmark.records.plan.written_work import Work, phases_written, work_in
from ownmark.sample_streams.writers import fit

from tests.makers.class_days import NINE as BAG_NINE
from tests.makers.recordings import pulse, recording
from tests.records.plan.bag import Bag, trial_bpm
from tests.records.plan.judged import codes_of
from tests.records.store import made

NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone
NINE_S = 9 * 3600.0
SLALOM = made.protocol(rest_s=120.0, work_s=300.0, recovery_s=60.0)
WORK = Work((180.0, 480.0))


def strap(first=0, last=600, start=NINE, marks=()):
    second = np.arange(first, last + 1, dtype=float)
    return recording(pulse(second, np.full(len(second), 90.0)), marks=marks, start=start)


def finds(monkeypatch, **more):
    """Whatever the recording is, this is found in it."""
    plain = {"rest": (60.0, 180.0), "work": (180.0, 480.0), "recovery": (480.0, 540.0), "how": HEART_RATE}
    notes = (found_say.proposal_rests_on("heart_rate", 12.0),)
    ends = dict.fromkeys(("start", "end"), Side(HEART_RATE, 12.0))
    found = FoundPhases(**{**plain, "within_s": 12.0, "confidence": 0.9, **ends, "notes": notes, **more})
    asked = []
    monkeypatch.setattr(module, "find_phases", lambda whole, expected, **_: asked.append((whole, expected)) or found)
    return asked


def told(phased):
    return [each.code for each in phased.checks]


def texts(phased):
    return (phased.rest, phased.work, phased.recovery)


def test_work_and_start_that_the_heart_confirms_are_the_phases_and_sure(monkeypatch):
    asked = finds(monkeypatch)
    phased = phases_written(strap(), SLALOM, WORK, NINE_S + 60, None, None)
    assert texts(phased) == ("09:01:00-09:03:00", "09:03:00-09:08:00", "09:08:00-09:09:00")
    assert told(phased) == []
    ((_, expected),) = asked
    assert (expected.rest_s, expected.work_s, expected.recovery_s, expected.start_s) == (120.0, 300.0, 60.0, 180.0)


@pytest.mark.parametrize(
    ("found", "codes"),
    [
        ((222.0, 522.0), []),
        ((138.0, 438.0), []),
        ((222.1, 480.0), ["day_plan.start_differs"]),
        ((137.9, 480.0), ["day_plan.start_differs"]),
        ((180.0, 522.1), ["day_plan.end_differs"]),
        ((180.0, 437.9), ["day_plan.end_differs"]),
        ((250.0, 560.0), ["day_plan.start_differs", "day_plan.end_differs"]),
    ],
)
def test_either_end_elsewhere_in_the_recording_is_said_beyond_thirty_seconds_and_its_spread(monkeypatch, found, codes):
    finds(monkeypatch, work=found)
    phased = phases_written(strap(), SLALOM, WORK, NINE_S + 60, None, None)
    assert told(phased) == codes
    for check in phased.checks:
        end = check.code.endswith("end_differs")
        assert (check["found"], check["stated"], check["within"]) == (found[end], WORK.span[end], 12.0)
    assert phased.work == "09:03:00-09:08:00"


def test_what_nothing_confirms_is_said(monkeypatch):
    finds(monkeypatch, how=STATED, notes=(found_say.proposal_only_stated(180.0),))
    phased = phases_written(strap(), SLALOM, WORK, NINE_S + 60, None, None)
    assert (phased.work, told(phased)) == ("09:03:00-09:08:00", ["proposal.only_stated"])
    monkeypatch.setattr(module, "find_phases", lambda *_, **__: NotFound(found_say.PROPOSAL_NO_ONSET))
    phased = phases_written(strap(), SLALOM, WORK, NINE_S + 60, None, None)
    assert (phased.work, told(phased)) == ("09:03:00-09:08:00", ["proposal.no_onset"])


@pytest.mark.parametrize(("end", "asked"), [(510.0, False), (510.1, True), (450.0, False), (449.9, True)])
def test_work_of_another_length_than_the_protocols_is_said(monkeypatch, end, asked):
    finds(monkeypatch, work=(180.0, end))
    phased = phases_written(strap(), SLALOM, Work((180.0, end)), NINE_S + 60, None, None)
    assert told(phased) == (["day_plan.other_length"] if asked else [])
    for check in phased.checks:
        assert (check["phase"], check["seconds"], check["planned"]) == ("work", end - 180.0, 300.0)


def test_a_rest_lasts_as_the_protocol_says_and_never_into_the_work(monkeypatch):
    finds(monkeypatch)
    early = phases_written(strap(), SLALOM, WORK, NINE_S + 20, None, None)
    assert (early.rest, told(early)) == ("09:00:20-09:02:20", [])
    late = phases_written(strap(), SLALOM, WORK, NINE_S + 84, None, None)
    assert (late.rest, told(late)) == ("09:01:24-09:03:00", [])
    short = phases_written(strap(), SLALOM, WORK, NINE_S + 85, None, None)
    assert (short.rest, told(short)) == ("09:01:25-09:03:00", ["day_plan.other_length"])
    (check,) = short.checks
    assert (check["phase"], check["seconds"], check["planned"]) == ("rest", 95.0, 120.0)


def test_a_start_that_is_not_before_the_work_gives_no_rest(monkeypatch):
    finds(monkeypatch)
    for start in (180.0, 200.0):
        phased = phases_written(strap(), SLALOM, WORK, NINE_S + start, None, None)
        assert (phased.rest, told(phased)) == ("", ["day_plan.start_after_work"])
    alone = made.protocol(work_s=300.0)
    assert told(phases_written(strap(), alone, WORK, NINE_S + 180, None, None)) == []
    assert told(phases_written(strap(), alone, WORK, NINE_S + 181, None, None)) == ["day_plan.start_after_work"]
    phased = phases_written(strap(), alone, WORK, NINE_S + 60, None, None)
    assert texts(phased) == ("", "09:03:00-09:08:00", "")


def test_without_a_start_the_rest_before_the_work_is_a_proposal(monkeypatch):
    finds(monkeypatch)
    phased = phases_written(strap(), SLALOM, WORK, None, None, None)
    assert (phased.rest, told(phased)) == ("09:01:00-09:03:00", ["day_plan.rest_unwritten"])
    assert phased.checks[0]["seconds"] == 120.0
    assert told(phases_written(strap(), made.protocol(work_s=300.0), WORK, None, None, None)) == []


@pytest.mark.parametrize(("begin", "sure"), [(185.0, True), (186.0, False), (174.0, False)])
def test_but_not_where_presses_show_it(monkeypatch, begin, sure):
    notes = (found_say.proposal_rests_on("button", 5.0),)
    finds(monkeypatch, how=BUTTON, within_s=5.0, notes=notes, work=(begin, begin + 300), rest=(62.0, begin))
    phased = phases_written(strap(), SLALOM, WORK, None, None, None)
    assert told(phased) == ([] if sure else ["day_plan.rest_unwritten"])
    assert phased.rest == ("09:01:02-09:03:05" if sure else "09:01:00-09:03:00")


def test_what_the_strap_did_not_see_is_said_and_others_minutes_are_not_looked_at(monkeypatch):
    asked = finds(monkeypatch)
    phased = phases_written(strap(186), SLALOM, WORK, NINE_S + 60, None, None)
    assert (phased.rest, told(phased)) == ("", ["day_plan.phase_not_seen", "guard.late"])
    phases_written(strap(), SLALOM, WORK, NINE_S + 60, (NINE_S + 30, NINE_S + 570), None)
    (stream,) = asked[-1][0].streams
    assert (stream.time[0], stream.time[-1]) == (30.0, 569.0)


def test_presses_stay_as_they_were_written(monkeypatch):
    finds(monkeypatch)
    marks = (Mark(180.0, "button"), Mark(480.0, "button"))
    work = work_in("button 1-button 2", strap(marks=marks), None)
    assert work == Work((180.0, 480.0), "button 1-button 2")
    phased = phases_written(strap(marks=marks), SLALOM, work, NINE_S + 60, None, None)
    assert texts(phased) == ("09:01:00-09:03:00", "button 1-button 2", "09:08:00-09:09:00")
    missing = work_in("button 1-button 3", strap(marks=marks), None)
    assert missing.code == "day_plan.work_unread"
    assert "number 3" in missing["why"].text
    laps = (Mark(0.0, "lap"), Mark(180.0, "lap", until_s=480.0))
    assert work_in("lap 2", strap(marks=laps), None).span == (180.0, 480.0)


@pytest.mark.parametrize("text", ["9:03-9:08", "@9:03-@9:08", "09:03:00 – 09:08:00", "9:03-9:08 AM"])
def test_every_time_is_of_the_clock(text):
    assert clock_span(text) == (NINE_S + 180, NINE_S + 480)
    assert work_in(text, strap(), None) == WORK
    assert work_in(text, strap(start=None), None) is None
    utc = NINE.replace(tzinfo=UTC) + timedelta(hours=6)
    assert work_in(text, strap(start=utc), None) is None
    assert work_in(text, strap(start=utc), "America/Denver") == WORK
    assert work_in("", strap(), None) is None


@pytest.mark.parametrize(
    ("text", "code", "hours"),
    [
        ("9:10-9:18", "day_plan.work_outside", None),
        ("8:50-9:00", "day_plan.work_outside", None),
        ("10:03-10:08", "day_plan.work_hours_off", 1),
        ("7:03-7:08", "day_plan.work_hours_off", -2),
    ],
)
def test_work_that_is_not_in_the_recording(text, code, hours):
    found = work_in(text, strap(), None)
    assert (found.code, found["work"].text) == (code, text)
    if hours is not None:
        assert found["hours"] == hours
    assert work_in("9:09:59-9:18", strap(), None).span == (599.0, 1080.0)
    assert work_in("8:50-9:00:01", strap(), None).span == (-600.0, 1.0)


def test_the_hour_is_that_of_the_start_of_the_work_beside_what_was_recorded():
    assert work_in("10:09-10:30", strap(), None)["hours"] == 1
    late = strap(first=300)  # 9:05 to 9:10
    assert work_in("10:03:00-10:08", late, None)["hours"] == 1  # two minutes before it, the most
    assert work_in("10:02:59-10:08", late, None).code == "day_plan.work_outside"


def form(tmp_path, text, name="typed.csv"):
    path = tmp_path / name
    path.write_text(text)
    return path


def test_the_form_is_read_by_student(tmp_path):
    path = form(
        tmp_path, "Code,start,Work,notes\nth-11,9:01,9:03-9:08,tired\nTH-12,,lap 2,\nTH-12,,lap 2,late\n,,x,y\n"
    )
    written = read_written([path])
    assert written.works == {"TH-11": "9:03-9:08", "TH-12": "lap 2"}
    assert written.notes == {"TH-11": "tired", "TH-12": "late"}
    twice = form(tmp_path, "code,start,notes\nTH-11,,late\nTH-11,,late\nTH-11,,tired\n", "b.csv")
    assert read_written([twice]).notes == {"TH-11": "late tired"}
    both = read_written([form(tmp_path, "code,work,notes\nTH-11,9:04-9:09,well\n", "c.csv"), path, path])
    assert (both.works["TH-11"], both.works["TH-12"], both.notes["TH-11"]) == ("9:04-9:09", "lap 2", "well")


def test_notes_of_a_plain_list_of_the_class_go_into_no_trial(tmp_path):
    assert read_written([form(tmp_path, "code,protocol,notes\nTH-11,slalom,asthma\n")]).notes == {}
    assert read_written([form(tmp_path, "code,work,notes\nTH-11,,tired\n")]).notes == {"TH-11": "tired"}


@pytest.mark.parametrize(
    ("rows", "what"),
    [
        ("TH-11,all the time", "not a stretch of time"),
        ("TH-11,9:08-9:03", "ends before it begins"),
        ("TH-11,9:03-9:03", "ends before it begins"),
        ("TH-11,9:03-9:08\nTH-11,9:03-9:09", "two different times of work"),
    ],
)
def test_work_that_is_none_is_refused_before_anything_is_planned(tmp_path, rows, what):
    with pytest.raises(NotATrial, match=what) as told_:
        read_written([form(tmp_path, f"code,work\n{rows}\n")])
    assert "TH-11" in str(told_.value)


@pytest.fixture
def bag(tmp_path):
    return Bag(tmp_path / "bag")


def test_the_plan_takes_work_and_notes_of_the_form(bag):
    bag.trial("TH-11.csv", "TH-11")
    bag.codes = ("TH-11", "TH-12")
    bag.more |= {"works": {"TH-11": "9:01:40-9:04:20"}, "notes": {"TH-11": "tired", "TH-12": "absent"}}
    row = bag.row()
    assert (row.checks, row.notes) == ((), "tired")
    assert (row.phases.rest, row.phases.work) == ("09:00:30-09:01:30", "09:01:40-09:04:20")
    assert row.phases.recovery == "09:04:20-09:05:20"
    assert bag.row("TH-12").notes == "absent"


def test_a_clock_that_is_off_by_an_hour_is_told_once(bag):
    bag.trial("TH-11.csv", start=BAG_NINE + timedelta(hours=1))
    bag.begun("TH-11", BAG_NINE + timedelta(seconds=30))
    bag.more["works"] = {"TH-11": "9:01:30-9:04:30"}
    assert "day_plan.work_hours_off" in bag.told()
    assert "day_plan.hours_off" not in bag.told()
    bag.more["works"] = {"TH-11": "10:01:30-10:04:30"}  # now the start alone is off
    assert "day_plan.work_hours_off" not in bag.told()


def test_an_hour_is_told_once_where_the_list_of_straps_tells_it(bag):
    bag.trial("S1.csv", start=BAG_NINE + timedelta(hours=1))
    bag.begun("TH-11", BAG_NINE + timedelta(seconds=30))
    bag.worn = [("S1", "TH-11", "9:00", "9:10")]
    assert {"day_plan.worn_hours_off"} == {code for code in bag.told() if code.endswith("hours_off")}
    bag.begun("TH-11", BAG_NINE + timedelta(hours=-2, seconds=30))  # by other hours: another fault
    assert {"day_plan.worn_hours_off", "day_plan.hours_off"} <= bag.told()


def test_work_by_a_clock_that_the_file_does_not_know(bag):
    bag.trial("TH-11.csv", start=None)
    bag.more["works"] = {"TH-11": "9:01:30-9:04:30"}
    assert {"day_plan.no_clock", "proposal.rests_on"} <= bag.told()


def test_a_file_in_utc_needs_a_zone_and_nothing_else_is_said_of_its_clock(bag):
    utc = datetime(2026, 5, 12, 15, 0, 0, tzinfo=UTC)
    bag.write("S1.fit", fit(utc, trial_bpm().astype(np.int64), (), 0))
    bag.worn = [("S1", "TH-11", "9:00", "9:10")]
    bag.more["works"] = {"TH-11": "9:01:30-9:04:30"}
    assert "day_plan.no_zone" in bag.told()
    assert "day_plan.no_clock" not in bag.told()


def test_an_empty_file_is_only_told_to_be_empty(bag):
    bag.write("S1.csv", b"")
    bag.worn = [("S1", "TH-11", "9:00", "9:10")]
    assert bag.told() == {"day_plan.empty"}
    bag.worn.append(("S1", "TH-12", "9:10", "9:20"))
    bag.codes = ("TH-11", "TH-12")
    (alone,) = [row for row in bag.plan().rows if row.code is None]
    assert codes_of(alone.checks) >= {"day_plan.empty", "day_plan.several"}
    assert "day_plan.no_clock" not in codes_of(alone.checks)


def test_who_began_is_known_by_the_work_too():
    sources = Sources(starts={"TH-11": 60.0}, works={"TH-11": "9:03-9:08", "TH-12": "9:04-9:09", "TH-13": "lap 2"})
    assert sources.begun == {"TH-11": 60.0, "TH-12": NINE_S + 240}
    assert sources.expected == ("TH-11", "TH-12", "TH-13")
    assert Sources(notes={"TH-14": "absent"}).expected == ("TH-14",)
