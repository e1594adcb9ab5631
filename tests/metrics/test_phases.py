"""Phases touch and do not overlap; laps name them: at the edges."""

from datetime import datetime

import pytest
from ownmark.errors import BasisError
from ownmark.ingest.recording import Mark
from ownmark.metrics import Phases, from_laps
from ownmark.metrics.messages.trial import PHASES_GIVEN, PHASES_LAPS


@pytest.mark.parametrize("name", ["rest", "work", "recovery"])
def test_a_phase_has_a_length(name):
    with pytest.raises(BasisError, match=rf"the {name} phase ends at 5 s, before it begins at 5 s"):
        Phases(**{name: (5.0, 5.0)})
    with pytest.raises(BasisError, match=rf"the {name} phase ends at 4 s, before it begins at 5 s"):
        Phases(**{name: (5.0, 4.0)})
    assert getattr(Phases(**{name: (5.0, 5.5)}), name) == (5.0, 5.5)


@pytest.mark.parametrize(("begins_s", "refused"), [(99.0, False), (98.95, True), (100.0, False), (50.0, True)])
def test_recovery_may_begin_a_second_before_the_work_ends(begins_s, refused):
    if refused:
        with pytest.raises(BasisError, match="before the work ends"):
            Phases(work=(0.0, 100.0), recovery=(begins_s, 200.0))
    else:
        assert Phases(work=(0.0, 100.0), recovery=(begins_s, 200.0)).recovery == (begins_s, 200.0)


@pytest.mark.parametrize(
    ("rest", "refused"),
    [
        ((0.0, 101.0), False),  # a second into the work
        ((0.0, 101.05), True),
        ((50.0, 150.0), True),
        ((199.95, 300.0), True),
        ((200.0, 300.0), False),  # rest may come after work
        ((0.0, 90.0), False),
    ],
)
def test_rest_may_touch_the_work(rest, refused):
    if refused:
        with pytest.raises(BasisError, match="overlap"):
            Phases(work=(100.0, 200.0), rest=rest)
    else:
        assert Phases(work=(100.0, 200.0), rest=rest).rest == rest


def test_what_contradicts_itself_is_told_by_the_wall_clock_and_in_seconds():
    nine = datetime.fromisoformat("2026-10-06T09:00:00")
    with pytest.raises(BasisError) as short:
        Phases(work=(780.0, 300.0), wall=nine)
    assert short.value.what == "the work phase ends at 09:05:00 (300 s), before it begins at 09:13:00 (780 s)."
    with pytest.raises(BasisError) as late:
        Phases(work=(300.0, 780.0), recovery=(720.0, 900.0), wall=nine)
    assert late.value.what == (
        "the recovery phase begins at 09:12:00 (720 s), before the work ends at 09:13:00 (780 s)."
    )
    with pytest.raises(BasisError) as both:
        Phases(rest=(0.0, 360.0), work=(300.0, 780.0), wall=nine)
    assert both.value.what == (
        "the rest phase, 09:00:00 to 09:06:00 (0 s to 360 s from its start), and the work phase, "
        "09:05:00 to 09:13:00 (300 s to 780 s from its start), overlap."
    )
    with pytest.raises(BasisError, match="the rest phase, 0 s to 360 s, and the work phase, 300 s to 780 s, overlap"):
        Phases(rest=(0.0, 360.0), work=(300.0, 780.0))
    assert Phases(work=(300.0, 780.0), wall=nine) == Phases(work=(300.0, 780.0))


def laps(*ends):
    return [Mark(float(at), "lap", until_s=until) for at, until in ends]


def test_a_lap_ends_where_the_next_begins_and_the_last_where_it_says():
    marks = [Mark(3.0, "button"), *laps((0, 50.0), (60, 100.0), (120, 170.0))]
    found = from_laps(marks, ["rest", "Work", "recovery"])
    assert (found.rest, found.work, found.recovery) == ((0, 60), (60, 120), (120, 170))
    assert found.how == PHASES_LAPS
    assert from_laps(marks, ["-", "work"]).work == (60, 120)
    assert from_laps(marks, ["-", "-", "work"]).work == (120, 170)
    assert from_laps(marks, ["work", "-"]).rest is None
    assert Phases().how == PHASES_GIVEN


def test_laps_that_cannot_name_phases_are_refused():
    with pytest.raises(BasisError, match="the last lap has no end"):
        from_laps(laps((0, 50.0), (60, None)), ["rest", "work"])
    assert from_laps(laps((0, None), (60, None)), ["rest"]).rest == (0, 60)
    with pytest.raises(BasisError, match="named 3 times, but the recording holds 2"):
        from_laps(laps((0, 50.0), (60, 90.0)), ["rest", "work", "-"])
    for names in (["rest", "rest"], ["warm", "work"]):
        with pytest.raises(BasisError, match="cannot name a lap here"):
            from_laps(laps((0, 50.0), (60, 90.0)), names)
