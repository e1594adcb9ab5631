"""Choosing a test: by what a student can do and needs, the least changed first; what is unknown rules nothing out."""

import pytest
from ownmark.records.abilities import MOVEMENTS, NEEDS, SENSES
from ownmark.records.catalogue import entries, families
from ownmark.records.catalogue.choosing import Asked, Opened, find, meets, missing, reasons
from ownmark.records.catalogue.messages import (
    CHOOSE_BOTH,
    choose_both_or,
    choose_fits,
    choose_meets,
    choose_sense,
    choose_sense_or,
    choose_takes,
    choose_takes_one,
)

COMPONENTS = ("aerobic", "strength", "trunk", "flexibility")


def found(can="", needs="", component="aerobic"):
    return find(entries().values(), families(), asked(can, needs), component)


def asked(can="", needs=""):
    return Asked(frozenset(can.split()), frozenset(needs.split()))


def names(answer):
    return [each.entry.name for each in answer.fits]


def short(name, can="", needs=""):
    return missing(entries()[name], asked(can, needs))


def open_of(answer, name):
    return next(each for each in answer.fits if each.entry.name == name).to_find_out


STUDENTS = {
    "runs and does not hear": ("walk see", "visible-signal", "aerobic", "shuttle-visible-signal"),
    "walks and does not see": ("walk hear rhythm", "guide", "aerobic", "tethered-run"),
    "walks, neither sees nor hears, holds a hand": ("walk", "touch-signal hand-held", "aerobic", "walk-hand-held"),
    "walks and forgets the task": ("walk see hear", "reminders", "aerobic", "run-with-prompts"),
    "pushes a chair": ("push-chair see hear rhythm", "", "aerobic", "chair-set-distance"),
    "pushes a chair and does not see": ("push-chair hear", "guide", "aerobic", "chair-push-guided"),
    "pushes a chair with one side": ("push-chair see hear", "one-side", "aerobic", "chair-push-one-side"),
    "pushes a chair and tires": ("push-chair see hear", "short-bouts", "aerobic", "chair-part-distance"),
    "drives a power chair with the head": ("drive-chair head see", "", "aerobic", "power-chair-distance"),
    "walks in a gait trainer": ("walk-device see", "own-pace", "aerobic", "walk-with-crutches"),
    "moves freely on the floor": ("arms legs leave-chair", "own-pace", "aerobic", "crawl-lane"),
    "moves one arm": ("arms", "one-side reminders", "aerobic", "arm-movement-sustained"),
    "moves the head": ("head", "reminders", "aerobic", "head-switch-task"),
    "moves the eyes": ("eyes see", "stay-in-chair", "aerobic", "eye-switch-task"),
    "runs with one arm": ("walk see hear", "one-side", "aerobic", "shuttle-visible-signal"),
    "runs, neither sees nor hears": ("walk", "guide touch-signal", "aerobic", "tethered-run"),
    "curls up with one arm": ("walk arms trunk", "one-side", "trunk", "curl-up-own-cadence"),
    "walks in a gait trainer, one hand": ("walk-device see", "one-side", "aerobic", "walk-with-crutches"),
    "moves nothing but breathes": ("breath", "", "aerobic", "breath-driven-task"),
    "lies and moves a leg": ("legs", "lying", "aerobic", "lying-movement"),
    "stays in the chair, trunk": ("arms trunk", "stay-in-chair", "trunk", "figure-of-eight"),
    "leaves the chair, trunk": ("arms trunk leave-chair", "", "trunk", "curl-up-own-cadence"),
    "stays in the chair, arms": ("push-chair", "stay-in-chair", "strength", "chair-push-ups"),
    "on the mat, arms": ("walk arms trunk", "", "strength", "push-up-own-cadence"),
    "reach without seeing": ("arms trunk", "touch-signal stay-in-chair", "flexibility", "side-reach-down"),
    "turns the head": ("head", "stay-in-chair", "flexibility", "head-turn"),
}


@pytest.mark.parametrize("student", STUDENTS)
def test_the_first_answer_for_a_student(student):
    can, needs, component, first = STUDENTS[student]
    assert names(found(can, needs, component))[0] == first


