"""The rules of accessibility (axe-core) on a screen as it stands."""

from functools import cache

from playwright.sync_api import Page

from tests.outside.parts import AXE
from tests.web.browser.hand import settled

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
# Of what keeps a rule only the count comes back: to describe each of these parts takes twice as long as all else.
_CHECK = """async (levels) => {
  const found = await axe.run(document, {
    runOnly: {type: 'tag', values: levels}, resultTypes: ['violations'], selectors: false});
  return {kept: found.passes.length, broken: found.violations.map(
    each => [each.id, each.nodes.slice(0, 3).map(node => node.html.slice(0, 160))])};
}"""
UNFOLD = "document.querySelectorAll('details').forEach(each => (each.open = true))"


@cache
def _script() -> str:
    return AXE.need().read_text(encoding="utf-8")


def broken(page: Page) -> list:
    """Which rules the screen breaks with all of it unfolded, and at most three of the parts that break each."""
    page.evaluate(UNFOLD)
    settled(page)
    if not page.evaluate("'axe' in window"):
        page.evaluate(_script())
    found = page.evaluate(_CHECK, RULES)
    if not found["kept"]:
        raise AssertionError("no rule was looked at")
    return found["broken"]
