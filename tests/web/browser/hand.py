"""What a hand does on the page, and waiting for all that it brings.

A screen comes piece by piece, and a form is sent once the page has said that it still runs. What is read right after a
press is the old screen, or half of the new one; so a press that leads on ends here when the next screen is whole. A
picture is drawn again whenever its width or its numbers change, and what was there is replaced: ``settled`` waits until
its script says that nothing more is on its way, and what belongs together is read at one moment.
"""

import os
from contextlib import contextmanager

from playwright.sync_api import Browser, Locator, Page

SLOWER = float(os.environ.get("OWNMARK_BROWSER_SLOWER", "1"))
"""So many times slower than it could does the browser run its pages: 6 is a weak laptop, 1 as fast as it can."""
WAIT_MS = 60_000 * max(SLOWER, 1)
"""The longest that anything is waited for on a busy machine."""


@contextmanager
def leads_on(page: Page):
    """Ends when the screen that the block leads to is there with its last piece, its pictures and its scripts."""
    with page.expect_navigation(wait_until="load", timeout=WAIT_MS):
        yield


def press(target: Locator):
    """Press a button that sends a form, or follow a link."""
    with leads_on(target.page):
        target.click()


def press_by_keys(target: Locator, key: str = "Enter"):
    """The same by a key."""
    target.focus()
    with leads_on(target.page):
        target.page.keyboard.press(key)


def entered(page: Page, base: str, link: str) -> Page:
    """A tab that has opened the link and was led on to the first screen."""
    page.goto(link)
    page.wait_for_url(f"{base}/")
    return page


def drawn(page: Page) -> Page:
    """A screen whose trace has its numbers and is drawn with them, the finest that its width can show."""
    page.locator(".trace.live[data-level]").wait_for()
    settled(page)
    return page


_SETTLED = """async ([width, height, most]) => {
  const begun = performance.now();
  const frame = (until) => new Promise((done, failed) => performance.now() - begun < most
    ? requestAnimationFrame(done) : failed(new Error(until)));
  while (innerWidth !== width || innerHeight !== height) await frame('the window has another size');
  await frame('no frame');
  await frame('no frame');
  while (document.querySelector('.trace[data-trace]:not([data-drawn])')) await frame('a trace is not drawn');
}"""


def settled(page: Page) -> None:
    """The window has its size, what was pressed and resized has reached the scripts, and no trace has more to draw.

    A trace's script takes the sign ``data-drawn`` away while numbers or a drawing are on their way.
    """
    size = page.viewport_size or {}
    page.evaluate(_SETTLED, [size["width"], size["height"], WAIT_MS])


def box_of(target: Locator) -> dict:
    """Where something lies in the window [px], brought into it, once nothing more is drawn."""
    target.scroll_into_view_if_needed()
    settled(target.page)
    return target.evaluate("each => each.getBoundingClientRect().toJSON()")


def slowed(page: Page) -> None:
    """A tab on a slow computer, whatever it shows."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})


@contextmanager
def tabs(browser: Browser):
    """Opens tabs with any options; at the end nothing was blocked by the policy, and no script stopped."""
    contexts, complaints = [], []

    def opened(**options):
        context = browser.new_context(**({"viewport": {"width": 1000, "height": 900}} | options))
        contexts.append(context)
        context.set_default_timeout(WAIT_MS)
        if SLOWER != 1:
            context.on("page", slowed)
        found = context.new_page()
        found.on("pageerror", lambda mistake: complaints.append(str(mistake)))
        found.on("console", lambda said: complaints.append(said.text) if "Policy" in said.text else None)
        return found

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
