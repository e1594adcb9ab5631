"""A row looked at closer in a browser: phases by keys and mouse, faults without a script, a test by hand, access."""

import re

import pytest
from ownmark.sample_streams import FOLDER
from playwright.sync_api import expect

from tests.web.browser import hand
from tests.web.browser.access import UNFOLD, broken
from tests.web.browser.test_every_screen import LOOKS, WIDEST
from tests.web.conftest import here
from tests.web.served import serving
from tests.web.test_row import DAY, day_of, draft, page, place_of, stocked


@pytest.fixture
def school(tmp_path):
    """The page ten days after the class, over a logbook with three students: its parts and its address."""
    parts, faults = here(stocked(page(str(tmp_path / "logbook.db"), lambda: 1000.0))), []
    with serving(parts, faults.append) as port:
        yield parts, f"http://127.0.0.1:{port}"
    parts.close()
    assert faults == []


@pytest.fixture
def looking(school, tab):
    """Opens the row of TH-36, who wore S6."""
    parts, base = school

    def open_(**options):
        found = hand.entered(tab(base_url=base, **options), base, f"/start/{parts.sessions.new_link()}")
        found.goto(f"/day/{DAY}/class")
        found.locator("#codes").fill("TH-36 S6")
        found.locator("#protocol").select_option("crank")
        hand.press(found.locator("button[value=add]"))
        found.goto(f"/day/{DAY}")
        with hand.leads_on(found):
            found.locator("#chosen").set_input_files(str(FOLDER / "bag" / "S6.fit"))
            if not options.get("java_script_enabled", True):
                found.locator("#drop button").click()
        expect(found.locator("#rows")).to_be_visible()
        found.goto(place_of(parts, "TH-36"))
        return found

    return open_


def keep(found, name="Keep"):
    hand.press(found.get_by_role("button", name=name, exact=True))


def test_an_end_is_nudged_by_keys_and_kept_with_what_was_typed(school, looking):
    found = looking()
    begin = found.locator("[data-end=work_from]")
    hand.drawn(found)
    was = begin.input_value()
    for _ in range(3):
        found.locator("[data-slide=work_from]").press("ArrowRight")
    now = begin.input_value()
    assert seconds(now) - seconds(was) == 3
    found.locator("#field-notes").focus()
    found.keyboard.type("new tires")
    hand.press_by_keys(found.get_by_role("button", name="Keep", exact=True))
    expect(found.get_by_text("It is kept.")).to_be_visible()
    expect(begin).to_have_value(now)
    texts = draft(school[0], "TH-36").texts
    assert texts["notes"] == "new tires"
    assert texts["work"].startswith(f"@{now}-@")
    assert set(texts) == {"notes", "work"} | ({"rest_phase"} if "rest_phase" in texts else set())


def test_a_phase_is_dragged_with_the_mouse_and_the_span_that_is_kept_moves_with_it(looking):
    found = looking()
    hand.drawn(found)
    expect(found.locator(".trace-kept")).to_have_text(re.compile("^Kept with the trial:"))
    ends = found.locator("[data-end=recovery_until]")
    was = ends.input_value()
    handle = hand.box_of(found.locator('[data-edge="recovery_until"] .grip'))
    x, y = handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2
    found.mouse.move(x, y)
    found.mouse.down()
    found.mouse.move(x - 60, y, steps=5)
    found.mouse.up()
    hand.settled(found)
    assert seconds(ends.input_value()) < seconds(was)
    expect(found.locator("[data-kept]")).to_be_visible()


def test_without_a_script_faults_are_said_at_their_fields_and_the_test_goes_in(school, looking):
    found = looking(java_script_enabled=False)
    found.locator("#field-battery_start_percent").fill("120")
    found.locator("#field-notes").fill("windy")
    keep(found)
    link = found.locator(".errors a")
    expect(link).to_have_attribute("href", "#field-battery_start_percent")
    expect(found.locator("#field-battery_start_percent")).to_have_value("120")
    assert draft(school[0], "TH-36").texts == {"notes": "windy"}
    found.locator("#field-battery_start_percent").fill("80")
    keep(found, "Keep and add to the logbook")
    expect(found.get_by_text("1 trial is in the logbook.")).to_be_visible()
    (number,) = day_of(school[0]).test("TH-36", 1).trials
    trial = school[0].logbook().trial(number)
    assert (trial.notes, trial.battery_start_percent) == ("windy", 80)


def test_a_second_test_by_hand_alone_by_keys(school, looking):
    found = looking()
    hand.press_by_keys(found.get_by_role("link", name="Begin another test"))
    found.locator("#field-protocol").focus()
    found.keyboard.type("grip")
    hand.press_by_keys(found.get_by_role("button", name="Use it"))
    found.get_by_label("Grip force, left, kg").focus()
    found.keyboard.type("12.5")
    found.get_by_label("Grip force, right, kg").focus()
    found.keyboard.type("11")
    hand.press_by_keys(found.get_by_role("button", name="Keep and add to the logbook"))
    expect(found.get_by_text("1 trial is in the logbook.")).to_be_visible()
    (number,) = day_of(school[0]).test("TH-36", 2).trials
    results = school[0].logbook().trial(number).hand_results
    assert [(each.side, each.value) for each in results] == [("left", 12.5), ("right", 11)]


@pytest.mark.parametrize("look", ["dark", *(pytest.param(each, marks=pytest.mark.soak) for each in ("desk", "phone"))])
def test_the_screen_and_its_faults_break_no_rule_of_accessibility(looking, look):
    found = looking(**LOOKS[look])
    assert broken(found) == []
    found.locator("#field-battery_start_percent").fill("120")
    found.locator("[data-end=work_from]").fill("nine")
    keep(found)
    expect(found.locator(".errors a")).to_have_count(2)
    assert broken(found) == []
    found.locator(".errors a").first.click()
    expect(found.locator("#trace-work_from")).to_be_focused()


def test_it_is_no_wider_than_a_small_phone(looking):
    found = looking(viewport={"width": 320, "height": 640})
    found.evaluate(UNFOLD)
    hand.settled(found)
    assert found.evaluate(WIDEST, 320) == []


def seconds(text):
    hours, minutes, rest = map(int, text.split(":"))
    return 3600 * hours + 60 * minutes + rest
