"""Other programs write while one trial is measured: what is stored is what the logbook gives when it is stored."""

from datetime import date

import pytest
from ownmark.records import adding, forget, open_logbook
from ownmark.records.adding import keep, settled
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.recompute import recompute
from ownmark.records.removing import remove_trial
from ownmark.records.store import settings
from ownmark.records.student_mending import edit_student
from ownmark.records.trial import Trial

from tests.records.batch import district
from tests.records.batch.district import TODAY, contents, school, simple

HIGHER = {"maxima": ({"bpm": 201, "on": "2026-09-01"},)}


@pytest.fixture
def meanwhile(monkeypatch):
    """Has something done once, when the first trial is measured and before it is stored."""
    real = adding.ask_of_sheet

    def set_to(then):
        left = [then]

        def asked(*facts):
            real(*facts)
            if left:
                left.pop()()

        monkeypatch.setattr(adding, "ask_of_sheet", asked)

    return set_to


def by_class_add(logbook, table, straps=None, **more):
    """The outcomes of a table."""
    return list(add_class(logbook, read_class(table, straps), day=None, today=TODAY, **more))


def states(outcomes):
    return [each.state for each in outcomes]


def fresh(logbook):
    """Every sheet is what its student, its protocol and its files give now."""
    found = list(recompute(logbook, store=False))
    assert [each for each in found if each.changed or each.refused] == []
    return len(found)


def test_a_maximum_that_is_changed_meanwhile_is_in_the_sheet(logbook, tmp_path, meanwhile):
    table = simple(tmp_path, 2)
    school(logbook)
    meanwhile(lambda: edit_student(logbook, "TH-11", HIGHER))
    outcomes = by_class_add(logbook, table)
    assert states(outcomes) == ["added", "added"]
    assert [each.number for each in outcomes] == [1, 2]
    assert fresh(logbook) == 2
    assert logbook.trial(1).sheet.provenance.basis.maximum_bpm == 201


def test_a_protocol_of_a_new_version_is_that_of_the_row(logbook, tmp_path, meanwhile):
    table = simple(tmp_path, 2)
    school(logbook)
    new = logbook.protocol("slalom-gym").model_copy(update={"pause_s": 20.0})
    meanwhile(lambda: logbook.new_version(new))
    assert states(by_class_add(logbook, table)) == ["added", "added"]
    assert [trial.protocol_version for trial in logbook.trials()] == [2, 2]
    assert fresh(logbook) == 2


@pytest.mark.parametrize(
    ("given", "kept"), [({}, ["America/Chicago", "America/Denver"]), ({"zone": "Asia/Tokyo"}, ["Asia/Tokyo"] * 2)]
)
def test_a_zone_that_is_set_meanwhile_is_that_of_the_row_unless_one_is_asked_for(
    given, kept, logbook, tmp_path, meanwhile
):
    table = simple(tmp_path, 1)
    school(logbook)
    meanwhile(lambda: settings.set_zone(logbook, "America/Chicago"))
    assert states(by_class_add(logbook, table, **given)) == ["added"]
    assert [trial.zone for trial in logbook.trials()] == kept[:1]


def test_a_student_who_is_forgotten_meanwhile_gets_no_trial(logbook, tmp_path, meanwhile):
    table = simple(tmp_path, 2)
    school(logbook)
    meanwhile(lambda: forget(logbook, "TH-11"))
    outcomes = by_class_add(logbook, table)
    assert states(outcomes) == ["refused", "added"]
    assert outcomes[0].code == "unknown_code"
    assert [trial.code for trial in logbook.trials()] == ["TH-12"]


def test_the_same_row_that_another_program_adds_meanwhile_is_there_already(logbook, tmp_path, meanwhile):
    table = simple(tmp_path, 1)
    school(logbook)
    meanwhile(lambda: by_class_add(logbook, table))
    (outcome,) = by_class_add(logbook, table)
    assert (outcome.state, outcome.number) == ("there already", 1)
    assert len(list(logbook.trials())) == 1


