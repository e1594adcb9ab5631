"""The trace in a browser: zoomed, read and dragged by mouse, touch and keys, and without a script."""

import itertools
import re

import pytest
from playwright.sync_api import expect

from tests.web.browser.access import broken
from tests.web.browser.hand import box_of, drawn, press, settled
from tests.web.browser.trace_page import day, served, usual

WORK = "[data-end=work_from]"


def opened(page, found):
    page.goto(found.address)
    return drawn(page)


def view(page):
    """From when until when is shown [s], once it is drawn."""
    settled(page)
    return tuple(float(each) for each in page.locator(".trace").get_attribute("data-view").split())


def plot(page):
    return box_of(page.locator(".plot"))


def told(page):
    """What stands below the picture about the moment that is read."""
    settled(page)
    return page.locator(".trace-read").inner_text()


def field(page, end):
    return page.locator(f"[data-end={end}]").input_value()


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
    assert told(page).startswith("09:41:4")
    assert "work · heart rate not measured" in told(page)
    page.mouse.move(at(page, 100), plot(page)["y"] + 150)
    series = usual().series
    found = re.search(r"(\d+):(\d+) from the start · rest · (\d+) beats a minute", told(page))
    assert found
    second = int(found[1]) * 60 + int(found[2])
    assert float(found[3]) in series.bpm[second - 1 : second + 2]


def test_the_slider_reads_by_keys_and_says_the_moment(page):
    slider = page.locator(".trace-cursor input")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(slider).to_have_attribute("aria-valuetext", "09:31:23, 0:06 from the start")
    assert told(page).startswith("09:31:23, 0:06 from the start · rest · ")
    assert page.locator(".trace-read").get_attribute("aria-live") == "polite"


def test_zoom_by_buttons_and_by_keys(page):
    page.locator("[data-way=zoom_in]").click()
    assert view(page) == (480, 960)
    page.locator("[data-way=later]").press("Space")
    assert view(page) == (720, 1200)
    page.locator(".trace-cursor input").press("+")
    assert view(page)[1] - view(page)[0] == pytest.approx(160)
    page.locator(".trace-cursor input").press("0")
    assert view(page) == (0, 1440)
    page.locator("[data-way=to_work]").click()
    assert view(page) == (228, 1092)
    expect(page.locator(".trace-part")).to_have_text("Shown: 09:35:05 to 09:49:29, 14:24.")


def test_the_wheel_zooms_about_the_mouse_with_ctrl_or_after_a_click_and_else_scrolls(page):
    page.evaluate("addEventListener('wheel', () => (document.body.dataset.wheel = 1))")
    page.mouse.move(at(page, 360), plot(page)["y"] + 150)
    page.mouse.wheel(0, -200)
    page.locator("body[data-wheel]").wait_for()
    assert view(page) == (0, 1440)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -400)
    expect(page.locator(".trace")).not_to_have_attribute("data-view", "0.000 1440.000")
    page.keyboard.up("Control")
    begin, end = view(page)
    assert end - begin < 1000
    assert (360 - begin) / (end - begin) == pytest.approx(0.25, abs=0.01)


def test_a_view_is_never_shorter_than_five_seconds_nor_outside(page):
    for _ in range(9):
        page.locator("[data-way=zoom_in]").click()
    begin, end = view(page)
    assert end - begin == pytest.approx(5, abs=0.01)
    for _ in range(3):
        page.locator("[data-way=zoom_out]").click()
        page.locator("[data-way=earlier]").click()
    for _ in range(30):
        page.locator("[data-way=earlier]").click()
    assert view(page)[0] == 0


def test_dragging_the_ground_moves_along(page):
    page.locator("[data-way=zoom_in]").click()
    settled(page)
    box = plot(page)
    page.mouse.move(box["x"] + 300, box["y"] + 200)
    page.mouse.down()
    page.mouse.move(box["x"] + 300 + box["width"] / 4, box["y"] + 200, steps=4)
    page.mouse.up()
    assert view(page)[0] == pytest.approx(360, abs=2)


