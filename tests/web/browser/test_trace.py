"""The trace in a browser: zoomed, read and dragged by mouse, touch and keys, and without a script."""

import itertools
import re

import pytest

from tests.web.browser.access import broken
from tests.web.browser.hand import drawn, press, settled
from tests.web.browser.trace_page import day, served, usual

WORK = "[data-end=work_from]"


def opened(page, found):
    page.goto(found.address)
    return drawn(page)


def view(page):
    return tuple(float(each) for each in page.locator(".trace").get_attribute("data-view").split())


def plot(page):
    return page.locator(".plot").bounding_box()


@pytest.fixture(scope="module")
def trial():
    with served(usual()) as found:
        yield found


@pytest.fixture
def page(tab, trial):
    return opened(tab(), trial)


def at(page, moment, whole=1440.0):
    box = plot(page)
    return box["x"] + box["width"] * moment / whole


def test_the_mouse_reads_the_value_that_stands_at_a_moment(page):
    page.mouse.move(at(page, 630), plot(page)["y"] + 150)
    settled(page)
    assert page.locator(".trace-read").inner_text().startswith("09:41:4")
    assert "work · heart rate not measured" in page.locator(".trace-read").inner_text()
    page.mouse.move(at(page, 100), plot(page)["y"] + 150)
    settled(page)
    series = usual().series
    told = page.locator(".trace-read").inner_text()
    found = re.search(r"(\d+):(\d+) from the start · rest · (\d+) beats a minute", told)
    assert found
    second = int(found[1]) * 60 + int(found[2])
    assert float(found[3]) in series.bpm[second - 1 : second + 2]


def test_the_slider_reads_by_keys_and_says_the_moment(page):
    slider = page.locator(".trace-cursor input")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert slider.get_attribute("aria-valuetext") == "09:31:23, 0:06 from the start"
    assert page.locator(".trace-read").inner_text().startswith("09:31:23, 0:06 from the start · rest · ")
    assert page.locator(".trace-read").get_attribute("aria-live") == "polite"


def test_zoom_by_buttons_and_by_keys(page):
    page.locator("[data-way=zoom_in]").click()
    settled(page)
    assert view(page) == (480, 960)
    page.locator("[data-way=later]").press("Space")
    settled(page)
    assert view(page) == (720, 1200)
    page.locator(".trace-cursor input").press("+")
    settled(page)
    assert view(page)[1] - view(page)[0] == pytest.approx(160)
    page.locator(".trace-cursor input").press("0")
    settled(page)
    assert view(page) == (0, 1440)
    page.locator("[data-way=to_work]").click()
    settled(page)
    assert view(page) == (228, 1092)
    assert page.locator(".trace-part").inner_text() == "Shown: 09:35:05 to 09:49:29, 14:24."


def test_the_wheel_zooms_about_the_mouse_with_ctrl_or_after_a_click_and_else_scrolls(page):
    page.mouse.move(at(page, 360), plot(page)["y"] + 150)
    page.mouse.wheel(0, -200)
    settled(page)
    assert view(page) == (0, 1440)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -400)
    page.keyboard.up("Control")
    settled(page)
    begin, end = view(page)
    assert end - begin < 1000
    assert (360 - begin) / (end - begin) == pytest.approx(0.25, abs=0.01)


def test_a_view_is_never_shorter_than_five_seconds_nor_outside(page):
    for _ in range(9):
        page.locator("[data-way=zoom_in]").click()
    settled(page)
    begin, end = view(page)
    assert end - begin == pytest.approx(5, abs=0.01)
    for _ in range(3):
        page.locator("[data-way=zoom_out]").click()
        page.locator("[data-way=earlier]").click()
    for _ in range(30):
        page.locator("[data-way=earlier]").click()
    settled(page)
    assert view(page)[0] == 0


def test_dragging_the_ground_moves_along(page):
    page.locator("[data-way=zoom_in]").click()
    settled(page)
    box = plot(page)
    page.mouse.move(box["x"] + 300, box["y"] + 200)
    page.mouse.down()
    page.mouse.move(box["x"] + 300 + box["width"] / 4, box["y"] + 200, steps=4)
    page.mouse.up()
    settled(page)
    assert view(page)[0] == pytest.approx(360, abs=2)


def test_dragging_an_end_of_a_phase_writes_its_field_and_what_is_kept(page):
    y = plot(page)["y"] + 75
    page.mouse.move(at(page, 300) + 9, y)
    page.mouse.down()
    page.mouse.move(at(page, 360), y, steps=5)
    page.mouse.up()
    settled(page)
    text = page.locator(WORK).input_value()
    assert "09:37:15" <= text <= "09:37:19"
    assert page.locator("[data-fields=work] .trace-lasts").inner_text() in ("11:02", "11:01", "11:00", "10:59", "10:58")
    assert page.locator(".trace-kept").inner_text().startswith("Kept with the trial: 09:31:17 to 09:55:17.")


