"""Sentences for education plans: level, how measured, against the own baseline; never a norm."""

import csv
import json
import re
from datetime import date

import pyarrow.parquet as pq
import pytest
from ownmark.errors import NothingToCompare
from ownmark.records import HandMeasure, HandResult, open_logbook
from ownmark.records.change.comparison import compare
from ownmark.records.change.observation import seen
from ownmark.records.judging import judge_all
from ownmark.reports.exports import export
from ownmark.reports.exports.plan_sentence import plan_sentence, plan_texts
from ownmark.reports.exports.plan_words import plain_amount, plain_label, plain_number, plain_time
from ownmark.reports.exports.plans import last_trials, plans, write_plans
from ownmark.reports.sheets.effort_sheet import effort_sheet
from ownmark.reports.words import Words
from ownmark.words.vocabulary import FIGURES

from tests.records.store import made

from ..pages_made import page_text
from ..sheets_made import FRAME, changed, with_sheet

REACH = HandMeasure(
    name="reach", unit="cm", kind="range by ruler", sides=True, attempts=2, how="From the fingertips.", resolution=0.5
)
JUDGEMENT = re.compile(
    r"\b(normal|average|percentile|norms?|rank\w*|fit|unfit|poor|good|weak|strong|below|safe|pass|fail)\b",
    re.IGNORECASE,
)
"""Words of a judgement against others, which no sentence may hold (trade rule on wording)."""


def protocol(**more):
    fields = {"device": "own manual chair", "assistance": "gesture", "better": "lower"}
    return made.protocol(**{**fields, **more})


def trial(day, shift=0.0, **more):
    """A trial whose mean heart rate is moved by ``shift``."""
    sheet = made.sheet(0)
    mean = dict.fromkeys(("value", "low", "high"), 120.0 + shift)
    return made.trial(on=day, sheet=changed(sheet, {"heart_rate_mean": mean}), **more)


def compared(trials, planned):
    before = [seen(each, planned) for each in trials[:-1]]
    return compare(before, [seen(trials[-1], planned)], None)


BEYOND = "That is more than it changes from one day to the next."
METHOD = {
    "by_hand",
    "one_day",
    "effort_by",
    "effort_predicted",
    "same_basis",
    "detectable",
    "repeats_own",
    "own_rhythm",
    "of_days",
}
METHOD |= {"repeats", "repeats_with_own", "bounds", "change_between", "pulse_share", "motion_share", "method"}
"""Texts of the footnote."""
DAYS = (date(2026, 5, 5), date(2026, 5, 12), date(2026, 10, 6))


STATISTICS = re.compile(
    r"\b(mean|average|median|variation|deviation|interval|error|detectable|baselines?|statistic\w*|significan\w*|"
    r"media|variación|desviación|error|inicial|estadístic\w*)\b",
    re.IGNORECASE,
)
"""Words of statistics, which stand in the footnote alone."""
OTHERS = re.compile(r"\b(other|others|classmates|borrowed|otros estudiantes|compañer\w+|prestad\w+)\b", re.IGNORECASE)


def test_two_lines_tell_level_and_change_with_one_set_of_numbers_and_a_footnote_the_method():
    trials = [trial(day, shift) for day, shift in zip(DAYS, (0, 1, -40), strict=True)]
    planned = protocol()
    first, second, method = plan_sentence(trials[-1], planned, compared(trials, planned)).split("\n")
    assert first == (
        "On October 6, 2026, TH-11 did “Slalom” (the student's own manual chair; assistance: gesture): "
        "heart rate at work 80 beats a minute; 2 min 20 s at moderate effort or more."
    )
    assert second.startswith(
        "Since the student's own first trials (May 5, 2026 and May 12, 2026): "
        "heart rate at work from 120.5 to 80 beats a minute. "
    )
    assert method.startswith(
        "Method: Heart rate was measured for 100.0 % of the work phase. Effort is by the student's"
    )
    assert "by the student's own repeats" in method
    assert not JUDGEMENT.search(f"{first} {second} {method}")
    assert not STATISTICS.search(f"{first} {second}")


@pytest.mark.parametrize(
    ("shifts", "better", "told"),
    [
        ((0, 0.5, 0, 0.5, -40), "lower", f"{BEYOND} By the protocol, it is for the better."),
        ((0, 0.5, 0, 0.5, -40), "higher", "By the protocol, it is not for the better."),
        ((0, 0.5, 0, 0.5, -40), "no direction", BEYOND),
        ((0, 8, 0, 8, 2), "lower", "It may change that much from one day to the next anyway, so no change is shown."),
        ((0, 2), "lower", "Whether that is more than it changes from one day to the next cannot be told yet."),
        ((0, 2, 0, 2, 1), "lower", "heart rate at work 121 beats a minute both times. No change is shown."),
    ],
)  # fmt: skip
def test_the_second_line_ends_with_what_the_change_is_worth(shifts, better, told):
    days = [date(2026, 5, 1 + 4 * n) for n in range(len(shifts) - 1)]
    trials = [trial(day, shift) for day, shift in zip((*days, DAYS[-1]), shifts, strict=True)]
    planned = protocol(better=better)
    found = compared(trials, planned)
    second = plan_sentence(trials[-1], planned, found).split("\n")[1]
    assert second.endswith(told), (second, found.verdict)


