"""What stands on each kind of page, and pages of students with little, nothing, or odd things written down."""

import re
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest
from ownmark.cli.option_commands import told_in_of
from ownmark.ingest.flags import REJECTING, Flag
from ownmark.metrics.ceiling import BEYOND_RULES
from ownmark.metrics.conditions import GENERAL_CAUTIONS
from ownmark.metrics.figure import Figure
from ownmark.metrics.messages import heart_rate as say_heart
from ownmark.metrics.messages import movement as say_movement
from ownmark.metrics.messages.trial import PHASES_GIVEN
from ownmark.records import messages as say_ceiling
from ownmark.records.change.sentence import say
from ownmark.records.change.shown_numbers import shown_change
from ownmark.records.change.verdict import INCREASE, WITHIN
from ownmark.records.checklist import checklist
from ownmark.records.safety import safety_of
from ownmark.records.student import Ceiling, Student
from ownmark.records.trial import Trial
from ownmark.reports.page import Blank, Checklist, Heading, Note, Paragraph, Picture, Table
from ownmark.reports.sheets.change_sheet import change_sheet
from ownmark.reports.sheets.class_page import PRESSING, ClassLine, DayTrial, class_page, class_row
from ownmark.reports.sheets.district_table import LEAST_GROUP, DistrictRow, counted, district_table
from ownmark.reports.sheets.effort_sheet import effort_sheet
from ownmark.reports.sheets.figure_text import amount, bounds_text, capital, label, note_text, value_text
from ownmark.reports.sheets.safety_sheet import safety_sheet
from ownmark.reports.sheets.set_up_card import set_up_card
from ownmark.reports.sheets.set_up_table import BAND, facts, written
from ownmark.reports.sheets.verdict_words import verdict_name, verdict_sentence, verdict_title
from ownmark.words.message import Message
from ownmark.words.vocabulary import GROUPS, MOTION_FIGURES

from tests.makers.sheets import altered, in_english

from .. import pages_made as made
from ..sheets_made import changed, with_sheet

CHAIR = "the chair moving: floor, speed and motor, not the student's effort"
"""As older sheets have it."""

EN, ES = made.EN, made.ES
PLACES = {"/min": "1", "1": "1", "s": "1", "%": "0.1", "mg": "0.1", "/m": "0.01"}


def tables(page, caption=None):
    return [one for one in page.blocks if isinstance(one, Table) and caption in (None, one.caption)]


def headings(page):
    return [one.text for one in page.blocks if isinstance(one, Heading)]


def exact(value, unit, name):
    """The number that must stand on paper: the JSON's decimal text, rounded half up by the decimal module."""
    step = Decimal("0.01") if name == "training_impulse" else Decimal(PLACES[unit])
    return Decimal(str(value)).quantize(step, rounding=ROUND_HALF_UP)


# ---------------------------------------------------------------- numbers


@pytest.mark.parametrize("which", made.TRIALS)
@pytest.mark.parametrize(("words", "family"), [(EN, False), (EN, True), (ES, True)])
def test_every_figure_on_the_sheet_is_the_jsons_number_rounded_as_stated(which, words, family):
    figures = made.trial(which).sheet.figures
    page, apart = made.effort(which, words, family=family), words.get("effort.shift")
    rows = {row[0]: row for one in tables(page) if one.caption != apart for row in one.rows}
    checked = 0
    for name in (name for _, names in GROUPS for name in names):
        figure = figures[name]
        shown = label(name, words)
        if figure.value is None:
            told = rows.get(shown[:1].upper() + shown[1:])  # the protocol's own figure says why it is not given
            assert told is None or told[1].startswith(words.get("effort.first_not_given", why=""))
            continue
        cell = rows[shown[:1].upper() + shown[1:]][1].replace("−", "-")
        cell = cell.replace(",", ".") if words is ES else cell
        wanted = exact(figure.value, figure.unit, name)
        last = re.findall(r"-?\d+(?:\.\d+)?", cell)[-1 if "(" in cell else 0]
        assert last == str(abs(wanted) if wanted == 0 else wanted), (name, cell)
        checked += 1
    assert checked >= 8


def test_minutes_and_seconds_of_one_time_are_the_same_time():
    for seconds in (90.4, 90.5, 119.5, 352.0, 3599.5, 7261.2):
        found = re.fullmatch(r"(?:(\d+):)?(\d+):(\d\d) min \((\d+) s\)", EN.duration(seconds))
        if found is None:
            assert (seconds, EN.duration(seconds)) == (90.4, "1:30 min (90 s)") or seconds <= 90
            continue
        hours, minutes, left, whole = (int(part or 0) for part in found.groups())
        assert 3600 * hours + 60 * minutes + left == whole == exact(seconds, "s", "")


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0 s"), (48.4, "48 s"), (90, "90 s"), (91, "1:31 min (91 s)"), (352, "5:52 min (352 s)")]
)
def test_times_over_ninety_seconds_are_told_in_minutes_with_the_seconds_beside(seconds, text):
    assert EN.duration(seconds) == text


def figure(value, unit, low=None, high=None, **more):
    return Figure(name="any", value=value, unit=unit, low=low, high=high, source="none", **more)


def noted(*notes):
    return figure(1.0, "s", notes=tuple(Message.english(each) if isinstance(each, str) else each for each in notes))


SHIFT = "12 s if the maximum is one standard error lower, 9 s if higher"
FEW = Message.of("district.few", least=10)


