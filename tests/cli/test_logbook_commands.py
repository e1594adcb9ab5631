"""The logbook by the command line, as a teacher, a therapist and a coordinator use it."""

import json
import shutil
from datetime import date, timedelta

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.metrics.figure import Figure
from ownmark.records import open_logbook
from ownmark.reports.sheets.figure_text import bounds_text, value_text
from ownmark.reports.words import Words
from ownmark.sample_streams import FOLDER

from tests.records.store import made

SLALOM = FOLDER / "TH-11-power-chair-slalom.fit"
FRAME = FOLDER / "TH-11-chair-frame.csv.gz"


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))

    def call(*words, code=0):
        found = main([str(word) for word in words])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        assert "itself failed" not in err, err
        assert found == code, out + err
        return out + err

    return call


@pytest.fixture
def school(run):
    """One student, one protocol."""
    run("student", "add", "TH-11", "--born", "2014-03", "--rest", 78, "--ceiling", 105, "--set-by", "therapist")
    run("protocol", "copy", "power-chair-slalom", "slalom-gym")
    return run


def strap(path, mean=100, seconds=600, start="2026-05-12 09:00:00", seed=0):
    """A strap's table with a date, a rise at the start."""
    rng = np.random.default_rng(seed)
    day, clock = start.split()
    first = sum(int(part) * unit for part, unit in zip(clock.split(":"), (3600, 60, 1), strict=True))
    bpm = mean - 20 * np.exp(-np.arange(seconds) / 40) + rng.normal(0, 1.5, seconds)
    rows = [
        f"{day} {(first + s) // 3600:02d}:{(first + s) // 60 % 60:02d}:{(first + s) % 60:02d},{b:.0f}"
        for s, b in enumerate(bpm)
    ]
    path.write_text("Time,Heart Rate (bpm)\n" + "\n".join(rows) + "\n")
    return path


def test_a_student_is_a_code_and_whatever_could_be_a_name_is_refused_without_repeating_it(run):
    for name in ("Maria", "maria.smith@school.example", "2012-04-03", "J-Smith-2", "Ольга1"):
        told = run("student", "add", name, code=1)
        assert "cannot be a student's code" in told
        assert name not in told
    assert "must be a role" in run("student", "add", "TH-1", "--ceiling", 150, "--set-by", "Anna", code=1)
    assert "the day of birth is not kept" in run("student", "add", "TH-1", "--born", "2012-04-03", code=1)
    assert "go together" in run("student", "add", "TH-1", "--ceiling", 150, code=2)


def test_a_student_is_shown_and_edits_keep_what_was_measured_before(run):
    run("student", "add", "th-11", "--born", "2014-03", "--rest", 80, "--measured-on", "2025-09-10")
    told = run("student", "edit", "TH-11", "--rest", "76,5", "--measured-on", "2026-03-01", "--condition", "epilepsy")
    assert "80 /min (Sep 10, 2025)" in told
    assert "76.5 /min (Mar 1, 2026)" in told
    page = json.loads(run("student", "show", "TH-11", "--json"))
    assert [each["bpm"] for each in page["rests"]] == [80, 76.5]
    assert page["conditions"] == ["epilepsy"]
    assert "TH-11" in run("student", "list")
    assert "nothing to change" in run("student", "edit", "TH-11", code=2)
    future = (date.today() + timedelta(days=2)).isoformat()  # noqa: DTZ011 the person\'s own day
    assert "in the future" in run("student", "edit", "TH-11", "--rest", 70, "--measured-on", future, code=2)


def test_an_unknown_code_brings_the_nearest_ones(school):
    assert "Did you mean TH-11" in school("student", "show", "TH-12", code=1)
    assert "Did you mean TH-11" in school("trial", "add", "--confirm", "yes", "TH-1", "slalom-gym", SLALOM, code=1)


def test_the_catalogue_is_copied_adapted_and_every_edit_is_a_new_version(school):
    assert "gait" in school("protocol", "catalogue").lower()
    assert "gates" in school("protocol", "catalogue", "power-chair-slalom")
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM)
    told = school("protocol", "edit", "slalom-gym", "--set", "gates=8", "--set", "gate_spacing_m=2,5")
    assert "version 2" in told
    assert "What was done so far (1 trial) keeps" in told
    assert json.loads(school("protocol", "show", "slalom-gym", "--version", 1, "--json"))["gates"] == 6
    assert json.loads(school("protocol", "show", "slalom-gym", "--json"))["gate_spacing_m"] == 2.5
    assert "Did you mean" in school("protocol", "edit", "slalom-gym", "--set", "gate=8", code=1)
    assert "stays at version 2" in school("protocol", "edit", "slalom-gym", "--set", "gates=8")
    assert "Did you mean" in school("protocol", "copy", "power-chair-slalm", "b", code=1)


