"""After class, on the bag of the demo's class: by mouse, by keys alone, by finger and without a script.

Each way ends with the figures that the command line makes of the same bag, to the last digit.
"""

import csv
import threading
from contextlib import contextmanager, nullcontext

import pytest
from ownmark.cli.main import main
from ownmark.sample_streams import bag
from ownmark.web.routes import day
from playwright.sync_api import expect

from tests.web.browser.bag_day import DAY, DAY_SCREEN, FILES, ready, school
from tests.web.browser.hand import WAIT_MS, leads_on, press

WEEK = "+168:00:00"
ON_THE_DAY = [turn.code for strap in bag.STRAPS for turn in strap.turns if strap.label != bag.NO_CONTACT]
HANDED_ON_OR_LATE = ("TH-31", "TH-32", "TH-33", "TH-34", "TH-35")
NO_CONTACT = "TH-37"
WEEK_BEHIND = "TH-36"


@pytest.fixture(scope="module")
def by_commands(tmp_path_factory):
    """The trials that ``class plan`` and ``class add`` make, with the plan's questions answered in its table."""
    folder = tmp_path_factory.mktemp("by-commands")
    place, table = ready(folder / "logbook.db"), folder / "day.csv"
    logbook = ("--logbook", str(place))
    words = [str(bag.BAG), "--roster", str(bag.BAG / "class.csv"), "--out", str(table)]
    assert main(["class", "plan", *words, *logbook]) == 1  # there is something to look at
    with table.open(newline="", encoding="utf-8") as file:
        rows = [row | {"clock_shift": ""} for row in csv.DictReader(file) if row["code"] != NO_CONTACT]
    for row in rows:
        if row["code"] in HANDED_ON_OR_LATE:
            row |= {"confirm": "checked"}
        if row["code"] == WEEK_BEHIND:
            row |= {"clock_shift": WEEK, "date": str(DAY), "check": ""}
    with table.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    assert main(["class", "add", str(table), *logbook]) == 0
    with school(place, apart=False) as found:
        return found.trials()


class Hand:
    """How a person presses; ``presses`` counts clicks, touches or keys."""

    def __init__(self, page):
        self.page, self.presses = page, 0

    def touch(self, target):
        """What the hand does to a button."""
        target.click()

    def press(self, target):
        """Press a button or follow a link, and wait for the screen that it leads to."""
        with leads_on(self.page):
            self.touch(target)
        self.presses += 1

    def choose(self, field, files, *, scripts):
        """Choose files by the browser's own dialog; a script sends them at once."""
        with self.page.expect_file_chooser() as dialog:
            self.touch(field)
        with leads_on(self.page) if scripts else nullcontext():
            dialog.value.set_files(files)
        self.presses += 4  # the field, and in the dialog: the folder, all of it, open


class Finger(Hand):
    """By touch."""

    def touch(self, target):
        target.tap()


class Keys(Hand):
    """By keys alone: from the beginning of the screen, or from where one stands, until the button has the focus."""

    def touch(self, target):
        target = target.element_handle()
        for _ in range(400):
            self.page.keyboard.press("Tab")
            if target.evaluate("found => found === document.activeElement"):
                break
        else:
            raise AssertionError("no key leads there")
        assert self.page.evaluate(OUTLINED), "nobody sees where the focus is"
        self.page.keyboard.press("Enter")


OUTLINED = """() => { const look = getComputedStyle(document.activeElement);
  return look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2; }"""


def row(page, code):
    """A student's row."""
    return page.locator(".day-row", has=page.locator(".code", has_text=code))


def states(page, **counts):
    """So many are stored, ready and asked."""
    for name, count in counts.items():
        expect(page.locator(f".day-row.is-{name}")).to_have_count(count)


def told(page, text):
    """What the page says after a press."""
    expect(page.locator(".told")).to_contain_text(text)


