"""Every screen in a browser: the accessibility rules, narrow and wide, dark, with fingers, with no script."""

import pytest
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions
from playwright.sync_api import expect

from tests.web.browser.access import broken
from tests.web.browser.hand import entered, settled
from tests.web.every_screen import TODAY, school, screens
from tests.web.served import serving


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
WIDTHS = (1366, 390, 320)
WIDEST = """width => document.documentElement.scrollWidth <= width ? [] :
  [document.documentElement.scrollWidth, ...[...document.querySelectorAll('main *')]
    .filter(each => each.getBoundingClientRect().right > width + 1)
    .slice(0, 4).map(each => each.outerHTML.slice(0, 120))]"""
SMALL = """() => [...document.querySelectorAll('a:not(.skip), button, input:not([type=hidden]), select, summary')]
.filter(each => {
  const least = each.matches('button, .button') ? 44 : 24;
  const box = (each.closest('label') ?? each).getBoundingClientRect();
  const inline = getComputedStyle(each).display === 'inline';
  return box.width && !inline && (box.height < least || box.width < 24);
}).map(each => each.outerHTML.slice(0, 120))"""


def test_every_screen_keeps_every_rule(opened, addresses):
    """One look at each screen: by keys, in each width, for fingers, and by the rules of accessibility.

    Of these both widths and both color schemes once; every pair of them with the slow runs.
    """
    found, wrong = opened(**LOOKS["desk"] | {"has_touch": True}), {}
    for address in addresses:
        found.set_viewport_size(LOOKS["desk"]["viewport"])
        found.emulate_media(color_scheme="light")
        found.goto(address)
        wrong["first key", address] = first_key(found, address)
        for width in WIDTHS:
            found.set_viewport_size({"width": width, "height": 844})
            settled(found)
            wrong[f"wider than {width}", address] = found.evaluate(WIDEST, width)
            if width == 390:
                wrong["too small for a finger", address] = found.evaluate(SMALL)
        for look in ("desk", "dark phone"):
            found.set_viewport_size(LOOKS[look]["viewport"])
            found.emulate_media(color_scheme=LOOKS[look].get("color_scheme", "light"))
            settled(found)
            wrong[f"rules, {look}", address] = broken(found)
    assert {key: each for key, each in wrong.items() if each} == {}
    assert len(wrong) == 7 * len(addresses)


def first_key(found, address):
    """What the first key reaches, where it does not lead past the navigation."""
    if "#" in address:
        return []  # begins where the link leads to
    found.keyboard.press("Tab")
    reached = found.locator(":focus").get_attribute("href")
    return [] if reached == "#main" else [reached]


@pytest.mark.soak
@pytest.mark.parametrize("look", LOOKS)
def test_no_screen_breaks_a_rule_of_accessibility_in_any_look(opened, addresses, look):
    found, wrong = opened(**LOOKS[look]), {}
    for address in addresses:
        found.goto(address)
        wrong[address] = broken(found)
    assert {key: each for key, each in wrong.items() if each} == {}


def test_every_screen_stands_without_scripts(opened, addresses):
    found = opened(java_script_enabled=False)
    for address in addresses:
        assert found.goto(address).status == 200
        expect(found.locator("h1"), address).to_have_count(1)
