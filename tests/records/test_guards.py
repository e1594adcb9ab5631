"""What is asked before a trial goes in, at the edges of what is passed over, and the answers that settle it."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from ownmark.errors import NotATrial, NotConfirmed
from ownmark.ingest.recording import Hints
from ownmark.metrics import Phases, choose_basis, effort
from ownmark.records import guards
from ownmark.records.adding import keep
from ownmark.records.class_day import add_class
from ownmark.records.class_table import Row
from ownmark.records.intake import recorded_day

from tests.makers.recordings import every_second
from tests.records.store.made import protocol, student, trial

TODAY = date(2026, 11, 3)


def codes(message):
    """The codes of what is asked."""
    return [each.code for each in message["questions"]]


def asked_of(phases, bpm=None, **lengths):
    """What is asked of a sheet with these phases, by a protocol with these lengths."""
    rates = [100.0] * 1200 if bpm is None else bpm
    sheet = effort(every_second(rates), choose_basis(rest_bpm=72, measured_max_bpm=188), phases)
    return [each.asked.code for each in guards.of_sheet(trial(), protocol(**lengths), sheet)]


@pytest.mark.parametrize(
    ("seconds", "planned", "asked"),
    [
        (510.0, 480.0, False),  # 30 s exactly
        (511.0, 480.0, True),
        (450.0, 480.0, False),
        (449.0, 480.0, True),
        (72.0, 60.0, False),  # 20 % exactly
        (73.0, 60.0, True),
        (48.0, 60.0, False),
        (47.0, 60.0, True),
    ],
)
def test_a_length_beyond_a_fifth_or_half_a_minute_is_asked(seconds, planned, asked):
    assert guards.beyond(seconds, planned) is asked


def test_each_phase_is_held_against_its_own_length():
    phases = Phases(rest=(0, 300), work=(300, 780), recovery=(780, 900))
    assert asked_of(phases, rest_s=300, work_s=480, recovery_s=120) == []
    assert asked_of(phases, rest_s=60, work_s=480, recovery_s=120) == ["guard.length"]
    assert asked_of(phases, rest_s=300, work_s=240, recovery_s=30) == ["guard.length", "guard.length"]
    assert asked_of(phases) == []


def test_a_whole_file_is_asked_where_it_is_longer_than_the_protocol_or_than_an_hour():
    assert asked_of(Phases(), work_s=480) == ["guard.whole"]
    assert asked_of(Phases(), work_s=1200) == []
    assert asked_of(Phases(), work_s=1500) == ["guard.length"]
    assert asked_of(Phases()) == []
    assert asked_of(Phases(), [100.0] * 3600) == []
    assert asked_of(Phases(), [100.0] * 3602) == ["guard.whole_long"]
    assert asked_of(Phases(work=(0, 3601)), [100.0] * 3602) == []


def test_work_of_under_ten_seconds_or_over_three_hours_is_refused():
    assert asked_of(Phases(work=(100, 110))) == []
    with pytest.raises(NotATrial) as short:
        asked_of(Phases(work=(100, 109)))
    assert short.value.what.code == "guard.too_short"
    assert asked_of(Phases(work=(0, 10_800)), [100.0] * 600) == []
    with pytest.raises(NotATrial) as long:
        asked_of(Phases(work=(0, 10_801)), [100.0] * 600)
    assert (long.value.what.code, long.value.what["phase"]) == ("guard.too_long", "work")
    with pytest.raises(NotATrial) as rest:
        asked_of(Phases(rest=(700, 11_501), work=(0, 600)), [100.0] * 700)
    assert rest.value.what["phase"] == "rest"


def test_rest_behind_work_and_rest_above_work_are_asked():
    rising = [80.0] * 300 + [120.0] * 300
    right = Phases(rest=(0, 290), work=(310, 590))
    swapped = Phases(rest=(310, 590), work=(0, 290))
    basis = choose_basis(measured_max_bpm=188)
    found = {}
    for name, phases in (("right", right), ("swapped", swapped)):
        sheet = effort(every_second(rising), basis, phases)
        found[name] = [each.asked.code for each in guards.of_sheet(trial(), protocol(), sheet)]
    assert found == {"right": [], "swapped": ["guard.order", "guard.rest_above"]}
    level = effort(every_second([90.0] * 600), basis, right)
    assert [each.asked.code for each in guards.of_sheet(trial(), protocol(), level)] == ["guard.rest_above"]


def strap(path, start="2026-11-02 09:00:00", seconds=1200):
    """A strap's table that knows its wall clock, without a zone."""
    begin = datetime.fromisoformat(start).replace(tzinfo=UTC).timestamp()
    lines = [f"{datetime.fromtimestamp(begin + s, UTC):%Y-%m-%d %H:%M:%S},{100 + s % 5}" for s in range(seconds)]
    path.write_text("Time,Heart Rate (bpm)\n" + "\n".join(lines) + "\n")
    return path


