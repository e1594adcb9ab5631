"""While an answer is on its way: what is pressed, typed or chosen meanwhile is kept, and stays where it is."""

import time
from contextlib import contextmanager

import pytest
from ownmark.sample_streams import bag
from playwright.sync_api import expect

from tests.records.day.class_day import AFTER
from tests.web.browser.bag_day import DAY_SCREEN as BAG_SCREEN
from tests.web.browser.bag_day import ready, school
from tests.web.browser.hand import WAIT_MS, box_of, leads_on, settled
from tests.web.browser.test_many_hands import DAY_SCREEN, place, pressed

__all__ = ["place"]


class Held:
    """Requests that have been sent and whose answers do not come before they are let go."""

    def __init__(self):
        self.waiting, self.open = [], False

    def __call__(self, route):
        if self.open:
            route.continue_()
        else:
            self.waiting.append(route)

    def let_go(self, method=None):
        """All of them, or those of a method, in their order."""
        going = [each for each in self.waiting if method in (None, each.request.method)]
        self.waiting = [each for each in self.waiting if each not in going]
        for each in going:
            each.continue_()


@contextmanager
def held(page, address):
    """Requests to an address, until the block ends."""
    found = Held()
    page.route(address, found)
    yield found
    found.open = True
    found.let_go()
    page.unroute(address)


def sent(page, answers, count, method=None):
    """So many have been sent."""
    end = time.monotonic() + WAIT_MS / 1000
    while sum(method in (None, each.request.method) for each in answers.waiting) < count:
        assert time.monotonic() < end
        page.wait_for_timeout(10)  # lets what comes from the browser in


@pytest.fixture
def in_class(tab, place):
    """The screen of the lesson with two students, of whom nothing is pressed."""
    with school(place, now=AFTER) as found:
        page = found.enter(tab(has_touch=True))
        page.goto(f"{found.base}{DAY_SCREEN}/now")
        yield page


def button(page, code, name="Rest begins"):
    return page.locator(".student", has_text=code).get_by_role("button", name=name).first


def stands(page, code, state):
    expect(page.locator(".student", has_text=code).locator(".state")).to_contain_text(state)


def test_a_note_that_is_being_typed_and_a_tick_stay_when_another_student_is_pressed(in_class, place):
    other = in_class.locator(".student", has_text="BF-07")
    other.locator(".pick input").check()
    other.locator("summary").click()
    other.get_by_label("Note").press_sequentially("new ti")
    button(in_class, "TH-11").click()
    stands(in_class, "TH-11", "Rest since")
    expect(other.locator(".pick input")).to_be_checked()
    expect(other.get_by_label("Note")).to_have_value("new ti")
    expect(other.locator("details")).to_have_attribute("open", "")


def test_keys_that_have_gone_on_to_another_student_stay_there(in_class, place):
    with held(in_class, "**/press") as answers:
        button(in_class, "TH-11").press("Enter")
        sent(in_class, answers, 1)
        button(in_class, "BF-07").focus()
        answers.let_go()
        stands(in_class, "TH-11", "Rest since")
        expect(button(in_class, "BF-07")).to_be_focused()
    in_class.keyboard.press("Enter")
    stands(in_class, "BF-07", "Rest since")
    assert pressed(place) == {"TH-11": ["rest_begins"], "BF-07": ["rest_begins"]}


def test_a_press_that_has_begun_when_an_answer_comes_counts(in_class, place):
    with held(in_class, "**/press") as answers:
        button(in_class, "TH-11").click()
        sent(in_class, answers, 1)
        box = box_of(button(in_class, "BF-07"))
        in_class.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        in_class.mouse.down()
        with in_class.expect_response("**/now*") as came:
            answers.let_go()
        came.value.finished()
        settled(in_class)
        in_class.mouse.up()
        sent(in_class, answers, 1)
    stands(in_class, "TH-11", "Rest since")
    stands(in_class, "BF-07", "Rest since")
    assert pressed(place) == {"TH-11": ["rest_begins"], "BF-07": ["rest_begins"]}


