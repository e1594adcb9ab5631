"""Finding the test that fits, on the command line, and keeping what a student can do."""

import argparse
import json
from datetime import date

import pytest
from ownmark.cli.abilities import answers_given, can_given, needs_given
from ownmark.cli.main import main
from ownmark.errors import NotAStudent, UsageError
from ownmark.records import open_logbook, text_guards
from ownmark.records.abilities import MOVEMENTS, NEEDS, SENSES
from ownmark.records.catalogue import edited
from ownmark.records.store.seals import seal
from ownmark.records.store.student_overview import kept_fields
from ownmark.records.store.tables import students
from ownmark.records.student import Answers, Student
from ownmark.records.student_entries import with_entry, withdrawn
from ownmark.records.student_mending import edit_student


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))

    def call(*words, code=0):
        found = main([str(word) for word in words])
        out, err = capsys.readouterr()
        assert "itself failed" not in err, err
        assert found == code, out + err
        return out + err

    return call


@pytest.fixture
def school(run):
    run("student", "add", "TH-11", "--condition", "epilepsy")
    return run


def kept(run):
    return json.loads(run("student", "show", "TH-11", "--json"))["answers"]


def test_words_are_taken_in_any_writing_and_in_the_order_of_the_list():
    assert can_given("Hear, push chair ,arms,arms") == ("arms", "push-chair", "hear")
    assert needs_given("own_pace,REMINDERS") == ("reminders", "own-pace")


def test_letters_and_hyphens_of_a_keyboard_or_a_page_are_those_of_the_list():
    assert can_given("ＡＲＭＳ,push‐chair,drive–chair,walk−device,leave\u00a0chair") == (
        *("arms", "push-chair", "drive-chair", "walk-device", "leave-chair"),
    )


def test_a_long_word_is_not_repeated_whole():
    with pytest.raises(UsageError, match=r"“x{40}…”") as found:
        can_given("x" * 100_000)
    assert len(str(found.value)) < 250
    with pytest.raises(UsageError, match=r"“y{40}”"):
        can_given("y" * 40)


def test_an_option_that_is_given_again_adds_its_words(school):
    found = json.loads(
        school("protocol", "find", "--can", "arms", "--can", "legs", "--needs", "lying", "--needs", "guide", "--json")
    )
    assert (found["can"], found["needs"]) == (["arms", "legs"], ["guide", "lying"])
    school("student", "edit", "TH-11", "--can", "arms", "--can", "hear")
    assert kept(school)[0]["can"] == ["arms", "hear"]
    assert "no word “none”" in school("student", "edit", "TH-11", "--can", "none", "--can", "arms", code=2)


def test_needs_that_are_kept_can_be_left_out_of_one_answer(school):
    school("student", "edit", "TH-11", "--can", "arms", "--needs", "lying")
    assert json.loads(school("protocol", "find", "--student", "TH-11", "--needs", "None", "--json"))["needs"] == []
    assert kept(school)[0]["needs"] == ["lying"]


def test_none_takes_away_and_gives_nothing_beside(school):
    school("student", "edit", "TH-11", "--can", "arms", "--needs", "lying")
    refused = school("student", "edit", "TH-11", "--can", "NONE", "--needs", "guide", code=2)
    assert "--can none takes the answers away, and --needs gives some" in refused
    assert kept(school)[0]["can"] == ["arms"]
    school("student", "edit", "TH-11", "--can", "NONE", "--needs", "none")
    assert kept(school) == []


def test_an_answer_that_says_nothing_is_not_kept(school):
    school("student", "edit", "TH-11", "--needs", "guide", "--from", "2026-01-01")
    school("student", "edit", "TH-11", "--needs", "none", "--from", "2026-01-01")
    assert kept(school) == []
    school("student", "edit", "TH-11", "--needs", "guide", "--from", "2026-01-01")
    school("student", "edit", "TH-11", "--needs", "none", "--from", "2026-02-01")
    assert [each["needs"] for each in kept(school)] == [["guide"], []]  # from February on nothing is said
    assert "nothing is kept yet" in school("protocol", "find", "--student", "TH-11", code=2)