def test_no_text_of_the_lines_has_a_word_of_statistics_or_of_another_student_whatever_the_figure():
    for language in ("en", "es"):
        words, texts = Words(language), plan_texts(language)
        lines = [text for key, text in texts.items() if key not in METHOD]
        for text in [*lines, *(plain_label(name, words) for name in FIGURES)]:
            assert not STATISTICS.search(text), text
        for text in texts.values():
            assert not OTHERS.search(text), text


@pytest.mark.parametrize(
    ("shifts", "shift", "told"),
    [
        ((0, 0.5, 0, 0.5, -40), "same way", True),
        ((0, 0.5, 0, 0.5, -40), "other way", False),
        ((0, 0.5, 0, 0.5, -40), "none", False),
        ((0, 0.5, 0, 0.5, -40), "unknown", False),
        ((0, 8, 0, 8, 2), "same way", False),  # no change is shown
    ],
)
def test_what_the_days_of_the_tests_may_have_brought_is_told_and_no_other_student(shifts, shift, told):
    days = [date(2026, 5, 1 + 4 * n) for n in range(len(shifts) - 1)]
    trials = [trial(day, each) for day, each in zip((*days, DAYS[-1]), shifts, strict=True)]
    found = compared(trials, protocol()).model_copy(update={"shared_shift": shift, "others_same_days": 4})
    text = plan_sentence(trials[-1], protocol(), found)
    assert ("Part of this change may come from the days of the tests" in text.split("\n")[2]) is told
    assert not OTHERS.search(text)


def test_a_first_trial_without_the_figure_is_not_named_as_one_that_the_change_rests_on():
    trials = [trial(day, shift) for day, shift in zip(DAYS, (0, 1, -40), strict=True)]
    nothing = {"value": None, "low": None, "high": None, "reason": {"code": "why.never_measured", "values": {}}}
    trials[0] = trials[0].model_copy(update={"sheet": changed(trials[0].sheet, {"heart_rate_mean": nothing})})
    found = compared(trials, protocol())
    assert [each.on for each in found.baselines] == [day.isoformat() for day in DAYS[:2]]
    assert [each.on for each in found.counted(found.baselines)] == [DAYS[1].isoformat()]
    second = plan_sentence(trials[-1], protocol(), found).split("\n")[1]
    assert f"first trials ({Words('en').date(DAYS[1])}): heart rate at work from 121" in second


def test_borrowed_repeats_tell_of_no_other_student():
    trials = [trial(day, shift) for day, shift in zip(DAYS, (0, 1, -40), strict=True)]
    found = compared(trials, protocol()).model_copy(update={"error_source": "borrowed with own", "error_students": 7})
    told = plan_sentence(trials[-1], protocol(), found)
    assert "by repeats of the same protocol, the student's own among them" in told
    assert "7" not in told.replace("17", "")
    assert not OTHERS.search(told)


def test_what_was_not_measured_is_about_in_the_line_and_between_two_ends_in_the_footnote():
    one = with_sheet(trial(DAYS[0]), {"heart_rate_mean": {"value": 120.0, "low": 118.0, "high": 123.0}})
    first, _, method = plan_sentence(one, protocol()).split("\n")
    assert "heart rate at work about 120 beats a minute" in first
    assert "Allowing for what was not measured, heart rate at work: 118 to 123 beats a minute." in method


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(0, "0 s"), (90, "90 s"), (90.4, "90 s"), (91, "1 min 31 s"), (119.6, "2 min"), (252, "4 min 12 s")],
)
def test_times_are_minutes_and_seconds(seconds, told):
    assert plain_time(seconds, Words("en")) == told


def test_of_health_a_plan_says_only_that_something_differed_unless_it_was_asked_for():
    planned = protocol()
    trials = [
        trial(DAYS[0], medicines="propranolol"),
        trial(DAYS[2], -30, medicines="none", health="a seizure at noon"),
    ]
    found = compared(trials, planned)
    assert {"medicines", "health"} <= {each.field for each in found.differences}
    told = plan_sentence(trials[-1], planned, found)
    assert "propranolol" not in told
    assert "seizure" not in told
    assert "something written down about health or medicine" in told
    assert "propranolol" in plan_sentence(trials[-1], planned, found, with_health=True)


