"""A browser of the machine, without a net, and what a page complained of."""

import pytest
from playwright.sync_api import expect

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM
from tests.web.browser.hand import WAIT_MS, tabs

expect.set_options(timeout=WAIT_MS)


@pytest.fixture(scope="package")
def browser():
    """A Chromium."""
    with running(CHROMIUM.need()) as found:
        yield found


@pytest.fixture
def tab(browser):
    """Opens a tab with any options; at the end nothing was blocked by the policy, and no script stopped."""
    with tabs(browser) as opened:
        yield opened
