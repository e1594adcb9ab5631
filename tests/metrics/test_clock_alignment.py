"""Files without a common clock: which lie together, and how events, matches and answers are weighed, by hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.recording import (
    ACCELERATION,
    ASSUMED,
    CLOCK,
    EVENTS,
    GIVEN,
    HEART_ONSET,
    MOVEMENT,
    TAPS,
    TIME_OF_DAY,
    Mark,
    Placing,
    Stream,
)
from ownmark.metrics import clock_alignment
from ownmark.metrics.clock_alignment import _beside, _contradicted, _laid, _Seen, align, on_one_clock
from ownmark.metrics.messages.trial import CLOCK_NO_EVENTS, CLOCK_OTHER_TAPS, CLOCK_SINGLE_PRESS
from ownmark.metrics.motion import alignment, onset_alignment, taps
from ownmark.metrics.motion.alignment import (
    Refusal,
    _agreeing,
    _alike,
    _paired,
    activity,
    by_events,
    by_movement,
    by_taps,
    choose,
    judged,
)
from ownmark.metrics.motion.cross_correlation import Match
from ownmark.metrics.motion.grid import Grid
from ownmark.metrics.motion.taps import Taps
from ownmark.words.message import Message

from tests.makers.recordings import pulse, recording

NAN = np.nan

# ---- which streams lie on one clock


def laid(**how):
    return replace(recording(), placings=tuple(Placing(path, 0.0, way) for path, way in how.items()))


@pytest.mark.parametrize(("how", "good"), [(CLOCK, True), (TAPS, True), (ASSUMED, False), (HEART_ONSET, False)])
def test_a_file_that_was_assumed_or_laid_by_a_heart_is_too_rough(how, good):
    made = laid(strap=CLOCK, wrist=how)
    assert on_one_clock(made, "strap", "wrist") is good
    assert on_one_clock(made, "strap + wrist", "strap") is good
    assert on_one_clock(made, "strap") is True


def test_streams_of_one_file_are_on_one_clock_however_it_was_laid():
    made = laid(strap=CLOCK, wrist=ASSUMED)
    assert on_one_clock(made, "wrist", "wrist")
    assert on_one_clock(made, "strap", "strap")


# ---- presses of a button


def test_equal_presses_give_the_offset_and_more_of_them_more_trust():
    found = by_events([10.0, 70.0], [3.0, 63.0])
    assert (found.offset_s, found.how, found.within_s, found.confidence) == (7.0, EVENTS, 1.0, 0.97)
    assert (found.drift_ppm, found.note, found.anchor_s) == (None, "", 3.0)
    one = by_events([10.0], [3.0])
    assert (one.offset_s, one.confidence) == (7.0, 0.6)
    assert "single press" in one.note


@pytest.mark.parametrize(("second", "same"), [(65.03, True), (65.04, False), (60.972, True), (60.968, False)])
def test_presses_may_be_off_by_a_second_each_and_clocks_by_500_millionths(second, same):
    # Apart by 62 to 58 s on the other clock: two seconds, and 0.0005 of the 62 or 58 s.
    found = by_events([10.0, 70.0], [3.0, second])
    assert isinstance(found, Placing) is same


def test_presses_that_are_missing_or_more_on_one_side_place_nothing():
    for first, second in (([], [1.0]), ([1.0], []), ([1.0, 2.0], [1.0])):
        assert isinstance(by_events(first, second), Refusal)


def test_from_ten_minutes_apart_the_drift_of_the_clocks_is_told():
    found = by_events([0.0, 600.0 * 1.0002], [0.0, 600.0])
    assert found.drift_ppm == pytest.approx(200.0)
    assert "drift apart by 200 parts in a million, give or take 3333" in found.note
    assert by_events([0.0, 599.9], [0.0, 599.9]).drift_ppm is None
    three = by_events([0.0, 300.03, 600.12], [0.0, 300.0, 600.0])  # from the first to the last
    assert three.drift_ppm == pytest.approx(200.0)


# ---- how sure a match is


def matched(*strength, step_s=2.0):
    """A match of these strengths: 103 pairs, whose standard error is a tenth."""
    r = np.tanh(np.array(strength) / 10)
    return Match(step_s * np.arange(len(r)), r, np.full(len(r), 103.0), 1.0)


def verdict(*strength, apart_s=3.0):
    return judged(matched(*strength), apart_s, "movement", 0.5, "movements")


def test_a_match_is_strong_and_leads_any_other_by_half():
    assert isinstance(verdict(0.0, 4.99, 0.0), Refusal)
    found = verdict(0.0, 5.01, 0.0)
    assert (found.how, found.within_s, found.confidence) == ("movement", 0.5, 1.0)
    assert found.offset_s == pytest.approx(2.0)
    assert verdict(9.01, 0.0, 0.0, 6.0).confidence == pytest.approx(1 - 6 / 9.01)
    assert isinstance(verdict(8.99, 0.0, 0.0, 6.0), Refusal)
    assert isinstance(verdict(8.99, 6.0, 0.0, 0.0), Placing)  # its own peak


def test_where_nothing_overlaps_nothing_is_placed():
    nothing = Match(np.zeros(1), np.array([-1.0]), np.ones(1), 1.0)
    assert "never overlap" in judged(nothing, 3.0, "movement", 0.5, "movements").reason
    empty = Match(np.empty(0), np.empty(0), np.empty(0), 1.0)
    assert "never overlap" in judged(empty, 3.0, "movement", 0.5, "movements").reason


# ---- which answer is taken


def answer(offset_s, within_s, confidence=0.9, how=TAPS, notes=()):
    return Placing("", offset_s, how, within_s, confidence, notes=notes)


def test_the_answer_with_the_smallest_error_is_taken_and_then_the_surest():
    assert choose([answer(1.0, 0.5), answer(1.2, 0.1)]).offset_s == 1.2
    assert choose([answer(1.0, 0.5, 0.8), answer(1.2, 0.5, 0.9)]).offset_s == 1.2
    assert choose([answer(1.0, None), answer(1.2, 60.0)]).offset_s == 1.2
    assert choose([answer(1.0, 0.5, None), answer(1.2, 0.5, 0.1)]).offset_s == 1.2
    assert choose([Refusal((CLOCK_OTHER_TAPS,)), answer(1.0, 0.5)]).offset_s == 1.0


def test_another_answer_further_away_than_both_errors_is_told():
    assert choose([answer(1.0, 0.1), answer(1.59, 0.5, how=EVENTS)]).note == ""
    found = choose([answer(1.0, 0.1, notes=(CLOCK_SINGLE_PRESS,)), answer(1.61, 0.5, how=EVENTS)])
    assert found.notes[0] == CLOCK_SINGLE_PRESS
    assert found.note.endswith(f" moment. By {EVENTS} the offset would be +0.6 s different; {TAPS} are used.")
    assert choose([answer(1.0, 0.1), answer(2.05, None, how=EVENTS)]).note == ""  # a second, where it is not known
    assert choose([answer(1.0, 0.1), answer(2.15, None, how=EVENTS)]).note != ""


def test_without_an_answer_the_reasons_are_told_once_each():
    one, other = Refusal((CLOCK_OTHER_TAPS,)), Refusal((CLOCK_NO_EVENTS,))
    assert choose([one, other, one]) == Refusal((CLOCK_OTHER_TAPS, CLOCK_NO_EVENTS))
    with pytest.raises(ValueError, match="nothing"):
        choose([])


# ---- events of which some may belong to each other


def test_the_offset_under_which_most_events_fit_is_taken():
    # Three pairs 10 apart, and one of another row.
    found = _paired([(110.0, 100.0), (210.0, 200.0), (310.0, 300.0), (110.0, 300.0)], 0.5, TAPS)
    assert (found.offset_s, found.anchor_s, found.how, found.within_s) == (10.0, 100.0, TAPS, 0.5)
    assert (found.confidence, found.drift_ppm, found.note) == (0.97, None, "")
    one = _paired([(110.0, 100.0)], 0.5, TAPS)
    assert (one.offset_s, one.confidence, one.note) == (10.0, 0.9, "")
    assert _paired([(110.0, 100.0)], 0.5, EVENTS).confidence == 0.6


def test_two_offsets_that_fit_equally_well_are_one_within_their_error_only():
    # Twice 0.5, and 0.0005 of the 100 s between them.
    assert isinstance(_paired([(110.0, 100.0), (211.04, 200.0)], 0.5, TAPS), Placing)
    assert isinstance(_paired([(110.0, 100.0), (211.06, 200.0)], 0.5, TAPS), Refusal)
    assert isinstance(_paired([(110.0, 100.0), (208.94, 200.0)], 0.5, TAPS), Refusal)
    assert isinstance(_paired([(110.0, 100.0), (110.0, 200.0)], 0.5, TAPS), Refusal)


def test_a_chain_of_offsets_that_creep_is_laid_by_its_first():
    # Offsets 10 to 13: each fits its neighbours, so the two in the middle have three each, a second apart.
    chain = [(110.0, 100.0), (211.0, 200.0), (312.0, 300.0), (413.0, 400.0)]
    found = _paired(chain, 0.5, TAPS)
    assert (found.offset_s, found.anchor_s) == (10.0, 100.0)


def test_each_event_counts_once():
    assert _agreeing([(10.0, 0.0), (10.0, 0.4), (10.4, 0.4)], (10.0, 0.0), 0.5) == [(10.0, 0.0), (10.4, 0.4)]
    assert _agreeing([(30.0, 20.0), (10.0, 0.0)], (30.0, 20.0), 0.5) == [(10.0, 0.0), (30.0, 20.0)]


def test_rows_of_taps_are_alike_where_both_pauses_are():
    one = Taps((1.0, 2.0, 3.5), 4.0)
    for moments, same in (
        ((11.0, 12.0, 13.5), True),
        ((11.0, 12.125, 13.625), True),
        ((11.0, 11.875, 13.375), True),
        ((11.0, 12.126, 13.6), False),
        ((11.0, 12.0, 13.626), False),
        ((11.0, 12.0, 13.374), False),
    ):
        assert _alike(one, Taps(moments, 4.0), 0.125) is same, moments


def test_taps_are_paired_by_their_pauses_and_laid_by_their_middles(monkeypatch):
    rows = {}
    monkeypatch.setattr(alignment, "find_taps", lambda grid: rows[grid.start_s])
    slow, quick = Grid(0.0, 20.0, np.zeros((1, 3))), Grid(1.0, 40.0, np.zeros((1, 3)))
    rows[0.0], rows[1.0] = (Taps((10.0, 11.0, 12.5), 4.0),), (Taps((2.0, 3.0, 4.5), 4.0),)
    found = by_taps(slow, quick)
    # A sample of each: 0.05 and 0.025 s.
    assert (found.offset_s, found.within_s, found.how) == (pytest.approx(8.0), pytest.approx(0.075), TAPS)
    # Pauses may differ by 0.03 and one and a half of both: 0.1425 s.
    rows[1.0] = (Taps((2.0, 3.142, 4.642), 4.0),)
    assert by_taps(slow, quick).offset_s == pytest.approx(33.5 / 3 - 9.784 / 3)
    rows[1.0] = (Taps((2.0, 3.143, 4.643), 4.0),)
    assert isinstance(by_taps(slow, quick), Refusal)
    rows[1.0] = (Taps((2.0, 2.858, 4.358), 4.0),)
    assert isinstance(by_taps(slow, quick), Placing)
    for which in (0.0, 1.0):
        kept, rows[which] = rows[which], ()
        assert isinstance(by_taps(slow, quick), Refusal)
        rows[which] = kept
    fine = Grid(0.0, 400.0, np.zeros((1, 3)))
    rows[0.0] = (Taps((10.0, 11.0, 12.5), 4.0),)
    assert by_taps(fine, fine).within_s == 0.02


def test_movements_are_slid_in_fifths_of_a_second_over_a_minute_at_least(monkeypatch):
    asked = []
    monkeypatch.setattr(alignment, "match", lambda *words: asked.append(words) or "match")
    monkeypatch.setattr(alignment, "judged", lambda *words: asked.append(words) or Refusal((CLOCK_OTHER_TAPS,)))
    levels = {3.0: np.ones(300), 4.0: np.append(np.ones(300), NAN), 5.0: np.ones(299)}
    monkeypatch.setattr(alignment, "activity", lambda grid: (grid.start_s, levels[grid.start_s]))
    one, other, short = (Grid(start_s, 20.0, np.zeros((1, 3))) for start_s in levels)
    assert by_movement(one, other, 77.0) == Refusal((CLOCK_OTHER_TAPS,))
    (first, first_s, second, second_s, *rest), judged_by = asked
    assert (len(first), first_s, len(second), second_s, rest) == (300, 3.0, 301, 4.0, [0.2, 77.0, 300])
    assert judged_by[:4] == ("match", 5.0, MOVEMENT, 0.5)
    assert type(rest[2]) is int
    asked.clear()
    assert isinstance(by_movement(one, short), Refusal)
    assert isinstance(by_movement(short, one), Refusal)
    assert asked == []


# ---- movement as it is compared


def test_activity_is_the_logarithm_of_the_spread_every_fifth_of_a_second():
    at = np.arange(400) / 20
    values = np.column_stack((0.1 * np.where(np.arange(400) % 2, 1, -1), np.zeros(400), np.ones(400)))
    values[300:] = (0.0, 0.0, 1.0)
    begin, level = activity(Grid(5.0, 20.0, values))
    assert begin == pytest.approx(5.0 + at[0])
    assert len(level) == 100
    assert level[20] == pytest.approx(np.log(100), abs=0.001)
    assert level[-5] == pytest.approx(np.log(5.0))  # less than 5 mg is all one


def test_activity_is_unknown_beside_what_was_not_measured():
    values = np.random.default_rng(0).normal(size=(400, 3))
    values[100:160] = np.nan
    _, level = activity(Grid(0.0, 20.0, values))
    assert np.flatnonzero(np.isnan(level)).tolist() == list(range(25, 40))
    begin, level = activity(Grid(3.0, 20.0, values[:1]))
    assert (begin, len(level)) == (3.0, 0)


# ---- what of a recording can be laid beside another


GRID = Grid(0.0, 20.0, np.zeros((40, 3)))


def seen(path="a", *, grid=None, beats=None, presses=()):
    made = _Seen(file(path, *(() if beats is None else (beats,)), marks=[Mark(at, "button") for at in presses]))
    made.grid, made.has_movement = grid, grid is not None
    return made


def felt(seconds=4.0, rate_hz=20.0):
    count = round(seconds * rate_hz)
    values = np.random.default_rng(0).normal((0.0, 0.0, 1.0), 0.05, (count, 3))
    return Stream.from_samples(ACCELERATION, np.arange(count) / rate_hz, values)


def heart(seconds=10):
    return pulse(np.arange(float(seconds)), 90.0 + np.arange(seconds) % 3)


def file(path, *streams, start=None, marks=()):
    made = recording(*streams, marks=marks, start=start)
    return replace(made, sources=(replace(made.sources[0], path=path, sha256=f"{path:0>64}"),))


def test_of_a_recording_its_grid_its_heart_rate_and_its_presses_are_taken():
    marks = (Mark(1.0, "button"), Mark(2.0, "lap"), Mark(3.5, "button"))
    found = _Seen(file("x", felt(), heart(), marks=marks))
    assert (found.path, found.presses) == ("x", (1.0, 3.5))
    assert found.grid is not None
    assert (found.grid.rate_hz, len(found.grid.values)) == (pytest.approx(20.0), 80)
    assert found.pulse is not None
    assert len(found.pulse) == 10
    for streams in ((), (felt(0.0), heart(0))):
        found = _Seen(file("x", *streams))
        assert (found.grid, found.pulse, found.presses) == (None, None, ())


def test_a_recording_is_judged_once_and_only_when_it_is_asked_for(monkeypatch):
    judged = []
    monkeypatch.setattr(clock_alignment, "clean", lambda recording: judged.append(1) or clean(recording))
    noon = datetime(2026, 5, 12, 12, tzinfo=UTC)
    files = [file("x", heart(), start=noon), file("y", felt(), start=noon + timedelta(seconds=3))]
    assert align(files) == {}
    assert not judged  # clocks place both, and one of them alone holds movement
    found = _Seen(files[1])
    assert (found.path, found.presses, found.has_movement) == ("y", (), True)
    assert not judged
    assert (found.grid is not None, found.pulse, found.grid is found.grid) == (True, None, True)
    assert len(judged) == 1
    assert [_Seen(file("z", *streams)).has_movement for streams in ((), (heart(),), (felt(0.0),))] == [False] * 3


def test_moments_are_presses_or_else_the_first_of_three_taps(monkeypatch):
    rows = (Taps((5.0, 5.8, 6.6), 4.0), Taps((50.0, 50.8, 51.6), 4.0))
    monkeypatch.setattr(taps, "find_taps", lambda grid: rows if grid is GRID else ())
    assert seen(grid=GRID, presses=(2.0,)).moments() == (2.0,)
    assert seen(grid=GRID).moments() == (5.0, 50.0)
    assert seen().moments() == ()


# ---- one file beside another


@pytest.fixture
def ways(monkeypatch):
    """What each way answers, by its name; and what it was asked."""
    answers, asked = {}, []

    def way(name):
        def answered(*words):
            asked.append((name, *words))
            return answers.get(name, Refusal((Message(name),)))

        return answered

    for name in ("by_taps", "by_movement", "by_events"):
        monkeypatch.setattr(alignment, name, way(name))
    monkeypatch.setattr(onset_alignment, "by_heart_rate", way("by_heart_rate"))
    return answers, asked


def test_two_movement_sensors_are_laid_by_taps_and_by_movement(ways):
    answers, asked = ways
    other = Grid(0.0, 50.0, np.zeros((40, 3)))
    assert _beside(seen(grid=GRID), seen("b", grid=other)) == (Message("by_taps"), Message("by_movement"))
    assert asked == [("by_taps", GRID, other), ("by_movement", GRID, other)]
    answers |= {"by_taps": answer(3.0, 0.1), "by_movement": answer(4.0, 0.5)}
    assert _beside(seen(grid=GRID), seen("b", grid=other)).offset_s == 3.0
    # A heart rate is not asked where anything better could be.
    assert _beside(seen(grid=GRID, beats=heart()), seen("b", grid=other)).offset_s == 3.0
    assert {each[0] for each in asked} == {"by_taps", "by_movement"}


def test_presses_are_laid_beside_presses_or_taps(ways, monkeypatch):
    answers, asked = ways
    monkeypatch.setattr(taps, "find_taps", lambda grid: (Taps((5.0, 5.8, 6.6), 4.0),))
    answers["by_events"] = answer(3.0, 1.0)
    pressed, tapped = seen(presses=(2.0, 9.0)), seen("b", grid=GRID)
    for first, second, moments in (
        (pressed, seen("b", presses=(1.0,)), ((2.0, 9.0), (1.0,))),
        (pressed, tapped, ((2.0, 9.0), (5.0,))),
        (tapped, pressed, ((5.0,), (2.0, 9.0))),
    ):
        asked.clear()
        assert _beside(first, second) == answers["by_events"]
        assert asked == [("by_events", *moments)]
    asked.clear()
    assert _beside(pressed, seen("b")) == ()
    assert _beside(seen("b"), pressed) == ()
    assert asked == []


def test_a_heart_rate_is_laid_beside_a_movement_whichever_comes_first(ways):
    answers, asked = ways
    mover, beating = seen(grid=GRID), seen("b", beats=heart())
    assert _beside(mover, beating) == _beside(beating, mover) == (Message("by_heart_rate"),)
    answers["by_heart_rate"] = answer(-7.0, 15.0, how=HEART_ONSET)
    assert _beside(mover, beating).offset_s == -7.0
    assert _beside(beating, mover).offset_s == 7.0
    name, grid, start_s, held_s, bpm = asked[-1]
    assert (name, grid) == ("by_heart_rate", GRID)
    assert (start_s[0], len(start_s), float(np.sum(held_s)), set(bpm)) == (0.0, 10, 10.0, {90.0, 91.0, 92.0})
    both = seen(grid=GRID, beats=heart())
    asked.clear()
    assert _beside(both, seen("b", beats=heart())).offset_s == -7.0
    assert len(asked) == 1


def test_files_that_share_nothing_have_nothing_to_go_by(ways):
    for first, second in ((seen(grid=GRID), seen("b")), (seen(), seen("b", beats=heart())), (seen(), seen("b"))):
        assert _beside(first, second) == _beside(second, first) == ()
    assert ways[1] == []


def test_a_file_is_laid_beside_the_first_that_can_tell_and_on_the_trials_clock(monkeypatch):
    told = {"one": (CLOCK_OTHER_TAPS,), "two": answer(3.0, 0.1), "three": answer(8.0, 0.1)}
    monkeypatch.setattr(clock_alignment, "_beside", lambda first, second: told[first.path])
    assumed, adrift = Placing("x", 0.0, ASSUMED), seen("x")
    fixed = [(seen(path), Placing(path, 100.0 * (place + 1), CLOCK)) for place, path in enumerate(told)]
    found = _laid(adrift, assumed, fixed)
    assert (found.path, found.offset_s, found.how, found.within_s) == ("x", 203.0, TAPS, 0.1)
    for value in ("x", "two", "+3.00", "0.1", "0.9"):
        assert value in found.note
    told["two"] = answer(3.0, None, None, notes=(CLOCK_SINGLE_PRESS,))
    assert [each.code for each in _laid(adrift, assumed, fixed).notes] == [
        "clock.moved_unsure",
        CLOCK_SINGLE_PRESS.code,
    ]
    assert _laid(adrift, assumed, fixed[2:]).offset_s == 308.0
    left = _laid(adrift, assumed, fixed[:1])
    assert (left.path, left.offset_s, left.how) == ("x", 0.0, ASSUMED)
    assert left.note != _laid(adrift, assumed, []).note  # the reason is told


def test_taps_that_contradict_two_clocks_by_more_than_two_seconds_are_told(ways):
    answers, asked = ways
    base = (seen("a", grid=GRID), Placing("a", 1.0, CLOCK))

    def told(offset_s, *, how=CLOCK, grid=GRID, first=base):
        answers["by_taps"] = answer(offset_s, 0.1)
        return _contradicted([first, (seen("b", grid=grid), Placing("b", 10.0, how))])

    # Taps say 1 + offset, the clocks 10.
    for offset_s, contradicts in ((11.0, False), (11.01, True), (7.0, False), (6.99, True)):
        found = told(offset_s)
        assert set(found) == ({"b"} if contradicts else set()), offset_s
    laid_so = told(20.0)["b"]
    assert (laid_so.offset_s, laid_so.how, bool(laid_so.note)) == (10.0, CLOCK, True)
    assert set(told(20.0, how=TIME_OF_DAY)) == {"b"}
    asked.clear()
    assert told(20.0, how=GIVEN) == told(20.0, grid=None) == {}
    assert told(20.0, first=(seen("a"), base[1])) == {}
    assert asked == []
    answers["by_taps"] = Refusal((CLOCK_OTHER_TAPS,))
    assert _contradicted([base, (seen("b", grid=GRID), Placing("b", 10.0, CLOCK))]) == {}
    assert _contradicted([base]) == {}
    answers["by_taps"] = answer(20.0, 0.1)
    others = [(seen(path, grid=GRID), Placing(path, 10.0, how)) for path, how in (("b", GIVEN), ("c", CLOCK))]
    assert set(_contradicted([base, *others])) == {"c"}


NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def test_only_files_that_neither_a_clock_nor_a_person_places_are_laid(monkeypatch):
    asked = []

    def beside(first, second):
        asked.append((first.path, second.path))
        return answer(3.0, 0.1)

    monkeypatch.setattr(clock_alignment, "_beside", beside)
    strap, late = file("strap", heart(), start=NOON), file("late", heart(), start=NOON + timedelta(seconds=60))
    wrist = file("wrist", felt())
    found = align([strap, wrist, late])
    assert {path: each.offset_s for path, each in found.items()} == {"wrist": 3.0}
    assert asked == [("strap", "wrist")]
    asked.clear()
    assert align([strap]) == align([strap, strap]) == align([strap, late]) == {}
    assert align([strap, wrist], {"wrist": 4.0}) == {}
    assert asked == []
    assert set(align([file("x", heart()), file("y", felt())])) == {
        "y"
    }  # without any clock the first one is the trial's


def test_what_contradicts_the_clocks_is_told_beside_what_was_laid(monkeypatch):
    monkeypatch.setattr(clock_alignment, "_beside", lambda *_: answer(3.0, 0.1))
    monkeypatch.setattr(clock_alignment, "_contradicted", lambda seen: {each.path: "told" for each, _ in seen})
    assert set(align([file("strap", heart(), start=NOON), file("wrist", felt())])) == {"strap", "wrist"}