def test_an_end_pushes_the_phase_beside_it(page):
    y = plot(page)["y"] + 75
    page.mouse.move(at(page, 1020) - 9, y)
    page.mouse.down()
    page.mouse.move(at(page, 1080), y, steps=5)
    page.mouse.up()
    assert page.locator("[data-end=work_until]").input_value() == page.locator("[data-end=recovery_from]").input_value()
    page.locator("[data-slide=work_until]").focus()
    page.keyboard.press("ArrowLeft")
    assert page.locator("[data-end=work_until]").input_value() < page.locator("[data-end=recovery_from]").input_value()


def test_an_end_is_nudged_by_a_second_and_told(page):
    slider = page.locator("[data-slide=work_from]")
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowLeft")
    assert page.locator(WORK).input_value() == "09:36:18"
    assert slider.get_attribute("aria-valuetext") == "09:36:18, 5:01 from the start; work lasts 11:59"


def test_a_typed_time_moves_the_end_in_the_picture(page):
    page.locator(WORK).fill("9:38:17 am")
    settled(page)
    line = page.locator("[data-phase=work] [data-end=from]")
    assert float(line.get_attribute("x1").rstrip("%")) == pytest.approx(100 * 420 / 1440, abs=0.1)
    page.locator(WORK).fill("nonsense")
    settled(page)
    assert float(line.get_attribute("x1").rstrip("%")) == pytest.approx(100 * 420 / 1440, abs=0.1)


def test_a_phase_that_was_not_there_is_marked_and_one_is_taken_away(page):
    for end in ("from", "until"):
        page.locator(f"[data-end=recovery_{end}]").fill("")
    settled(page)
    assert page.locator("[data-phase=recovery]").get_attribute("display") == "none"
    page.locator("[data-mark=recovery]").click()
    settled(page)
    assert page.locator("[data-end=recovery_from]").input_value() == "09:48:17"
    assert page.locator("[data-end=recovery_until]").input_value() == "09:50:17"
    assert page.locator("[data-phase=recovery]").get_attribute("display") is None


def test_flagged_values_are_shown_read_and_hidden(page):
    way = page.locator("[data-way=flags]")
    way.click()
    settled(page)
    assert page.locator("[data-flags] text").count() == 3
    page.mouse.move(at(page, 400), plot(page)["y"] + 150)
    settled(page)
    assert "250 beats a minute: implausible" in page.locator(".trace-read").inner_text()
    assert way.inner_text() == "Hide flagged values"
    way.click()
    settled(page)
    assert page.locator("[data-flags]").get_attribute("display") == "none"


def test_a_finger_reads_and_two_fingers_zoom(tab, trial):
    page = opened(tab(viewport={"width": 400, "height": 900}, has_touch=True), trial)
    page.touchscreen.tap(at(page, 630), plot(page)["y"] + 150)
    settled(page)
    assert "not measured" in page.locator(".trace-read").inner_text()
    box, client = plot(page), page.context.new_cdp_session(page)
    y, middle = box["y"] + 150, box["x"] + box["width"] / 2

    def fingers(kind, apart):
        points = [{"x": middle - apart, "y": y, "id": 1}, {"x": middle + apart, "y": y, "id": 2}] if apart else []
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 30)
    for apart in (40, 50, 60):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
    settled(page)
    begin, end = view(page)
    assert end - begin == pytest.approx(720, rel=0.05)
    assert (begin + end) / 2 == pytest.approx(720, abs=15)


def test_a_finger_drags_an_end(tab, trial):
    page = opened(tab(viewport={"width": 400, "height": 900}, has_touch=True), trial)
    y, client = plot(page)["y"] + 75, page.context.new_cdp_session(page)
    for kind, x in (("touchStart", at(page, 300) + 9), ("touchMove", at(page, 330)), ("touchMove", at(page, 420))):
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y, "id": 1}]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    settled(page)
    assert "09:38:10" <= page.locator(WORK).input_value() <= "09:38:24"


def test_what_the_form_sends_is_what_the_fields_show(page, trial):
    page.locator("[data-slide=work_from]").focus()
    page.keyboard.press("ArrowRight")
    press(page.locator("#save"))
    assert page.get_by_text("saved").is_visible()
    sent = trial.posted[-1]
    assert sent["work_from"] == "09:36:18"
    assert (sent["work_was"], sent["times"]) == ("09:36:17-09:48:17", "clock")
    assert set(sent) == {"times"} | {
        f"{name}_{end}" for name in ("rest", "work", "recovery") for end in ("was", "from", "until")
    }


