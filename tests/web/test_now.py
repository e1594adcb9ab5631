"""In class: one press a phase, kept at once, and every press can be undone."""

import re
from datetime import date, timedelta

import pytest
from ownmark.records.day.happened import happened
from ownmark.records.protocol import Protocol
from ownmark.records.store.day_entries import entries_of
from ownmark.records.student import Student

DAY = "2026-11-18"
NOW = f"/day/{DAY}/now"


@pytest.fixture
def class_of_three(parts):
    """A logbook with three students and a test with a rest and one without."""
    logbook = parts.logbook()
    logbook.add_students([Student(code=code) for code in ("TH-31", "TH-32", "TH-33")])
    logbook.add_protocol(
        Protocol(
            name="crank",
            title="Crank",
            component="aerobic",
            task="Crank.",
            primary_figure="reserve_mean",
            better="higher",
            rest_s=300,
            work_s=480,
        )
    )
    logbook.add_protocol(
        Protocol(
            name="dash",
            title="Dash",
            component="aerobic",
            task="Push.",
            primary_figure="reserve_mean",
            better="higher",
            work_s=60,
        )
    )
    return logbook


@pytest.fixture
def listed(teacher, class_of_three):
    teacher.post(f"/day/{DAY}/class", data={"do": "add", "codes": "TH-31 S1, TH-32 S2", "protocol": "crank"})
    teacher.post(f"/day/{DAY}/class", data={"do": "add", "codes": "TH-33", "protocol": "dash"})
    return class_of_three


def now_of(logbook):
    return happened(date.fromisoformat(DAY), entries_of(logbook, date.fromisoformat(DAY)))


def press(teacher, what, *tests, once="a"):
    answer = teacher.post(f"/day/{DAY}/press", data={"what": what, "test": list(tests), "once": once, "row": "1"})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{NOW}#row-1"


def test_an_empty_day_leads_to_the_list_of_the_class(teacher):
    assert f'href="/day/{DAY}/class"' in teacher.get(NOW).text


def test_the_next_press_of_each_student_follows_the_protocol(teacher, listed):
    text = teacher.get(NOW).text
    rows = re.findall(r'<li id="row-\d".*?</li>', text, re.DOTALL)
    values = [re.findall(r'name="what" value="(\w+_(?:begins|ends))"', row.split("<details")[0]) for row in rows]
    assert values == [["rest_begins", "work_begins"], ["rest_begins", "work_begins"], ["work_begins"]]


def test_presses_are_kept_one_by_one_and_of_several_at_once(teacher, listed):
    press(teacher, "rest_begins", "TH-31 1", "TH-32 1")
    press(teacher, "work_begins", "TH-31 1", once="b")
    press(teacher, "work_ends", "TH-31 1", once="c")
    states = {each.code: each.state for each in now_of(listed).tests}
    assert states == {"TH-31": "ended", "TH-32": "resting", "TH-33": "waiting"}


def test_a_form_that_is_sent_twice_presses_once(teacher, listed):
    press(teacher, "rest_begins", "TH-31 1")
    before = now_of(listed).last
    press(teacher, "rest_begins", "TH-31 1")
    assert now_of(listed).last == before


def test_another_press_of_a_form_that_was_not_answered_yet_counts(teacher, listed):
    before = len(entries_of(listed, date.fromisoformat(DAY)))
    for value in ("3", "5", "5"):
        sent = {"exertion": value, "test": "TH-31 1", "once": "a" * 64, "row": "1"}
        assert teacher.post(f"/day/{DAY}/note", data=sent).status_code == 303
    assert now_of(listed).test("TH-31", 1).exertion.value == 5
    assert len(entries_of(listed, date.fromisoformat(DAY))) == before + 2


