"""A day of the class with all that it asks, in the language that does not exist: no word is outside the catalogue."""

import re

import pytest
from ownmark.records import open_logbook
from ownmark.web.parts import OnFirstUse, Parts

from tests.web.browser.bag_day import DAY_SCREEN, FILES, NOW, ready
from tests.web.conftest import browser, here
from tests.web.every_screen import read
from tests.web.test_every_screen import SAME_EVERYWHERE, outside

DATA = re.compile(r"TH-\d\d|crank-8-min|S\d+(?:\.fit)?|America/Denver|Arm crank at a set rhythm|UTC")
"""Codes, names and what somebody wrote."""


@pytest.fixture
def spoken(place, faults):
    """A browser in that language over the bag's day, one row stored."""
    ready(place)
    parts = here(Parts(place, OnFirstUse(lambda: open_logbook(place)), now=lambda: NOW))
    client = browser(parts, faults.append)
    client.get(f"/start/{parts.sessions.new_link()}")
    client.post("/language", data={"language": "pseudo"})
    client.post(f"{DAY_SCREEN}/files", files=[("files", (each.name, each.read_bytes())) for each in FILES])
    client.get(DAY_SCREEN)
    client.post(f"{DAY_SCREEN}/add", data={"row": "TH-38 1", "number": "1"})
    yield client
    parts.close()
    assert faults == []


def strange(text):
    """Words that no catalogue made."""
    found = read(text)
    left = [DATA.sub(" ", SAME_EVERYWHERE.sub(" ", outside(each))) for each in found.texts]
    return {each.strip() for each in left if re.search(r"[A-Za-z]{3}", each)}


def test_no_screen_of_the_day_says_an_english_word(spoken):
    day = spoken.get(DAY_SCREEN).text
    (row, *_) = re.findall(r'href="(/day/[^"]*/row/[^"]*)"', day)
    screens = {address: spoken.get(address).text for address in (DAY_SCREEN, row, f"{DAY_SCREEN}/now", "/trial/1", "/")}
    assert "TH-31" in day
    assert {address: found for address, text in screens.items() if (found := strange(text))} == {}


def test_an_english_word_would_be_found(spoken):
    day = spoken.get(DAY_SCREEN).text
    assert strange(day.replace("</main>", "<p>every trial</p></main>")) == {"every trial"}