def test_a_trial_is_kept_with_its_files_and_the_sheet_that_effort_would_print(school):
    words = (
        "TH-11",
        "slalom-gym",
        SLALOM,
        FRAME,
        "--work",
        "06:00-14:00",
        "--battery-start",
        90,
        "--stop",
        "09:10 cone",
    )
    told = school("trial", "add", *words)
    assert "Trial 1 of TH-11 on May 12, 2026" in told
    kept = json.loads(school("trial", "show", 1, "--json"))
    same = ("--work", "06:00-14:00", "--placement", "frame", "--power-chair", "--rest", 78, "--born", "2014-03",
            "--ceiling", 105, "--pulse-sensor", "chest")  # fmt: skip
    alone = json.loads(school("effort", SLALOM, FRAME, *same, "--json"))
    for name, figure in alone["figures"].items():
        assert kept["sheet"]["figures"][name]["value"] == figure["value"], name
    assert kept["stops"] == [{"at": "09:10", "why": "cone"}]
    assert [each["path"] for each in kept["files"]] == [SLALOM.name, FRAME.name]
    assert json.loads(school("trial", "list", "--json"))[0]["id"] == 1


def test_a_file_that_is_there_already_is_said_and_not_doubled(school):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM)
    told = school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, code=1)
    assert "trial 1" in told.lower()
    assert len(school("trial", "list").strip().splitlines()) == 1


def test_wrong_words_of_a_trial_are_sentences(school, tmp_path):
    future = (date.today() + timedelta(days=3)).isoformat()  # noqa: DTZ011 the person\'s own day
    assert "lies in the future" in school(
        "trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--date", future, code=1
    )
    assert "Did you mean" in school(
        "trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--set", "temprature=20", code=1
    )
    assert "not a number" in school(
        "trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--exertion", "hard", code=1
    )
    assert "a recording, or a result" in school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", code=1)
    bad = tmp_path / "bad.fit"
    bad.write_bytes(b"nothing at all")
    assert "bad.fit" in school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", bad, code=1)
    told = school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", bad, SLALOM, code=1)
    assert "Left out: bad.fit" in told
    assert "is in the logbook" in told


def test_results_by_hand_need_no_file_and_each_side_stands_by_itself(run):
    run("student", "add", "TH-12")
    entry = next(
        each
        for each in json.loads(run("protocol", "catalogue", "--json"))
        if any(measure["sides"] for measure in each["hand_measures"])
    )
    measure = next(each for each in entry["hand_measures"] if each["sides"])
    run("protocol", "copy", entry["name"], "by-hand")
    name = measure["name"].replace("_", " ")
    assert "on each side" in run("trial", "add", "TH-12", "by-hand", "--result", f"{name}=12", code=1)
    days = ("2026-04-20", "2026-04-27", "2026-10-12")
    for number, on in enumerate(days):
        run("trial", "add", "TH-12", "by-hand", "--date", on, "--result", f"{name} left={20 + number}",
            "--result", f"{name} right=18,5")  # fmt: skip
    page = json.loads(run("change", "TH-12", "--json"))
    assert {each["side"] for each in page["sides"]} == {"left", "right"}
    assert {each["side"] for each in page["baselines"][0]["hand_results"]} == {"left", "right"}


def test_the_checklist_holds_what_was_fixed_and_names_what_nobody_wrote_down(school):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--set", "temperature=21")
    told = school("repeat", "TH-11")
    assert "[ ] number of gates*: 6" in told
    assert "room temperature: 21 °C" in told
    assert "medicines that act on the heart*: not written down" in " ".join(told.split())
    school("protocol", "edit", "slalom-gym", "--set", "gates=8")
    told = school("repeat", "TH-11")
    assert "number of gates*: 6" in told
    assert "version 2 differs" in told
    assert json.loads(school("repeat", "TH-11", "--json"))["version"] == 1