def test_dragging_an_end_of_a_phase_writes_its_field_and_what_is_kept(page):
    y = plot(page)["y"] + 75
    page.mouse.move(at(page, 300) + 9, y)
    page.mouse.down()
    page.mouse.move(at(page, 360), y, steps=5)
    page.mouse.up()
    settled(page)
    assert "09:37:15" <= field(page, "work_from") <= "09:37:19"
    expect(page.locator("[data-fields=work] .trace-lasts")).to_have_text(re.compile("^(11:0[0-2]|10:5[89])$"))
    expect(page.locator(".trace-kept")).to_have_text(re.compile("^Kept with the trial: 09:31:17 to 09:55:17[.]"))


def test_an_end_pushes_the_phase_beside_it(page):
    y = plot(page)["y"] + 75
    page.mouse.move(at(page, 1020) - 9, y)
    page.mouse.down()
    page.mouse.move(at(page, 1080), y, steps=5)
    page.mouse.up()
    settled(page)
    assert "09:49:15" <= field(page, "work_until") == field(page, "recovery_from") <= "09:49:19"
    page.locator("[data-slide=work_until]").press("ArrowLeft")
    settled(page)
    assert field(page, "work_until") < field(page, "recovery_from")


def test_an_end_is_nudged_by_a_second_and_told(page):
    slider = page.locator("[data-slide=work_from]")
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(WORK)).to_have_value("09:36:18")
    expect(slider).to_have_attribute("aria-valuetext", "09:36:18, 5:01 from the start; work lasts 11:59")


def test_a_typed_time_moves_the_end_in_the_picture(page):
    line = page.locator("[data-phase=work] [data-end=from]")
    for text in ("9:38:17 am", "nonsense"):
        page.locator(WORK).fill(text)
        settled(page)
        assert float(line.get_attribute("x1").rstrip("%")) == pytest.approx(100 * 420 / 1440, abs=0.1)


def test_a_phase_that_was_not_there_is_marked_and_one_is_taken_away(page):
    for end in ("from", "until"):
        page.locator(f"[data-end=recovery_{end}]").fill("")
    expect(page.locator("[data-phase=recovery]")).to_have_attribute("display", "none")
    page.locator("[data-mark=recovery]").click()
    expect(page.locator("[data-end=recovery_from]")).to_have_value("09:48:17")
    expect(page.locator("[data-end=recovery_until]")).to_have_value("09:50:17")
    expect(page.locator("[data-phase=recovery]")).not_to_have_attribute("display", "none")


def test_flagged_values_are_shown_read_and_hidden(page):
    way = page.locator("[data-way=flags]")
    way.click()
    expect(page.locator("[data-flags] text")).to_have_count(3)
    page.mouse.move(at(page, 400), plot(page)["y"] + 150)
    assert "250 beats a minute: implausible" in told(page)
    expect(way).to_have_text("Hide flagged values")
    way.click()
    expect(page.locator("[data-flags]")).to_have_attribute("display", "none")


def test_a_finger_reads_and_two_fingers_zoom(tab, trial):
    page = opened(tab(viewport={"width": 400, "height": 900}, has_touch=True), trial)
    page.touchscreen.tap(at(page, 630), plot(page)["y"] + 150)
    expect(page.locator(".trace-read")).to_contain_text("not measured")
    box, client = plot(page), page.context.new_cdp_session(page)
    y, middle = box["y"] + 150, box["x"] + box["width"] / 2

    def fingers(kind, apart):
        points = [{"x": middle - apart, "y": y, "id": 1}, {"x": middle + apart, "y": y, "id": 2}] if apart else []
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 30)
    for apart in (40, 50, 60):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
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
    assert "09:38:10" <= field(page, "work_from") <= "09:38:24"


