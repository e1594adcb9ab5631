"""Every screen, as text: in reach, telling of no student where it should not, in the catalogue's words alone."""

import re

import pytest
from ownmark.records.store.logbook import open_logbook
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.routes import every_route
from ownmark.words.pseudo import END, RIGHT

from tests.web.conftest import browser, here
from tests.web.every_screen import CODES, NO_SCREENS, TODAY, found_by_links, read, school

NO_LINK = {
    "/alive": "asked by a script",
    "/day": "a form asks for a day and is led on",
    "/day/{date}/row/{student}/{turn:int}/trace": "numbers for a script",
    "/trial/{number:int}/trace": "numbers for a script",
}
"""Addresses that show something and that no link of the small school leads to, and why."""
SAME_EVERYWHERE = re.compile(r"ownmark|English|Español|PDF|HTML|CSV|XLSX|Parquet|JSON|FHIR")
DATA = re.compile(r"(?:TH-11|BF-07)(?:-\d\.csv)?|slalom-gym|Slalom|UTC|turn \d of|strap-\d\.csv")
"""What somebody wrote, and stands as it was written."""


@pytest.fixture(scope="module")
def small_school(tmp_path_factory):
    """Opens a browser over it; nothing in these tests changes the logbook."""
    place, faults = str(tmp_path_factory.mktemp("school") / "logbook.db"), []
    parts = here(Parts(place, OnFirstUse(lambda: open_logbook(place)), now=lambda: TODAY))
    school(parts)

    def opened():
        client = browser(parts, faults.append)
        client.get(f"/start/{parts.sessions.new_link()}")
        return client

    yield opened
    parts.close()
    assert faults == []


@pytest.fixture(scope="module")
def seen(small_school):
    """The address of each screen by its route, and the links that lead nowhere."""
    return found_by_links(small_school())


@pytest.fixture(scope="module")
def shown(small_school, seen):
    """The text of each screen by its address."""
    client = small_school()
    return {address: client.get(address).text for address in seen[0].values()}


def test_every_screen_can_be_reached_by_links(seen):
    routes = {route.path for route in every_route() if "GET" in route.methods}
    missing = {each for each in routes if not each.startswith(NO_SCREENS)} - seen[0].keys()
    assert missing == set(NO_LINK)


def test_a_title_is_the_screen_s_name_and_an_address_names_nobody(shown):
    for address, text in shown.items():
        found = read(text)
        assert found.title.endswith(" · ownmark")
        for code in CODES:
            assert code not in found.title, address
            assert [each for each in found.links if code in each] == [], address


def test_every_form_leads_to_an_address_that_takes_it(shown):
    takes = [route for route in every_route() if "POST" in route.methods]
    for address, text in shown.items():
        for form in re.findall(r"<form\b[^>]*>", text):
            assert 'method="post"' in form or 'method="get"' in form, (address, form)
            action = re.search(r'action="([^"?#]*)', form)
            path = action[1] if action and action[1] else address
            if 'method="post"' in form:
                assert any(each.path_regex.match(path) for each in takes), (address, form)


def test_no_screen_holds_script_or_style_of_its_own(shown):
    for address, text in shown.items():
        assert re.findall(r"<script(?![^>]*\bsrc=)[^>]*>(?=[^<])", text) == [], address
        assert re.findall(r"<style\b|\sstyle=\"|\son[a-z]+=\"", text) == [], address
        assert re.findall(r"(?:src|href|action)=\"(?:https?:)?//", text) == [], address


def outside(text):
    """What stands in none of the brackets of the invented language."""
    depth, kept = 0, []
    for letter in text:
        depth += letter == RIGHT
        kept.append(letter if depth == 0 else " ")
        depth -= letter == END
    return "".join(kept)


def test_every_word_of_every_screen_comes_from_the_catalogue(small_school, seen):
    client = small_school()
    assert client.post("/language", data={"language": "pseudo"}).status_code == 303
    strange = {}
    for route, address in seen[0].items():
        answer = client.get(address)
        assert answer.status_code == 200
        assert 'dir="rtl"' in answer.text
        for text in read(answer.text).texts:
            left = DATA.sub(" ", SAME_EVERYWHERE.sub(" ", outside(text)))
            if re.search(r"[A-Za-z]{3}", left):
                strange.setdefault(route, set()).add(left.strip())
    assert strange == {}


def test_no_link_leads_nowhere(seen):
    assert seen[1] == {}