@pytest.fixture
def year(school, tmp_path):
    """Two baselines in May on different days, a re-test in November."""
    for number, (day, mean) in enumerate((("2026-05-12", 104), ("2026-05-19", 106), ("2026-11-10", 109))):
        path = strap(tmp_path / f"{day}.csv", mean, start=f"{day} 09:00:00", seed=number)
        school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", path, "--assistance", "independent")
    return school


def test_change_tells_the_verdict_first_then_the_set_up_then_the_figures(year):
    told = year("change", "TH-11")
    places = [
        told.index(each) for each in ("What the trials show", "What was set up differently", "All figures side by side")
    ]
    assert places == sorted(places)
    page = json.loads(year("change", "TH-11", "--json"))
    assert {"comparable", "differences", "verdict", "primary_figure", "detectable_change"} <= set(page)
    assert page["primary_figure"] == "heart_rate_rise"
    assert page["comparable"] is True
    assert page["degrees_of_freedom"] == 1
    # two days, 1 degree of freedom: t is 12.7, and a step of 4 /min cannot be told
    assert page["verdict"] == "within day-to-day variation"
    assert len(page["baselines"]) == 2
    assert page["retests"][0]["figures"]["heart_rate_rise"]["value"] is not None


def test_an_error_borrowed_from_other_students_on_the_protocol_narrows_what_can_be_told(year, tmp_path):
    rng = np.random.default_rng(1)
    for number in range(7):
        code = f"TH-{40 + number}"
        year("student", "add", code, "--rest", 80)
        for day in ("2026-05-12", "2026-05-19", "2026-05-26"):  # three days: repeats of one baseline
            path = strap(tmp_path / f"{code}-{day}.csv", 110 + rng.normal(0, 2.5), start=f"{day} 10:00:00", seed=number)
            year("trial", "add", "--confirm", "yes", code, "slalom-gym", path, "--assistance", "independent")
    page = json.loads(year("change", "TH-11", "--json"))
    # One own degree of freedom, and four of the others' at the most.
    assert 1 < page["degrees_of_freedom"] <= 5
    assert page["error_from"] == "borrowed from 7 other students on the same protocol, with the student's own repeats"
    assert (page["error_source"], page["error_students"], page["percent"]) == ("borrowed with own", 7, 98)
    assert 3 < page["detectable_change"] < 20
    told = year("change", "TH-11")
    assert "borrowed from 7 other students" in " ".join(told.split())


def test_a_pair_that_may_be_a_change_is_no_noise_and_nor_are_repeats_of_another_set_up(school, tmp_path):
    # Two days far apart are baseline and re-test; two within four weeks may be. Neither tells day-to-day variation.
    for code, days in (("TH-40", ("2026-02-10", "2026-10-12")), ("TH-41", ("2026-05-12", "2026-05-20"))):
        school("student", "add", code, "--rest", 80)
        for place, day in enumerate(days):
            path = strap(tmp_path / f"{code}-{day}.csv", 100 + 20 * place, start=f"{day} 10:00:00", seed=int(code[-2:]))
            school("trial", "add", "--confirm", "yes", code, "slalom-gym", path)
    for code in ("TH-40", "TH-41"):
        page = json.loads(school("change", code, "--json"))
        assert page["verdict"] == "cannot be told from day-to-day variation"
        assert page["typical_error"] is None
    school("student", "add", "TH-42", "--rest", 80)
    for place, day in enumerate(("2026-05-12", "2026-05-19", "2026-05-26")):
        school("protocol", "edit", "slalom-gym", "--set", f"gates={8 + place}")
        path = strap(tmp_path / f"TH-42-{day}.csv", 100 + 5 * place, start=f"{day} 11:00:00")
        school("trial", "add", "--confirm", "yes", "TH-42", "slalom-gym", path)
    assert json.loads(school("change", "TH-40", "--json"))["typical_error"] is None


def test_the_pooled_error_rests_on_one_rest_a_student(school, tmp_path):
    # Rest is measured in each trial; heart at work is the same by 1 /min, rest differs by 10.
    school("student", "add", "TH-50")
    works = (110, 111, 110.5, 110.8)
    for place, day in enumerate(("2026-05-05", "2026-05-12", "2026-05-19", "2026-10-12")):
        rows = [
            f"{s // 60:02d}:{s % 60:02d},{(80 + 10 * (place % 2) + s % 2) if s < 300 else works[place] + s % 2:.1f}"
            for s in range(900)
        ]
        path = tmp_path / f"{day}.csv"
        path.write_text("\n".join(["Time,Heart Rate (bpm)", *(f"{day} 09:{row}" for row in rows)]) + "\n")
        school(
            "trial",
            "add",
            "--confirm",
            "yes",
            "TH-50",
            "slalom-gym",
            path,
            "--rest-phase",
            "00:00-05:00",
            "--work",
            "05:00-15:00",
        )
    page = json.loads(school("change", "TH-50", "--json"))
    assert page["typical_error"] == pytest.approx(np.std([110, 111, 110.5], ddof=1), abs=0.15)
    assert page["change"] == pytest.approx(110.8 - 110.5, abs=0.15)