def test_the_last_press_of_a_student_is_taken_back_beside_it(teacher, listed):
    press(teacher, "rest_begins", "TH-31 1", once="a")
    press(teacher, "work_begins", "TH-31 1", once="b")
    press(teacher, "rest_begins", "TH-32 1", once="c")
    rows = re.findall(r'<li id="row-\d".*?</li>', teacher.get(NOW).text, re.DOTALL)
    entries = [
        re.findall(r'action="/day/2026-11-18/undo".*?name="entry" value="(\d+)"', row, re.DOTALL) for row in rows
    ]
    presses = now_of(listed).test("TH-31", 1).presses
    assert entries[0] == [str(presses["work_begins"].number)]
    assert [len(each) for each in entries] == [1, 1, 0]  # nothing was pressed of the third
    answer = teacher.post(f"/day/{DAY}/undo", data={"entry": entries[0][0], "row": "1"})
    assert answer.headers["location"] == f"{NOW}#row-1"
    found = now_of(listed)
    assert [found.test(code, 1).state for code in ("TH-31", "TH-32")] == ["resting", "resting"]


def test_a_day_that_is_not_today_says_that_a_press_keeps_the_time_of_now(teacher, listed, parts):
    told = "This is not today"
    assert told not in teacher.get(f"/day/{parts.now().date()}/now").text
    other = parts.now().date() - timedelta(days=1)
    assert told in teacher.get(f"/day/{other}/now").text


def test_how_long_a_phase_lasts_is_counted_on_its_own_day_alone(teacher, class_of_three, parts):
    today = parts.now().date()
    for day in (today, today - timedelta(days=1)):
        teacher.post(f"/day/{day}/class", data={"do": "add", "codes": "TH-31", "protocol": "crank"})
        teacher.post(
            f"/day/{day}/press", data={"what": "rest_begins", "test": ["TH-31 1"], "once": f"{day}", "row": "1"}
        )
    since = [
        re.search(r'data-since="([^"]*)"', teacher.get(f"/day/{day}/now").text)[1]
        for day in (today, today - timedelta(days=1))
    ]
    assert since[0].startswith(today.isoformat())
    assert since[1] == ""


def test_a_press_can_be_undone_and_brought_back(teacher, listed):
    press(teacher, "work_begins", "TH-33 1")
    number = now_of(listed).test("TH-33").presses["work_begins"].number
    teacher.post(f"/day/{DAY}/undo", data={"entry": str(number)})
    assert now_of(listed).test("TH-33").presses == {}
    text = teacher.get(NOW).text
    again = re.search(r'class="undone">.*?name="entry" value="(\d+)"', text, re.DOTALL)
    assert again is not None
    teacher.post(f"/day/{DAY}/undo", data={"entry": again[1]})
    assert "work_begins" in now_of(listed).test("TH-33").presses


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"what": "stop", "text": "wheel loose"}, "stop: wheel loose"),
        ({"what": "stop"}, "stop"),
        ({"what": "assist_begins"}, "help begins"),
        ({"exertion": "7"}, "exertion 7 (0 to 10)"),
        ({"what": "note", "text": "<b>wind</b>"}, "note: &lt;b&gt;wind&lt;/b&gt;"),
    ],
)
def test_what_is_noted_is_shown_with_its_time(teacher, listed, sent, told):
    answer = teacher.post(f"/day/{DAY}/note", data={"test": "TH-31 1", **sent})
    assert answer.status_code == 303
    assert re.search(rf"\d:\d\d:\d\d {re.escape(told)}", teacher.get(NOW).text)


def test_an_exertion_that_is_not_on_the_scale_is_refused_and_not_kept(teacher, listed):
    answer = teacher.post(f"/day/{DAY}/note", data={"test": "TH-31 1", "exertion": "11"})
    assert answer.status_code == 422
    assert now_of(listed).test("TH-31").exertion is None


def test_help_that_began_can_end(teacher, listed):
    teacher.post(f"/day/{DAY}/note", data={"test": "TH-31 1", "what": "assist_begins"})
    assert 'value="assist_ends"' in teacher.get(NOW).text
    teacher.post(f"/day/{DAY}/note", data={"test": "TH-31 1", "what": "assist_ends"})
    assert now_of(listed).test("TH-31").assisted[0].until is not None


