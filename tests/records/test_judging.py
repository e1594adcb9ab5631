"""Every student of a protocol is judged as that student alone, some at a time, and nobody who is forgotten stops it."""

from datetime import date

from ownmark.records import forget, open_logbook
from ownmark.records import judging as judge
from ownmark.records.change.messages import remark_shared
from ownmark.records.judging import judge_all, judge_student
from ownmark.records.store.many_trials import add_trials

from tests.makers.sheets import with_figure
from tests.records.store import made

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
    assert "two days are needed" in str(found["JA-007"])  # the second day was practice
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


def moved(seed, value):
    """A sheet whose mean heart rate is ``value``."""
    return with_figure(made.sheet(seed), "heart_rate_mean", value=value, low=value, high=value)


def a_class(logbook, shift, size=6):
    """Three baselines and a re-test of each student on the same days; all move by about ``shift``."""
    logbook.add_protocol(made.protocol())
    codes = [f"SC-{number:02d}" for number in range(size)]
    logbook.add_students([made.student(code) for code in codes])
    days = (date(2026, 5, 5), date(2026, 5, 12), date(2026, 5, 19), date(2026, 10, 6))
    wobble = (0.0, 1.5, -1.0, 0.5)
    add_trials(
        logbook,
        (
            made.trial(code, day, sheet=moved(0, 120 + number % 3 + wobble[(turn + number) % 4] + shift * (turn == 3)))
            for number, code in enumerate(codes)
            for turn, day in enumerate(days)
        ),
    )
    return codes


def test_a_borrowed_error_and_the_others_of_the_same_days_are_told_alike_alone_and_among_all(logbook):
    codes = a_class(logbook, -20)
    found = dict(judge_all(logbook, "slalom-gym"))
    for code in codes:
        alone = judge_student(logbook, code)
        assert alone.verdict == found[code].verdict == "decrease beyond day-to-day variation"
        assert (alone.error_source, alone.error_students, alone.percent) == ("borrowed with own", 5, 98)
        assert (alone.shared_shift, alone.others_same_days) == ("same way", 5)
        for part in ("detectable_change", "error_from", "shared_shift", "others_same_days", "sentence"):
            assert getattr(alone, part) == getattr(found[code], part), part
        assert remark_shared(5) in alone.notes


def test_two_students_lend_each_other_nothing_and_do_not_tell_what_the_days_brought(logbook):
    code = a_class(logbook, -20, size=2)[0]
    found = judge_student(logbook, code)
    assert (found.error_source, found.degrees_of_freedom) == ("own", 2)
    assert (found.shared_shift, found.others_same_days) == ("unknown", 1)


def test_who_is_forgotten_meanwhile_lends_nothing_and_is_no_classmate(logbook):
    codes = a_class(logbook, -20)
    versions = judge._Versions(logbook)
    version = logbook.protocol("slalom-gym")
    others = judge._Others(logbook, versions, version, logbook.outline("slalom-gym"), {})
    own = [judge._seen(each, versions) for each in logbook.trials(codes[0])]
    forget(logbook, codes[5])
    assert len(others.changes(own[:3], own[3:])) == 4
    assert others.borrowed_for(codes[0]).students == 4


def test_after_a_write_of_somebody_else_the_others_are_looked_up_anew(logbook, place):
    codes = a_class(logbook, -20)
    before = judge_student(logbook, codes[0])
    with open_logbook(place) as other:
        for each in other.trials(codes[1]):
            other.replace_sheet(each.id, moved(0, 120 + 30 * (each.id % 2)))
    after = judge_student(logbook, codes[0])
    assert after.detectable_change > before.detectable_change
    with open_logbook(place) as fresh:
        assert judge_student(fresh, codes[0]) == after
        assert dict(judge_all(fresh, "slalom-gym"))[codes[0]].sentence == after.sentence


def test_after_a_write_only_those_are_read_again_of_whom_something_changed(logbook, monkeypatch):
    """What others vary is the same as with nothing held, whoever or whatever was written: a student, or a sheet."""
    days = (*DAYS[:1], date(2026, 5, 12), DAYS[1])
    logbook.add_protocol(made.protocol())
    logbook.add_students([made.student(code) for code in CODES[:6]])
    for number, code in enumerate(CODES[:6]):
        for turn, day in enumerate(days):
            value = 100 + 3 * number * turn
            logbook.add_trial(made.trial(code, day, sheet=moved(number, value)))

    def errors():
        return {code: found.detectable_change for code, found in judge_all(logbook, "slalom-gym")}

    read = []
    real = type(logbook).trials_numbered
    first = errors()
    monkeypatch.setattr(
        type(logbook), "trials_numbered", lambda self, numbers: read.append(list(numbers)) or real(self, numbers)
    )
    made.bare_edit(logbook, CODES[0], notes="another note")
    assert errors() == first
    assert sorted(map(len, read)) == [2, 18]  # all occasions, and the two baselines of that student alone
    logbook.replace_sheet(4, moved(1, 150))
    after = errors()
    assert after != first
    logbook.held.clear()
    assert errors() == after
