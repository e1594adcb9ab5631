"""Many files at once, two windows on one day, two pages over one PostgreSQL logbook: nothing doubled, nothing lost."""

from contextlib import ExitStack

import pytest
from ownmark.records import open_logbook
from ownmark.records.day.happened import happened
from ownmark.records.day_entry import Listed, Press
from ownmark.records.store.day_entries import entries_of
from ownmark.records.store.received import received_at
from playwright.sync_api import expect

from tests.records.day.class_day import AFTER, DAY, ClassDay
from tests.web.browser import hand
from tests.web.browser.bag_day import school
from tests.web.browser.hand import leads_on

FEWER = 40
CODES = ("TH-11", "BF-07")
DAY_SCREEN = f"/day/{DAY}"


@pytest.fixture
def place(tmp_path):
    """A logbook with two students on the list of the day."""
    found = tmp_path / "logbook.db"
    with open_logbook(found) as logbook:
        listed(logbook)
    return found


class Again(ClassDay):
    """A day whose students and protocol are there already."""

    def __init__(self, logbook):
        self.logbook, self.received = logbook, received_at(logbook.place)


def listed(logbook):
    """Two students, on the list of the day."""
    day = ClassDay(logbook, *CODES)
    for number, code in enumerate(CODES, start=1):
        day.listed(code, f"S{number}")
    return day


def now(place):
    """What the day is."""
    with open_logbook(place, create=False) as logbook:
        return happened(DAY, entries_of(logbook, DAY))


def files(count):
    """Short files of heart rate, no two alike."""
    texts = [f"time_s,heart_rate\n0,{100 + n % 90}\n1,{60 + n}\n" for n in range(count)]
    return [{"name": f"X{n:03d}.csv", "mimeType": "text/csv", "buffer": text.encode()} for n, text in enumerate(texts)]


@pytest.mark.parametrize("many", [FEWER, pytest.param(200, marks=pytest.mark.soak)])
def test_many_files_at_once_are_all_there_and_each_once(tab, place, many):
    with school(place, now=AFTER) as found:
        page = found.enter(tab())
        page.goto(f"{found.base}{DAY_SCREEN}")
        with leads_on(page):
            page.locator("#chosen").set_input_files(files(many))
        expect(page.locator(".file-name")).to_have_count(many)
        lying = found.parts.received().paths(DAY)
    assert sorted(each.name for each in now(place).files) == sorted(f"X{n:03d}.csv" for n in range(many))
    assert len(lying) == many
    assert [each for each in now(place).files if each.again] == []


STATE = {"Rest begins": "Rest since", "Work begins": "Work since", "Work ends": "Worked"}


def press(page, code, name, state=None):
    """Press a student's next phase and wait until it stands there."""
    student = page.locator(".student", has_text=code)
    student.get_by_role("button", name=name).first.click()
    student.locator(".state", has_text=state or STATE[name]).wait_for()


def pressed(place):
    """Every press that counts, by student."""
    return {each.code: sorted(each.presses) for each in now(place).tests if each.presses}


def test_two_windows_on_one_day_keep_every_press_once(tab, place):
    with school(place, now=AFTER) as found:
        one, two = found.enter(tab()), found.enter(tab())
        for page in (one, two):
            page.goto(f"{found.base}{DAY_SCREEN}/now")
        press(one, "TH-11", "Rest begins")
        press(two, "BF-07", "Rest begins")  # this window does not know of the other's press
        press(one, "TH-11", "Work begins")
        two.reload()
        for state in two.locator(".state").all_inner_texts():
            assert "(" not in state  # the day is long past, and nobody has worked since then
        press(two, "TH-11", "Work ends")
    assert pressed(place) == {"TH-11": ["rest_begins", "work_begins", "work_ends"], "BF-07": ["rest_begins"]}


def test_a_row_that_two_windows_add_is_one_trial_and_the_second_is_told(tab, place):
    with open_logbook(place) as logbook:
        day = Again(logbook)
        for code, strap, seed in zip(CODES, ("S1", "S2"), (1, 2), strict=True):
            day.pressed(code)
            day.recorded(f"{strap}.csv", seed=seed)
    with school(place, now=AFTER) as found:
        one, two = found.enter(tab()), found.enter(tab())
        for page in (one, two):
            page.goto(f"{found.base}{DAY_SCREEN}")
        for page in (one, two):
            hand.press(page.get_by_role("button", name="Add all 2 that are ready"))
            expect(page.locator(".told")).to_be_visible()
        expect(two.locator(".day-row.is-stored")).to_have_count(2)
        assert len(found.trials()) == 2


def test_two_pages_over_one_postgresql_logbook(tab, server, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    place = server.url()
    with open_logbook(place) as logbook:
        listed(logbook)
    with ExitStack() as both:
        schools = [both.enter_context(school(place, now=AFTER)) for _ in range(2)]
        one, two = (found.enter(tab()) for found in schools)
        for page, found in zip((one, two), schools, strict=True):
            page.goto(f"{found.base}{DAY_SCREEN}/now")
        press(one, "TH-11", "Rest begins")
        press(two, "BF-07", "Work begins")
        one.reload()
        press(one, "BF-07", "Work ends")
        for page, found in zip((one, two), schools, strict=True):
            page.goto(f"{found.base}{DAY_SCREEN}")
            with leads_on(page):
                page.locator("#chosen").set_input_files(files(4))
            expect(page.locator(".file-name")).to_have_count(4)
    assert pressed(place) == {"TH-11": ["rest_begins"], "BF-07": ["work_begins", "work_ends"]}
    assert sorted(each.name for each in now(place).files) == [f"X{n:03d}.csv" for n in range(4)]
    with open_logbook(place) as logbook:
        kinds = [type(each.what) for each in entries_of(logbook, DAY)]
    assert kinds.count(Press) == 3
    assert kinds.count(Listed) == 2