def test_the_history_shows_former_answers_as_words(school):
    school("student", "edit", "TH-11", "--can", "arms,hear", "--needs", "lying", "--from", "2026-01-01")
    school("student", "edit", "TH-11", "--needs", "none", "--from", "2026-02-01")
    school("student", "edit", "TH-11", "--can", "none")
    told = " ".join(school("student", "show", "TH-11", "--history").split())
    assert "arms, hear, lying, 2026-01-01; arms, hear, 2026-02-01" in told


@pytest.mark.parametrize(("year", "code"), [("1949", 2), ("1950", 0)])
def test_a_day_long_before_any_student_is_a_slip(school, year, code):
    assert (
        "too long ago" in school("student", "edit", "TH-11", "--can", "arms", "--from", f"{year}-12-31", code=code)
    ) == (code == 2)


@pytest.mark.parametrize(
    ("given", "text", "told"),
    [
        (can_given, "wlak", r"^--can: there is no word “wlak”.*Did you mean walk"),
        (can_given, "reminders", r"^--can: there is no word “reminders”"),
        (needs_given, "remider", r"^--needs: .*Did you mean reminders"),
        (needs_given, " , ", r"^--needs: no word was given"),
        # The closest two of three that are close enough.
        (can_given, "wheel-chair", r"Did you mean push-chair or leave-chair\?"),
        # Half of the letters must agree: 10 of 14 with trunk, 6 of 13 with legs.
        (can_given, "leg-trunk", r"Did you mean trunk\?"),
        # Of several the first by the alphabet, in every run.
        (can_given, "zz,yy,xx,ww,vv,uu,tt,ss,rr,qq,pp,oo", r"there is no word “oo”"),
        (can_given, "zzz", r"“zzz”\. There are: arms, legs, trunk"),
        (can_given, "walk-divice", r"Did you mean walk-device or walk\?"),
    ],
)
def test_another_word_is_refused_with_the_nearest(given, text, told):
    with pytest.raises(UsageError, match=told):
        given(text)


def said(can=None, needs=None):
    return argparse.Namespace(can=can, needs=needs)


def test_what_is_not_said_anew_stays_as_it_was_said_last():
    day = date(2026, 2, 1)
    last = Answers(can=("head", "see"), needs=("lying", "guide"), on=date(2025, 9, 1))
    assert answers_given(said("arms"), last, day) == Answers(can=("arms",), needs=("lying", "guide"), on=day)
    assert answers_given(said(needs="own-pace"), last, None) == Answers(can=("head", "see"), needs=("own-pace",))
    assert answers_given(said(needs="none"), last, None) == Answers(can=("head", "see"))
    assert answers_given(said(needs="reminders"), None, None) == Answers(needs=("reminders",))
    assert answers_given(said("arms"), None, None) == Answers(can=("arms",))
    assert answers_given(said(), None, None) == Answers()


def test_the_newest_answer_counts_and_of_one_day_the_last():
    old, new, undated = (
        Answers(can=("head",), on=date(2025, 9, 1)),
        Answers(on=date(2026, 2, 1)),
        Answers(can=("legs",)),
    )
    assert Student(code="TH-1", answers=(new, undated, old)).answer == new
    assert Student(code="TH-1", answers=(undated,)).answer == undated
    again = old.model_copy(update={"can": ("arms",)})
    assert Student(code="TH-1", answers=(old, again)).answer == again


def test_an_answer_of_the_same_day_is_corrected_and_one_without_a_day_comes_only_first():
    old, new = Answers(can=("head",), on=date(2025, 9, 1)), Answers(can=("arms",), on=date(2025, 9, 1))
    assert with_entry((old,), new) == (new,)
    assert with_entry((Answers(),), Answers(can=("legs",))) == (Answers(can=("legs",)),)
    assert with_entry((Answers(),), new) == (Answers(), new)
    with pytest.raises(NotAStudent, match="what the student can do was said on September 1, 2025"):
        with_entry((old,), Answers(can=("legs",)))
    assert withdrawn((Answers(), old), date(2025, 9, 1)) == (Answers(),)


def test_the_help_names_every_word(run, capsys):
    with pytest.raises(SystemExit):
        main(["protocol", "find", "--help"])
    told = "".join(capsys.readouterr().out.split())
    assert all(each in told for each in (*MOVEMENTS, *SENSES, *NEEDS))
    assert "--canWORD,…" in told
    assert "--needsWORD,…" in told