def test_a_set_up_that_must_match_and_does_not_forbids_the_verdict_and_shows_both(year, tmp_path):
    year("protocol", "edit", "slalom-gym", "--set", "gates=10")
    path = strap(tmp_path / "late.csv", 120, start="2026-11-20 09:00:00")
    year("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", path, "--assistance", "independent")
    page = json.loads(year("change", "TH-11", "--retest-from", "2026-11-15", "--json"))
    assert page["comparable"] is False
    assert page["verdict"] == "not comparable"
    assert [each["field"] for each in page["differences"] if each["forbids"]] == ["gates"]
    assert page["retests"][0]["figures"]["heart_rate_mean"]["value"] > 100


def test_a_birthday_or_a_new_rest_moves_no_zone_of_the_re_test(school, tmp_path):
    for day in ("2026-02-20", "2026-11-10"):
        path = strap(tmp_path / f"{day}.csv", 112, start=f"{day} 09:00:00")
        school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", path)
    school("student", "edit", "TH-11", "--rest", 70, "--measured-on", "2026-11-01")
    school("recompute")
    page = json.loads(school("change", "TH-11", "--json"))
    first, last = (page[side][0]["figures"] for side in ("baselines", "retests"))
    for name in ("reserve_mean", "time_very_light", "time_light", "heart_rate_rise"):
        assert last[name]["value"] == pytest.approx(first[name]["value"], abs=0.2), name
    assert any(note["code"] == "remark.on_basis" for note in page["notes"])


def test_one_trial_is_no_change(school):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM)
    assert "two days are needed" in school("change", "TH-11", code=1)
    assert "has no trial" in school("change", "TH-11", "--protocol", "other", code=1)


def test_safety_tells_crossings_with_clock_times_and_never_that_it_is_safe(school, tmp_path):
    bpm = strap(tmp_path / "a.csv", 100)
    lines = bpm.read_text().splitlines()
    for second in range(300, 340):
        lines[second + 1] = lines[second + 1].split(",")[0] + f",{130 + second % 3}"
    bpm.write_text("\n".join(lines) + "\n")
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", bpm)
    told = " ".join(school("safety", "TH-11").split())
    assert "Above 105 /min for 0:40 in all, first at 5:00." in told
    assert "Ceiling 105 /min, set by the therapist" in told
    assert "09:05:00 to 09:05:40 5:00 to 5:40 40 s 40 s" in told
    assert told.lower().count("it cannot say that exercise is safe") == 1
    assert told.lower().count("safe") == 2  # there, and in the page's name
    school("student", "edit", "TH-11", "--ceiling", 160, "--set-by", "physician")
    told = " ".join(school("safety", "TH-11").split())
    assert "No reading above 160 /min. Heart rate was measured for 100 % of the time looked at." in told
    assert "Ningún valor por encima de 160 /min." in school("safety", "TH-11", "--lang", "es")


