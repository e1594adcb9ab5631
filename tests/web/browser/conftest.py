"""A browser of the machine, without a net, and what a page complained of."""

import pytest

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM


@pytest.fixture(scope="package")
def browser():
    """A Chromium."""
    with running(CHROMIUM.need()) as found:
        yield found


@pytest.fixture
def tab(browser):
    """Opens a tab with any options; at the end nothing was blocked by the policy, and no script stopped."""
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