@pytest.mark.parametrize(
    ("name", "notes", "words", "text"),
    [
        ("time_light", (f"above 40; {SHIFT}; {CHAIR}",), EN, "above 40"),
        ("time_light", (f"{SHIFT}; {CHAIR}",), EN, ""),
        ("time_light", (SHIFT, "above 40", "below 50"), EN, "above 40; below 50"),
        ("reserve_mean", ("above 40",), EN, ""),
        ("time_light", (FEW,), EN, "fewer than 10"),
        ("time_light", (FEW,), ES, "menos de 10"),
        ("time_light", ("a sentence that no pattern fits",), ES, ""),
        ("time_light", (FEW, "a sentence that no pattern fits"), ES, ""),
        ("time_light", (), EN, ""),
    ],
)
def test_a_note_is_told_without_what_the_page_says_once_and_in_the_language_or_not_at_all(name, notes, words, text):
    assert note_text(name, noted(*notes), words) == text


def test_bounds_are_told_where_they_differ_on_paper_and_only_there():
    assert bounds_text("moving_time", figure(360.0, "s", 352.0, 392.0), EN) == "5:52 to 6:32 min (352 to 392 s)"
    assert bounds_text("heart_rate_mean", figure(12.2, "/min", 12.1, 12.4), EN) == ""
    assert bounds_text("heart_rate_mean", figure(12.2, "/min", None, 12.4), EN) == ""


def test_a_figure_of_nought_is_a_number_and_not_a_gap():
    assert value_text("time_vigorous", figure(0.0, "s"), EN) == "0 s"
    assert value_text("stop_count", figure(0, "1"), EN) == "0"
    assert value_text("stop_count", figure(None, "1"), EN) == "–"
    assert amount("recovery_60s", -0.2, "/min", EN) == "0 /min"


def test_a_family_reads_beats_a_minute_and_never_the_sign():
    for words, unit in ((EN, "beats a minute"), (ES, "latidos por minuto")):
        for page in (made.effort("loose", words, family=True), made.change("increase", words, family=True)):
            text = made.page_text(page)
            assert unit in text
            assert "/min" not in text


# ---------------------------------------------------------------- effort sheet


def test_a_sheet_tells_what_was_not_measured_and_how_far_that_moves_a_figure():
    page = made.effort("loose")
    lead = next(one.text for one in page.blocks if isinstance(one, Paragraph))
    gaps = made.trial("loose").sheet.provenance.unmeasured
    assert "92.3 %" in lead
    assert "11:59 to 12:19" in lead
    assert len(gaps) == 4
    assert "and one shorter stretch." in lead
    assert any("Could lie between" in one.header for one in tables(page))


def test_what_the_chair_did_is_never_headed_as_the_students_effort():
    assert "The chair moving: floor, speed and motor, not the student's effort" in headings(made.effort("chair"))
    assert "Movement at work" in headings(made.effort("crank"))


def test_a_reserve_that_cannot_be_given_is_told_with_its_reason_once():
    text = made.page_text(made.effort("spinal"))
    assert "Share of the reserve and time in the classes of effort: spinal cord injury at T6 or above." in text
    assert text.count("age predicts. A maximum measured") == 1


def test_files_and_hashes_stand_at_the_foot():
    page = made.effort("crank")
    hashes = [one.sha256 for one in made.trial("crank").sheet.provenance.files]
    assert all(each in page.footer[0] for each in hashes)


def test_a_predicted_maximum_shows_how_the_classes_move():
    shift = tables(made.effort("run"), "If the student's maximum is lower or higher than predicted")[0]
    lower = made.trial("run").sheet.provenance.zones_if_maximum_is_one_see_lower
    assert f"{exact(lower.maximum_bpm, '%', '')} /min" in shift.header[1]
    assert tables(made.effort("crank"), shift.caption) == []


def test_a_trial_entered_by_hand_shows_its_results_and_says_that_there_is_no_recording():
    page = effort_sheet(made.reach(made.DAY, 21.5, 0), Student(code="TH-14"), made.protocol("seated-forward-reach"), EN)
    assert tables(page, "Entered by hand")[0].rows == (
        ("Forward reach, left", "21.5 cm"),
        ("Forward reach, right", "0 cm"),
    )
    assert "no recording" in made.page_text(page)


def test_a_trial_with_nothing_says_so():
    empty = Trial(id=1, code="TH-14", protocol="seated-forward-reach", protocol_version=1, on=made.DAY)
    page = effort_sheet(empty, Student(code="TH-14"), made.protocol("seated-forward-reach"), EN)
    assert "there is no figure to show" in made.page_text(page)
    assert "Cautions" in headings(page)


def test_a_sheet_of_refused_figures_alone_gives_each_reason_and_no_number():
    sheet = made.trial("crank").sheet
    why = "Not given: there is no heart rate in the recording."
    none = {name: {"value": None, "low": None, "high": None, "note": why} for name in sheet.figures}
    page = made.effort("crank", sheet=changed(sheet, none))
    assert "No heart rate was measured" in made.page_text(page)
    assert "All figures of heart rate: there is no heart rate in the recording." in made.page_text(page)
    assert "Figures" not in headings(page)


def test_the_staffs_notes_stand_on_the_schools_copy_and_not_on_the_familys():
    odd = "Wheels #3 *squeaked* <b>loudly</b>"
    assert odd in made.page_text(made.effort("crank", notes=odd))
    assert odd not in made.page_text(made.effort("crank", notes=odd, family=True))


def test_a_missing_picture_is_told_with_its_reason():
    found = made.trial("crank")
    page = effort_sheet(
        found, made.STUDENTS["TH-12"], made.protocol(found.protocol), EN, no_picture="the file is gone."
    )
    assert "There is no picture: the file is gone." in made.page_text(page)


# ---------------------------------------------------------------- change sheet


def test_the_verdict_comes_first_then_the_differences_of_set_up_then_the_figures():
    page = made.change("increase")
    titles = headings(page)
    places = [
        titles.index(each)
        for each in ("What the trials show", "What was set up differently", "All figures side by side")
    ]
    assert places == sorted(places)
    assert places[0] == 0
    assert isinstance(page.blocks[1], Note)


