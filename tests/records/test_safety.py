"""What is told of a trial and the ceiling, in codes and values: worked out by hand at the edges."""

from datetime import date

import pytest
from ownmark.metrics.figure import Figure
from ownmark.metrics.messages.trial import PHASES_GIVEN
from ownmark.records import messages as say
from ownmark.records.safety import about_ceiling, ceiling_changed, safety_of
from ownmark.records.student import Ceiling, Student
from ownmark.reports.page import Table
from ownmark.reports.sheets.safety_sheet import safety_sheet
from ownmark.reports.words import Words as PageWords
from ownmark.words.message import Quoted
from ownmark.words.render import Words, english

from tests.reports import pages_made as made
from tests.reports.sheets_made import with_sheet

CEILING = (Ceiling(bpm=110, set_by="therapist", set_on=date(2026, 4, 1)),)
STUDENT = Student(code="TH-11", ceilings=CEILING)
NONE = Student(code="TH-11")
DOUBT = {"from_s": 300.0, "until_s": 372.0, "highest_bpm": 240.0, "rules": ["implausible"]}


def found(*, student=STUDENT, figures=None, above=((390.0, 421.0),), possible=(), gaps=(), used=110.0):
    """A trial with one crossing of 31 s from 6:30 on, everything measured."""
    told = {
        "time_above_ceiling": {"value": 31.0, "low": 31.0, "high": 31.0, "coverage": 100.0},
        "first_above_ceiling": {"value": 390.0, "low": 390.0, "high": 390.0},
    }
    for name, values in (figures or {}).items():
        told[name] = told.get(name, {}) | values
    given = {
        "ceiling_bpm": used,
        "above_ceiling": list(above),
        "possible_crossings": list(possible),
        "recording_unmeasured": list(gaps),
    }
    return safety_of(student, with_sheet(made.trial("chair"), told, **given))


NO_TIME = {"time_above_ceiling": {"value": 0.0, "low": 0.0, "high": 0.0}}


def test_the_answer_is_how_long_in_all_and_when_first():
    assert found().answer == (say.ceiling_above(110, say.ceiling_length(31), say.ceiling_first(390)),)
    assert english(found().answer[0]) == "Above 110 /min for 0:31 in all, first at 6:30."


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (30.5, 31.49, "0:31 in all"),
        (30.49, 31.0, "0:31 in all (0:30 to 0:31, allowing for what was not measured)"),
        (31.0, 31.5, "0:31 in all (0:31 to 0:32, allowing for what was not measured)"),
        (31.0, None, "0:31 in all"),
        (None, 40.0, "0:31 in all"),
    ],
)
def test_bounds_stand_in_the_answer_where_they_say_more_as_they_are_shown(low, high, shown):
    one = found(figures={"time_above_ceiling": {"low": low, "high": high}})
    assert english(one.answer[0]) == f"Above 110 /min for {shown}, first at 6:30."


def test_a_first_crossing_that_may_have_been_earlier_says_so():
    early = found(figures={"first_above_ceiling": {"low": 100.0}})
    assert english(early.answer[0]).endswith("first seen at 6:30 and perhaps as early as 1:40.")
    assert english(found(figures={"first_above_ceiling": {"low": 389.6}}).answer[0]).endswith("first at 6:30.")
    assert english(found(figures={"first_above_ceiling": {"low": 400.0}}).answer[0]).endswith("first at 6:30.")
    assert english(found(figures={"first_above_ceiling": {"low": 389.4}}).answer[0]).endswith("as early as 6:29.")


def test_a_crossing_of_unknown_length_is_told_all_the_same():
    one = found(figures={"time_above_ceiling": {"value": None}}, possible=[DOUBT])
    assert one.answer[0] == say.ceiling_above(110, say.CEILING_LENGTH_UNKNOWN, say.ceiling_first(390))
    assert one.answer[1] == say.ceiling_also_possible(1, 72)


def test_a_crossing_of_less_than_half_a_second_is_never_told_as_nothing():
    one = found(figures={"time_above_ceiling": {"value": 0.4, "low": 0.4, "high": 0.4}}, above=((390.0, 390.4),))
    assert english(one.answer[0]) == "Above 110 /min for under 1 s in all, first at 6:30."
    assert Words("en").length(0.5) == "0:01"
    assert Words("en").length(0.0) == "0:00"
    assert Words("es").length(0.49) == "menos de 1 s"