def through(page, hand, found, *, scripts=True):
    """From the first screen to a whole day."""
    hand.press(page.get_by_role("link", name="After class"))
    hand.choose(page.locator("#chosen"), [str(path) for path in FILES], scripts=scripts)
    if not scripts:
        hand.press(page.get_by_role("button", name="Take these files"))
    states(page, stored=0, ready=5, asked=7)
    hand.press(page.get_by_role("button", name="Add all 5 that are ready"))
    told(page, "5 trials are in the logbook")
    for number, code in enumerate(HANDED_ON_OR_LATE, start=6):
        hand.press(row(page, code).get_by_role("button", name="All of this is right"))
        expect(row(page, code).get_by_text(f"Trial {number}")).to_be_visible()
    hand.press(row(page, WEEK_BEHIND).get_by_role("button", name="It was on November 18, 2026: its clock was off"))
    hand.press(row(page, WEEK_BEHIND).get_by_role("button", name="Add to the logbook"))
    expect(row(page, WEEK_BEHIND).get_by_text("Trial 11")).to_be_visible()
    hand.press(row(page, NO_CONTACT).get_by_role("button", name="Put S5.fit away"))
    hand.press(row(page, NO_CONTACT).get_by_role("button", name="No test that day"))
    expect(row(page, NO_CONTACT)).to_have_count(0)
    states(page, stored=11, ready=0, asked=0)
    assert found.parts.received().paths(DAY).keys() <= {_sha("S5.fit")[:32]}


def _sha(name):
    import hashlib

    return hashlib.sha256((bag.BAG / name).read_bytes()).hexdigest()


def sheet(trial):
    """What a trial says, without its number and when it was put in."""
    found = trial.model_dump(mode="json", exclude={"id", "sheet"})
    return found, trial.sheet.to_json() if trial.sheet is not None else None


@contextmanager
def new_school(tmp_path, *, apart=False):
    with school(ready(tmp_path / "logbook.db"), apart=apart) as found:
        yield found


WAYS = {
    "mouse": (Hand, {}),
    "keys": (Keys, {}),
    "finger": (Finger, {"has_touch": True, "viewport": {"width": 390, "height": 844}}),
    "no script": (Hand, {"java_script_enabled": False}),
}


@pytest.mark.parametrize("way", WAYS)
def test_the_whole_day_by(way, tab, tmp_path, by_commands):
    kind, options = WAYS[way]
    with new_school(tmp_path, apart=way == "mouse") as found:
        page = found.enter(tab(**options))
        hand = kind(page)
        through(page, hand, found, scripts=way != "no script")
        assert hand.presses < 40
        stored = found.trials()
    assert stored.keys() == by_commands.keys() == {(code, DAY) for code in ON_THE_DAY}
    for key, trial in stored.items():
        assert sheet(trial) == sheet(by_commands[key]), key


def test_a_folder_is_dropped_with_all_that_lies_in_it(tab, tmp_path):
    folder = tmp_path / "bag"
    (folder / "deeper").mkdir(parents=True)
    for path, label in ((folder, "S6"), (folder / "deeper", "S7")):
        (path / f"{label}.fit").write_bytes((bag.BAG / f"{label}.fit").read_bytes())
    (folder / ".hidden").write_text("not a recording")
    (folder / "class.csv").write_bytes((bag.BAG / "class.csv").read_bytes())
    with new_school(tmp_path) as found:
        page = found.enter(tab())
        press(page.get_by_role("link", name="After class"))
        hand = page.context.new_cdp_session(page)
        data = {"items": [], "files": [str(folder)], "dragOperationsMask": 1}
        for kind in ("dragEnter", "dragOver"):
            hand.send("Input.dispatchDragEvent", {"type": kind, "x": 300, "y": 250, "data": data})
        with leads_on(page):
            hand.send("Input.dispatchDragEvent", {"type": "drop", "x": 300, "y": 250, "data": data})
        states(page, ready=2)
        expect(page.locator(".file-name")).to_have_text(["S6.fit", "S7.fit"], use_inner_text=True)


def test_files_that_are_chosen_while_others_are_still_being_read_are_sent(tab, tmp_path, monkeypatch):
    """The screen comes piece by piece, and what can be done on it can be done as soon as it is seen."""
    read = threading.Event()
    rows_of = day.rows_of
    with new_school(tmp_path) as found:
        page = found.enter(tab())
        page.goto(f"{found.base}{DAY_SCREEN}")
        monkeypatch.setattr(day, "rows_of", lambda *values: read.wait(WAIT_MS / 1000) and rows_of(*values))
        try:
            with page.expect_request(lambda asked: asked.method == "POST"):  # the script leads on to the day's screen
                page.locator("#chosen").set_input_files(bag.BAG / "S6.fit")
            page.locator(".file-name", has_text="S6.fit").wait_for()
            with page.expect_request(lambda asked: asked.method == "POST"):
                page.locator("#chosen").set_input_files(bag.BAG / "S7.fit")
        finally:
            read.set()
        expect(page.locator(".file-name", has_text="S7.fit")).to_be_attached()
        page.wait_for_load_state()
        expect(page.locator(".file-name")).to_have_text(["S6.fit", "S7.fit"], use_inner_text=True)
