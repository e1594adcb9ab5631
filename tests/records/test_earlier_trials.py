"""What an edit of a protocol sets reaches earlier trials only where it contradicts nothing."""

from datetime import date

import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook
from ownmark.records.catalogue import edited
from ownmark.records.earlier_trials import Given, Left, edit_for_all, offered
from ownmark.records.store.history import history_of

from tests.records.store import made

DAYS = (date(2026, 5, 12), date(2026, 5, 19), date(2026, 10, 6))


@pytest.fixture
def logbook(tmp_path):
    """Two trials by a version without a surface, one by a version with another seating."""
    with open_logbook(tmp_path / "logbook.db") as book:
        book.add_student(made.student())
        book.add_protocol(made.protocol(surface=None, device="chair 1", seating=None, better="lower"))
        for day in DAYS[:2]:
            book.add_trial(made.trial(on=day, distance_m=100.0 + day.day))
        book.new_version(edited(book.protocol("slalom-gym"), {"seating": "two straps"}))
        book.add_trial(made.trial(on=DAYS[2], distance_m=300.0).model_copy(update={"protocol_version": 2}))
        yield book


def edit(book, **changes):
    before = book.protocol("slalom-gym")
    return edit_for_all(book, before, edited(before, changes), list(changes), why="found in the notes")


def test_a_fact_that_nobody_had_fixed_is_given_and_each_trial_keeps_the_rest_of_its_own_version(logbook):
    newest, found = edit(logbook, surface="gym floor")
    assert [(each.trial, each.fields) for each in found.given] == [
        (1, ("surface",)),
        (2, ("surface",)),
        (3, ("surface",)),
    ]
    assert found.left == ()
    versions = [logbook.trial(number).protocol_version for number in (1, 2, 3)]
    assert versions == [3, 3, 4]  # one version for both, and the newest last
    assert (newest.version, logbook.protocol("slalom-gym").version) == (4, 4)
    first, last = logbook.protocol("slalom-gym", 3), logbook.protocol("slalom-gym", 4)
    assert (first.surface, first.seating) == (
        "gym floor",
        None,
    )  # seated so later, not then
    assert (last.surface, last.seating) == ("gym floor", "two straps")
    assert logbook.protocol("slalom-gym", 1).surface is None  # versions are never changed


def test_what_it_would_forbid_and_what_was_agreed_before_is_listed_and_left(logbook):
    _, found = edit(logbook, device="chair 2", better="higher", seating="one strap")
    assert found.given[-1] == Given(3, "TH-11", ("seating",))
    assert [each for each in found.left if each.trial == 1] == [
        Left(1, "TH-11", "device", "other value", "chair 1"),
        Left(1, "TH-11", "better", "agreed before", "lower"),
    ]
    assert {each.field for each in found.left} == {"device", "better"}
    for number in (1, 2, 3):
        version = logbook.protocol("slalom-gym", logbook.trial(number).protocol_version)
        assert (version.device, version.better, version.seating) == ("chair 1", "lower", "one strap")
    assert logbook.protocol("slalom-gym").device == "chair 2"


def test_what_was_given_stands_in_the_history_of_each_trial_and_of_the_protocol(logbook):
    newest, _ = edit(logbook, surface="gym floor")
    (change,) = history_of(logbook, "trial", 1)
    assert (change.what, change.why, dict(change.before)) == (
        "also earlier",
        "found in the notes",
        {"protocol_version": 1},
    )
    (change,) = history_of(logbook, "protocol", "slalom-gym")
    assert (change.what, change.code) == ("also earlier", None)
    assert dict(change.before) == {"from_version": newest.version, "fields": ["surface"], "trials": [1, 2, 3]}
    assert change.made


def test_what_is_offered_changes_nothing_and_an_edit_of_before_can_be_given_later(logbook):
    before = logbook.protocol("slalom-gym")
    after = logbook.new_version(edited(before, {"surface": "gym floor"}))
    assert [each.trial for each in offered(logbook, after, ["surface"]).given] == [1, 2, 3]
    assert [logbook.trial(number).protocol_version for number in (1, 2, 3)] == [1, 1, 2]
    newest, found = edit(logbook, surface="gym floor")  # it is so already, for later ones
    assert len(found.given) == 3
    assert (logbook.trial(3).protocol_version, newest.surface) == (newest.version, "gym floor")
    newest_again, found = edit(logbook, surface="gym floor")
    assert (found.given, found.left, newest_again.version) == ((), (), newest.version)
    assert len(history_of(logbook, "protocol", "slalom-gym")) == 1


@pytest.mark.parametrize(("planned", "left"), [("440", False), ("471", True), ("470", False)])
def test_a_length_that_the_trials_own_phase_has_not_is_left(tmp_path, planned, left):
    with open_logbook(tmp_path / "logbook.db") as book:
        book.add_student(made.student())
        book.add_protocol(made.protocol(work_s=None))
        one = made.trial(sheet=made.sheet(0))
        begin, end = one.sheet.provenance.phases.work
        book.add_trial(one)
        before = book.protocol("slalom-gym")
        after = edited(before, {"work_s": str(float(planned) - 440 + (end - begin))})
        found = offered(book, after, ["work_s"])
    assert [each.why for each in found.left] == (["other length"] if left else [])


def test_the_command_offers_gives_and_lists_what_is_left(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "book.db"))

    def run(*words):
        assert main([str(each) for each in words]) == 0
        return " ".join(capsys.readouterr().out.split())

    run("student", "add", "TH-11")
    run("protocol", "copy", "manual-chair-distance", "push")
    run("trial", "add", "TH-11", "push", "--date", "2026-05-12", "--distance", 200)
    told = run("protocol", "edit", "push", "--set", "surface=gym floor", "--set", "seating=two straps")
    assert "--also-earlier gives it to 1 earlier trial too" in told
    told = run(
        "protocol", "edit", "push", "--set", "seating=two straps", "--set", "better=no direction", "--also-earlier"
    )
    assert "Given to 1 earlier trial too. trial 1 of TH-11: seating Left as it was:" in told
    assert "better (higher): what a change is judged by was agreed before" in told
    assert "was given what its protocol was edited to" in run("trial", "show", 1, "--history")
    assert "was changed for earlier trials too: from version" in run("protocol", "show", "push", "--history")