@pytest.mark.parametrize("kind", made.VERDICTS)
def test_the_sentence_on_a_page_is_the_comparisons_own(kind):
    found = made.comparison(kind)
    assert verdict_sentence(found, EN) == found.sentence


@pytest.mark.parametrize("kind", made.VERDICTS)
def test_a_translated_verdict_has_the_same_numbers_in_the_same_order(kind):
    found = made.comparison(kind)
    page = made.change(kind, ES)
    told = next(one.text for one in page.blocks if isinstance(one, Note))
    assert [each.replace(",", ".") for each in made.numbers(told)] == made.numbers(found.sentence)


@pytest.mark.parametrize("language", [EN, ES])
def test_a_family_reads_how_far_a_day_varies_and_no_statistics(language):
    found = made.comparison("borrowed")
    page = made.change("borrowed", language, family=True)
    text = made.page_text(page)
    places = shown_change(found.baseline_value, found.retest_value, found.detectable_change).places
    assert f" {say(found.detectable_change, places=places)} " in text.replace(",", ".")
    behind = next(one for one in page.blocks if isinstance(one, Table) and len(one.header) == 2)
    assert len(behind.rows) == 4  # baseline, re-test, change, and the smallest one that can be told
    assert not any(each in text for each in ("typical", "interval", "intervalo", "típico"))
    assert "SHA" not in made.page_text(made.effort("crank", language, family=True))


def test_each_verdict_has_its_own_title():
    titles = {
        kind: next(one.title for one in made.change(kind).blocks if isinstance(one, Note)) for kind in made.VERDICTS
    }
    for kind in ("increase", "decrease", "borrowed"):
        assert titles[kind].startswith(f"{'In' if kind == 'increase' else 'De'}crease beyond day-to-day variation: ")
    assert titles["within"] == titles["same"] == "Within day-to-day variation"
    assert titles["cannot"] == titles["one"] == "Cannot be told from day-to-day variation"
    assert titles["not comparable"] == "Not comparable"


@pytest.mark.parametrize(
    ("kind", "better", "shown"),
    [
        ("increase", True, "Increase beyond day-to-day variation: better, by the protocol"),
        ("increase", False, "Increase beyond day-to-day variation: not better, by the protocol"),
        ("increase", None, "Increase beyond day-to-day variation"),
        ("decrease", True, "Decrease beyond day-to-day variation: better, by the protocol"),
        ("decrease", False, "Decrease beyond day-to-day variation: not better, by the protocol"),
        ("decrease", None, "Decrease beyond day-to-day variation"),
        ("within", True, "Within day-to-day variation"),
        ("cannot", False, "Cannot be told from day-to-day variation"),
        ("not comparable", True, "Not comparable"),
        ("sides", True, "Increase beyond day-to-day variation: better, by the protocol"),
    ],
)
def test_the_heading_says_which_way_the_protocol_calls_better_beyond_variation_and_nowhere_else(kind, better, shown):
    update = {"for_the_better": better} | ({"verdict": INCREASE, "sentences": ()} if kind == "sides" else {})
    found = made.comparison(kind).model_copy(update=update)
    assert verdict_title(found, EN) == shown
    assert verdict_name(found, EN) == shown.split(":")[0]


def test_the_heading_takes_the_direction_from_the_protocol_and_the_table_leaves_it_out():
    found = made.comparison("decrease")
    assert (found.better, found.for_the_better) == ("lower", True)
    assert verdict_title(found, EN).endswith(": better, by the protocol")
    sides = made.comparison("sides")
    assert verdict_title(sides, EN) == verdict_name(sides, EN) == "The sides differ"


def test_a_set_up_that_forbids_a_comparison_says_so_in_words_and_scores_no_change():
    page = made.change("not comparable")
    row = tables(page, "What was set up differently")[0].rows[0]
    assert row == ("Highest assistance given", "independent", "full physical", "must match: no change is scored")
    assert not any("The numbers behind the verdict" in each for each in headings(page))
    spanish = tables(made.change("not comparable", ES, family=True))[0].rows[0]
    assert spanish[1:] == ("sin ayuda", "ayuda física completa", "debe coincidir: no se valora ningún cambio")


def test_the_numbers_behind_a_verdict_are_the_comparisons():
    found = made.comparison("increase")
    rows = dict(tables(made.change("increase"), "The numbers behind the verdict: rise of heart rate over rest")[0].rows)
    assert rows["Change"] == f"{say(found.change)} /min"
    between = f"{say(found.change_low)} to {say(found.change_high)} /min"
    assert rows["Change, allowing for what was not measured"] == between
    likely = f"{say(found.interval_low)} to {say(found.interval_high)} /min"
    assert rows["Likely range of the true change (95 % interval)"] == likely
    assert rows["Day-to-day variation (typical error)"] == f"{say(found.typical_error)} /min"


def test_left_and_right_stand_beside_each_other():
    found = made.comparison("sides")
    rows = tables(made.change("sides"), "Left and right")[0].rows
    assert [row[0] for row in rows] == ["Left", "Right", "Left minus right"]
    assert rows[0][1:] == tuple(f"{say(value)} cm" for value in (22, 60, 38))
    assert rows[2][3] == f"{say(found.side_gaps[0].change)} cm"


# ---------------------------------------------------------------- card, safety, class, district


def card(last=None, **more):
    plan = made.protocol("power-chair-slalom")
    return set_up_card("TH-11", checklist(plan, last), plan, EN, **more)


def test_the_card_has_a_box_for_every_fact_that_must_match_and_says_so_in_words():
    last = made.trial("chair")
    ticks = [tick for one in card(last, last_on=made.DAY).blocks if isinstance(one, Checklist) for tick in one.items]
    must = {
        item.label for part in checklist(made.protocol("power-chair-slalom"), last) for item in part.items if item.must
    }
    marked = {tick.label for tick in ticks if tick.mark == "must match"}
    assert {each[:1].upper() + each[1:] for each in must - {"component"}} == marked
    assert all(tick.mark in ("", "must match") for tick in ticks)


