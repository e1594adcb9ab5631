"""Words: a hole that is missing raises, numbers are rounded half up, and branches follow their value."""

from datetime import date

import pytest
from ownmark.words import Message, Quoted, Words
from ownmark.words import render as module
from ownmark.words.numbers import below, clock, nearest, rounded, shortest
from ownmark.words.pseudo import pseudo

TEXTS = {
    "form.decimal": ",",
    "form.and": "and",
    "form.date": "{month} {day}, {year}",
    "month.5": "May",
    "unit.beats": "/min",
    "unit.beats_family": "beats a minute",
    "unit.seconds": "s",
    "unit.minutes": "{clock} min ({seconds} s)",
    "condition.pacemaker": "pacemaker",
    "condition.shunt": "shunt",
    "t.share": "Only {share:0} % of {needed:1}.",
    "t.rate": "{rate:beats0}",
    "t.all_but": "{share:below-100}",
    "t.short": "{share:below-needed}",
    "t.files.one": "one file",
    "t.files.other": "{count} files",
    "t.way.by": "way",
    "t.way.up": "It rose.",
    "t.way.down": "It fell.",
    "t.all": "{at:clock} {length:duration} {name:condition} {on} {why} {file} {--rest}",
    "t.why": "because",
    "form.not_given": "Not given:",
    "t.reason": "{not-given} {why}.",
    "t.laps.by": "value",
    "t.laps.one": "{value:g} lap",
    "t.laps.other": "{value:g} laps",
}


@pytest.fixture
def words(monkeypatch):
    monkeypatch.setattr(module, "texts", lambda language: TEXTS)
    return Words("xx")


def test_a_number_is_rounded_half_up_with_the_sign_of_the_language(words):
    assert words.message(Message.of("t.share", share=0.5, needed=81.25)) == "Only 1 % of 81,3."


@pytest.mark.parametrize(("share", "shown"), [(96.7, "97"), (99.4, "99"), (99.83, "99,8"), (100.0, "100")])
def test_a_share_is_rounded_and_reaches_a_limit_only_where_it_does(words, share, shown):
    assert words.message(Message.of("t.all_but", share=share)) == shown
    assert words.message(Message.of("t.short", share=share, needed=100)) == shown
    assert (module.holes("{share:below-100}"), module.holes("{share:below-needed}")) == ({"share"}, {"share", "needed"})
    with pytest.raises(module.MissingWords):
        words.message(Message.of("t.short", share=share))


def test_a_reason_says_that_it_is_one_but_not_in_a_list_of_reasons(words):
    reason = Message.of("t.reason", why=Message("t.why"))
    assert words.message(reason) == "Not given: because."
    assert words.reason(reason) == "because."
    assert words.reason(Message("t.why")) == "because"


@pytest.mark.parametrize(("value", "shown"), [(1.0, "1 lap"), (2.0, "2 laps"), (1.5, "1,5 laps"), (0.0, "0 laps")])
def test_one_is_one_by_the_value_that_the_text_names(words, value, shown):
    assert words.message(Message.of("t.laps", value=value)) == shown


def test_a_rate_reads_otherwise_for_a_family(words):
    assert words.message(Message.of("t.rate", rate=119.5)) == "120 /min"
    words.family = True
    assert words.message(Message.of("t.rate", rate=119.5)) == "120 beats a minute"


def test_branches_follow_the_count_or_the_value_that_is_named(words):
    assert [words.message(Message.of("t.files", count=n)) for n in (0, 1, 2)] == ["0 files", "one file", "2 files"]
    assert words.message(Message.of("t.way", way="down")) == "It fell."


def test_every_kind_of_value_is_written_by_its_type(words):
    message = Message.of(
        "t.all",
        at=125,
        length=90.5,
        name=("pacemaker", "shunt"),
        on=date(2026, 5, 2),
        why=Message("t.why"),
        file=Quoted("a, b"),
    )
    assert words.message(message) == "2:05 1:31 min (91 s) pacemaker and shunt May 2, 2026 because a, b"
    words.terminal = True
    assert words.message(message).endswith("a, b (--rest)")