def test_safety_tells_what_was_set_aside_above_the_ceiling_and_what_was_not_measured(school, tmp_path):
    table = strap(tmp_path / "a.csv", 90)
    lines = table.read_text().splitlines()
    for begin, count, bpm in ((300, 60, 240), (420, 12, 160), (500, 10, 0)):
        for second in range(begin, begin + count):
            lines[second + 1] = lines[second + 1].split(",")[0] + f",{bpm}"
    table.write_text("\n".join(lines) + "\n")
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", table)
    told = " ".join(school("safety", "TH-11").split())
    first = (
        "Perhaps above 105 /min for up to 1:22, first at 5:00. No crossing of the ceiling is certain: readings of up"
    )
    assert first in told
    aside = "Faster or slower than a student's heart"
    assert "09:05:00 to 09:06:00 5:00 to 6:00 60 s 240 /min" in told
    assert "09:07:00 to 09:07:12 7:00 to 7:12 12 s 160 /min" in told
    assert aside.split()[0] in told
    gaps = "5:00 to 6:00, 7:00 to 7:12 and 8:20 to 8:30."
    assert f"There is no heart rate for 82 s of the time looked at: {gaps}" in told
    assert "Time above the ceiling 0 s 0 to 82 s" in told
    found = json.loads(school("safety", "TH-11", "--json"))
    assert [each["from_s"] for each in found["possible_crossings"]] == [300, 420]
    assert found["possible_crossings"][0]["highest_bpm"] == 240
    assert found["possible_crossings"][0]["from_clock"] == "09:05:00"
    assert found["possible_crossings"][1]["reasons"] == ["too_fast"]
    assert found["recording_unmeasured"] == [[300, 360], [420, 432], [500, 510]]
    assert found["sentences"][0]["code"] == "ceiling.perhaps"
    assert found["sentences"][0]["values"] == {"bpm": 105, "high": 82, "first": 300, "highest": 240}
    assert found["lines"] == [each["text"] for each in found["sentences"]]


def test_change_shows_the_bounds_of_the_time_above_the_ceiling(school, tmp_path):
    for day, lost in (("2026-05-12", 0), ("2026-10-06", 30)):
        table = strap(tmp_path / f"{day}.csv", 100, start=f"{day} 09:00:00")
        lines = table.read_text().splitlines()
        del lines[301 : 301 + lost]
        table.write_text("\n".join(lines) + "\n")
        school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", table, "--date", day)
    words = Words("en")
    rows = " ".join(school("change", "TH-11").split())
    assert "Time above the ceiling 0 s 0 s (0 to 30 s)" in rows
    figures = [each["figures"] for each in json.loads(school("change", "TH-11", "--json"))["retests"]]
    told = 0
    for name, figure in figures[0].items():
        if figure["value"] is None or name == "coverage_motion":
            continue
        shown = {each: figure[each] for each in ("value", "unit", "low", "high")}
        one = Figure(name=name, source="", **shown)
        between = bounds_text(name, one, words)
        cell = value_text(name, one, words) + (f" ({between})" if between else "")
        assert " ".join(cell.split()) in rows, name
        told += bool(between)
    assert told > 5


def test_a_class_goes_in_row_by_row_and_again_without_doubling(school, tmp_path):
    school("student", "add", "TH-12", "--rest", 82)
    school("student", "add", "TH-13")
    day = tmp_path / "tuesday"
    day.mkdir()
    shutil.copy(SLALOM, day / "strap-1.fit")
    strap(day / "strap-2.csv", 110)
    (day / "strap-3.fit").write_bytes(b"\x0e\x10garbage")
    table = day / "tuesday.csv"
    table.write_text(
        "code,protocol,files,work,notes,exertion,scale,date\n"
        "TH-11,slalom-gym,strap-1.fit,06:00-14:00,new tires,12,6-20,2026-05-12\n"
        'TH-12,slalom-gym,strap-2.csv,01:00-09:00,"slept badly, quiet",,,2026-05-12\n'
        "TH-13,slalom-gym,strap-3.fit,01:00-09:00,,,,2026-05-12\n"
        "TH-99,slalom-gym,strap-2.csv,01:00-09:00,,,,2026-05-12\n"
    )
    told = school("class", "add", table, code=1)
    assert "row 2, TH-11: added. trial 1, work 8:00, heart rate measured 100.0 %" in told
    assert "row 4, TH-13: refused." in told
    assert "Did you mean" in told
    assert "2 added, 0 there already, 2 refused." in told
    aside = day / "tuesday-aside"
    assert (aside / "strap-3.fit").read_bytes() == b"\x0e\x10garbage"
    assert "TH-13" in (aside / "reasons.csv").read_text()
    assert (day / "strap-3.fit").exists()
    strap(day / "strap-3.csv", 118)
    table.write_text(
        table.read_text()
        .replace("strap-3.fit", "strap-3.csv")
        .replace("TH-99,slalom-gym,strap-2.csv,01:00-09:00,,,,2026-05-12\n", "")
    )
    told = school("class", "add", table)
    assert "1 added, 2 there already, 0 refused." in told
    assert len(school("trial", "list").strip().splitlines()) == 3
    kept = json.loads(school("trial", "show", 2, "--json"))
    assert kept["notes"] == "slept badly, quiet"