def test_two_presses_that_are_answered_the_other_way_round_both_stand_there(in_class, place):
    with held(in_class, "**/press") as answers:
        button(in_class, "TH-11").click()
        button(in_class, "BF-07").click()
        sent(in_class, answers, 2)
        first = answers.waiting.pop(0)
        answers.let_go()
        stands(in_class, "BF-07", "Rest since")
        first.continue_()
        stands(in_class, "TH-11", "Rest since")
        stands(in_class, "BF-07", "Rest since")
    expect(in_class.locator("ul.last li")).to_have_count(2)


def test_the_next_button_of_a_form_counts_before_the_first_was_answered(in_class, place):
    student = in_class.locator(".student", has_text="TH-11")
    with held(in_class, "**/note") as answers:
        student.locator("summary").click()
        for value in ("3", "5", "5"):
            student.get_by_role("button", name=value, exact=True).click()
        sent(in_class, answers, 1)
        settled(in_class)
        assert len(answers.waiting) == 1  # on their way together the last one could be overtaken
    expect(student.locator("[aria-pressed=true]")).to_have_text("5")
    expect(in_class.locator("ul.last li")).to_have_count(2)


def test_files_that_are_chosen_while_others_are_being_sent_are_sent_too(tab, tmp_path):
    with school(ready(tmp_path / "logbook.db"), apart=False) as found:
        page = found.enter(tab())
        page.goto(f"{found.base}{BAG_SCREEN}")
        with held(page, "**/files") as answers:
            for number, name in enumerate(("S6.fit", "S7.fit"), start=1):
                page.locator("#chosen").set_input_files(bag.BAG / name)
                sent(page, answers, number)
            answers.waiting.pop(0).continue_()
            expect(page.locator("#sending")).to_have_text("Taking 1 of 2 …")
            with leads_on(page):
                answers.let_go()
        expect(page.locator(".file-name")).to_have_text(["S6.fit", "S7.fit"], use_inner_text=True)


CHOSEN = """() => addEventListener('beforeunload', () => setTimeout(() => {
  const field = document.getElementById('chosen'), files = new DataTransfer();
  files.items.add(new File(['time_s,heart_rate\\n0,100\\n1,101\\n'], 'X.csv'));
  field.files = files.files;
  field.dispatchEvent(new Event('change', {bubbles: true}));
}), {once: true})"""
"""As soon as the next screen is on its way, as the browser's own dialog does it: playwright's waits for that screen."""


def test_files_that_are_chosen_while_the_next_screen_is_on_its_way_are_sent_too(tab, tmp_path):
    with school(ready(tmp_path / "logbook.db"), apart=False) as found:
        page = found.enter(tab())
        page.goto(f"{found.base}{BAG_SCREEN}")
        page.evaluate(CHOSEN)
        with held(page, "**/day/**") as answers:
            page.locator("#chosen").set_input_files(bag.BAG / "S6.fit", no_wait_after=True)
            sent(page, answers, 1)
            answers.let_go()
            sent(page, answers, 1, "POST")
            answers.let_go("GET")  # the next screen, unless the browser has given it up before it was asked for
            settled(page)
            with leads_on(page):
                answers.open = True
                answers.let_go()
        expect(page.locator(".file-name")).to_have_text(["S6.fit", "X.csv"], use_inner_text=True)


def test_a_button_that_is_pressed_twice_while_the_page_is_asked_sends_once(in_class):
    posts = []
    in_class.on("request", lambda request: posts.append(request.post_data) if request.method == "POST" else None)
    with held(in_class, "**/alive") as answers:
        spanish = in_class.get_by_role("button", name="Español")
        spanish.click()
        spanish.click()
        sent(in_class, answers, 1)
        settled(in_class)
        assert len(answers.waiting) == 1
        with leads_on(in_class):
            answers.let_go()
    expect(in_class.locator("html")).to_have_attribute("lang", "es")
    assert posts == ["language=es"]
