"""How long a typed text may be, at each limit; what is no text; and that what is kept already stays readable."""

import json

import pytest
from ownmark.errors import NotAProtocol, NotAStudent, NotATrial
from ownmark.records import Ceiling, HandMeasure, KeptFile, MeasuredRate, Protocol, Stop, Student, Trial, open_logbook
from ownmark.records.store.rows import protocol_from, protocol_row, student_from, student_row
from ownmark.records.store.seals import sealed
from ownmark.records.texts import ENTRY, LINE, MOST, TEXT, fault_in

from tests.records.store import made

TRIAL = {"code": "TH-11", "protocol": "x", "protocol_version": 1, "on": "2026-05-12"}
PROTOCOL = {"name": "x", "title": "X", "component": "aerobic", "primary_figure": "heart_rate_mean", "better": "lower"}
LONG = {
    Trial: ("notes", "health", "medicines", "footwear_orthoses", "device_used", "device_settings"),
    Student: ("notes",),
    Protocol: (
        *("task", "set_up", "instructions", "warm_up", "practice", "rests_allowed", "why", "motivators", "course"),
        *("movement", "seating", "straps", "footwear_orthoses", "helpers"),
    ),
}
SHORT = {
    Trial: ("rest_phase", "work", "recovery", "zone", "floor", "sensor_used", "protocol"),
    Protocol: ("title", "surface", "resistance", "gear", "device", "device_id", "guide", "rest_posture", "pulse_site"),
}
BASE = {Trial: TRIAL, Student: {"code": "TH-11"}, Protocol: PROTOCOL}
REFUSAL = {Trial: NotATrial, Student: NotAStudent, Protocol: NotAProtocol}


def cases(fields):
    return [(kind, field) for kind, names in fields.items() for field in names]


def test_the_limits_are_those_that_are_documented():
    assert (LINE, ENTRY, TEXT, MOST) == (255, 500, 4000, 100)


@pytest.mark.parametrize(("kind", "field"), cases(LONG))
def test_a_note_or_description_is_kept_up_to_its_length_with_its_lines(kind, field):
    text = "a\nb\r\nc\t" + "ä" * (TEXT - 7)
    assert len(text) == TEXT
    assert getattr(kind(**BASE[kind], **{field: text}), field) == text
    with pytest.raises(REFUSAL[kind], match=f"“{field}” has 4,001 letters; at most 4,000 are kept"):
        kind(**BASE[kind], **{field: f"{text}x"})


@pytest.mark.parametrize(("kind", "field"), cases(SHORT))
def test_a_label_is_one_line_up_to_its_length(kind, field):
    fields = BASE[kind] | {field: "ä" * LINE}
    assert getattr(kind(**fields), field) == "ä" * LINE
    with pytest.raises(REFUSAL[kind], match=f"“{field}” has 256 letters; at most 255 are kept"):
        kind(**BASE[kind] | {field: "ä" * (LINE + 1)})
    for sign in "\n\r\t\0\x1b\x1f\x7f":
        with pytest.raises(REFUSAL[kind], match=f"“{field}” is more than one line, or holds a control character"):
            kind(**BASE[kind] | {field: f"a{sign}b"})
    assert getattr(kind(**BASE[kind] | {field: "a b~"}), field) == "a b~"


def test_texts_in_parts_of_a_value_have_lengths_too():
    long = "x" * 10_000
    for make in (
        lambda: MeasuredRate(bpm=70, posture=long),
        lambda: MeasuredRate(bpm=70, exercise=long),
        lambda: Ceiling(bpm=150, set_by=long),
        lambda: Student(code="TH-11", rests=[{"bpm": 70, "posture": long}]),
        lambda: Student(code="TH-11", conditions=[long]),
        lambda: Stop(at=long, why="x"),
        lambda: Stop(at="09:10", why=long),
        lambda: Trial(**TRIAL, stops=[{"at": "09:10", "why": long}]),
        lambda: Trial(**TRIAL, columns={"heart_rate": long}),
        lambda: Trial(**TRIAL, columns={long: "x"}),
        lambda: Trial(**TRIAL, offsets={long: 1.0}),
        lambda: Trial(**TRIAL, assisted=[long]),
        lambda: Trial(**TRIAL | {"code": long}),
        lambda: KeptFile(path=long, sha256="0" * 64, size=1),
        lambda: HandMeasure(name="x", unit=long, kind="other", sides=False, attempts=1, how="x"),
        lambda: HandMeasure(name="x", unit="cm", kind="other", sides=False, attempts=1, how=long),
        lambda: Protocol(**PROTOCOL, write_down=[long]),
        lambda: Protocol(**PROTOCOL, cautions=["x", long]),
    ):
        with pytest.raises((NotATrial, NotAStudent, NotAProtocol), match="has 10,000 letters; at most"):
            make()