def utc(path, start="2026-11-02T16:00:00", seconds=1200):
    """The same with times in UTC."""
    begin = datetime.fromisoformat(start).replace(tzinfo=UTC).timestamp()
    lines = [f"{datetime.fromtimestamp(begin + s, UTC):%Y-%m-%dT%H:%M:%SZ},{100 + s % 5}" for s in range(seconds)]
    path.write_text("Time,Heart Rate (bpm)\n" + "\n".join(lines) + "\n")
    return path


@pytest.fixture
def ready(logbook):
    logbook.add_student(student("TH-11"))
    logbook.add_student(student("TH-12"))
    logbook.add_protocol(protocol(work_s=480.0))
    return logbook


def test_a_clock_time_without_a_sign_is_never_eight_seconds_of_work(ready, tmp_path):
    file = strap(tmp_path / "S1.csv")
    one = trial(on=date(2026, 11, 2), work="9:05-9:13")
    with pytest.raises(NotConfirmed) as question:
        keep(ready, one, [file])
    assert codes(question.value.what) == ["guard.two_readings"]
    assert "8:00 min (480 s)" in str(question.value)
    assert "8 s" in str(question.value)
    assert list(ready.trials("TH-11")) == []
    kept = keep(ready, one.model_copy(update={"confirmed": ("clock",)}), [file])
    assert kept.trial.work == "@9:05-@9:13"
    assert kept.sheet.provenance.phases.work == (300, 780)


def test_times_from_the_start_stand_where_no_clock_reads_them_or_a_person_says_so(ready, tmp_path):
    file = strap(tmp_path / "S1.csv")
    kept = keep(ready, trial(on=date(2026, 11, 2), work="06:00-14:00"), [file])  # eight hours by the clock
    assert kept.sheet.provenance.phases.work == (360, 840)
    other = strap(tmp_path / "S2.csv", seconds=1000)
    with pytest.raises(NotATrial) as absurd:
        keep(ready, trial("TH-12", date(2026, 11, 2), work="9:05-9:13", confirmed=("start",)), [other])
    assert absurd.value.what.code == "guard.too_short"


def test_a_file_of_another_day_is_asked_and_either_day_can_be_answered(ready, tmp_path):
    file = strap(tmp_path / "S1.csv")
    one = trial(on=date(2026, 11, 1), work="05:00-13:00")
    with pytest.raises(NotConfirmed) as question:
        keep(ready, one, [file])
    assert codes(question.value.what) == ["guard.other_day"]
    kept = keep(ready, one.model_copy(update={"confirmed": ("2026-11-02",)}), [file])
    assert kept.trial.on == date(2026, 11, 2)
    other = strap(tmp_path / "S2.csv", seconds=1000)
    same = trial("TH-12", date(2026, 11, 1), work="05:00-13:00", confirmed=("Yes",))
    assert keep(ready, same, [other]).trial.on == date(2026, 11, 1)


def open_strap(path, day="9/8/2026"):
    """A strap's table of which nobody knows whether it is of August or of September."""
    text = strap(path, "2026-11-02 09:00:00").read_text()
    path.write_text(text.replace("2026-11-02 ", f"{day} "))
    return path


@pytest.mark.parametrize("on", [date(2026, 9, 8), date(2026, 8, 9)])
def test_a_file_whose_date_can_be_the_trial_s_day_is_not_asked(ready, tmp_path, on):
    kept = keep(ready, trial(on=on, work="05:00-13:00"), [open_strap(tmp_path / "S1.csv")])
    assert kept.trial.on == on


@pytest.mark.parametrize(
    ("answer", "on"),
    [
        ("yes", date(2026, 9, 15)),
        ("2026-09-08", date(2026, 9, 8)),
        ("2026-08-09", date(2026, 8, 9)),
        ("2026-09-15", None),
        ("checked", None),
    ],
)
def test_a_file_whose_date_cannot_be_the_trial_s_day_is_asked(ready, tmp_path, answer, on):
    file = open_strap(tmp_path / "S1.csv")
    one = trial(on=date(2026, 9, 15), work="05:00-13:00")
    with pytest.raises(NotConfirmed) as question:
        keep(ready, one, [file])
    assert codes(question.value.what) == ["guard.neither_day"]
    (asked,) = question.value.what["questions"]
    assert asked["days"] == (date(2026, 8, 9), date(2026, 9, 8))
    answered = one.model_copy(update={"confirmed": (answer,)})
    if on is None:
        with pytest.raises(NotConfirmed):
            keep(ready, answered, [file])
    else:
        assert keep(ready, answered, [file]).trial.on == on