@pytest.mark.parametrize(("high", "longest"), [(82.0, 82), (None, 72), (60.0, 72)])
def test_where_no_crossing_is_certain_the_answer_is_the_most_it_may_have_been(high, longest):
    one = found(figures={"time_above_ceiling": {"value": 0.0, "low": 0.0, "high": high}}, above=(), possible=[DOUBT])
    assert one.answer == (say.ceiling_perhaps(110, longest, 300, 240),)


def test_a_single_reading_of_no_known_length_is_told_as_a_moment():
    alone = DOUBT | {"until_s": 300.0, "rules": ["alone"]}
    one = found(figures=NO_TIME, above=(), possible=[alone])
    assert one.answer == (say.ceiling_perhaps_moment(110, 300, 240),)


def test_the_first_and_the_highest_of_several_possible_crossings_are_told():
    later = DOUBT | {"from_s": 400.0, "until_s": 410.0, "highest_bpm": 250.0}
    one = found(figures=NO_TIME, above=(), possible=[DOUBT, later])
    assert one.answer == (say.ceiling_perhaps(110, 82, 300, 250),)


@pytest.mark.parametrize(
    ("high", "coverage", "answer"),
    [
        (0.0, 100.0, say.ceiling_not_above_measured(110, 100)),
        (0.49, 99.9, say.ceiling_not_above_measured(110, 99.9)),
        (0.5, 99.9, say.ceiling_not_above_between(110, 99.9, 0.5)),
        (82.0, 93.2, say.ceiling_not_above_between(110, 93.2, 82)),
        (None, 93.2, say.ceiling_not_above_measured(110, 93.2)),
        (82.0, None, say.ceiling_not_above(110)),
    ],
)
def test_where_nothing_was_above_the_answer_says_how_much_was_measured(high, coverage, answer):
    figures = {"time_above_ceiling": {"value": 0.0, "low": 0.0, "high": high, "coverage": coverage}}
    assert found(figures=figures, above=()).answer == (answer,)


def test_a_share_that_is_not_all_is_never_shown_as_all():
    assert "for only 99.96 % of the time looked at" in english(say.ceiling_not_above_between(110, 99.96, 3))


def test_without_heart_rate_nothing_is_said_of_the_ceiling():
    nothing = {"time_above_ceiling": {"value": None}, "coverage_heart_rate": {"value": None}}
    assert found(figures=nothing, above=()).answer == (say.CEILING_NOT_MEASURED,)
    assert found(figures=nothing, above=(), used=None).answer == (say.CEILING_NOT_MEASURED,)
    assert found(figures=nothing, above=(), used=None, student=NONE).answer == (say.CEILING_NO_HEART_RATE,)
    assert safety_of(STUDENT, made.reach(made.DAY, 1, 2)).answer == (say.CEILING_NO_RECORDING,)


def test_without_a_ceiling_or_before_it_was_set_the_answer_says_that():
    assert found(above=(), used=None, student=NONE).answer == (say.CEILING_NONE,)
    assert found(above=(), used=None).answer == (say.CEILING_LATER,)


def test_the_ceiling_is_told_with_who_set_it_and_when():
    assert about_ceiling(None) == say.CEILING_NONE
    assert about_ceiling(CEILING[0]) == say.ceiling_set_on(110, Quoted("therapist"), date(2026, 4, 1))
    assert about_ceiling(Ceiling(bpm=110, set_by="physician")) == say.ceiling_set(110, Quoted("physician"))
    assert Words("es").message(say.ceiling_set(110, Quoted("school nurse"))).endswith("puesto por: enfermera escolar.")


@pytest.mark.parametrize(
    ("used", "now", "told"),
    [
        (None, None, None),
        (110.0, 110.0, None),
        (None, 110.0, say.CEILING_LATER),
        (110.0, None, say.ceiling_gone(110)),
        (110.0, 120.0, say.ceiling_changed(110, 120)),
    ],
)
def test_a_ceiling_other_than_the_sheets_is_told(used, now, told):
    today = None if now is None else Ceiling(bpm=now, set_by="physician")
    assert ceiling_changed(used, today) == told


def test_a_trial_without_a_sheet_counts_with_no_ceiling_so_that_none_has_changed():
    assert safety_of(STUDENT, made.reach(made.DAY, 1, 2)).changed is None


def test_what_was_not_measured_is_told_whole_up_to_three_stretches_then_the_longest():
    gaps = ((0.0, 20.0), (100.0, 160.0), (200.0, 230.0), (300.0, 340.0))
    spans = [say.ceiling_span(*each) for each in gaps]
    assert found(gaps=gaps[:3]).gaps == say.ceiling_unmeasured(110, tuple(spans[:3]))
    assert found(gaps=gaps).gaps == say.ceiling_unmeasured_more(150, tuple(spans[1:]))
    assert found().gaps is None
    assert found(gaps=gaps, used=None).gaps is None
    assert found(gaps=gaps, figures={"time_above_ceiling": {"value": None}}).gaps is None


