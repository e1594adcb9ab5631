"""What a row says against what is kept: the same, new, otherwise; and what correcting it makes."""

from datetime import date

import pytest
from ownmark.errors import NotAStudent
from ownmark.records.student import Answers, Ceiling, MeasuredRate, Student
from ownmark.records.student_differences import besides, changes, differences, parts, plain_values
from ownmark.records.student_texts import Said

OLD, NEW = date(2026, 3, 1), date(2026, 9, 1)


def kept(**more):
    return Student(code="TH-11", **more)


def said(**more):
    return Said("TH-11", **more)


def rest(bpm, on=None, posture=None):
    return MeasuredRate(bpm=bpm, on=on, posture=posture)


def maximum(bpm, on=None, exercise=None):
    return MeasuredRate(bpm=bpm, on=on, exercise=exercise)


def ceiling(bpm, on=None, by="therapist"):
    return Ceiling(bpm=bpm, set_by=by, set_on=on)


FULL = {
    "born": "2014-03",
    "sex": "male",
    "conditions": ("epilepsy", "cerebral-palsy"),
    "notes": "new chair",
}


def test_an_empty_row_says_nothing_of_anything():
    assert differences(said(), kept(**FULL, rests=(rest(70),))) == ()
    assert parts(said()) == ()


def test_a_row_that_says_what_is_kept_says_nothing_else():
    there = kept(**FULL, rests=(rest(70),), maxima=(maximum(190),), ceilings=(ceiling(150),))
    assert differences(said(**FULL, rest=rest(70), maximum=maximum(190), ceiling=ceiling(150)), there) == ()


@pytest.mark.parametrize(
    ("more", "name"),
    [
        ({"born": "2014-04"}, "born"),
        ({"sex": "female"}, "sex"),
        ({"conditions": ("down-syndrome",)}, "conditions"),
        ({"rest": rest(71)}, "rests"),
        ({"maximum": maximum(191)}, "maxima"),
        ({"ceiling": ceiling(151)}, "ceilings"),
        ({"ceiling": ceiling(150, by="nurse")}, "ceilings"),
        ({"can": ("see",)}, "answers"),
        ({"needs": ("guide",)}, "answers"),
        ({"needs": ()}, "answers"),
        ({"notes": "x"}, "notes"),
    ],
)
def test_each_thing_is_told_by_its_field_with_both_and_a_change_of_it_alone(more, name):
    there = kept(
        **FULL,
        rests=(rest(70),),
        maxima=(maximum(190),),
        ceilings=(ceiling(150),),
        answers=(Answers(can=("arms",), needs=("lying",)),),
    )
    (found,) = differences(said(**more), there)
    assert (found.name, found.told.code) == (name, "student_row.differs")
    assert set(changes(said(**more), there)) == {name}
    (new,) = differences(said(**more), kept()) or (None,)
    assert new is None or (new.told.code, new.kept) == ("student_row.new", ())


def test_what_is_the_same_is_not_entered_a_second_time():
    there = kept(rests=(rest(70),), maxima=(maximum(190),), ceilings=(ceiling(150),))
    row = said(born="2014-03", rest=rest(70), maximum=maximum(190), ceiling=ceiling(150))
    assert changes(row, there) == {"born": "2014-03"}


def test_a_month_is_told_beside_the_one_that_is_kept():
    (found,) = differences(said(born="2014-04"), kept(born="2014-03"))
    assert [[each["month"].text for each in side] for side in (found.said, found.kept)] == [["2014-04"], ["2014-03"]]
    (found,) = differences(said(sex="male"), kept(sex="female"))
    assert [[each["sex"] for each in side] for side in (found.said, found.kept)] == [["male"], ["female"]]


def test_conditions_are_added_and_never_taken_away():
    there = kept(conditions=("epilepsy", "cerebral-palsy"))
    assert differences(said(conditions=("epilepsy",)), there) == ()
    assert besides(said(conditions=("epilepsy",)), there) == ("cerebral-palsy",)
    assert besides(said(), there) == ()
    row = said(conditions=("down-syndrome", "epilepsy"))
    assert changes(row, there) == {"conditions": ("epilepsy", "cerebral-palsy", "down-syndrome")}


def test_a_rate_with_a_day_is_held_against_that_day_and_takes_its_place():
    there = kept(rests=(rest(70, OLD), rest(80, NEW)))
    assert differences(said(rest=rest(70, OLD)), there) == ()
    (found,) = differences(said(rest=rest(80, OLD)), there)
    assert found.kept[0]["bpm"] == 70
    assert changes(said(rest=rest(80, OLD)), there) == {"rests": (rest(80, NEW), rest(80, OLD))}
    other = rest(70, date(2026, 5, 1))
    (found,) = differences(said(rest=other), there)
    assert found.kept == ()
    assert changes(said(rest=other), there)["rests"][-1] == other


def test_a_rate_without_a_day_is_held_against_the_last_without_and_what_counts():
    there = kept(rests=(rest(60), rest(75), rest(70, OLD), rest(80, NEW)))
    assert differences(said(rest=rest(80)), there) == ()
    assert differences(said(rest=rest(75)), there) == ()  # a list of September is given again
    for bpm in (60, 70):
        (found,) = differences(said(rest=rest(bpm)), there)
        assert found.kept[0]["bpm"] == 80
    corrected = kept(rests=changes(said(rest=rest(70)), there)["rests"])
    assert differences(said(rest=rest(70)), corrected) == ()


