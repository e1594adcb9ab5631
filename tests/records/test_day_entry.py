"""Entries of a day: what can be entered, kept word for word, and which files are one student's alone."""

from datetime import UTC, date, datetime

import pytest
from ownmark.errors import NotACode, NotATrial
from ownmark.records.day_entry import (
    KINDS,
    Assisted,
    ClockCheck,
    Exertion,
    FileIn,
    Listed,
    Noted,
    Press,
    PutAway,
    RowDraft,
    Stopped,
    Stored,
    Undone,
    entry,
    files_of_one,
    text_of,
    what_of,
    without_file_names,
)

DAY, AT = date(2026, 10, 6), datetime.fromisoformat("2026-10-06T09:05:12")
A, B, C = "a" * 64, "b" * 64, "c" * 64
ALL = [
    Listed(protocol="slalom-gym", strap="3"),
    Press(what="work_begins", turn=2),
    Stopped(why="wheel loose"),
    Assisted(what="begins", level="full physical"),
    Exertion(value=15, scale="6-20"),
    Noted(text="new tires\nand wind"),
    ClockCheck(strap="3", how="shown", shown_s=32_712.0),
    Undone(entry=7),
    FileIn(sha256=A, name="strap-3.fit", size=12),
    RowDraft(
        texts={"work": "9:05-9:13", "medicines": ""},
        files=(A, B),
        answers=("yes", "checked"),
        checked=("m1",),
        shifts={A: -37.5},
    ),
    Stored(trial=4, files=(A,)),
    PutAway(sha256=B),
]


def test_there_is_an_entry_of_each_kind_here():
    assert [type(each) for each in ALL] == list(KINDS.values())


@pytest.mark.parametrize("what", ALL, ids=lambda each: type(each).__name__)
def test_what_was_entered_comes_back_as_it_went_in(what):
    (kind,) = [name for name, model in KINDS.items() if model is type(what)]
    for kept in (True, False):
        assert what_of(kind, text_of(what), kept=kept) == what


def test_what_says_nothing_is_not_written():
    assert text_of(Press(what="rest_begins")) == '{"what":"rest_begins"}'
    assert text_of(RowDraft()) == "{}"
    assert text_of(RowDraft(files=())) == '{"files":[]}'  # no file at all is an answer


def test_a_moment_is_kept_in_whole_seconds_of_the_wall_and_a_code_in_capitals():
    made = entry(DAY, AT.replace(microsecond=999_999), Press(what="work_ends"), "th-11", once="form-1_a")
    assert (made.at, made.code, made.once, made.number, made.kind) == (AT, "TH-11", "form-1_a", None, "press")


@pytest.mark.parametrize(
    ("make", "refusal"),
    [
        (lambda: entry(DAY, AT, Press(what="work_ends"), "Maria"), NotACode),
        (lambda: entry(DAY, AT, Press(what="work_ends")), NotATrial),
        (lambda: entry(DAY, AT, FileIn(sha256=A, name="x", size=0), "TH-11"), NotATrial),
        (lambda: entry(DAY, AT, ClockCheck(strap="3", how="button"), "TH-11"), NotATrial),
        (lambda: entry(DAY, AT.replace(tzinfo=UTC), PutAway(sha256=A)), NotATrial),
        (lambda: entry(DAY, AT, PutAway(sha256=A), once=""), NotATrial),
        (lambda: entry(DAY, AT, PutAway(sha256=A), once="x" * 65), NotATrial),
        (lambda: entry(DAY, AT, PutAway(sha256=A), once="a b"), NotATrial),
        (lambda: Exertion(value=5.9, scale="6-20"), NotATrial),
        (lambda: Exertion(value=20.1, scale="6-20"), NotATrial),
        (lambda: Exertion(value=-0.1, scale="0-10"), NotATrial),
        (lambda: Noted(text=""), NotATrial),
        (lambda: Noted(text="call anna@example.org"), NotATrial),
        (lambda: Noted(text="x" * 4001), NotATrial),
        (lambda: Stopped(why="x" * 501), NotATrial),
        (lambda: RowDraft(texts={"notes": "call anna@example.org"}), NotATrial),
        (lambda: RowDraft(files=("../x",)), NotATrial),
        (lambda: RowDraft(files=("A" * 64,)), NotATrial),
        (lambda: RowDraft(shifts={"x": 1.0}), NotATrial),
        (lambda: RowDraft(shifts={A: float("nan")}), NotATrial),
        (lambda: ClockCheck(strap="3", how="button", shown_s=1.0), NotATrial),
        (lambda: ClockCheck(strap="3", how="shown"), NotATrial),
        (lambda: ClockCheck(strap="3", how="shown", shown_s=86_400.0), NotATrial),
        (lambda: ClockCheck(strap="", how="taps"), NotATrial),
        (lambda: Listed(strap="x" * 61), NotATrial),
        (lambda: Press(what="work_begins", turn=0), NotATrial),
        (lambda: Press(what="work_begins", turn=10), NotATrial),
        (lambda: Undone(entry=0), NotATrial),
        (lambda: Stored(trial=0), NotATrial),
        (lambda: FileIn(sha256=A, name="x" * 256, size=1), NotATrial),
        (lambda: FileIn(sha256=A, name="x", size=-1), NotATrial),
        (lambda: what_of("pressed", "{}", kept=True), NotATrial),
        (lambda: what_of("press", '{"what":"work_begins","who":1}', kept=True), NotATrial),
        (lambda: what_of("press", "[]", kept=True), NotATrial),
        (lambda: what_of("press", "{", kept=True), ValueError),
    ],
)
def test_what_cannot_be_entered_is_refused(make, refusal):
    with pytest.raises(refusal):
        make()