def test_time_at_moderate_effort_adds_up_the_classes_and_counts_what_was_not_measured_once():
    zones = {"time_moderate": (100, 100, 130), "time_vigorous": (50, 50, 80), "time_near_maximal": (0, 0, 30)}
    figures = {name: dict(zip(("value", "low", "high"), each, strict=True)) for name, each in zones.items()}
    found = plan_sentence(with_sheet(trial(DAYS[0]), figures), protocol())
    # 30 s were not measured: they were at moderate effort or more for all of the 30 s, or for none.
    assert "about 2 min 30 s at moderate effort or more" in found


def test_effort_by_a_predicted_maximum_says_so():
    page = made.sheet(0)
    basis = page.provenance.basis.model_dump(mode="json", exclude_computed_fields=True)
    for see, told in ((None, "heart-rate reserve.\n"), (7.0, "the maximum predicted from age and not measured.\n")):
        one = with_sheet(trial(DAYS[0]), basis={**basis, "maximum_see_bpm": see})
        found = plan_sentence(one, protocol()) + "\n"
        assert told in found


def test_one_trial_only_is_the_present_level_and_nothing_is_compared():
    found = plan_sentence(trial(DAYS[0]), protocol())
    assert "no second trial" in found
    assert "day-to-day" not in found


def test_a_pair_that_cannot_be_compared_says_what_differed_and_scores_nothing():
    planned = protocol()
    trials = [trial(DAYS[0], device_used="chair 1"), trial(DAYS[2], -30, device_used="chair 2")]
    found = plan_sentence(trials[-1], planned, compared(trials, planned))
    assert "chair 1" in found
    assert "chair 2" in found
    assert "No change is scored" in found
    assert "fell" not in found


def test_a_difference_that_should_not_be_is_said_beside_the_verdict():
    planned = protocol()
    trials = [trial(day, temperature_c=t) for day, t in zip(DAYS, (20.0, 20.0, 29.0), strict=True)]
    found = plan_sentence(trials[-1], planned, compared(trials, planned))
    assert "Also different this time: room temperature" in found


def test_a_figure_that_is_missing_is_named_with_its_reason_and_no_number_is_made_up():
    planned = protocol(primary_figure="moving_time", better="higher")
    found = plan_sentence(trial(DAYS[0]), planned)
    assert "The figure that the protocol is judged by, moving time, is missing: " in found
    assert "no movement sensor" in found
    assert "moving time 0" not in found


def test_hand_results_stand_by_side_with_the_mean_of_the_attempts():
    planned = protocol(
        component="flexibility", hand_measures=(REACH,), primary_figure="reach", better="higher", cautions=()
    )
    values = (("left", 1, 20.0), ("left", 2, 21.0), ("right", 1, -1.5))
    results = tuple(HandResult(name="reach", value=v, side=side, attempt=turn) for side, turn, v in values)
    found = plan_sentence(made.trial(hand_results=results), planned)
    assert "reach left 20.5 cm (2 attempts), right −1.5 cm" in found
    assert "Measured by hand: From the fingertips." in found


def test_a_trial_without_any_result_says_so():
    found = plan_sentence(made.trial(), protocol())
    assert "that trial gives no figure to describe a present level." in found
    assert "\nThere is no second trial of this protocol yet to compare with." in found
    assert "this is the present level" not in found


def test_figures_of_a_sensor_on_the_chair_are_never_called_the_students_effort():
    longest = {"value": 300.0, "low": 300.0, "high": 300.0}
    one = with_sheet(trial(DAYS[0]), {"longest_moving": longest}, movement=FRAME)
    found = plan_sentence(one, protocol(primary_figure="longest_moving", better="no direction"))
    assert "not the student's effort" in found
    found = plan_sentence(one, protocol())
    assert "moving without a break" not in found


