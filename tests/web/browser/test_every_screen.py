"""Every screen in a browser: the accessibility rules, narrow and wide, dark, with fingers, with no script."""

import pytest
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions

from tests.outside.browser import axe
from tests.web.browser.hand import entered
from tests.web.every_screen import TODAY, school, screens
from tests.web.served import serving

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
CHECK = "levels => axe.run(document, {runOnly: {type: 'tag', values: levels}, resultTypes: ['violations', 'passes']})"


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """A page over the small school on a socket: its address and its screens."""
    from ownmark.records.store.logbook import open_logbook

    place = tmp_path_factory.mktemp("school") / "logbook.db"
    parts = Parts(str(place), OnFirstUse(lambda: open_logbook(place)), Sessions("en"), now=lambda: TODAY)
    school(parts)
    faults = []
    with serving(parts, faults.append) as port:
        yield parts, f"http://127.0.0.1:{port}", faults
    parts.close()
    assert faults == []


@pytest.fixture(scope="module")
def addresses(page):
    parts, base, _ = page
    import httpx2

    headers = {"Sec-Fetch-Site": "same-origin"}
    with httpx2.Client(base_url=base, trust_env=False, timeout=60, headers=headers) as client:
        client.get(f"/start/{parts.sessions.new_link()}")
        return list(screens(client).values())


@pytest.fixture
def opened(page, tab):
    """Opens a tab that has a session."""
    parts, base, _ = page

    def open_(**options):
        return entered(tab(base_url=base, **options), base, f"/start/{parts.sessions.new_link()}")

    return open_


LOOKS = {
    "desk": {"viewport": {"width": 1366, "height": 768}},
    "dark phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "color_scheme": "dark"},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True},
    "dark": {"viewport": {"width": 1366, "height": 768}, "color_scheme": "dark"},
    "zoomed": {"viewport": {"width": 683, "height": 384}},  # 200 % of the desk
}
ALWAYS = ("desk", "dark phone")
"""Each width and each color scheme once; every pair of them with the slow runs."""


@pytest.mark.parametrize(
    "look", [each if each in ALWAYS else pytest.param(each, marks=pytest.mark.soak) for each in LOOKS]
)
def test_no_screen_breaks_a_rule_of_accessibility(opened, addresses, look):
    found = opened(**LOOKS[look])
    broken = {}
    for address in addresses:
        found.goto(address)
        found.evaluate("document.querySelectorAll('details').forEach(each => (each.open = true))")
        found.evaluate(axe().read_text(encoding="utf-8"))
        result = found.evaluate(CHECK, RULES)
        assert result["passes"], address  # the rules were looked at
        for each in result["violations"]:
            broken.setdefault(address, []).append((each["id"], [node["html"][:160] for node in each["nodes"]][:3]))
    assert broken == {}


@pytest.mark.parametrize("width", [320, 390, 1366])
def test_no_screen_is_wider_than_the_window(opened, addresses, width):
    found = opened(viewport={"width": width, "height": 700})
    wide = {}
    for address in addresses:
        found.goto(address)
        reach = found.evaluate("document.documentElement.scrollWidth")
        if reach > width:
            wide[address] = (reach, found.evaluate(WIDEST, width))
    assert wide == {}


WIDEST = """width => [...document.querySelectorAll('main *')]
  .filter(each => each.getBoundingClientRect().right > width + 1)
  .slice(0, 4).map(each => each.outerHTML.slice(0, 120))"""
SMALL = """() => [...document.querySelectorAll('a:not(.skip), button, input:not([type=hidden]), select, summary')]
.filter(each => {
  const least = each.matches('button, .button') ? 44 : 24;
  const box = (each.closest('label') ?? each).getBoundingClientRect();
  const inline = getComputedStyle(each).display === 'inline';
  return box.width && !inline && (box.height < least || box.width < 24);
}).map(each => each.outerHTML.slice(0, 120))"""


def test_nothing_to_press_is_too_small_for_a_finger(opened, addresses):
    found = opened(**LOOKS["phone"])
    small = {}
    for address in addresses:
        found.goto(address)
        if those := found.evaluate(SMALL):
            small[address] = those
    assert small == {}


def test_every_screen_stands_without_scripts(opened, addresses):
    found = opened(java_script_enabled=False)
    for address in addresses:
        assert found.goto(address).status == 200
        assert found.locator("h1").count() == 1, address


def test_the_first_thing_a_keyboard_reaches_leads_past_the_navigation(opened, addresses):
    found = opened()
    for address in addresses:
        found.goto(address)
        if "#" in address:
            continue  # begins where the link leads to
        found.keyboard.press("Tab")
        assert found.locator(":focus").get_attribute("href") == "#main", address
