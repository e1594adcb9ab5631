"""A class day with its presses at hand: the bag of twelve students is right and complete after fewer than 15 presses.

Without them, by the list alone, ``test_after_class`` counts fewer than 40.

A person has two straps that were handed on, one put on late, one whose clock is a week behind, and one without
contact. Every click is counted, and what is in the logbook then is held against what happened.
"""

import shlex
from datetime import date, datetime, timedelta

import pytest
from ownmark.cli.main import main
from ownmark.records.day_entry import Listed, Press, entry
from ownmark.records.store.day_entries import append
from ownmark.records.store.logbook import open_logbook
from ownmark.sample_streams.bag import BAG, SET_UP, STRAPS, WEEK_BEHIND
from ownmark.sample_streams.class_day import REST_S, WORK_S

from tests.web.browser.hand import entered, leads_on, press
from tests.web.served import page

DAY = date(2026, 11, 18)
NINE = datetime(2026, 11, 18, 9)  # noqa: DTZ001 the clock of the wall
TURNS = {turn.code: (strap.label, turn.start_s) for strap in STRAPS for turn in strap.turns}
NO_HEART = "TH-37"


@pytest.fixture
def place(tmp_path):
    found = tmp_path / "logbook.db"
    for line in SET_UP.splitlines():
        assert main([*shlex.split(line), "--logbook", str(found)]) == 0
    return found


class Person:
    """Presses what is on the screen, and counts."""

    def __init__(self, tab, served):
        self.tab = tab
        self.presses = 0
        entered(tab, f"http://127.0.0.1:{served.port}", served.link)
        tab.goto(f"http://127.0.0.1:{served.port}/day/{DAY}")

    def drop(self, *files):
        self.presses += 1
        with leads_on(self.tab):
            self.tab.set_input_files("#chosen", files)

    def press(self, locator):
        self.presses += 1
        press(locator)

    def row(self, code):
        return self.tab.locator(".day-row", has=self.tab.locator(".code", has_text=code))

    def finish(self):
        """All that is ready at once, then row by row what is to look at."""
        ready = self.tab.locator("button[name=all]")
        if ready.count():
            self.press(ready)
        for code in TURNS:
            if code == NO_HEART:
                self.press(self.row(code).get_by_role("button", name="Put S5.fit away").first)
                continue
            off = self.row(code).get_by_role("button", name="its clock was off")
            if off.count():
                self.press(off)
            accepted = self.row(code).locator("form[action$=accept] button, form[action$=add] button")
            if accepted.count():
                self.press(accepted.first)


def held(place):
    """The work of each trial that is in the logbook, by the student."""
    with open_logbook(place) as logbook:
        return {each.code: (each.on, each.work, dict(each.clock_shifts)) for each in logbook.trials()}


def expected():
    found = {}
    for code, (strap, start_s) in TURNS.items():
        if code == NO_HEART:
            continue
        begin = NINE + timedelta(seconds=start_s + REST_S)
        span = f"{begin:%H:%M:%S}-{begin + timedelta(seconds=WORK_S):%H:%M:%S}"
        found[code] = (DAY, span, {f"{strap}.fit": 7 * 86_400.0} if strap == WEEK_BEHIND else {})
    return found


def test_with_the_presses_of_the_day_at_hand_it_takes_fewer_than_15(tab, place):
    pressed(place)
    with page(place) as served:
        person = Person(tab(), served)
        person.drop(*sorted(BAG.glob("*.fit")))
        person.finish()
        assert person.presses < 15
    assert held(place) == expected()


def pressed(place):
    """What was pressed while it happened."""
    with open_logbook(place) as logbook:
        new = []
        for code, (strap, start_s) in TURNS.items():
            new.append(entry(DAY, NINE, Listed(protocol="crank-8-min", strap=strap), code))
            for what, after_s in (("rest_begins", 0), ("work_begins", REST_S), ("work_ends", REST_S + WORK_S)):
                new.append(entry(DAY, NINE + timedelta(seconds=start_s + after_s), Press(what=what), code))
        append(logbook, *new)
