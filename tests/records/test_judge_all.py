"""Every student of a protocol is judged as that student alone, some at a time, and nobody who is forgotten stops it."""

from datetime import date

from ownmark.records import forget
from ownmark.records.judge import judge_all, judge_student
from ownmark.records.store.bulk import add_trials

from tests.records import made

DAYS = (date(2026, 5, 5), date(2026, 10, 6))
CODES = [f"JA-{number:03d}" for number in range(230)]


def filled(logbook):
    logbook.add_protocol(made.protocol())
    logbook.add_students([made.student(code) for code in CODES])
    add_trials(
        logbook,
        (
            made.trial(code, day, sheet=made.sheet((number + turn) % 5), practice=number == 7 and turn == 1)
            for number, code in enumerate(CODES)
            for turn, day in enumerate(DAYS)
        ),
    )


def test_all_are_judged_in_order_as_each_alone(logbook):
    filled(logbook)
    found = dict(judge_all(logbook, "slalom-gym"))
    assert list(found) == CODES
    assert "two are needed" in str(found["JA-007"])  # the second day was practice
    for code in (CODES[0], CODES[99], CODES[100], CODES[229]):
        alone = judge_student(logbook, code)
        assert (alone.verdict, alone.change, alone.detectable_change) == (
            found[code].verdict,
            found[code].change,
            found[code].detectable_change,
        )


def test_a_student_who_is_forgotten_meanwhile_is_passed_over(logbook):
    filled(logbook)
    judged = judge_all(logbook, "slalom-gym")
    seen = [next(judged)[0]]
    forget(logbook, CODES[150])
    forget(logbook, CODES[229])
    seen += [code for code, _ in judged]
    assert seen == [code for code in CODES if code not in (CODES[150], CODES[229])]