@pytest.mark.parametrize("movement", [each for each in MOVEMENTS if each != "leave-chair"])
def test_whatever_the_one_movement_is_some_aerobic_test_fits(movement):
    assert found(movement).fits
    assert found(movement).unfit_components == ()
    assert found(movement, "reminders").fits


@pytest.mark.parametrize("movement", MOVEMENTS)
def test_a_component_has_an_answer_for_each_movement_or_says_plainly_that_it_has_none(movement):
    whole = find(entries().values(), families(), asked(movement))
    served = {each.entry.protocol.component for each in whole.fits}
    assert served | set(whole.unfit_components) == set(COMPONENTS)
    assert served.isdisjoint(whole.unfit_components)


@pytest.mark.parametrize("sense", [None, *SENSES])
def test_a_sense_that_is_not_named_rules_nothing_out(sense):
    named = {each.entry.name for each in found("push-chair see hear rhythm").fits}
    assert {each.entry.name for each in found(f"push-chair {sense or ''}").fits} == named


def test_every_component_comes_in_its_order():
    whole = find(entries().values(), families(), asked("arms trunk legs"))
    order = [each.entry.protocol.component for each in whole.fits]
    assert list(dict.fromkeys(order)) == list(COMPONENTS)
    assert order == sorted(order, key=COMPONENTS.index)


def test_nothing_said_lists_everything_by_ladder():
    answer = found()
    assert len(answer.fits) == sum(each.protocol.component == "aerobic" for each in entries().values())
    assert answer.nearly == ()
    for family in families():
        steps = [each.entry.step for each in answer.fits if each.family.name == family]
        assert steps == sorted(steps)
    assert find(entries().values(), families(), Asked()).fits[0] == answer.fits[0]


def test_only_senses_named_leave_movements_unknown():
    assert names(found("see")) != []
    assert set(names(found("see"))) == set(names(found()))


def test_a_movement_that_is_missing_is_told_and_of_several_that_would_do_all():
    assert short("trike-distance", "arms") == (frozenset({"legs"}), frozenset({"leave-chair"}))
    assert short("shuttle-wide-turns", "head") == (frozenset({"walk", "walk-device", "push-chair"}),)
    assert short("shuttle-wide-turns", "push-chair") == ()
    assert short("scooter-or-rolling", "leave-chair trunk") == ()
    assert short("tethered-run", "walk") == ()
    assert short("tethered-run") == ()


def test_a_need_must_be_met_as_the_test_is_written():
    assert short("arm-crank-steady", "arms", "own-pace") == (frozenset({"own-pace"}),)
    assert set(short("arm-crank-steady", "arms", "own-pace one-side")) == {
        frozenset({"own-pace"}),
        frozenset({"one-side"}),
    }
    assert short("manual-chair-distance", "push-chair", "stay-in-chair reminders own-pace") == ()


@pytest.mark.parametrize(
    ("name", "need", "met"),
    [
        ("manual-chair-distance", "visible-signal", True),  # nothing has to be heard
        ("arm-crank-steady", "visible-signal", False),
        ("shuttle-visible-signal", "visible-signal", True),
        ("chair-set-distance", "touch-signal", False),  # it asks to see
        ("arm-crank-steady", "touch-signal", False),  # it asks to hear
        ("manual-chair-distance", "touch-signal", True),
        ("arm-crank-steady", "guide", True),  # nobody goes anywhere
        ("seated-jacks-set-rhythm", "guide", False),  # it asks to see
        ("manual-chair-distance", "guide", False),
        ("tethered-run", "guide", True),
        ("peer-paced-run", "hand-held", False),
        ("gait-trainer-walk", "hand-held", False),
        ("manual-chair-distance", "hand-held", True),
        ("shuttle-hand-held", "hand-held", True),
        ("tethered-run", "touch-signal", True),
        ("peer-paced-run", "one-side", True),  # who walks does so
        ("power-chair-slalom", "one-side", True),
        ("head-up-lying-front", "one-side", True),  # the head has no side
        ("curl-up-own-cadence", "one-side", True),
        ("curl-up-thigh-slide", "one-side", False),  # both hands slide
        ("kneeling-rock", "one-side", False),
        ("manual-chair-distance", "one-side", False),
        ("manual-chair-distance", "lying", False),
        ("manual-chair-distance", "short-bouts", False),
    ],
)
def test_a_need_is_met_too_where_it_does_not_arise(name, need, met):
    assert meets(entries()[name], need, asked()) is met