def test_the_card_names_what_nobody_wrote_down_and_a_protocol_that_was_edited_since():
    text = made.page_text(card(made.trial("chair"), last_on=made.DAY, newest=3))
    assert "not written down: settle it before the trial" in text
    assert "version 3 is the newest" in text
    assert "edited since" not in made.page_text(card(None, newest=1))
    assert "not done yet" in card(None).subtitle


def lines_to_write(name, words):
    plan = made.protocol(name)
    page = set_up_card("TH-11", checklist(plan, None), plan, words)
    return [line for block in page.blocks if isinstance(block, Blank) for line in block.labels]


def test_the_card_has_a_line_to_write_for_each_result_and_each_side_of_it():
    assert lines_to_write("seated-forward-reach", EN) == [
        *("Date", "Start time", "Who ran the test", "What was different", "Device used", "Highest assistance given"),
        "Forward reach, left (cm, 3 attempts, their mean counts)",
        "Forward reach, right (cm, 3 attempts, their mean counts)",
    ]
    assert lines_to_write("seated-band-press", ES)[-2:] == [
        *("Empujes de pecho, izquierda (repeticiones)", "Empujes de pecho, derecha (repeticiones)"),
    ]
    assert lines_to_write("push-up-own-cadence", EN)[6:] == ["Push-ups (repetitions)"]
    planned = lines_to_write("arm-crank-steady", EN)  # its device is planned, and the sheet measures
    assert planned[4:] == ["Highest assistance given"]


def safety(which="chair", **changes):
    found = made.trial(which)
    student = made.STUDENTS[found.code].model_copy(update=changes)
    return safety_sheet(safety_of(student, found), made.protocol(found.protocol), EN)


def test_crossings_of_the_ceiling_are_told_with_clock_times_and_length():
    crossings = safety_of(made.STUDENTS["TH-11"], made.trial("chair")).crossings
    assert crossings
    rows = tables(safety(), "Times above the ceiling")[0].rows
    assert [row[0] for row in rows] == [f"{each.from_clock} to {each.until_clock}" for each in crossings]
    assert "Ceiling 110 /min, set by the therapist on April 1, 2026." in made.page_text(safety())


def doubtful(found=(), *, crossed=True, gaps=(), which="chair"):
    """A trial whose sheet tells of possible crossings; ``crossed`` keeps the certain ones."""
    provenance = {"possible_crossings": list(found), "recording_unmeasured": list(gaps)}
    figures = {}
    if not crossed:
        provenance |= {"above_ceiling": []}
        figures = {
            "time_above_ceiling": {"value": 0.0, "low": 0.0, "high": 72.0},
            "first_above_ceiling": {"value": None, "note": "Not given: no crossing."},
        }
    return with_sheet(made.trial(which), figures, **provenance)


TWO_DOUBTS = (
    {"from_s": 400.0, "until_s": 460.0, "highest_bpm": 240.4, "rules": ["implausible"]},
    {"from_s": 465.0, "until_s": 470.0, "highest_bpm": 200.0, "rules": ["too_fast", "implausible"]},
    {"from_s": 481.0, "until_s": 482.0, "highest_bpm": 180.0, "rules": ["other_sensor"]},
)


def told(trial, words=EN):
    return safety_sheet(safety_of(made.STUDENTS[trial.code], trial), made.protocol(trial.protocol), words)


def test_possible_crossings_are_told_with_time_height_and_reason_those_close_together_as_one():
    found = safety_of(made.STUDENTS["TH-11"], doubtful(TWO_DOUBTS))
    first, second = found.possible
    assert (first.where.from_s, first.where.until_s, first.where.above_s) == (400, 470, 65)
    assert (first.highest_bpm, first.reasons) == (240.4, ("implausible", "too_fast"))
    assert (second.where.from_s, second.where.above_s, second.reasons) == (481, 1, ("other_sensor",))
    assert first.where.from_clock is not None
    rows = tables(told(doubtful(TWO_DOUBTS)), "Possible crossings")[0].rows
    assert rows[0][0] == f"{first.where.from_clock} to {first.where.until_clock}"
    assert rows[0][1:4] == ("6:40 to 7:50", "70 s", "240 /min")
    assert rows[0][4] == "Faster or slower than a student's heart and a jump that no heart makes"
    assert rows[1][4] == "From a second sensor that the figures do not use"
    assert found.answer[1] == say_ceiling.ceiling_also_possible(2, 66)
    assert "2 more stretches, 1:06 together, may have been above" in made.page_text(told(doubtful(TWO_DOUBTS)))


def test_no_crossing_is_said_of_a_trial_only_where_none_is_possible_either():
    plain, doubt = doubtful(crossed=False), doubtful(TWO_DOUBTS, crossed=False)
    for trial, possible in ((plain, False), (doubt, True)):
        text = made.page_text(told(trial))
        assert ("No crossing of the ceiling is certain: readings of up to 240 /min" in text) is possible
        assert ("No reading above 110 /min" in text) is not possible
        assert ("Possible crossings" in headings(told(trial))) is possible
    assert made.page_text(told(doubt)).count("no crossing.") == 0
    rows = tables(told(doubt), "The ceiling")[0].rows
    assert [row[0] for row in rows] == ["Time above the ceiling"]
    assert rows[0][2] == "0 to 72 s"
    assert tables(told(plain), "The ceiling") == []


