"""The class's day in every state that it can be in: accessible, never wider than the window, in forced colours too.

Empty, filled and stored, with questions, errors and everything unfolded; desk and phone, light and dark.
"""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from tests.web.browser.access import broken
from tests.web.browser.bag_day import DAY, DAY_SCREEN, FILES, ready, school
from tests.web.browser.hand import drawn, leads_on, press, settled

WIDE = """() => { const most = document.documentElement.clientWidth;
  return document.documentElement.scrollWidth <= most ? [] : [...document.querySelectorAll('body *')]
    .filter(each => each.getBoundingClientRect().right > most + 1).slice(0, 3)
    .map(each => each.outerHTML.slice(0, 160)); }"""
LOOKS = {
    "desk, light": ({"width": 1366, "height": 768}, {"color_scheme": "light"}),
    "phone, dark": ({"width": 390, "height": 844}, {"color_scheme": "dark"}),
}
NARROW = {"320 px": {"width": 320, "height": 600}, "200 %": {"width": 640, "height": 400}}


def wrong_in(page, states):
    """What breaks the rules of access, or is wider than the window, in each state that a screen is brought into."""
    wrong = {}
    for state in states:
        page.set_viewport_size({"width": 1366, "height": 768})
        state(page)
        for name, (size, media) in LOOKS.items():
            page.set_viewport_size(size)
            page.emulate_media(**media)
            settled(page)
            wrong[state.__name__, name] = broken(page)
        for name, size in NARROW.items():
            page.set_viewport_size(size)
            settled(page)
            wrong[state.__name__, name] = page.evaluate(WIDE)
        wrong[state.__name__, "language"] = page.evaluate("document.documentElement.lang").removeprefix("en")
    return {key: each for key, each in wrong.items() if each}


OTHER_DAY = f"/day/{DAY + timedelta(days=1)}"


def empty(page):
    page.goto(OTHER_DAY)


def nothing_chosen(page):
    page.goto(OTHER_DAY)
    press(page.get_by_role("button", name="Take these files"))
    expect(page.locator(".told")).to_be_visible()


def unknown_student(page):
    page.goto(f"{OTHER_DAY}/class")
    page.locator("#codes").fill("ZZ-99")
    press(page.get_by_role("button", name="Add to the list"))
    expect(page.locator(".errors, .error").first).to_be_visible()


def filled(page):
    page.goto(DAY_SCREEN)
    with leads_on(page):
        page.locator("#chosen").set_input_files([str(each) for each in FILES])
    expect(page.locator("#rows")).to_be_visible()


def one_row(page):
    page.goto(DAY_SCREEN)
    press(page.get_by_role("link", name="Look closer").first)
    drawn(page)


def list_of_the_class(page):
    page.goto(f"{DAY_SCREEN}/class")


def in_class(page):
    page.goto(f"{DAY_SCREEN}/now")


def stored(page):
    page.goto(DAY_SCREEN)
    press(page.get_by_role("button", name="Add all 5 that are ready"))
    expect(page.locator(".told")).to_be_visible()


def trial(page):
    page.goto("/trial/1")
    drawn(page)


STATES = (empty, nothing_chosen, unknown_student, filled, one_row, list_of_the_class, in_class, stored, trial)
"""In their order: the day goes on from one to the next."""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    with school(ready(tmp_path_factory.mktemp("states") / "logbook.db")) as opened:
        yield opened


@pytest.mark.timeout(280)
def test_every_state_of_a_day(tab, found):
    assert wrong_in(found.enter(tab(base_url=found.base)), STATES) == {}


STATE_TOLD = (
    """() => [...document.querySelectorAll('.day-row')].every(each => each.querySelector('.state').innerText.trim())"""
)
EDGES = """() => [...document.querySelectorAll('button, .button')].filter(each => each.offsetParent
  && parseFloat(getComputedStyle(each).borderTopWidth) < 1).map(each => each.outerHTML.slice(0, 120))"""
MOVES = """() => document.getAnimations().length + [...document.querySelectorAll('*')].filter(each => {
  const look = getComputedStyle(each);
  return look.animationName !== 'none' || parseFloat(look.transitionDuration) > 0; }).length"""


def test_in_forced_colours_states_are_words_and_buttons_have_edges_and_nothing_moves(tab, found):
    page = found.enter(tab(base_url=found.base, forced_colors="active", reduced_motion="reduce"))
    for address in ("/", DAY_SCREEN, f"{DAY_SCREEN}/now", f"{DAY_SCREEN}/clocks", "/students", "/find"):
        page.goto(address)
        assert page.evaluate(STATE_TOLD), address
        assert page.evaluate(EDGES) == [], address
        assert page.evaluate(MOVES) == 0, address