@pytest.fixture
def handed_round(tmp_path):
    """Two tables of a row each, of two students who wore one strap after each other."""
    data, works = district.handed_round(3, 2)
    district.write(tmp_path, "red.csv", data)
    for name, code, work in zip(("one", "two"), ("TH-11", "TH-12"), works, strict=True):
        line = f"{code},slalom-gym,red.csv,2026-11-10,{work}"
        district.write(tmp_path, f"{name}.csv", f"code,protocol,files,date,work\n{line}\n")
    return tmp_path / "one.csv", tmp_path / "two.csv"


def test_a_shared_strap_of_which_another_program_adds_a_part_is_parted(logbook, another_place, handed_round, meanwhile):
    one, two = handed_round
    school(logbook)
    meanwhile(lambda: by_class_add(logbook, two))
    assert states(by_class_add(logbook, one)) == ["added"]
    assert [len(trial.files) for trial in logbook.trials()] == [1, 1]
    assert all(trial.files[0].part_s for trial in logbook.trials())  # neither holds the other's minutes
    with open_logbook(another_place) as other:
        school(other)
        by_class_add(other, two)
        by_class_add(other, one)
        assert contents(other)[:3] == contents(logbook)[:3]


def test_what_is_mended_meanwhile_in_a_trial_of_the_same_strap_stays_mended(logbook, handed_round, meanwhile):
    one, two = handed_round
    by_class_add(school(logbook), two)
    meanwhile(lambda: edit_trial(logbook, 1, Edit(texts={"notes": "wheel loose"}), today=TODAY))
    assert states(by_class_add(logbook, one)) == ["added"]
    assert logbook.trial(1).notes == "wheel loose"
    assert fresh(logbook) == 2


def test_a_trial_of_the_same_strap_that_is_removed_meanwhile_refuses_none(logbook, handed_round, meanwhile):
    one, two = handed_round
    by_class_add(school(logbook), two)
    meanwhile(lambda: remove_trial(logbook, 1, why="by mistake"))
    assert states(by_class_add(logbook, one)) == ["added"]
    assert fresh(logbook) == 1


def test_the_other_student_of_a_strap_who_is_mended_meanwhile_is_measured_with_that(logbook, handed_round, meanwhile):
    one, two = handed_round
    by_class_add(school(logbook), two)
    meanwhile(lambda: edit_student(logbook, "TH-12", HIGHER))
    assert states(by_class_add(logbook, one)) == ["added"]
    assert logbook.trial(1).sheet.provenance.basis.maximum_bpm == 201
    assert fresh(logbook) == 2


def test_a_trial_that_is_added_alone_looks_again_too(logbook, tmp_path, meanwhile):
    simple(tmp_path, 1)
    school(logbook)
    seen = []

    def add(inside):
        seen.append(inside)
        trial = Trial(
            code="TH-11",
            protocol="slalom-gym",
            protocol_version=1,
            on=date(2026, 9, 1),
            work="01:00-04:00",
            zone=settings.zone_of(inside),
        )
        return keep(inside, trial, [tmp_path / "F1000.csv"])

    meanwhile(lambda: edit_student(logbook, "TH-11", HIGHER))
    assert settled(logbook, add).trial.id == 1
    assert len(seen) == 2
    assert seen[0] is logbook
    assert fresh(logbook) == 1


def test_what_nobody_changes_is_measured_once_and_beside_the_logbook(logbook, tmp_path, monkeypatch):
    table = simple(tmp_path, 3)
    school(logbook)
    insides = []
    real = adding.in_its_span

    def measured(inside, *facts, **more):
        insides.append(inside)
        return real(inside, *facts, **more)

    monkeypatch.setattr(adding, "in_its_span", measured)
    assert states(by_class_add(logbook, table)) == ["added"] * 3
    assert insides == [logbook] * 3