def test_what_was_not_measured_stands_beside_what_is_said_of_the_ceiling():
    gaps = [(0.0, 20.0), (100.0, 160.0), (200.0, 230.0), (300.0, 340.0)]
    text = made.page_text(told(doubtful(crossed=False, gaps=gaps)))
    longest = "the longest stretches are 1:40 to 2:40, 3:20 to 3:50 and 5:00 to 5:40."
    assert f"There is no heart rate for 2:30 min (150 s) of the time looked at; {longest}" in text
    text = made.page_text(told(doubtful(crossed=False, gaps=gaps[:3])))
    assert "110 s) of the time looked at: 0:00 to 0:20, 1:40 to 2:40 and 3:20 to 3:50." in text
    assert "There is no heart rate for" not in made.page_text(told(doubtful(crossed=False)))
    assert "No hay frecuencia cardíaca en 2:30 min (150 s) del tiempo observado" in made.page_text(
        told(doubtful(gaps=gaps), ES)
    )


def test_nothing_is_said_of_the_ceiling_where_nothing_was_measured():
    for found, said in (((), True), (TWO_DOUBTS, False)):
        one = with_sheet(doubtful(found, crossed=False), {"time_above_ceiling": {"value": None}})
        assert ("nothing can be said about the ceiling" in made.page_text(told(one))) is said


def test_of_many_possible_crossings_each_is_listed():
    many = [
        {"from_s": 100.0 * n, "until_s": 100.0 * n + 5, "highest_bpm": 200.0, "rules": ["frozen"]} for n in range(15)
    ]
    page = told(doubtful(many))
    assert len(tables(page, "Possible crossings")[0].rows) == 15
    assert "All 15 are listed below, at the end." in made.page_text(page)


def test_what_the_recording_lacks_stands_under_what_was_not_measured():
    page = told(doubtful(gaps=[(100.0, 160.0)]))
    place = next(n for n, one in enumerate(page.blocks) if getattr(one, "text", "") == "What was not measured")
    assert page.blocks[place + 1].text == "There is no heart rate for 60 s of the time looked at: 1:40 to 2:40."
    assert page.blocks[place + 2].text == "Heart rate was measured throughout the work phase."


@pytest.mark.parametrize(("count", "at_end"), [(5, False), (6, True)])
def test_a_list_of_more_than_five_lines_stands_at_the_end_of_the_page(count, at_end):
    spans = [(100.0 * n, 100.0 * n + 20) for n in range(1, count + 1)]
    doubts = [{"from_s": a + 40, "until_s": a + 50, "highest_bpm": 200.0, "rules": ["frozen"]} for a, _ in spans]
    phases = {"rest": None, "work": (0.0, 900.0), "recovery": None, "decided": PHASES_GIVEN.to_json()}
    stretches = {"above_ceiling": spans, "possible_crossings": doubts, "unmeasured": spans}
    page = told(with_sheet(made.trial("chair"), **stretches, phases=phases))
    place = next(n for n, block in enumerate(page.blocks) if isinstance(block, Heading) and block.text == "Cautions")
    for caption in ("Times above the ceiling", "Possible crossings", "What was not measured"):
        (table,) = tables(page, caption)
        assert len(table.rows) == count
        assert (page.blocks.index(table) > place) is at_end, caption
    text = made.page_text(page)
    assert text.count(f"All {count} are listed below, at the end.") == (3 if at_end else 0)
    assert ("Full lists" in headings(page)) is at_end


def test_stretches_that_would_be_shown_as_nothing_are_counted_and_no_row_of_nothing_is_shown():
    gaps = [(10.0, 10.4), (20.0, 20.49), (30.0, 30.5), (40.0, 42.0)]
    page = told(with_sheet(made.trial("chair"), unmeasured=gaps))
    assert [row[1] for row in tables(page, "What was not measured")[0].rows] == ["1 s", "2 s"]
    text = made.page_text(page)
    assert "Heart rate is unknown for 3 s of the work phase" in text
    assert "2 stretches of under half a second, 1 s together, are not listed." in text
    page = told(with_sheet(made.trial("chair"), unmeasured=gaps[:1]))
    assert tables(page, "What was not measured") == []
    assert "Heart rate is unknown for under 1 s of the work phase" in made.page_text(page)
    assert "One stretch of under half a second is not listed." in made.page_text(page)


def test_a_single_beat_above_the_ceiling_is_shown_as_under_a_second_and_never_left_out():
    page = told(with_sheet(made.trial("chair"), above_ceiling=[(400.0, 400.4)]))
    assert tables(page, "Times above the ceiling")[0].rows[0][2:] == ("under 1 s", "under 1 s")


def test_the_safety_sheet_begins_with_its_answer_then_the_picture():
    trial = made.trial("chair")
    student = made.STUDENTS["TH-11"]
    page = safety_sheet(safety_of(student, trial), made.protocol(trial.protocol), EN, picture=made.PICTURE)
    assert re.fullmatch(r"Above 110 /min for \d+:\d\d in all, first at \d+:\d\d\.", page.blocks[0].text)
    assert isinstance(page.blocks[2], Picture)


def test_an_old_sheet_that_knows_no_possible_crossing_is_still_told():
    trial = made.trial("chair")
    old = altered(trial.sheet, lambda page: [page["provenance"].pop(name) for name in NEW_KEYS])
    found = safety_of(made.STUDENTS["TH-11"], trial.model_copy(update={"sheet": old}))
    assert (found.possible, found.recording_unmeasured) == ((), ())
    assert found.crossings


NEW_KEYS = ("possible_crossings", "recording_unmeasured")