def test_a_hand_to_hold_is_needed_only_where_the_student_would_walk():
    course = entries()["shuttle-wide-turns"]
    assert meets(course, "hand-held", asked("push-chair"))
    assert meets(course, "hand-held", asked("push-chair walk"))
    assert not meets(course, "hand-held", asked("walk"))
    assert not meets(course, "hand-held", asked("walk walk-device"))
    assert meets(course, "hand-held", asked())


def test_one_side_works_in_a_shuttle_course_on_foot_and_not_in_a_chair():
    course = entries()["shuttle-wide-turns"]
    assert meets(course, "one-side", asked("walk"))
    assert meets(course, "one-side", asked("walk push-chair"))
    assert meets(course, "one-side", asked("walk-device"))
    assert not meets(course, "one-side", asked("push-chair"))
    assert not meets(course, "one-side", asked("walk push-chair", "one-side hand-held"))  # only the chair is left
    assert meets(course, "one-side", asked())


def test_who_walks_is_led_to_the_floor_last():
    order = list(dict.fromkeys(each.family.name for each in found("walk arms see hear").fits))
    assert order[-1] == "floor-travel"
    assert "floor-travel" not in names_of_first(found("walk arms see hear rhythm", "reminders"), 3)
    on_the_floor = list(dict.fromkeys(each.family.name for each in found("arms legs leave-chair", "own-pace").fits))
    assert on_the_floor[0] == "floor-travel"
    assert families()["floor-travel"].in_place_of == ("walk",)


def names_of_first(answer, count):
    return list(dict.fromkeys(each.family.name for each in answer.fits))[:count]


def test_reasons_name_what_the_student_has_and_needs():
    board = entries()["scooter-or-rolling"]
    assert reasons(board, asked("leave-chair legs arms", "reminders lying")) == (
        choose_fits(("leave-chair", "arms", "legs")),
        choose_meets(("reminders", "lying")),
    )
    assert reasons(board, asked()) == (
        choose_takes(("leave-chair",)),
        choose_takes_one(("arms", "legs", "trunk")),
    )
    assert reasons(entries()["tethered-run"], asked()) == (choose_takes(("walk",)),)
    assert reasons(entries()["shuttle-own-pace"], asked("see")) == (
        choose_takes_one(("walk", "walk-device", "push-chair")),
    )


def test_what_to_find_out_names_the_test_of_the_family_that_does_without_it():
    answer = found("push-chair")
    assert open_of(answer, "shuttle-slower-signal") == (choose_sense_or("hear", "shuttle-visible-signal"),)
    assert open_of(answer, "shuttle-square-turns") == (choose_sense_or("hear", "shuttle-own-pace"),)
    assert open_of(answer, "chair-set-distance") == (
        choose_sense_or("see", "manual-chair-distance"),
        choose_both_or("chair-push-one-side"),
    )
    assert open_of(found("push-chair see"), "chair-set-distance") == (choose_both_or("chair-push-one-side"),)
    assert open_of(answer, "manual-chair-distance") == (choose_both_or("chair-push-one-side"),)
    assert open_of(answer, "chair-push-one-side") == ()


def test_without_another_test_of_the_family_it_is_only_to_be_found_out():
    answer = found("drive-chair")
    assert open_of(answer, "power-chair-distance") == (choose_sense("see"),)
    crawl = find([entries()["crawl-lane"]], families(), asked("arms legs leave-chair"))
    assert open_of(crawl, "crawl-lane") == (CHOOSE_BOTH,)


def test_of_two_equally_near_on_the_ladder_the_less_changed_is_named():
    # Step 3 asks to hear; steps 2 and 4 are equally far: here steps 1 and 5 are left.
    kept = [entries()[name] for name in ("shuttle-visible-signal", "shuttle-square-turns", "shuttle-hand-held")]
    answer = find(kept, families(), asked("walk"))
    assert open_of(answer, "shuttle-square-turns") == (choose_sense_or("hear", "shuttle-visible-signal"),)


def test_how_a_student_gets_about_comes_before_a_smaller_step_of_another_ladder():
    answer = names(found("walk arms", "hand-held touch-signal"))
    assert answer.index("walk-hand-held") < answer.index("scoot-lane")
    assert entries()["walk-hand-held"].step > entries()["scoot-lane"].step