def test_straps_that_are_handed_round_find_their_student_by_the_list_of_the_day(school, tmp_path):
    school("student", "add", "TH-12", "--rest", 82)
    strap(tmp_path / "2026-05-12 S7.csv", 108, seconds=1800)
    strap(tmp_path / "S8.csv", 95)
    straps = tmp_path / "straps.csv"
    straps.write_text("strap,code,from,until\nS7,TH-11,09:02:00,09:10:00\nS7,TH-12,09:15:00,09:25:00\n")
    table = tmp_path / "day.csv"
    table.write_text(
        "code;protocol;notes;work;date;confirm\n"
        "TH-11;slalom-gym;;@09:02-@09:10;2026-05-12;\n"
        "TH-12;slalom-gym;late;@09:15-@09:25;2026-05-12;yes\n"
    )
    told = school("class", "add", table, "--straps", straps)
    assert "2 added" in told
    first, second = (json.loads(school("trial", "show", number, "--json")) for number in (1, 2))
    assert first["sheet"]["provenance"]["phases"]["work"] == [120, 600]
    assert second["sheet"]["provenance"]["phases"]["work"] == [900, 1500]
    assert "also worn by TH-11" in second["notes"]
    assert first["files"][0]["of"] == second["files"][0]["of"]
    assert first["files"][0]["part_s"] == [120.0, 600.0]  # as long as the list gives the strap to each, to the second
    assert second["files"][0]["part_s"] == [900.0, 1500.0]


def test_a_class_table_without_its_columns_is_a_sentence(school, tmp_path):
    table = tmp_path / "day.csv"
    table.write_text("name,files\nx,y\n")
    assert "no column code" in school("class", "add", table, code=1)
    assert "no such file" in school("class", "add", tmp_path / "none.csv", code=1).lower()
    table.write_text("code,code,protocol\nTH-11,TH-12,slalom-gym\n")
    assert "two columns code" in school("class", "add", table, code=1)
    table.write_text("code,protocol\n")
    assert "no row" in school("class", "add", table, code=1)
    table.write_text("code,protocol,notes\nTH-11,slalom-gym," + "x" * 200_000 + "\n")
    assert "too long" in school("class", "add", table, code=1)


def test_a_row_whose_file_states_another_day_is_told_and_a_file_of_two_students_needs_their_times(school, tmp_path):
    school("student", "add", "TH-12")
    strap(tmp_path / "S1.csv", 100)
    table = tmp_path / "day.csv"
    table.write_text("code,protocol,files,date\nTH-11,slalom-gym,S1.csv,2026-05-11\nTH-12,slalom-gym,S1.csv,\n")
    told = " ".join(school("class", "add", table, code=1).split())
    assert "The file says May 12, 2026, but May 11, 2026 is written down. Confirm yes to keep May 11, 2026" in told
    assert "0 added, 0 there already, 2 to confirm, 0 refused." in told
    table.write_text(
        "code,protocol,files,date,confirm\n"
        "TH-11,slalom-gym,S1.csv,2026-05-11,2026-05-12;yes\n"
        "TH-12,slalom-gym,S1.csv,,yes\n"
    )
    told = " ".join(school("class", "add", table, code=1).split())
    assert json.loads(school("trial", "show", 1, "--json"))["on"] == "2026-05-12"
    assert "TH-12: refused. another trial is in the same recording, and trial 1 of TH-11 takes all of it" in told


def test_no_address_of_a_logbook_ever_shows_its_password(run):
    told = run("student", "list", "--logbook", " postgresql://u:PW@127.0.0.1:1/d", code=2)
    assert "PW" not in told
    for place in (
        "postgresql:/u:PW@h/d",
        "postgresql//u:PW@h/d",
        "postgres:u:PW@h",
    ):
        assert "PW" not in run("student", "list", "--logbook", place, code=1)
    assert "no server answers there" in run("student", "list", "--logbook", "postgresql://u@127.0.0.1:1/d", code=1)
    assert "no place is given" in run("student", "list", "--logbook", "", code=1)
    assert "device" in run("student", "list", "--logbook", "/dev/null", code=1)


def test_what_no_student_can_be_is_refused(run):
    assert "in the future" in run("student", "add", "Q1", "--born", "2050-01", code=2)
    assert "not below the maximum" in run("student", "add", "Q1", "--rest", 100, "--max", 90, code=1)
    told = run("student", "add", "Q1", "--note", "call anna@example.org", code=1)
    assert "e-mail address" in told
    assert "anna" not in told