@pytest.mark.parametrize("family", [False, True])
def test_an_effort_sheet_tells_where_the_ceiling_may_have_been_passed(family):
    trial = doubtful(TWO_DOUBTS)
    page = effort_sheet(trial, made.STUDENTS["TH-11"], made.protocol(trial.protocol), EN, family=family)
    text = made.page_text(page)
    assert "6:40 to 7:40, up to 240 /min (faster or slower than a student's heart)" in text
    assert "more" not in text.partition("Crossings of the ceiling are possible")[2][:400]
    four = doubtful((*TWO_DOUBTS, TWO_DOUBTS[0] | {"from_s": 500.0, "until_s": 501.0}))
    text = made.page_text(effort_sheet(four, made.STUDENTS["TH-11"], made.protocol(trial.protocol), EN, family=family))
    assert "and 1 more." in text
    plain = effort_sheet(doubtful(), made.STUDENTS["TH-11"], made.protocol(trial.protocol), EN, family=family)
    assert "Crossings of the ceiling are possible" not in made.page_text(plain)


def test_every_rule_that_sets_a_reading_aside_has_a_reason_in_both_languages():
    rules = [str(flag.name).lower() for flag in Flag if flag & REJECTING and flag is not Flag.DROPOUT]
    for words in (EN, ES):
        assert all(words.known(f"rule.{name}") for name in (*rules, *BEYOND_RULES))


def test_clock_times_are_those_of_the_wall_or_say_that_they_are_utc():
    student, found = made.STUDENTS["TH-11"], made.trial("chair")
    utc = with_sheet(found, start="2026-05-12T14:05:00+00:00")
    here = utc.model_copy(update={"zone": "-06:00"})
    shown = {}
    for name, one in (("utc", utc), ("here", here)):
        page = safety_sheet(safety_of(student, one), made.protocol(one.protocol), EN)
        shown[name] = tables(page, "Times above the ceiling")[0].rows[0][0]
    hours, _, rest = shown["here"].partition(":")
    assert shown["utc"].startswith(f"{int(hours) + 6}:{rest[:5]}")
    assert shown["utc"].endswith(" UTC")
    assert "UTC" not in shown["here"]


def test_a_ceiling_that_was_changed_after_the_sheet_is_told_and_not_passed_over():
    later = (Ceiling(bpm=120, set_by="physician", set_on=date(2026, 9, 1)),)
    assert "This sheet counts above 110 /min" in made.page_text(safety(ceilings=later))
    assert "now no ceiling is written down" in made.page_text(safety(ceilings=()))
    assert "set after the figures" in made.page_text(safety("crank", ceilings=later))


def test_the_therapist_reads_every_unmeasured_stretch_and_every_refused_figure_with_its_reason():
    rows = tables(safety("loose"), "What was not measured")[0].rows
    assert [row[0] for row in rows] == ["5:00 to 5:12", "7:10 to 7:12", "10:10 to 10:22", "11:59 to 12:19"]
    assert "spinal cord injury at T6 or above" in made.page_text(safety("spinal"))
    assert "Figures that are not given, and why" in headings(safety("spinal"))


def test_a_trial_without_recording_gives_a_safety_sheet_that_says_so():
    page = safety_sheet(
        safety_of(Student(code="TH-14"), made.reach(made.DAY, 1, 2)), made.protocol("seated-forward-reach"), EN
    )
    assert "This trial has no recording." in made.page_text(page)
    assert "No ceiling is written down" in made.page_text(page)


def test_the_class_page_stands_by_code_and_holds_no_figure_of_effort():
    lines = [ClassLine("Z-9"), ClassLine("A-1", (DayTrial(made.trial("loose"), "Distance by hand-cycle", 1),))]
    page = class_page(lines, made.DAY, EN)
    table = tables(page)[0]
    assert [row[0] for row in table.rows] == ["A-1", "Z-9"]
    assert len(table.header) == 4
    assert not re.search(r"/min| %|beats", made.page_text(page).replace(in_english(GENERAL_CAUTIONS), ""))
    assert (
        "heart rate missing for 46 s of 10:00 min (600 s), the longest stretch from 11:59 to 12:19" in table.rows[0][2]
    )
    assert table.rows[1][1:] == ("no", "–", "Give the test.")


def test_an_empty_class_is_a_page_that_says_so():
    assert "There are no students to show." in made.page_text(class_page([], made.DAY, EN))


def measured(which, **values):
    return with_sheet(made.trial(which), {name: {"value": value} for name, value in values.items()})


@pytest.mark.parametrize(
    ("trial", "days", "step"),
    [
        (lambda: measured("crank", coverage_heart_rate=60.0), 1, "Check the strap (skin contact"),
        (lambda: measured("crank", coverage_heart_rate=85.0), 1, "Check the strap; read"),
        (lambda: measured("crank", coverage_motion=50.0), 1, "Check the movement sensor"),
        (lambda: doubtful(TWO_DOUBTS, crossed=False), 1, "Doubtful readings were above the ceiling"),
        (lambda: doubtful(TWO_DOUBTS), 1, "Heart rate was above the ceiling"),
        (lambda: made.trial("spinal"), 1, "Give the same test on another day"),
        (lambda: made.trial("spinal"), 2, "Nothing for now"),
        (lambda: made.trial("spinal").model_copy(update={"practice": True}), 0, "Give the real trial"),
        (lambda: made.reach(made.DAY, 1, 2), 1, "Give the same test on another day"),
    ],
)
def test_the_next_step_is_what_the_recording_calls_for(trial, days, step):
    assert class_row(ClassLine("A-1", (DayTrial(trial(), "Test", days),)), EN)[3].startswith(step)