def test_sentences_are_the_answer_first_and_each_once():
    gap = say.ceiling_unmeasured(20, (say.ceiling_span(0, 20),))
    one = found(gaps=((0.0, 20.0),))
    assert one.sentences == (*one.answer, one.looked_at, one.ceiling, gap)
    later = found(above=(), used=None)
    assert later.sentences == (say.CEILING_LATER, later.looked_at, later.ceiling)
    none = found(above=(), used=None, student=NONE)
    assert none.sentences == (say.CEILING_NONE, none.looked_at)


def test_nothing_is_told_of_what_stood_above_a_ceiling_that_is_not_todays():
    changed = found(
        student=Student(code="TH-11", ceilings=(Ceiling(bpm=120, set_by="physician"),)),
        possible=[DOUBT],
        gaps=((0.0, 20.0),),
    )
    assert changed.sentences == (say.ceiling_changed(110, 120), changed.looked_at, changed.ceiling)
    assert (changed.crossings, changed.possible, changed.gaps) == ((), (), None)
    assert "time_above_ceiling" not in changed.figures
    assert "heart_rate_mean" in changed.figures


def test_figures_that_were_asked_for_and_refused_are_told_with_their_reason():
    one = found()
    assert set(dict(one.invalid)) == set(made.trial("chair").sheet.provenance.refused)
    assert all(isinstance(each, Figure) for each in one.figures.values())


@pytest.mark.parametrize(("apart", "rows"), [(10.0, 1), (10.01, 2)])
def test_stretches_up_to_ten_seconds_apart_are_one(apart, rows):
    one = found(above=((100.0, 110.0), (110.0 + apart, 130.0)))
    assert len(one.crossings) == rows
    first = one.crossings[0]
    assert first.above_s == (20.0 + 10.0 - apart if rows == 1 else 10.0)


def test_the_clock_is_that_of_the_recording():
    trial = with_sheet(made.trial("chair"), above_ceiling=[(60.0, 61.0)], start="2026-05-12T09:00:00")
    each = safety_of(STUDENT, trial).crossings[0]
    assert (each.from_clock, each.until_clock, each.utc) == ("09:01:00", "09:01:01", False)


@pytest.mark.parametrize(
    ("span", "outside"),
    [
        ((0.0, 30.0), True),
        ((0.0, 30.1), False),
        ((299.9, 310.0), False),
        ((300.0, 360.0), True),
        ((350.0, 361.0), False),
        ((720.0, 725.0), True),
        ((0.0, 900.0), False),
    ],
)
def test_a_crossing_that_touches_no_phase_is_outside(span, outside):
    phases = {"rest": (30.0, 300.0), "work": (360.0, 720.0), "recovery": None, "decided": PHASES_GIVEN.to_json()}
    trial = with_sheet(made.trial("chair"), above_ceiling=[span], phases=phases)
    assert [each.outside for each in safety_of(STUDENT, trial).crossings] == [outside]


def test_crossings_outside_the_phases_stand_in_a_list_of_their_own():
    phases = {"rest": None, "work": (360.0, 720.0), "recovery": None, "decided": PHASES_GIVEN.to_json()}
    trial = with_sheet(
        made.trial("chair"), ceiling_bpm=110.0, above_ceiling=[(200.0, 260.0), (390.0, 421.0)], phases=phases
    )
    page = safety_sheet(safety_of(STUDENT, trial), made.protocol(trial.protocol), PageWords("en"))
    tables = {block.caption: block.rows for block in page.blocks if isinstance(block, Table)}
    assert [row[1] for row in tables["Times above the ceiling"]] == ["6:30 to 7:01"]
    outside = tables["Times above the ceiling before, between or after rest, work and recovery"]
    assert [row[1] for row in outside] == ["3:20 to 4:20"]


def test_a_page_says_which_part_of_the_recording_was_looked_at():
    # Readings above the ceiling before the trial are not the trial's: the page says that it did not look at them.
    part = with_sheet(made.trial("chair"), span=(120.0, 840.0))
    (told,) = [each for each in safety_of(STUDENT, part).sentences if each.code == "ceiling.looked_at"]
    assert english(told).startswith("Looked at: 2:00 to 14:00 of the recording")
    whole = with_sheet(made.trial("chair"), span=None)
    assert safety_of(STUDENT, whole).looked_at is None