def test_of_two_rates_of_one_day_the_last_in_the_list_counts():
    there = kept(rests=(rest(70, NEW), rest(80, NEW)))
    assert differences(said(rest=rest(80)), there) == ()
    assert len(differences(said(rest=rest(70)), there)) == 1


def test_a_posture_is_held_against_what_is_kept_only_where_the_row_names_one():
    there = kept(rests=(rest(70, posture="seated"),))
    assert differences(said(rest=rest(70)), there) == ()
    assert len(differences(said(rest=rest(70, posture="lying")), there)) == 1


def test_a_maximum_of_another_kind_of_exercise_is_another_one():
    there = kept(maxima=(maximum(190, exercise="Arms"), maximum(200, exercise="running")))
    assert differences(said(maximum=maximum(190, exercise=" arms")), there) == ()
    for row in (maximum(190), maximum(200, exercise="arms"), maximum(190, exercise="power chair")):
        assert len(differences(said(maximum=row), there)) == 1
    assert len(changes(said(maximum=maximum(190)), there)["maxima"]) == 3
    replaced = kept(maxima=(maximum(190, OLD, "arms"), maximum(200, OLD)))
    assert changes(said(maximum=maximum(195, OLD, "arms")), replaced) == {
        "maxima": (maximum(200, OLD), maximum(195, OLD, "arms"))
    }


def test_a_ceiling_without_a_day_is_held_against_the_one_that_counts():
    there = kept(ceilings=(ceiling(150), ceiling(140, NEW)))
    assert differences(said(ceiling=ceiling(140)), there) == ()
    (found,) = differences(said(ceiling=ceiling(150)), there)
    assert [each.code for each in found.kept] == ["student_part.ceiling", "student_part.set"]
    with pytest.raises(NotAStudent) as refused:
        changes(said(ceiling=ceiling(150)), there)
    assert (refused.value.what.code, refused.value.what["on"]) == ("student_row.ceiling_day", NEW)
    both = kept(ceilings=(ceiling(140, NEW), ceiling(145, OLD)))
    with pytest.raises(NotAStudent) as refused:
        changes(said(ceiling=ceiling(150)), both)
    assert refused.value.what["on"] == NEW
    assert changes(said(ceiling=ceiling(130, OLD)), there)["ceilings"][-1] == ceiling(130, OLD)
    undated = kept(ceilings=(ceiling(150),))
    assert changes(said(ceiling=ceiling(145)), undated) == {"ceilings": (ceiling(150), ceiling(145))}


def test_a_ceiling_with_a_day_is_held_against_that_day():
    there = kept(ceilings=(ceiling(150, OLD), ceiling(140, NEW)))
    assert differences(said(ceiling=ceiling(150, OLD)), there) == ()
    (found,) = differences(said(ceiling=ceiling(140, OLD)), there)
    assert found.kept[0]["bpm"] == 150
    assert changes(said(ceiling=ceiling(140, OLD)), there) == {"ceilings": (ceiling(140, NEW), ceiling(140, OLD))}


def test_what_a_student_can_do_keeps_the_needs_and_is_refused_beside_a_day():
    there = kept(answers=(Answers(can=("arms",), needs=("lying",)),))
    assert changes(said(can=("see",)), there) == {"answers": (Answers(can=("see",), needs=("lying",)),)}
    assert changes(said(needs=("guide",)), there) == {"answers": (Answers(can=("arms",), needs=("guide",)),)}
    assert changes(said(can=("see",)), kept()) == {"answers": (Answers(can=("see",)),)}
    assert changes(said(needs=("guide",)), kept()) == {"answers": (Answers(needs=("guide",)),)}
    (found,) = differences(said(needs=()), there)
    assert [each.code for each in found.said] == ["student_part.no_needs"]
    assert changes(said(needs=()), kept(answers=(Answers(needs=("guide",)),))) == {"answers": ()}
    assert differences(said(can=("arms",), needs=("lying",)), there) == ()
    with pytest.raises(NotAStudent) as refused:
        changes(said(can=("see",)), kept(answers=(Answers(can=("arms",), on=NEW), Answers(can=("legs",)))))
    assert refused.value.what.code == "student_row.abilities_day"


def test_all_that_a_row_says_is_told_part_by_part():
    row = said(
        **FULL,
        rest=rest(70, NEW, "seated"),
        maximum=maximum(190, exercise="arms"),
        ceiling=ceiling(150, NEW),
        can=("arms", "see"),
        needs=("lying",),
    )
    assert [each.code.partition(".")[2] for each in parts(row)] == [
        *("born", "sex", "conditions", "rest", "measured", "how", "max", "how", "ceiling", "set"),
        *("can", "senses", "needs", "note"),
    ]
    assert [each.code for each in parts(said(ceiling=ceiling(150)))] == ["student_part.ceiling"]


def test_plain_values_are_those_of_the_fields_that_differ():
    assert plain_values(kept(born="2014-03"), kept(born="2014-04")) == {"born": ("2014-03", "2014-04")}
