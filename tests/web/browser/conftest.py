"""A browser of the machine, without a net, and what a page complained of."""

import pytest

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM
from tests.web.browser.hand import tabs


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