def test_both_languages_have_the_same_texts_and_numbers_are_written_in_the_language():
    english, spanish = plan_texts("en"), plan_texts("es")
    assert english.keys() == spanish.keys()
    holes = re.compile(r"\{[a-z_]+\}")
    for key, text in english.items():
        assert sorted(holes.findall(text)) == sorted(holes.findall(spanish[key])), key
        assert not JUDGEMENT.search(text), key
    trials = [trial(day, shift) for day, shift in zip(DAYS, (0, 1, -40), strict=True)]
    found = plan_sentence(trials[-1], protocol(), compared(trials, protocol()), language="es")
    assert found.startswith("El 6 de octubre de 2026, TH-11 hizo «Slalom»")
    assert "100,0 %" in found
    assert "{" not in found


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_file_has_a_paragraph_for_each_student_and_protocol(tmp_path, language):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_protocol(protocol())
        for code in ("BF-07", "TH-11", "CK-03"):
            logbook.add_student(made.student(code))
        for number, day in enumerate(DAYS):
            for code in ("TH-11", "BF-07"):
                logbook.add_trial(trial(day, number, code=code))
        logbook.add_trial(trial(date(2026, 10, 13), 5, code="BF-07", practice=True))
        logbook.add_trial(trial(DAYS[0], code="CK-03"))
        assert {code: count for code, (_, count) in last_trials(logbook, "slalom-gym").items()} == {
            "TH-11": 3,
            "BF-07": 3,
            "CK-03": 1,
        }
        told = []
        count = write_plans(
            logbook, tmp_path / "plan.txt", language=language, progress=lambda done, of: told.append((done, of))
        )
        whole = (tmp_path / "plan.txt").read_text(encoding="utf-8")
        assert (count, told[-1]) == (3, (3, 3))
        paragraphs = whole.strip().split("\n\n")
        assert [each.split(" ")[0] for each in paragraphs] == ["BF-07", "CK-03", "TH-11"]
        assert [heading for heading, _ in plans(logbook, "slalom-gym", language)] == [
            each.split("\n")[0] for each in paragraphs
        ]
        first = dict(plans(logbook, "slalom-gym", language, until=DAYS[0]))
        assert {heading.split(" ")[0] for heading in first} == {"BF-07", "CK-03", "TH-11"}
        later = list(plans(logbook, "slalom-gym", language, since=DAYS[1]))
        assert [heading.split(" ")[0] for heading, _ in later] == ["BF-07", "TH-11"]
        assert last_trials(logbook, "slalom-gym", DAYS[0], DAYS[0])["TH-11"] == (1, 1)
        assert [each for each, _ in judge_all(logbook, "slalom-gym", since=DAYS[0], until=DAYS[-1])] == [
            *("BF-07", "CK-03", "TH-11")
        ]
        told_one = dict(judge_all(logbook, "slalom-gym", since=DAYS[-1]))
        assert {type(each) for each in told_one.values()} == {NothingToCompare}
        assert set(told_one) == {"BF-07", "TH-11"}
    assert "13 October" not in whole
    assert "13 de octubre" not in whole


def test_a_figure_at_its_limit_says_so_on_the_sheet_in_the_plan_and_in_every_export(tmp_path):
    whole = {"value": 480.0, "low": 480.0, "high": 480.0}
    planned = protocol(primary_figure="moving_time", better="higher")
    work = made.sheet(0).provenance.phases.work
    whole |= dict.fromkeys(whole, work[1] - work[0])
    one = with_sheet(trial(DAYS[0]), {"moving_time": whole})
    assert "That is the most that this test can show." in plan_sentence(one, planned)
    page = effort_sheet(one, made.student(), planned, Words("en"))
    assert "the most that this test can show" in page_text(page)
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_student(made.student())
        logbook.add_protocol(planned)
        logbook.add_trial(one)
        logbook.add_trial(trial(DAYS[1]))
        export(logbook, "all", tmp_path / "all")
    with (tmp_path / "all.csv").open(newline="", encoding="utf-8") as file:
        assert [row["at_limit"] for row in csv.DictReader(file)] == ["moving_time", ""]
    found = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))["trials"]
    assert [each["at_limit"] for each in found] == ["moving_time", None]
    assert pq.read_table(tmp_path / "all.parquet")["at_limit"].to_pylist() == ["moving_time", None]
    lines = (tmp_path / "all.ndjson").read_text(encoding="utf-8").splitlines()
    assert ["the most that this test can show" in line for line in lines if '"t1-moving-time"' in line[:200]] == [True]
    assert sum("the most that this test can show" in line for line in lines) == 1


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        # As on the change sheet: whole seconds would make 19.9 and 19.7 the same, and 73.5 (of 73.45) a 74.
        (19.9, 1, "19.9 s"),
        (19.7, 1, "19.7 s"),
        (73.5, 1, "73.5 s"),
        (3.25, 2, "3.25 s"),
        (90.0, 1, "90 s"),
        (90.4, 1, "90 s"),
        (90.5, 1, "1 min 31 s"),
        (98.4, 1, "1 min 38 s"),
        (-2.5, 1, "−2.5 s"),
        (73.45, None, "73 s"),
    ],
)
def test_a_short_time_keeps_the_decimals_of_the_change_sheet(value, places, text):
    assert plain_number("plank_hold", value, "s", Words("en"), places=places) == text
    assert plain_amount("plank_hold", value, "s", Words("en"), places=places) == text
    assert plain_number("plank_hold", value, "s", Words("es"), places=places) == text.replace(".", ",")
