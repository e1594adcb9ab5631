"""The trace: how long the page and the browser take to draw it, and whether zooming keeps up with the screen.

Aimed at: 8 h at 1 Hz and 20 min at 100 Hz are painted in 0.15 s and zoomed at 60 frames a second.
"""

import json
import statistics
import time
from typing import Any

from ownmark.reports.trace.trace import Trace, view_of
from ownmark.reports.words import Words
from ownmark.web.trace import levels, shown
from playwright.sync_api import Page

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM
from tests.web.browser.trace_page import day, served, usual

TURNS = 7
FRAMES = 120
_PAINT = """async () => {
  const paints = () => performance.getEntriesByName('first-contentful-paint');
  while (!paints().length) await new Promise((done) => setTimeout(done, 5));
  const [answer] = performance.getEntriesByType('navigation');
  const [paint] = paints();
  return [paint.startTime, paint.startTime - answer.responseEnd];
}"""
_ZOOM = """async (frames) => {
  const plot = document.querySelector('.plot'), box = plot.getBoundingClientRect(), times = [], drawn = [];
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  let last = await frame();
  for (let k = 0; k < frames; k++) {
    const deltaY = k % 60 < 30 ? -80 : 80, clientX = box.left + box.width * 0.4;
    plot.dispatchEvent(new WheelEvent('wheel', {deltaY, clientX, ctrlKey: true, cancelable: true, bubbles: true}));
    const now = await frame();
    drawn.push(performance.now() - now);
    times.push(now - last);
    last = now;
  }
  return [times, drawn];
}"""


def main() -> None:
    """Print both recordings."""
    print("Trace: the page's own time, the browser's, and frames while zooming")
    with running(CHROMIUM.need()) as browser:
        for name, trace in (("8 h at 1 Hz", day()), ("20 min, movement at 100 Hz", usual(end=1200))):
            _made(name, trace)
            with served(trace) as found:
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                _painted(page, found.address)
                _zoomed(page)
                page.close()


def _made(name: str, trace: Trace) -> None:
    """What the page does: all of the template's values, and the numbers for the script."""
    words = Words("en")
    shown(trace, words)
    pages, parts = [], []
    for _ in range(TURNS):
        begin = time.perf_counter()
        found = shown(trace, words, view=view_of(trace.whole), editable=True)
        pages.append(time.perf_counter() - begin)
        begin = time.perf_counter()
        sent = json.dumps(levels(trace, {}), separators=(",", ":"))
        parts.append(time.perf_counter() - begin)
    print(
        f"  {name}: drawn in {1000 * statistics.median(pages):.0f} ms ({len(found['plot']) / 1000:.0f} kB), "
        f"numbers in {1000 * statistics.median(parts):.0f} ms ({len(sent) / 1000:.0f} kB)"
    )


def _painted(page: Page, address: str) -> None:
    """From asking for the page to the first paint, which holds the whole picture."""
    found: list[Any] = []
    for _ in range(TURNS):
        page.goto(address)
        page.locator(".trace.live").wait_for()
        found.append(page.evaluate(_PAINT))
    whole, own = (statistics.median(each) for each in zip(*found, strict=True))
    print(f"    painted {whole:.0f} ms after it was asked for, {own:.0f} ms after the page came")


def _zoomed(page: Page) -> None:
    """Frames while the wheel turns at every frame."""
    page.evaluate(_ZOOM, 20)
    times, drawn = map(sorted, page.evaluate(_ZOOM, FRAMES))
    late = int(0.95 * len(times))
    kept = sum(each < 1.25 * 1000 / 60 for each in times) / len(times)
    print(f"    zoomed: {100 * kept:.0f} % of frames in time, 95 of 100 within {times[late]:.0f} ms; the script takes")
    print(f"    {statistics.median(drawn):.1f} ms of a frame, 95 of 100 under {drawn[late]:.1f} ms")


if __name__ == "__main__":
    main()