def test_what_the_form_sends_is_what_the_fields_show(page, trial):
    page.locator("[data-slide=work_from]").press("ArrowRight")
    expect(page.locator(WORK)).to_have_value("09:36:18")
    press(page.locator("#save"))
    expect(page.get_by_text("saved")).to_be_visible()
    sent = trial.posted[-1]
    assert sent["work_from"] == "09:36:18"
    assert (sent["work_was"], sent["times"]) == ("09:36:17-09:48:17", "clock")
    assert set(sent) == {"times"} | {
        f"{name}_{end}" for name in ("rest", "work", "recovery") for end in ("was", "from", "until")
    }


def test_without_a_script_links_zoom_and_fields_are_sent(tab, trial):
    page = tab(java_script_enabled=False)
    page.goto(trial.address)
    expect(page.locator(".trace-cursor")).to_be_hidden()
    expect(page.locator("[data-slide]").first).to_be_hidden()
    press(page.get_by_role("link", name="Closer"))
    expect(page.locator(".trace-part")).to_have_text("Shown: 09:39:17 to 09:47:17, 8:00.")
    press(page.get_by_role("link", name="Show flagged values"))
    expect(page.locator("[data-flags] text")).to_have_count(2)
    press(page.get_by_role("link", name="All of it"))
    page.locator("summary").click()
    expect(page.locator("tbody tr")).to_have_count(24)
    page.locator(WORK).fill("09:37:00")
    press(page.locator("#save"))
    assert trial.posted[-1]["work_from"] == "09:37:00"


def test_a_whole_day_is_fetched_finer_where_one_looks_closer(tab):
    with served(day(), editable=False) as found:
        page = opened(tab(), found)
        expect(page.locator(".trace")).to_have_attribute("data-level", "whole")
        for _ in range(3):
            page.locator("[data-way=zoom_in]").click()
        settled(page)
        expect(page.locator(".trace")).to_have_attribute("data-level", "exact")
        assert any(each.startswith("/data?from=") for each in found.asked)
        page.mouse.move(at(page, 1, 2), plot(page)["y"] + 150)
        assert re.search(r"· \d+ beats a minute$", told(page))


def test_where_numbers_do_not_come_the_picture_and_its_links_stay(tab):
    with served(usual(), data=False) as found:
        page = tab()
        page.goto(found.address)
        press(page.get_by_role("link", name="Closer"))
        expect(page.locator(".trace-part")).to_have_text("Shown: 09:39:17 to 09:47:17, 8:00.")


@pytest.mark.parametrize("width", [320, 1000])
def test_nothing_runs_over_the_side(tab, trial, width):
    page = opened(tab(viewport={"width": width, "height": 800}), trial)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("language", ["en", pytest.param("es", marks=pytest.mark.soak)])
def test_the_rules_of_access_hold(tab, language):
    with served(usual(), language=language) as found:
        assert broken(opened(tab(), found)) == []


SHARES = """names => { const whole = document.querySelector('.plot').getBoundingClientRect();
  return names.map((name) => document.querySelector(name).getBoundingClientRect())
    .flatMap((box) => [(box.x - whole.x) / whole.width, box.width / whole.width]); }"""


def test_on_paper_of_another_width_all_lies_where_it_did(page):
    """No script runs while a browser prints: gaps, phases and the line must keep to each other."""

    def places():
        settled(page)
        return page.evaluate(
            SHARES, ["[data-spans=gaps] path", "[data-phase=work] .bracket", "[data-line=pulse] .line"]
        )

    before = places()
    page.evaluate("ownmarkTrace.Drawing.prototype.draw = () => {}")
    page.set_viewport_size({"width": 640, "height": 900})
    page.emulate_media(media="print")
    assert plot(page)["width"] < 600
    assert places() == pytest.approx(before, abs=0.01)
    expect(page.locator(".trace-ways")).to_be_hidden()