def test_it_needs_no_logbook_and_exits_with_1_where_nothing_fits(run, tmp_path):
    assert "Begin with: Head movement to a switch." in run(
        "protocol", "find", "--can", "head", "--component", "aerobic"
    )
    told = run("protocol", "find", "--can", "breath", "--component", "strength", code=1)
    assert "No test of the catalogue fits what was said." in told
    assert "Strength: no test of the catalogue fits. Ask the therapist" in told
    assert not (tmp_path / "logbook.db").exists()
    assert "there is no word" in run("protocol", "find", "--can", "fly", code=2)


def test_without_a_word_every_test_is_listed(run):
    told = run("protocol", "find", "--component", "flexibility")
    assert "Nothing was said of the student yet" in told
    assert "The student must be able to" in told


def test_json_holds_the_codes_and_the_texts(run):
    found = json.loads(run("protocol", "find", "--can", "push-chair,hear", "--needs", "reminders", "--json"))
    assert (found["can"], found["needs"]) == (["push-chair", "hear"], ["reminders"])
    first = found["fits"][0]
    assert (first["name"], first["component"], first["family"], first["step"]) == (
        *("chair-set-distance", "aerobic", "chair-push"),
        1,
    )
    assert first["reasons"] == [
        "Fits because the student can push a chair.",
        "Meets what the student needs: reminders.",
    ]
    assert [each["code"] for each in first["messages"]] == [
        *("choose.fits", "choose.meets", "choose.sense_or", "choose.both_or"),
    ]
    assert first["transfer"] is True
    assert first["gives_up"]
    assert first["ask"]
    assert len(first["find_out"]) == 2
    assert found["nearly"][0]["fact"] == "legs"
    assert "shuttle-slower-signal" in found["nearly"][-1]["tests"]
    assert found["without_a_test"] == ["trunk"]


def test_a_page_is_written_and_never_over_a_logbook(run, tmp_path):
    out = tmp_path / "pages"
    assert str(out / "tests.html") in run("protocol", "find", "--can", "arms", "--html", "--out", out)
    assert "Which test fits" in (out / "tests.html").read_text()
    assert "tests-es.html" in run("protocol", "find", "--can", "arms", "--html", "--lang", "es", "--out", out)
    with open_logbook(str(out / "other.db"), create=True):
        pass
    (out / "tests.html").unlink()
    (out / "other.db").rename(out / "tests.html")
    assert "this is a logbook" in run("protocol", "find", "--can", "arms", "--html", "--out", out, code=1)


def test_answers_are_kept_with_the_student_and_used(school):
    assert "nothing is kept yet" in school("protocol", "find", "--student", "TH-11", code=2)
    told = school("student", "edit", "TH-11", "--can", "arms,push-chair", "--needs", "reminders")
    assert "can          arms, push-chair" in told
    assert "needs        reminders" in told
    assert kept(school) == [{"can": ["arms", "push-chair"], "needs": ["reminders"], "on": None}]
    told = school("protocol", "find", "--student", "th-11", "--component", "aerobic")
    assert "Which test fits TH-11" in told
    assert "the student can move an arm and push a chair" in told
    assert "Seizure: stay" in told  # the caution of the condition
    assert "Seizure: stay" not in school("protocol", "find", "--can", "arms")
    other = school("protocol", "find", "--student", "TH-11", "--can", "head", "--component", "aerobic")
    assert "Begin with: Head movement to a switch." in other
    assert "needs: reminders" in other


def test_a_condition_rules_nothing_out(school):
    school("student", "edit", "TH-11", "--can", "arms,push-chair")
    with_it = json.loads(school("protocol", "find", "--student", "TH-11", "--json"))
    without = json.loads(school("protocol", "find", "--can", "arms,push-chair", "--json"))
    assert with_it == without


