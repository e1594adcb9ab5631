"""Every screen as a picture, for people to look at: ``make screens``, or ``python -m tests.web.screens FOLDER``.

Over the bag of the demo's class and a few more trials, in desk and phone width, light and dark. Nothing is compared.
"""

import sys
import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from ownmark.records.day_entry import Assisted, Exertion, Listed, Press, entry
from ownmark.records.store.day_entries import append
from playwright.sync_api import Browser, Page

from tests.outside.browser import running
from tests.outside.parts import CHROMIUM
from tests.records.store import made
from tests.web.browser.bag_day import DAY, DAY_SCREEN, FILES, NOW, School, ready, school
from tests.web.browser.hand import leads_on, press, settled

CODES = ("VB-11", "VB-07")
LOOKS = {
    "desk-light": {"viewport": {"width": 1366, "height": 768}},
    "desk-dark": {"viewport": {"width": 1366, "height": 768}, "color_scheme": "dark"},
    "phone-light": {"viewport": {"width": 390, "height": 844}, "has_touch": True},
    "phone-dark": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "color_scheme": "dark"},
}
IN_CLASS = DAY - timedelta(days=1)


def main(folder: Path) -> None:
    """Make all pictures anew."""
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as made_in,
        running(CHROMIUM.need()) as browser,
        school(ready(Path(made_in) / "logbook.db")) as found,
    ):
        _fill(found)
        for name, options in LOOKS.items():
            _pictures(browser, found, options, folder, name)
        count = len(list(folder.glob("*.png")))
        _after(browser, found, folder)
    sys.stdout.write(f"{count} pictures in {folder}\n")


def _fill(found: School) -> None:
    """What the screens show: two more students with trials, and a class in the middle of its lesson."""
    logbook = found.parts.logbook()
    made.filled(logbook, CODES)
    at = datetime.combine(IN_CLASS, NOW.time()).replace(hour=9)
    for number, code in enumerate(CODES):
        append(logbook, entry(IN_CLASS, at, Listed(protocol="slalom-gym", strap=f"S{number + 1}"), code))
    append(
        logbook,
        entry(IN_CLASS, at, Press(what="rest_begins"), CODES[0]),
        entry(IN_CLASS, at.replace(minute=5), Press(what="work_begins"), CODES[0]),
        entry(IN_CLASS, at.replace(minute=7), Assisted(what="begins"), CODES[0]),
        entry(IN_CLASS, at.replace(minute=8), Exertion(value=6, scale="0-10"), CODES[0]),
    )


def _pictures(browser: Browser, found: School, options: dict, folder: Path, look: str) -> None:
    """All screens in one look; the first one fills the day."""
    context = browser.new_context(**options)
    page = found.enter(context.new_page())
    for name, address in _addresses(page, found):
        page.goto(f"{found.base}{address}")
        _take(page, folder / f"{name}--{look}.png")
    page.goto(f"{found.base}/students/add")
    press(page.locator("main form button").last)
    _take(page, folder / f"students-add-wrong--{look}.png")
    page.goto(f"{found.base}/find")
    for box in page.locator("main input[type=checkbox]").all()[:3]:
        box.check()
    press(page.locator("main form button").first)
    _take(page, folder / f"find-found--{look}.png")
    context.close()


def _take(page: Page, path: Path) -> None:
    settled(page)
    page.screenshot(path=path, full_page=True)


def _addresses(page: Page, found: School) -> Iterator[tuple[str, str]]:
    """Each screen's name and address."""
    student, other = (found.parts.ids.of(code) for code in (CODES[0], "TH-31"))
    yield from {"today": "/", "class-list-empty": f"/day/{DAY + timedelta(days=1)}/class"}.items()
    yield "after-class-empty", f"/day/{DAY + timedelta(days=1)}"
    if not found.parts.received().paths(DAY):
        page.goto(f"{found.base}{DAY_SCREEN}")
        with leads_on(page):
            page.locator("#chosen").set_input_files([str(each) for each in FILES])
        page.locator("#rows").wait_for()
    yield from {
        "class-list": f"{DAY_SCREEN}/class",
        "in-class": f"/day/{IN_CLASS}/now",
        "clocks": f"/day/{IN_CLASS}/clocks",
        "after-class": DAY_SCREEN,
        "row": f"{DAY_SCREEN}/row/{other}/1",
        "students": "/students",
        "students-add": "/students/add",
        "students-list": "/students/list",
        "student": f"/student/{student}",
        "student-facts": f"/student/{student}/facts",
        "student-print": f"/student/{student}/print",
        "card": f"/student/{student}/card/slalom-gym",
        "change": f"/student/{student}/change/slalom-gym",
        "trial": "/trial/1",
        "caseload": "/caseload",
        "district": "/district",
        "plans": "/district/plans",
        "find": "/find",
        "find-test": "/find/test/arm-crank-steady",
        "protocol": "/find/protocol/slalom-gym",
        "protocol-change": "/find/protocol/slalom-gym/change",
        "not-there": "/nothing",
    }.items()


def _after(browser: Browser, found: School, folder: Path) -> None:
    """The day once its sure rows are stored, and a session that is locked."""
    for look in ("desk-light", "phone-light"):
        context = browser.new_context(**LOOKS[look])
        page = found.enter(context.new_page())
        page.goto(f"{found.base}{DAY_SCREEN}")
        button = page.get_by_role("button", name="Add all")
        if button.count():
            press(button)
            page.locator(".told").wait_for()
        _take(page, folder / f"after-class-stored--{look}.png")
        page.goto(f"{found.base}/")
        press(page.locator("form[action='/lock'] button"))
        _take(page, folder / f"locked--{look}.png")
        context.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("screens"))