@pytest.mark.parametrize(("width", "hours"), [(390, 0.25), (390, 0.5), (320, 8)])
def test_no_time_below_the_picture_stands_over_another(tab, width, hours):
    """The last one ends at the edge of the picture where a phone leaves no room behind it."""
    with served(day(hours)) as found:
        page = opened(tab(viewport={"width": width, "height": 800}), found)
        boxes = page.locator("[data-ticks] text").evaluate_all(
            "all => all.map((each) => each.getBoundingClientRect().toJSON())"
        )
    for row in {round(each["y"]) for each in boxes}:
        here = sorted((each for each in boxes if round(each["y"]) == row), key=lambda each: each["x"])
        assert len(here) > 1
        for one, other in itertools.pairwise(here):
            assert one["x"] + one["width"] <= other["x"]


BOXES = """() => [...document.querySelectorAll('.trace-picture text, .trace-picture .grip')]
  .filter((each) => each.checkVisibility() && !each.closest('[display=none]'))
  .map((each) => {
    const box = each.getBoundingClientRect(), grip = each.matches('.grip'), air = grip ? 0 : 3;
    return {told: each.textContent || each.closest('.handle').dataset.edge, named: !!each.closest('[data-names]'), grip,
      left: box.left, right: box.right, top: box.top + air, bottom: box.bottom - air};
  })"""
"""Everything that is written or held, at one moment; a line of letters without the air over and under them (3 px)."""
LINE = "() => document.querySelector('[data-line=pulse]').getBoundingClientRect().toJSON()"
SHORT = {"rest": (600.0, 690.0), "work": (700.0, 720.0), "recovery": (720.0, 760.0)}


def over(one, other):
    """Two boxes lie over each other by more than half a pixel."""
    return all(
        min(one[end], other[end]) - max(one[begin], other[begin]) > 0.5
        for begin, end in (("left", "right"), ("top", "bottom"))
    )


@pytest.mark.parametrize("width", [320, 360, 390, 1000])
@pytest.mark.parametrize("ceiling", [87.0, 142.0])
def test_nothing_that_is_written_or_held_stands_over_another_or_over_the_line(tab, width, ceiling):
    trace = usual(ceiling_bpm=ceiling, phases=SHORT)
    with served(trace, language="es" if ceiling > 100 else "en") as found:
        page = opened(tab(viewport={"width": width, "height": 800}), found)
        boxes, line = page.evaluate(BOXES), page.evaluate(LINE)
        below = page.locator(".trace-key .narrow")
        for each in below.all():
            expect(each).to_be_visible(visible=width < 1000)
    assert sum(each["grip"] for each in boxes) == 6
    assert {"rest", "work", "recovery"} <= {each["told"] for each in boxes} or ceiling > 100
    assert [pair for pair in itertools.combinations(boxes, 2) if over(*pair)] == []
    assert [each["told"] for each in boxes if over(each, line) and not (each["grip"] or each["named"])] == []


def test_without_a_script_names_of_short_phases_keep_apart_on_a_small_phone(tab):
    with served(usual(phases=SHORT)) as found:
        page = tab(viewport={"width": 320, "height": 800}, java_script_enabled=False)
        page.goto(found.address)
        boxes = page.evaluate(BOXES)
    assert [pair for pair in itertools.combinations(boxes, 2) if over(*pair)] == []


def test_of_two_handles_on_each_other_the_one_whose_grip_is_held_moves(tab):
    with served(usual(phases=SHORT)) as found:
        page = opened(tab(viewport={"width": 390, "height": 900}), found)
        for end, by in (("work_from", -12), ("recovery_until", 30)):
            before = {each: field(page, each) for each in ("work_from", "recovery_until")}
            grip = box_of(page.locator(f"[data-edge={end}] .grip"))
            x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x + by, y, steps=3)
            page.mouse.up()
            settled(page)
            assert [each for each in before if field(page, each) != before[each]] == [end]