def test_an_entry_of_a_list_and_the_number_of_entries():
    assert Protocol(**PROTOCOL, cautions=["x" * ENTRY] * MOST).cautions[-1] == "x" * ENTRY
    assert Stop(at="1:00", why="x" * ENTRY).why
    for fields in ({"cautions": ["x" * (ENTRY + 1)]}, {"cautions": ["a\nb"]}, {"cautions": ["x"] * (MOST + 1)}):
        with pytest.raises(NotAProtocol):
            Protocol(**PROTOCOL, **fields)
    with pytest.raises(NotATrial, match="“assisted” has 101 entries; at most 100 are kept"):
        Trial(**TRIAL, assisted=["1:00-2:00"] * 101)
    with pytest.raises(NotATrial, match="“columns” has 101 entries"):
        Trial(**TRIAL, columns={f"c{n}": "x" for n in range(101)})
    assert len(
        Trial(**TRIAL, hand_results=[{"name": "x", "value": n, "attempt": n + 1} for n in range(1000)]).hand_results
    )


@pytest.mark.parametrize("letter", [chr(0xD800), chr(0xDCFF), chr(0xDFFF)])
def test_bytes_that_are_no_text_are_refused_wherever_they_stand(letter):
    for make in (
        lambda: Student(code="TH-11", notes=letter),
        lambda: Trial(**TRIAL, notes=f"x{letter}"),
        lambda: Trial(**TRIAL, offsets={letter: 1.0}),
        lambda: Protocol(**PROTOCOL, task=letter),
        lambda: Protocol(**PROTOCOL | {"title": letter}),
        lambda: Stop(at="09:10", why=letter),
        lambda: KeptFile(path=letter, sha256="0" * 64, size=1),
    ):
        with pytest.raises((NotATrial, NotAStudent, NotAProtocol), match="holds bytes that are no text"):
            make()


def test_what_the_logbook_holds_from_before_stays_readable(tmp_path):
    long = "x" * 10_000
    old = made.student(notes="x").model_copy(update={"notes": long})
    assert student_from(student_row(old)) == old
    older = made.protocol().model_copy(update={"task": long, "title": "a\nb"})
    assert protocol_from(protocol_row(older)) == older
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_protocol(made.protocol())
        logbook.add_student(made.student())
        added = logbook.add_trial(made.trial().model_copy(update={"notes": long}))
        assert logbook.trial(added.id).notes == long
        with logbook.writing() as connection:
            _, value, seal = sealed("TH-11", json.dumps({**old.model_dump(mode="json")}))
            connection.exec_driver_sql("UPDATE students SET value = ?, seal = ?", (value, seal))
        assert logbook.student("TH-11").notes == long
        with pytest.raises(NotAStudent, match="“notes” has 10,000 letters"):
            made.bare_edit(logbook, "TH-11", born="2012-05")
        assert made.bare_edit(logbook, "TH-11", notes="short").notes == "short"


def test_an_address_is_looked_for_only_in_a_note_of_a_kept_length():
    # The search takes time with the square of the length.
    with pytest.raises(NotATrial, match="letters"):
        Trial(**TRIAL, notes="@" * 1_000_000)


def test_nothing_is_wrong_with_what_is_no_text():
    assert fault_in({"a": None, "b": 3.0, "c": (1, None), "d": {"x": 1}, "e": "x"}, {}, {}) is None
    assert fault_in({"a": ["x"] * 3}, {}, {"a": 2}) is not None
    assert fault_in({"a": ["x"] * 2}, {}, {"a": 2}) is None