def test_safety_of_a_trial_by_hand_says_that_nothing_was_measured_and_keeps_its_cautions(run):
    run("student", "add", "TH-17", "--condition", "epilepsy")
    run("protocol", "copy", "seated-forward-reach", "reach")
    run("trial", "add", "TH-17", "reach", "--result", "forward reach left=20", "--date", "2026-05-12")
    told = run("safety", "TH-17")
    assert "This trial has no recording." in told
    assert "cannot say that exercise is safe" in told


def test_backup_restore_disclose_and_forget(school, tmp_path):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, FRAME)
    backup = tmp_path / "all.zip"
    assert "every hash was verified" in school("backup", backup)
    assert "is whole" in school("restore", backup, "--only-verify")
    other = tmp_path / "other.db"
    assert "1 student," in school("restore", backup, "--logbook", other)
    assert json.loads(school("trial", "show", 1, "--json")) == json.loads(
        school("trial", "show", 1, "--json", "--logbook", other)
    )
    folder = tmp_path / "record"
    assert "about TH-11" in school("disclose", "TH-11", "--out", folder)
    assert any(path.read_bytes() == SLALOM.read_bytes() for path in folder.rglob("*") if path.is_file())
    assert "add --yes" in school("forget", "TH-11", code=2)
    told = school("forget", "TH-11", "--yes")
    assert "TH-11 is forgotten" in told
    assert "No student is in the logbook" in school("student", "list")
    assert b"TH-11" not in (tmp_path / "logbook.db").read_bytes()
    broken = bytearray(backup.read_bytes())
    broken[len(broken) // 2] ^= 1
    (tmp_path / "broken.zip").write_bytes(broken)
    school("restore", tmp_path / "broken.zip", "--logbook", tmp_path / "third.db", code=1)
    assert not (tmp_path / "third.db").exists()


def test_recompute_lists_what_changed_and_can_only_show(school, tmp_path):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM)
    assert "0 changed" in school("recompute")
    with open_logbook(tmp_path / "logbook.db") as logbook:  # a sheet of another rest, as an older ownmark left it
        made.bare_edit(logbook, "TH-11", rests=({"bpm": 70},))
    told = school("recompute", "--only-show")
    assert "  rise of heart rate over rest: " in told
    assert "1 would change" in told
    assert "1 changed" in school("recompute", "TH-11")
    assert "0 changed" in school("recompute")


def test_a_trial_is_mended_moved_removed_and_brought_back_and_its_history_tells(school):
    school("student", "add", "BF-07")
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--work", "06:00-18:00")
    told = school("trial", "edit", 1, "--work", "06:00-16:00", "--note", "windy", "--why", "misread", code=1)
    assert told.startswith("trial 1: The work phase is 10:00 min (600 s) long, and the protocol says 8:00 min (480 s).")
    edit = ("--work", "06:00-16:00", "--note", "windy", "--why", "misread", "--confirm", "yes")
    told = school("trial", "edit", 1, *edit)
    assert told.startswith("Trial 1 of TH-11 is mended: work, notes. Worked out again: mean heart rate ")
    assert "nothing was changed" in school("trial", "edit", 1, "--work", "06:00-16:00")
    assert "nothing to change was given" in school("trial", "edit", 1, code=2)
    told = school("trial", "edit", 1, "--take-out", "strap.csv", code=1)
    assert "it has no file “strap.csv”. It has TH-11-power-chair-slalom.fit." in told
    assert school("trial", "move", 1, "bf-07", "--why", "straps changed").startswith("Trial 1 is BF-07's now.")
    assert "TH-11 lost a trial" in school("student", "show", "TH-11", "--history")
    assert "required: --why" in school("trial", "remove", 1, code=2)
    assert "it counts nowhere" in school("trial", "remove", 1, "--why", "no trial")
    assert "No trial is in the logbook yet" in school("trial", "list")
    assert "`ownmark trial restore 1` brings it back" in school("trial", "show", 1, code=1)
    told = school("trial", "show", 1, "--history")
    assert [word in told for word in ("edited (misread)", "06:00-18:00", "moved here", "removed (no trial)")] == [
        True
    ] * 4
    page = json.loads(school("trial", "show", 1, "--history", "--json"))
    assert [each["what"] for each in page] == ["edited", "moved here", "removed"]
    assert school("trial", "restore", 1) == "Trial 1 of BF-07 (May 12, 2026) is back.\n"
    assert "there is no trial 9" in school("trial", "show", 9, "--history", code=1)