@pytest.mark.parametrize(
    ("reason", "step"),
    [
        (say_movement.WHY_NO_MOVEMENT_SENSOR, "Put a movement sensor on"),
        (say_movement.WHY_NO_GYROSCOPE, "Use a movement sensor with a gyroscope"),
        (say_movement.WHY_NO_PLACEMENT, "Enter where the movement sensor was"),
        (say_heart.WHY_NO_HEART_RATE, "Put a heart-rate strap on"),
        (say_heart.WHY_NO_DISTANCE, "Enter the distance"),
        (say_heart.WHY_NO_REST, "Enter the resting heart rate"),
        (say_heart.WHY_NO_MAXIMUM, "Enter a measured maximum"),
        (say_heart.WHY_NO_MAXIMUM_SHORT, "Enter a measured maximum"),
        (say_movement.WHY_NO_MOVEMENT, "Read on the effort sheet why"),
        (None, "Read on the effort sheet why"),
    ],
)
def test_where_the_protocols_own_figure_is_missing_the_next_step_is_what_it_needs(reason, step):
    sheet = made.trial("spinal").sheet
    missing = {"value": None, "low": None, "high": None, "notes": (), "reason": reason}
    figure = sheet.figures["moving_time"].model_copy(update=missing)
    trial = made.trial("spinal").model_copy(
        update={"sheet": sheet.model_copy(update={"figures": {**sheet.figures, "moving_time": figure}})}
    )
    for days in (1, 2):
        told = class_row(ClassLine("A-1", (DayTrial(trial, "Test", days, "moving_time"),)), EN)
        assert told[3].startswith(step)
    other = class_row(ClassLine("A-1", (DayTrial(trial, "Test", 1, "heart_rate_mean"),)), EN)
    assert other[3].startswith("Give the same test on another day")


def test_what_is_at_its_limit_is_named_on_the_class_page_without_what_it_was():
    trial = made.trial("spinal")
    usual, most = (DayTrial(trial, "Test", 1, limits=names) for names in ((), ("moving_time", "reach")))
    done = class_row(ClassLine("A-1", (usual,)), EN)[1]
    told = class_row(ClassLine("A-1", (most,)), EN)[1]
    assert told == f"{done} (moving time and reach: the most that the test can show)"
    assert not re.search(r"\d", told)


def test_the_next_step_names_its_command_where_the_words_of_the_trial_know_it():
    sheet = made.trial("spinal").sheet
    missing = {"value": None, "low": None, "high": None, "notes": (), "reason": say_heart.WHY_NO_MAXIMUM}
    figure = sheet.figures["moving_time"].model_copy(update=missing)
    figures = {**sheet.figures, "moving_time": figure}
    trial = made.trial("spinal").model_copy(update={"sheet": sheet.model_copy(update={"figures": figures})})
    line = ClassLine("A-1", (DayTrial(trial, "Test", 1, "moving_time"),))
    assert class_row(line, EN)[3] == ("Enter a measured maximum or the month of birth: the test's figure needs it.")
    assert class_row(line, EN, told_in_of(EN))[3] == (
        f"Enter a measured maximum (`ownmark student edit {trial.code} --max BPM`) or the month of birth "
        f"(`ownmark student edit {trial.code} --born YYYY-MM`): the test's figure needs it."
    )


def test_a_re_test_that_cannot_be_compared_says_which_set_up_to_repeat_and_not_what_it_held():
    line = ClassLine("A-1", (DayTrial(made.trial("spinal"), "Test", 2, "", ("device", "assistance")),))
    assert class_row(line, EN)[3] == (
        "Not comparable: give the test again set up as for the baseline. What differed:"
        f" {EN.get('field.device')} and {EN.get('field.assistance')}."
    )


@pytest.mark.parametrize("trial", [lambda: doubtful(TWO_DOUBTS), lambda: doubtful(TWO_DOUBTS, crossed=False)])
def test_students_with_a_crossing_stand_first_and_marked_and_by_code_within(trial):
    above = DayTrial(trial(), "Test", 1)
    usual = DayTrial(made.trial("spinal"), "Test", 1)
    practice = DayTrial(trial().model_copy(update={"practice": True}), "Test", 1)
    lines = [ClassLine(code, (each,)) for code, each in (("B", usual), ("Z", above), ("Y", practice), ("A", usual))]
    rows = tables(class_page(lines, made.DAY, EN))[0].rows
    assert [row[0] for row in rows] == ["Y: ceiling", "Z: ceiling", "A", "B"]
    assert "ceiling" in rows[0][3]


def test_of_two_trials_a_day_the_more_pressing_step_is_told():
    two = (DayTrial(made.trial("spinal"), "Good", 2), DayTrial(measured("crank", coverage_heart_rate=60.0), "Bad", 1))
    row = class_row(ClassLine("A-1", two), EN)
    assert row[1] == "yes: Good; yes: Bad"
    assert row[3].startswith("Check the strap")
    assert all(EN.known(f"class.{step}") for step in PRESSING)


@pytest.mark.parametrize(
    ("count", "of", "text"),
    [
        (9, 9, "fewer than 10"),
        (10, 10, "10"),
        (0, 0, "0"),
        (0, 30, "0"),
        (5, 30, "fewer than 10"),
        (25, 30, "–"),
        (20, 30, "20"),
    ],
)
def test_no_group_of_fewer_than_ten_can_be_read_or_worked_out(count, of, text):
    # Common practice as the trade tables give it (12.37): groups under ten are suppressed.
    assert LEAST_GROUP == 10
    assert counted(count, of, EN) == text