def test_a_time_is_by_the_clock_where_the_message_knows_it(words):
    rest = {"length": 90.5, "name": "shunt", "on": date(2026, 5, 2), "why": Message("t.why"), "file": Quoted("a")}
    known = Message.of("t.all", at=-125, clock_at_zero=3600, **rest)
    assert words.message(known).startswith("00:57:55 1:31 min (91 s) shunt")


@pytest.mark.parametrize(
    "message",
    [
        Message("t.nothing"),
        Message("t.share", (("share", 1.0),)),
        Message.of("t.way", way="sideways"),
        Message.of("t.share", share="a b", needed=1.0),
        Message.of("t.rate", rate="pacemaker"),
        Message.of("t.files.other", count=2.5),
    ],
)
def test_a_missing_code_value_branch_or_form_raises_and_never_prints(words, message):
    with pytest.raises(module.MissingWords):
        words.message(message)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(81.25, 1, "81.3"), (0.5, 0, "1"), (-0.04, 1, "0.0"), (2.675, 2, "2.68"), (-2.5, 0, "-3"), (1e-7, 1, "0.0")],
)
def test_rounding_is_half_up_of_the_shortest_decimal_form(value, digits, text):
    assert rounded(value, digits) == text
    assert digits or nearest(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (66.5, "67"),  # as everywhere else, never cut
        (66.4, "66"),
        (79.4, "79"),
        (79.5, "79.5"),  # 80 of 80 would be enough
        (79.96, "79.96"),
        (79.9996, "79.9996"),
        (79.99996, "79.99996"),
        (80.0, "80"),
        (80.4, "80"),
    ],
)
def test_what_is_below_a_limit_is_below_it_as_shown(value, text):
    assert below(value, 80.0) == text


@pytest.mark.parametrize(
    ("value", "text"), [(12.0, "12"), (0.5, "0.5"), (100, "100"), (1e-5, "0.00001"), (-0.0, "0"), (1e6, "1000000")]
)
def test_the_shortest_form_has_no_exponent_and_no_empty_decimals(value, text):
    assert shortest(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0:00"),
        (59.5, "1:00"),
        (605, "10:05"),
        (3599.4, "59:59"),
        (3600, "1:00:00"),
        (3661, "1:01:01"),
        (-61, "−1:01"),
        (-0.4, "0:00"),
    ],
)
def test_a_clock_reads_minutes_and_seconds(value, text):
    assert clock(value) == text


def test_the_pseudo_language_keeps_holes_and_is_a_third_longer():
    text = pseudo("Only {share:0} % done")
    assert "{share:0}" in text
    assert not set("Onlydone") & set(text.replace("{share:0}", ""))
    assert len(text) >= len("Only {share:0} % done") * 4 / 3 - 4


def test_the_pseudo_language_has_every_text_of_english():
    assert set(module.texts("pseudo")) == set(module.texts("en"))


def test_an_option_is_its_own_or_the_command_that_takes_it_and_nothing_on_a_page():
    from ownmark.metrics.messages.heart_rate import WHY_NO_REST, WHY_NO_SEX
    from ownmark.metrics.messages.movement import WHY_NO_PLACEMENT

    commands = {"--sex": "ownmark student edit TH-11 --sex", "--placement": "ownmark protocol edit p"}
    terminal, logbook = Words("en", terminal=True), Words("en", terminal=True, commands=commands)
    assert "sex (--sex), which" in terminal.message(WHY_NO_SEX)
    assert "sex (`ownmark student edit TH-11 --sex`), which" in logbook.message(WHY_NO_SEX)
    assert "sex, which" in Words("en", commands=commands).message(WHY_NO_SEX)
    assert logbook.message(WHY_NO_REST) == terminal.message(WHY_NO_REST)  # no command is known for it
    assert logbook.message(WHY_NO_PLACEMENT).endswith(
        "was (`ownmark protocol edit p`: frame, wrist, crank, trunk or wheel)."
    )