@pytest.mark.parametrize(("today", "asked"), [(date(2027, 1, 1), False), (date(2027, 1, 2), True)])
def test_a_file_of_more_than_sixty_days_ago_is_asked_where_nobody_wrote_the_day(ready, tmp_path, today, asked):
    one = trial(on=date(2026, 11, 2), work="05:00-13:00")
    file = strap(tmp_path / "S1.csv")
    if asked:
        with pytest.raises(NotConfirmed) as question:
            keep(ready, one, [file], today=today, day_stated=False)
        assert codes(question.value.what) == ["guard.long_ago"]
        keep(ready, one, [file], today=today, day_stated=True)
    else:
        keep(ready, one, [file], today=today, day_stated=False)


def test_clock_times_beside_a_file_in_utc_ask_for_the_zone_once(ready, tmp_path):
    file = utc(tmp_path / "S1.csv")
    one = trial(on=date(2026, 11, 2), work="@09:05-@09:13")
    with pytest.raises(NotConfirmed) as question:
        keep(ready, one, [file])
    assert codes(question.value.what) == ["guard.zone"]
    kept = keep(ready, one.model_copy(update={"zone": "America/Denver"}), [file])
    assert kept.sheet.provenance.phases.work == (300, 780)  # 16:00 UTC is 09:00 there in November
    other = utc(tmp_path / "S2.csv", seconds=1000)
    keep(ready, trial("TH-12", date(2026, 11, 2), work="05:00-13:00"), [other])  # no clock time: nothing is asked


def test_the_day_of_a_file_in_utc_is_that_of_the_zone(tmp_path):
    file = utc(tmp_path / "S1.csv", "2026-11-02T22:30:00")
    assert recorded_day([file], Hints()) == date(2026, 11, 2)
    assert recorded_day([file], Hints(), zone="Australia/Sydney") == date(2026, 11, 3)


def test_a_strap_put_on_late_is_told_and_its_loss_is_in_the_bounds(ready, tmp_path):
    file = strap(tmp_path / "S1.csv", "2026-11-02 09:07:00")
    kept = keep(ready, trial(on=date(2026, 11, 2), work="@09:05-@09:13"), [file])
    assert kept.sheet.provenance.phases.work == (-120, 360)
    assert kept.sheet.figures["coverage_heart_rate"].value == pytest.approx(75.0)
    assert [(each.code, each["phase"], each["seconds"]) for each in kept.unseen] == [("guard.late", "work", 120.0)]


def test_a_recording_that_ends_early_is_told(ready, tmp_path):
    file = strap(tmp_path / "S1.csv", seconds=601)
    kept = keep(ready, trial(on=date(2026, 11, 2), work="@09:05-@09:13"), [file])
    assert [(each.code, each["seconds"]) for each in kept.unseen] == [("guard.early_end", 179.0)]


def row(number, code, file, **texts):
    return Row(number, {"code": code, "protocol": "slalom-gym", **texts}, (Path(file),))


def test_a_row_that_is_asked_waits_and_the_others_go_in(ready, tmp_path):
    first, second = strap(tmp_path / "S1.csv"), strap(tmp_path / "S2.csv", seconds=1000)
    rows = [row(2, "TH-11", first), row(3, "TH-12", second, work="05:00-13:00")]
    found = list(add_class(ready, rows, day=None, today=TODAY))
    assert [each.state for each in found] == ["to confirm", "added"]
    assert "work 8:00" in found[1].sentence
    again = [row(2, "TH-11", first, confirmed="yes"), rows[1]]
    assert [each.state for each in add_class(ready, again, day=None, today=TODAY)] == ["added", "there already"]


def undated(path):
    path.write_text("time_s,heart_rate\n" + "".join(f"{s},{100 + s % 5}\n" for s in range(1000)))
    return path


def test_an_undated_file_among_rows_of_another_day_is_asked(ready, tmp_path):
    first, second = strap(tmp_path / "S1.csv"), undated(tmp_path / "S2.csv")
    rows = [
        row(2, "TH-11", first, on="2026-11-02", work="05:00-13:00"),
        row(3, "TH-12", second, work="05:00-13:00"),
    ]
    assert [each.state for each in add_class(ready, rows, day=None, today=TODAY)] == ["added", "to confirm"]
    rows[1] = row(3, "TH-12", second, work="05:00-13:00", confirmed="2026-11-02")
    assert [each.state for each in add_class(ready, rows, day=None, today=TODAY)] == ["there already", "added"]
    (kept,) = ready.trials("TH-12")
    assert kept.on == date(2026, 11, 2)