def test_the_district_table_stands_by_code_and_protocol_and_gives_the_comparisons_numbers():
    found = made.comparison("increase")
    rows = [
        DistrictRow("B-2", "crank", 3, "heart_rate_rise", found),
        DistrictRow("A-1", "walk", 1, "moving_time", None),
    ]
    table = tables(district_table(rows, EN), "Each student and protocol")[0]
    assert [row[0] for row in table.rows] == ["A-1", "B-2"]
    assert table.rows[0][3:] == ("–", "Moving time", "–", "–", "–", "–", "Nothing to compare yet", "–")
    assert found.change_low < found.change < found.change_high
    between = f"{say(found.change_low)} to {say(found.change_high)}"
    shown = (say(found.baseline_value), say(found.retest_value), between)
    name, verdict = "Rise of heart rate over rest (/min)", "Increase beyond day-to-day variation"
    days = (date.fromisoformat(found.retests[0].on) - date.fromisoformat(found.baselines[-1].on)).days
    assert days > 0
    assert table.rows[1][3:] == ("yes", name, *shown, str(days), verdict, "no")
    assert tables(district_table(rows, EN), "Counts by protocol") == []
    text = made.page_text(district_table(rows, EN))
    assert text.index("No protocol has 10 students yet") > text.index("Nothing to compare yet")
    assert "Counts by protocol" not in text
    many = [*rows, *(DistrictRow(f"C-{number}", "crank", 3, "heart_rate_rise", found) for number in range(10))]
    summary = tables(district_table(many, EN), "Counts by protocol")[0].rows
    assert summary == (("crank", "11", "11", "11"), ("walk", "fewer than 10", "–", "–"))
    assert "There are no trials to show." in made.page_text(district_table([], EN))


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"for_the_better": True, "better": "higher"}, "yes"),
        ({"for_the_better": False, "better": "lower"}, "no"),
        ({"for_the_better": None, "better": "no direction"}, "the protocol does not say"),
        ({"verdict": WITHIN, "for_the_better": None, "better": "higher"}, "–"),
        ({"verdict": WITHIN, "for_the_better": None, "better": "no direction"}, "–"),
    ],
)
def test_the_district_table_says_whether_a_change_is_for_the_better_by_the_protocol(changed, told):
    found = made.comparison("increase").model_copy(update=changed)
    row = tables(
        district_table([DistrictRow("B-2", "c", 3, "heart_rate_rise", found)], EN), "Each student and protocol"
    )[0].rows[0]
    assert row[-1] == told


def test_the_days_of_a_change_are_those_from_the_last_baseline_to_the_first_re_test():
    found = made.comparison("increase")
    first, last = found.baselines[0], found.retests[-1]
    several = found.model_copy(
        update={
            "baselines": tuple(first.model_copy(update={"on": day}) for day in ("2026-05-12", "2026-05-19")),
            "retests": tuple(last.model_copy(update={"on": day}) for day in ("2026-06-02", "2026-06-01")),
        }
    )
    assert several.days_between == 13


def test_every_page_carries_the_general_cautions_in_its_language():
    for name, page in made.every_page().items():
        if name.startswith("form"):
            continue  # lines to write on: nothing on it can be relied on
        words = EN if page.language == "en" else ES
        text = made.page_text(page)
        assert all(words.message(each) in text for each in GENERAL_CAUTIONS), name


def test_pictures_are_shown_with_their_text_equivalent():
    pictures = [one for page in made.every_page().values() for one in page.blocks if isinstance(one, Picture)]
    assert len(pictures) >= 8
    assert all(one.alt for one in pictures)


def test_a_target_band_is_written_with_its_unit():
    assert written("80-95bpm", BAND, EN) == "80 to 95 /min"
    assert written("80-95bpm", BAND, ES, family=True) == "de 80 a 95 latidos por minuto"
    assert written("40-60%", BAND, EN) == "40 to 60 % of the reserve"
    assert written("40-60%", "", EN) == "40-60%"
    assert written("7-12", "", EN) == "7-12"


def test_a_chairs_battery_is_told_at_both_ends_with_its_unit():
    trial = made.trial("chair").model_copy(update={"battery_start_percent": 94, "battery_end_percent": 71})
    rows = dict(facts(trial, made.STUDENTS["TH-11"], made.protocol(trial.protocol), EN, family=False))
    assert rows["Battery at the start"] == "94 %"
    assert rows["Battery at the end"] == "71 %"


def test_the_card_carries_the_ceiling_and_the_cautions_of_the_student():
    student = made.STUDENTS["TH-11"].model_copy(update={"conditions": ("shunt",)})
    protocol = made.protocol("power-chair-slalom")
    text = made.page_text(set_up_card("TH-11", checklist(protocol, None), protocol, EN, student=student))
    assert "Ceiling 110 /min, set by the therapist on April 1, 2026." in text
    assert "Shunt: no blows to the head" in text


def test_the_chairs_movement_is_never_shown_as_effort_on_a_change_sheet():
    found = made.comparison("increase")
    moving = Figure(name="moving_time", value=400.0, unit="s", low=400.0, high=400.0, source="")
    moved = [
        tuple(
            each.model_copy(update={"placement": "frame", "figures": {**each.figures, "moving_time": moving}})
            for each in side
        )
        for side in (found.baselines, found.retests)
    ]
    page = change_sheet(
        found.model_copy(update={"baselines": moved[0], "retests": moved[1]}), made.protocol("arm-crank-steady"), EN
    )
    of_chair = tables(page, EN.get("effort.group_chair"))[0]
    names = {capital(label(name, EN)) for name in MOTION_FIGURES}
    assert "Moving time" in {row[0] for row in of_chair.rows} <= names
    assert not names & {row[0] for row in tables(page, "All figures side by side")[0].rows}


def test_an_effort_sheet_says_when_the_ceiling_was_not_counted():
    trial = made.trial("crank")
    student = made.STUDENTS[trial.code].model_copy(update={"ceilings": (Ceiling(bpm=87, set_by="physician"),)})
    page = effort_sheet(trial, student, made.protocol(trial.protocol), EN)
    assert "time above it is not counted" in made.page_text(page)
    family = effort_sheet(trial, student, made.protocol(trial.protocol), EN, family=True)
    assert "time above it is not counted" not in made.page_text(family)


def test_only_a_target_is_a_share_of_the_reserve():
    protocol = made.protocol("power-chair-slalom").model_copy(update={"speed_setting": "40-60%", "target": "40-60%"})
    trial = made.trial("chair")
    rows = dict(facts(trial, made.STUDENTS["TH-11"], protocol, EN, family=False))
    assert rows["Speed setting"] == "40-60%"
    assert rows["Target band"] == "40 to 60 % of the reserve"