def test_without_a_script_links_zoom_and_fields_are_sent(tab, trial):
    page = tab(java_script_enabled=False)
    page.goto(trial.address)
    assert page.locator(".trace-cursor").is_hidden()
    assert page.locator("[data-slide]").first.is_hidden()
    press(page.get_by_role("link", name="Closer"))
    assert page.locator(".trace-part").inner_text() == "Shown: 09:39:17 to 09:47:17, 8:00."
    press(page.get_by_role("link", name="Show flagged values"))
    assert page.locator("[data-flags] text").count() == 2
    press(page.get_by_role("link", name="All of it"))
    page.locator("summary").click()
    assert page.locator("tbody tr").count() == 24
    page.locator(WORK).fill("09:37:00")
    press(page.locator("#save"))
    assert trial.posted[-1]["work_from"] == "09:37:00"


def test_a_whole_day_is_fetched_finer_where_one_looks_closer(tab):
    with served(day(), editable=False) as found:
        page = opened(tab(), found)
        assert page.locator(".trace").get_attribute("data-level") == "whole"
        for _ in range(3):
            page.locator("[data-way=zoom_in]").click()
        settled(page)
        begin, end = page.locator(".trace").get_attribute("data-view").split()
        page.locator(f"[data-view='{begin} {end}'][data-level=exact]").wait_for()
        assert any(each.startswith("/data?from=") for each in found.asked)
        page.mouse.move(at(page, 1, 2), plot(page)["y"] + 150)
        settled(page)
        assert re.search(r"· \d+ beats a minute$", page.locator(".trace-read").inner_text())


def test_where_numbers_do_not_come_the_picture_and_its_links_stay(tab):
    with served(usual(), data=False) as found:
        page = tab()
        page.goto(found.address)
        press(page.get_by_role("link", name="Closer"))
        assert page.locator(".trace-part").inner_text() == "Shown: 09:39:17 to 09:47:17, 8:00."


@pytest.mark.parametrize("width", [320, 1000])
def test_nothing_runs_over_the_side(tab, trial, width):
    page = opened(tab(viewport={"width": width, "height": 800}), trial)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("language", ["en", pytest.param("es", marks=pytest.mark.soak)])
def test_the_rules_of_access_hold(tab, language):
    with served(usual(), language=language) as found:
        assert broken(opened(tab(), found)) == []


def test_on_paper_of_another_width_all_lies_where_it_did(page):
    """No script runs while a browser prints: gaps, phases and the line must keep to each other."""

    def places():
        box = plot(page)
        found = []
        for name in ("[data-spans=gaps] path", "[data-phase=work] .bracket", "[data-line=pulse] .line"):
            part = page.locator(name).bounding_box()
            found += [(part["x"] - box["x"]) / box["width"], part["width"] / box["width"]]
        return found

    before = places()
    page.evaluate("ownmarkTrace.Drawing.prototype.draw = () => {}")
    page.set_viewport_size({"width": 640, "height": 900})
    page.emulate_media(media="print")
    assert plot(page)["width"] < 600
    assert places() == pytest.approx(before, abs=0.01)
    assert page.locator(".trace-ways").is_hidden()


@pytest.mark.parametrize(("width", "hours"), [(390, 0.25), (390, 0.5), (320, 8)])
def test_no_time_below_the_picture_stands_over_another(tab, width, hours):
    """The last one ends at the edge of the picture where a phone leaves no room behind it."""
    with served(day(hours)) as found:
        page = tab(viewport={"width": width, "height": 800})
        page.goto(found.address)
        page.locator(".trace.live").wait_for()
        boxes = page.locator("[data-ticks] text").evaluate_all(
            "all => all.map((each) => each.getBoundingClientRect().toJSON())"
        )
    for row in {round(each["y"]) for each in boxes}:
        here = sorted((each for each in boxes if round(each["y"]) == row), key=lambda each: each["x"])
        assert len(here) > 1
        for one, other in itertools.pairwise(here):
            assert one["x"] + one["width"] <= other["x"]


@pytest.mark.parametrize("ceiling", [87.0, 121.0, 142.0])
def test_no_name_of_a_class_of_effort_stands_over_the_ceilings(tab, ceiling):
    with served(usual(ceiling_bpm=ceiling)) as found:
        page = opened(tab(viewport={"width": 360, "height": 800}), found)
        boxes = page.locator(".inside").evaluate_all(
            "all => all.map((each) => [each.getBBox().y, each.getBBox().height])"
        )
    assert len(boxes) > 1
    for (one, height), (other, _) in itertools.pairwise(sorted(boxes)):
        assert one + height <= other