def test_of_equal_steps_the_family_with_fewer_open_questions_comes_first():
    both = [entries()[name] for name in ("seated-jacks-set-rhythm", "trike-distance")]
    can = "arms legs leave-chair"
    assert names(find(both, families(), asked(can))) == ["trike-distance", "seated-jacks-set-rhythm"]
    assert names(find(both[::-1], families(), asked(f"{can} see rhythm"))) == [
        "trike-distance",
        "seated-jacks-set-rhythm",
    ]
    assert names(find(both, families(), asked(f"{can} rhythm"))) == ["trike-distance", "seated-jacks-set-rhythm"]


def test_within_a_family_of_equal_steps_fewer_open_questions_come_first():
    course = [entries()[name] for name in ("arm-circles-set-rhythm", "seated-jacks-own-rhythm")]
    assert names(find(course, families(), asked("arms"))) == ["seated-jacks-own-rhythm", "arm-circles-set-rhythm"]
    assert names(find(course, families(), asked("arms hear rhythm"))) == [
        "arm-circles-set-rhythm",
        "seated-jacks-own-rhythm",
    ]


def opened(answer):
    return {each.fact: [one.name for one in each.entries] for each in answer.nearly}


def test_one_more_fact_is_told_with_the_least_changed_tests_that_it_opens():
    facts = opened(found("push-chair", "one-side"))
    assert facts["one-side"] == ["chair-set-distance", "shuttle-visible-signal", "seated-jacks-set-rhythm"]
    assert all(len(each) <= 3 for each in facts.values())
    assert list(facts) == [each for each in (*MOVEMENTS, *NEEDS) if each in facts]


def test_a_way_of_getting_about_is_offered_only_where_none_is_named_and_its_limbs_are():
    assert not {"walk", "walk-device", "drive-chair"} & set(opened(found("push-chair")))
    assert not {"walk", "walk-device", "push-chair"} & set(opened(found("head")))
    assert "drive-chair" in opened(found("head"))
    assert {"push-chair", "drive-chair"} <= set(opened(found("arms")))
    assert "walk" not in opened(found("arms"))
    assert {"walk", "walk-device"} <= set(opened(found("legs")))
    assert not {"push-chair", "drive-chair"} & set(opened(found("legs")))


def test_other_movements_may_always_have_been_forgotten():
    assert {"arms", "legs", "trunk", "breath"} <= set(opened(found("head")))
    assert opened(found("head"))["trunk"] == ["trunk-rocking"]


def test_a_need_is_no_movement():
    assert Opened("lying", ()).is_need
    assert not Opened("arms", ()).is_need


def test_a_test_that_lacks_two_facts_is_not_near():
    assert all("trike-distance" not in each for each in opened(found("head")).values())


def test_where_nothing_fits_the_component_is_told():
    answer = found("breath", "", "strength")
    assert (answer.fits, answer.unfit_components) == ((), ("strength",))
    assert find([], families(), asked("breath")).unfit_components == ()


def test_a_course_that_may_be_walked_keeps_nobody_in_the_chair_who_walks_it():
    for can in ("walk", "walk-device", "walk walk-device"):
        assert short("shuttle-own-pace", can, "stay-in-chair") == (frozenset({"stay-in-chair"}),)
        assert not any("shuttle" in name for name in names(found(can, "stay-in-chair")))
    assert short("shuttle-own-pace", "push-chair", "stay-in-chair") == ()
    assert short("shuttle-own-pace", "", "stay-in-chair") == ()  # nothing is known of how the student gets about


def test_who_walks_too_is_told_to_push_where_the_chair_is_needed():
    for need in ("stay-in-chair", "hand-held"):
        answer = reasons(entries()["shuttle-own-pace"], asked("walk push-chair walk-device", need))
        assert answer == (choose_fits(("push-chair",)), choose_meets((need,)))
    assert reasons(entries()["shuttle-own-pace"], asked("walk push-chair")) == (choose_fits(("walk", "push-chair")),)


def test_a_hand_held_on_foot_is_met_as_the_test_is_written():
    assert meets(entries()["shuttle-hand-held"], "hand-held", asked("walk"))
    assert not meets(entries()["shuttle-own-pace"], "hand-held", asked("walk"))