@pytest.mark.parametrize("path", ["/day/2026-02-30/now", "/day/today/now", "/day/20261118/now"])
def test_an_address_without_a_day_leads_nowhere(teacher, path):
    assert teacher.get(path).status_code == 404


def test_a_student_whom_nobody_listed_cannot_be_noted(teacher, listed):
    assert teacher.post(f"/day/{DAY}/note", data={"test": "TH-99 1", "what": "stop"}).status_code == 404


class TestTheClass:
    def test_a_code_that_the_logbook_does_not_have_is_named_and_nothing_is_added(self, teacher, class_of_three):
        answer = teacher.post(f"/day/{DAY}/class", data={"do": "add", "codes": "TH-31, TH-98"})
        assert answer.status_code == 422
        assert "TH-98" in answer.text
        assert now_of(class_of_three).tests == ()

    def test_straps_and_protocols_are_changed_and_students_left_out(self, teacher, listed):
        form = {"do": "keep", "out": "TH-33 1"}
        form |= {f"protocol-TH-3{n} 1": "crank" for n in (1, 2)} | {"strap-TH-31 1": "S9", "strap-TH-32 1": "S2"}
        assert teacher.post(f"/day/{DAY}/class", data=form).status_code == 303
        found = now_of(listed)
        straps = {each.code: each.strap for each in found.tests if each.listed is not None}
        assert straps == {"TH-31": "S9", "TH-32": "S2"}

    def test_who_is_left_out_stays_out_however_often_the_strap_was_changed(self, teacher, listed):
        for strap in ("S7", "S8"):
            form = {"do": "keep", "strap-TH-31 1": strap, "protocol-TH-31 1": "crank"}
            teacher.post(f"/day/{DAY}/class", data=form)
        teacher.post(f"/day/{DAY}/class", data={"do": "keep", "out": "TH-31 1"})
        assert now_of(listed).test("TH-31") is None
        assert 'value="TH-31 1"' not in teacher.get(f"/day/{DAY}/class").text

    def test_the_class_of_an_earlier_day_is_taken_over_once(self, teacher, listed):
        later = date(2026, 11, 25)
        text = teacher.get(f"/day/{later}/class").text
        assert 'name="same" value="2026-11-18"' in text
        assert "Same class as on November 18, 2026 (3 students)" in text
        for _ in range(2):
            teacher.post(f"/day/{later}/class", data={"same": DAY})
        found = happened(later, entries_of(listed, later))
        assert [(each.code, each.protocol, each.strap) for each in found.tests] == [
            ("TH-31", "crank", "S1"),
            ("TH-32", "crank", "S2"),
            ("TH-33", "dash", None),
        ]


class TestClocks:
    def test_a_flash_keeps_its_moment_for_the_strap(self, teacher, listed):
        teacher.post(f"/day/{DAY}/clocks", data={"strap": "S1", "how": "button", "once": "x"})
        (check,) = now_of(listed).checks["S1"]
        assert (check.how, check.shown_s) == ("button", None)
        assert "Checked at" in teacher.get(f"/day/{DAY}/clocks").text

    def test_what_a_display_shows_is_kept_and_no_time_is_asked_again(self, teacher, listed):
        teacher.post(f"/day/{DAY}/clocks", data={"strap": "S2", "how": "shown", "shown": "9:05:30"})
        assert now_of(listed).checks["S2"][0].shown_s == 9 * 3600 + 5 * 60 + 30
        teacher.post(f"/day/{DAY}/clocks", data={"strap": "S1", "how": "shown", "shown": "soon"})
        assert "S1" not in now_of(listed).checks
        assert "Write the time as in 9:05:30" in teacher.get(f"/day/{DAY}/clocks").text
