"""The screen of a trial in a browser: phases dragged and saved, questions answered, by keys, without a script."""

from datetime import date

import pytest
from ownmark.records.adding import keep
from ownmark.records.store.history import history_of
from ownmark.records.store.logbook import open_logbook
from ownmark.web.parts import OnFirstUse, Parts
from playwright.sync_api import expect

from tests.records.store import made
from tests.records.test_shared_files import FIRST, PHASES, written
from tests.web.browser import hand
from tests.web.browser.access import broken
from tests.web.served import serving

WORK = "[data-end=work_from]"


@pytest.fixture
def school(tmp_path):
    """A logbook with one trial, served on this computer: address, parts."""
    place = str(tmp_path / "logbook.db")
    parts, faults = Parts(place, OnFirstUse(lambda: open_logbook(place))), []
    logbook = parts.logbook()
    logbook.add_protocol(made.protocol())
    logbook.add_student(made.student())
    keep(logbook, made.trial(on=date(2026, 10, 6), **PHASES), [written(tmp_path, "strap.csv", FIRST)])
    with serving(parts, faults.append) as port:
        yield f"http://127.0.0.1:{port}", parts
    parts.close()
    assert faults == []


def opened(page, school, **options):
    address, parts = school
    hand.entered(page, address, f"{address}/start/{parts.sessions.new_link()}")
    page.goto(f"{address}/trial/1")
    return page


def test_a_dragged_end_is_saved_and_stands_in_the_history(tab, school):
    page = opened(tab(), school)
    hand.drawn(page)
    box = hand.box_of(page.locator(".plot"))
    x = box["x"] + box["width"] * 300 / 870
    page.mouse.move(x + 9, box["y"] + 75)
    page.mouse.down()
    page.mouse.move(x + 30, box["y"] + 75, steps=5)
    page.mouse.up()
    hand.settled(page)
    typed = page.locator(WORK).input_value()
    assert typed > "5:00"
    page.locator("#field-why_edit").fill("pressed late")
    hand.press(page.get_by_role("button", name="Save the corrections"))
    expect(page.get_by_text("The trial is corrected.")).to_be_visible()
    expect(page.locator(WORK)).to_have_value(typed)
    assert school[1].logbook().trial(1).work == f"{typed}-12:00"
    expect(page.locator(".history li")).to_have_count(1)


def test_by_keys_alone_an_end_is_nudged_saved_and_a_question_answered(tab, school):
    page = opened(tab(), school)
    hand.drawn(page)
    for _ in range(3):
        page.locator("[data-slide=work_from]").press("ArrowRight")
    expect(page.locator(WORK)).to_have_value("5:03")
    page.locator("#field-why_edit").focus()
    page.keyboard.type("for Mr Miller")
    hand.press_by_keys(page.locator("#field-why_edit"))
    keeps = page.get_by_role("button", name="It names nobody, keep it")
    expect(page.locator(WORK)).to_have_value("5:03")
    expect(page.locator("[data-fields=work] .trace-lasts")).to_have_text("6:57")
    hand.press_by_keys(keeps)
    expect(page.get_by_text("The trial is corrected.")).to_be_visible()
    logbook = school[1].logbook()
    assert logbook.trial(1).work == "5:03-12:00"
    assert history_of(logbook, "trial", 1)[0].why == "for Mr Miller"


def test_without_a_script_phases_are_typed_and_saved(tab, school):
    page = opened(tab(java_script_enabled=False), school)
    page.locator(WORK).fill("5:20")
    hand.press(page.get_by_role("button", name="Save the corrections"))
    expect(page.get_by_text("The trial is corrected.")).to_be_visible()
    assert school[1].logbook().trial(1).work == "5:20-12:00"


@pytest.mark.parametrize(
    ("width", "scheme"),
    [(320, "dark"), *(pytest.param(*pair, marks=pytest.mark.soak) for pair in ((320, "light"), (1240, "light")))],
)
def test_the_rules_of_access_hold_and_nothing_runs_over_the_side(tab, school, width, scheme):
    page = opened(tab(color_scheme=scheme, viewport={"width": width, "height": 900}), school)
    hand.drawn(page)
    assert broken(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_trace_is_on_paper_and_the_form_is_not(tab, school):
    page = opened(tab(), school)
    hand.drawn(page)
    page.emulate_media(media="print")
    expect(page.locator(".plot")).to_be_visible()
    expect(page.locator("#correct")).to_be_hidden()
    expect(page.locator(".trace-phases")).to_be_hidden()
    expect(page.get_by_role("heading", name="What is kept")).to_be_visible()