def test_the_edges_of_a_scale_can_be_entered():
    assert [Exertion(value=each, scale="6-20").value for each in (6, 20)] == [6, 20]
    assert ClockCheck(strap="3", how="shown", shown_s=0).shown_s == 0
    assert Press(what="work_begins", turn=9).turn == 9


def test_without_originals_no_entry_names_a_file():
    made = {type(each): entry(DAY, AT, each, None if type(each) in BARE else "TH-11", once="x") for each in ALL}
    assert without_file_names(made[FileIn]) is None
    assert without_file_names(made[PutAway]) is None
    row = entry(
        DAY, AT, RowDraft(texts={"offset": "a.fit=3", "notes": "n", "strap": "3"}, files=(A,), shifts={A: 3.0}), "TH-11"
    )
    assert without_file_names(row).what == RowDraft(texts={"notes": "n"})
    assert without_file_names(made[Stored]).what == Stored(trial=4)
    for kind in (Listed, Press, Stopped, Assisted, Exertion, Noted, ClockCheck, Undone):
        assert without_file_names(made[kind]) == made[kind]


BARE = (FileIn, PutAway, ClockCheck, Undone)


def files(*named):
    return [entry(DAY, AT, FileIn(sha256=sha256, name=name, size=1)) for sha256, name in named]


def test_a_file_is_one_students_where_rows_of_that_student_alone_name_it():
    mine = entry(DAY, AT, RowDraft(files=(A, B)), "TH-11")
    stored = entry(DAY, AT, Stored(trial=1, files=(C,)), "TH-11")
    theirs = entry(DAY, AT, RowDraft(files=(B,)), "BF-07")
    received = files((A, "strap-3.fit"), (B, "strap-4.fit"), (C, "strap-5.fit"))
    assert files_of_one([*received, mine, stored, theirs], "TH-11") == {A: "strap-3.fit", C: "strap-5.fit"}
    assert files_of_one([*received, mine, stored, theirs], "BF-07") == {}


def test_a_file_named_by_the_code_is_that_students_and_a_longer_code_is_another_one():
    received = files((A, "th-11_morning.fit"), (B, "TH-112.fit"), (C, "xTH-11.fit"))
    assert files_of_one(received, "TH-11") == {A: "th-11_morning.fit"}


def test_a_strap_that_two_wore_keeps_its_file():
    received = files((A, "strap-3.fit"), (B, "TH-11.fit"))
    mine = entry(DAY, AT, RowDraft(files=(A, B)), "TH-11")
    worn = [entry(DAY, AT, Listed(strap=strap), code) for strap, code in (("S3", "TH-11"), ("s3", "BF-07"))]
    assert files_of_one([*received, mine, *worn], "TH-11") == {B: "TH-11.fit"}
    assert files_of_one([*received, mine, worn[0]], "TH-11") == {A: "strap-3.fit", B: "TH-11.fit"}


def test_a_file_that_only_the_strap_tells_is_that_of_its_only_wearer():
    received = files((A, "S8.fit"), (B, "S80.fit"), (C, "S1.fit"))
    worn = [
        entry(DAY, AT, Listed(strap=strap), code) for strap, code in (("S8", "TH-11"), ("S1", "BF-07"), ("s1", "S014"))
    ]
    assert files_of_one([*received, *worn], "TH-11") == {A: "S8.fit"}
    assert files_of_one([*received, *worn], "BF-07") == {}
    taken = entry(DAY, AT, RowDraft(files=(A,)), "BF-07")
    assert files_of_one([*received, *worn, taken], "TH-11") == {}
    numbered = [*files((A, "2026-11-08.fit"), (B, "strap 8.fit")), entry(DAY, AT, Listed(strap="8"), "TH-11")]
    assert files_of_one(numbered, "TH-11") == {B: "strap 8.fit"}
