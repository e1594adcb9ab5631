"""What a hand does on the page, and waiting for all that it brings.

A screen comes piece by piece, and a form is sent once the page has said that it still runs. What is read right after a
press is the old screen, or half of the new one; so a press that leads on ends here when the next screen is whole.
"""

from contextlib import contextmanager

from playwright.sync_api import Browser, Locator, Page

WAIT_MS = 60_000
"""The longest that a screen is waited for on a busy machine."""


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
    page.set_default_timeout(WAIT_MS)
    page.set_default_navigation_timeout(WAIT_MS)
    page.goto(link)
    page.wait_for_url(f"{base}/")
    return page


def drawn(page: Page) -> Page:
    """A screen whose trace has its numbers and is drawn with them."""
    page.locator(".trace.live[data-level]").wait_for()
    return page


def settled(page: Page) -> None:
    """What was asked for is drawn."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


@contextmanager
def tabs(browser: Browser):
    """Opens tabs with any options; at the end nothing was blocked by the policy, and no script stopped."""
    contexts, complaints = [], []

    def opened(**options):
        context = browser.new_context(**({"viewport": {"width": 1000, "height": 900}} | options))
        contexts.append(context)
        found = context.new_page()
        found.on("pageerror", lambda mistake: complaints.append(str(mistake)))
        found.on("console", lambda said: complaints.append(said.text) if "Policy" in said.text else None)
        return found

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