def test_answers_count_from_a_day_on_are_corrected_and_withdrawn(school):
    school("student", "edit", "TH-11", "--can", "arms", "--from", "2025-09-01")
    school("student", "edit", "TH-11", "--needs", "lying", "--from", "2026-02-01")
    old, new = (
        {"can": ["arms"], "needs": [], "on": "2025-09-01"},
        {"can": ["arms"], "needs": ["lying"], "on": "2026-02-01"},
    )
    assert kept(school) == [old, new]
    assert "February 1, 2026, and counts before one without a day" in school(
        "student", "edit", "TH-11", "--can", "legs", code=1
    )
    assert "lying (from Feb 1, 2026)" in school("student", "show", "TH-11")
    school("student", "edit", "TH-11", "--needs", "none", "--from", "2026-02-01")
    assert kept(school) == [old, {**new, "needs": []}]
    school("student", "edit", "TH-11", "--can", "none", "--from", "2026-01-01")
    assert kept(school) == [old]
    school("student", "edit", "TH-11", "--can", "none")
    assert kept(school) == []
    assert "answers" in school("student", "show", "TH-11", "--history")


def test_answers_go_into_a_disclosure_and_a_backup_and_are_forgotten(school, tmp_path, monkeypatch):
    school("student", "edit", "TH-11", "--can", "arms", "--needs", "guide")
    school("disclose", "TH-11", "--out", tmp_path / "told")
    assert json.loads((tmp_path / "told" / "student.json").read_text())["answers"][0]["needs"] == ["guide"]
    school("backup", tmp_path / "all.zip")
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "again.db"))
    school("restore", tmp_path / "all.zip")
    assert kept(school)[0]["can"] == ["arms"]
    school("forget", "TH-11", "--yes")
    assert b"answers" not in (tmp_path / "again.db").read_bytes()


def test_a_row_of_before_the_answers_is_shown(run, tmp_path):
    run("student", "add", "TH-12")
    place = str(tmp_path / "logbook.db")
    with open_logbook(place) as logbook:
        assert logbook.student("TH-12").answer is None
        older = {name: each for name, each in kept_fields(logbook.student("TH-12")).items() if name != "answers"}
        text = json.dumps(older, separators=(",", ":"))
        with logbook.writing() as connection:
            connection.execute(
                students.update().values(value=text, seal=seal(("TH-12", text))).where(students.c.code == "TH-12")
            )
    assert json.loads(run("student", "show", "TH-12", "--json"))["answers"] == []
    assert "can " not in run("student", "show", "TH-12")


def test_the_catalogue_lists_by_family_and_shows_the_ladder(run):
    listed = run("protocol", "catalogue")
    assert listed.index("Driving a power chair") < listed.index("1  power-chair-distance")
    assert listed.index("1  power-chair-distance") < listed.index("2  power-chair-slalom")
    whole = run("protocol", "catalogue", "power-chair-slalom")
    for told in ("step 2 of “Driving a power chair”", "gives_up", "basis of gates_passed", "cannot_say", "comparable"):
        assert told in whole
    assert json.loads(run("protocol", "catalogue", "power-chair-slalom", "--json"))["catalogue"]["step"] == 2
    run("protocol", "copy", "power-chair-slalom", "slalom")
    assert "step 2 of “Driving a power chair”" in run("protocol", "show", "slalom")


def test_two_who_edit_a_student_at_once_lose_nothing_of_each_other(school, tmp_path, monkeypatch):
    """The other writer comes between the look at the student and the edit, at the question about texts."""

    def in_between(*_):
        with open_logbook(tmp_path / "logbook.db") as logbook:
            edit_student(logbook, "TH-11", {"answers": (Answers(can=("head",), on=date(2026, 1, 1)),)})

    monkeypatch.setattr(text_guards, "ask_of", in_between)
    school("student", "edit", "TH-11", "--can", "arms", "--from", "2026-02-01")
    assert [each["can"] for each in kept(school)] == [["head"], ["arms"]]


@pytest.mark.parametrize("more", [[], ["--also-earlier"]])
def test_two_who_edit_a_protocol_at_once_lose_nothing_of_each_other(school, tmp_path, monkeypatch, more):
    def in_between(*_):
        with open_logbook(tmp_path / "logbook.db") as logbook:
            logbook.new_version(edited(logbook.protocol("slalom"), {"gates": "8"}))

    school("protocol", "copy", "power-chair-slalom", "slalom")
    monkeypatch.setattr(text_guards, "ask", in_between)
    school("protocol", "edit", "slalom", "--set", "laps=3", *more)
    found = json.loads(school("protocol", "show", "slalom", "--json"))
    assert (found["version"], found["gates"], found["laps"]) == (3, 8, 3)