def test_what_is_known_of_a_student_is_withdrawn_and_counts_at_once(school):
    school("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--work", "06:00-18:00")
    set_by = ("--set-by", "therapist")
    told = school("student", "edit", "TH-11", "--ceiling", 90, *set_by, "--from", "2026-05-01", "--why", "new plan")
    assert "1 trial worked out again; changed: trial 1 (time above the ceiling " in told
    assert "_" not in told.splitlines()[-1]
    assert "Above 90 /min for" in school("safety", "TH-11")
    assert "--from YYYY-MM-DD" in school("student", "edit", "TH-11", "--ceiling", 95, *set_by, code=1)
    school("student", "edit", "TH-11", "--ceiling", "none", "--from", "2026-05-01")
    assert "Above 105 /min for" in school("safety", "TH-11")
    school("student", "edit", "TH-11", "--ceiling", "none", "--rest", "none", "--born", "none")
    assert "No ceiling is written down" in school("safety", "TH-11")
    assert school("student", "show", "TH-11").startswith("TH-11\n\nTrials")
    assert "edited (new plan)" in school("student", "show", "TH-11", "--history")
    assert "is not a number" in school("student", "add", "BF-07", "--rest", "none", code=2)


def test_a_logbook_that_is_not_there_is_a_sentence(run):
    told = run("student", "list", code=1)
    assert "logbook" in told


def test_bytes_that_are_no_text_are_a_sentence_and_a_file_with_such_a_name_is_kept(school, tmp_path):
    bad = "\udcff"
    for words in (
        ("student", "edit", "TH-11", "--note", f"a{bad}"),
        ("protocol", "edit", "slalom-gym", "--set", f"title={bad}"),
        ("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--note", bad),
        ("trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--set", f"zone={bad}"),
        ("change", "TH-11", "--protocol", bad),
        ("protocol", "show", bad),
        ("trial", "list", "--protocol", bad),
        ("student", "show", bad),
        ("forget", bad, "--yes"),
    ):
        told = school(*words, code=1)
        assert "was changed by something else" not in told, words
    assert "is not a whole number" in school("trial", "show", "9" * 30, code=2)
    assert "is not a whole number" in school("protocol", "show", "slalom-gym", "--version", "9" * 30, code=2)
    file = tmp_path / f"Ma{bad}ria.fit"
    shutil.copy(SLALOM, file)
    assert "Trial 1 of TH-11" in school(
        "trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", file, "--offset", f"{file}=3"
    )
    assert "Ma\ufffdria.fit (" in school("trial", "show", 1)
    assert "name too long" in school("backup", tmp_path / ("b" * 300), code=1)
    assert "cannot be opened" in school(
        "trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", tmp_path / ("b" * 300), code=1
    )


def test_the_school_says_its_zone_once_and_rows_of_files_in_utc_go_in_by_the_wall_clock(school, tmp_path):
    assert "No time zone is set" in school("logbook", "show")
    assert "is not a time zone" in school("logbook", "set", "--zone", "Denver", code=2)
    rows = "".join(f"2026-05-12T15:{s // 60:02d}:{s % 60:02d}Z,{100 + s % 5}\n" for s in range(1200))
    (tmp_path / "S1.csv").write_text(f"Time,Heart Rate (bpm)\n{rows}")
    table = tmp_path / "day.csv"
    table.write_text("code,protocol,file,date,work\nTH-11,slalom-gym,S1.csv,5/12/2026,9:05-9:13 AM\n")
    told = " ".join(school("class", "add", table, code=1).split())
    assert "to confirm. The recording gives its times in UTC (it begins at 15:00 UTC on May 12, 2026)" in told
    school("logbook", "set", "--zone", "America/Denver")
    assert "America/Denver" in school("logbook", "show")
    assert "1 added" in school("class", "add", table)
    kept = json.loads(school("trial", "show", 1, "--json"))
    assert (kept["on"], kept["zone"]) == ("2026-05-12", "America/Denver")
    assert kept["sheet"]["provenance"]["phases"]["work"] == [300, 780]  # 15:00 UTC is 9:00 there in May
    assert "No time zone" in school("logbook", "set", "--zone", "none")
    other = table.with_name("other.csv")
    other.write_text(table.read_text())
    assert "1 there already" in school("class", "add", other, "--zone", "America/Denver")
