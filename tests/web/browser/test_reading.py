"""The reading screens in a browser: accessible, on a narrow screen, without scripts, by keyboard."""

from datetime import date

import pytest
from ownmark.records.store.logbook import open_logbook
from ownmark.records.student import Answers, Ceiling, Student
from ownmark.records.student_mending import edit_student
from ownmark.web.parts import OnFirstUse, Parts
from playwright.sync_api import expect

from tests.records.store import made
from tests.web.browser import hand
from tests.web.served import serving


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """The page over two tested students and one who is not, and where it listens."""
    place = str(tmp_path_factory.mktemp("reading") / "logbook.db")
    parts = Parts(place, OnFirstUse(lambda: open_logbook(place)))
    logbook = parts.logbook()
    made.filled(logbook)
    logbook.add_student(Student(code="C-3"))
    said = (Answers(can=("push-chair", "hear"), needs=("reminders",), on=date(2026, 9, 1)),)
    ceiling = (Ceiling(bpm=105, set_by="therapist", set_on=date(2026, 9, 1)),)
    edit_student(logbook, "TH-11", {"ceilings": ceiling, "answers": said}, why="new plan")
    faults = []
    with serving(parts, faults.append) as port:
        yield parts, f"http://127.0.0.1:{port}"
    parts.close()
    assert faults == []


def screens(parts):
    """The address of every reading screen."""
    way = f"/student/{parts.ids.of('TH-11')}"
    return [
        *("/students", "/students/add", way, f"{way}/facts?open=ceiling", f"{way}/print", f"{way}/card/slalom-gym"),
        *(f"{way}/change/slalom-gym", "/caseload", "/district", "/district/plans", "/find"),
        *(f"/find?student={parts.ids.of('TH-11')}", "/find/test/power-chair-slalom"),
    ]


def entered(tab, page, **options):
    """A tab that opened the link."""
    parts, base = page
    return hand.entered(tab(**options), base, f"{base}/start/{parts.sessions.new_link()}")


def test_nothing_is_wider_than_the_screen(tab, page):
    parts, base = page
    shown = entered(tab, page)
    for address in screens(parts):
        shown.goto(base + address)
        for width, colors in ((320, "none"), (1000, "active")):
            shown.set_viewport_size({"width": width, "height": 700})
            shown.emulate_media(forced_colors=colors)
            hand.settled(shown)
            wide = shown.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert wide <= 0, (address, width)


def test_a_sentence_is_copied_by_keyboard_as_it_is_read(tab, page):
    _, base = page
    shown = entered(tab, page, permissions=["clipboard-read", "clipboard-write"])
    shown.goto(f"{base}/district/plans")
    button = shown.get_by_role("button", name="Copy").first
    button.focus()
    shown.keyboard.press("Enter")
    shown.get_by_text("Copied.").first.wait_for()
    text = shown.evaluate("navigator.clipboard.readText()")
    lines = text.splitlines()
    assert lines[0].startswith("On September 11, 2026, BF-07 did")
    assert lines[-1].startswith("Method:")


def test_without_scripts_everything_can_be_done_and_no_button_is_dead(tab, page):
    parts, base = page
    shown = entered(tab, page, java_script_enabled=False)
    shown.goto(f"{base}/district/plans")
    expect(shown.locator("button.copy").first).to_be_hidden()
    shown.goto(f"{base}/students")
    shown.get_by_label("Find a student by code").fill("th-11")
    hand.press(shown.get_by_role("button", name="Find", exact=True))
    expect(shown).to_have_url(f"{base}/student/{parts.ids.of('TH-11')}")
    shown.goto(f"{base}/find")
    shown.get_by_label("move an arm").check()
    hand.press(shown.get_by_role("button", name="Show the tests that fit"))
    expect(shown.get_by_role("heading", name="Aerobic")).to_be_visible()


def test_a_ceiling_is_set_from_the_caseload_by_keyboard_alone(tab, page):
    parts, base = page
    shown = entered(tab, page)
    shown.goto(f"{base}/caseload")
    hand.press_by_keys(shown.get_by_role("link", name="Ceiling of TH-11").first)
    field = shown.get_by_label("Ceiling (beats per minute)")
    field.focus()
    shown.keyboard.type("178")
    shown.keyboard.press("Tab")
    shown.keyboard.type("therapist")
    hand.press_by_keys(field)
    expect(shown).to_have_url(f"{base}/caseload")
    expect(shown.get_by_text("Saved for TH-11.")).to_be_visible()
    assert parts.logbook().student("TH-11").ceiling.bpm == 178
