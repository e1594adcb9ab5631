"""A browser that shows pages, without a net."""

import pytest
from ownmark.reports.render.html import to_html

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM


@pytest.fixture(scope="module")
def browser():
    """A Chromium without a net."""
    with running(CHROMIUM.need()) as found:
        yield found


@pytest.fixture(scope="module")
def tab(browser):
    """One tab for all: opening another costs a second."""
    context = browser.new_context(offline=True)
    found = context.new_page()
    found.asked = []
    found.on("request", lambda request: found.asked.append(request.url))
    yield found
    context.close()


@pytest.fixture
def shown(tab, tmp_path):
    """Show a page at a width; what it asked the net for is kept beside the tab."""

    def show(page, width=1240):
        path = tmp_path / "page.html"
        path.write_bytes(to_html(page))
        tab.asked.clear()
        tab.emulate_media(media="screen")
        tab.set_viewport_size({"width": width, "height": 900})
        tab.goto(path.as_uri())
        return tab

    return show
