"""Every screen of the page over a small school: found by following its links, so that a new one is looked at too."""

import re
from dataclasses import dataclass, field
from datetime import datetime
from html.parser import HTMLParser

from ownmark.records.day_entry import Listed, Press, entry
from ownmark.records.store.day_entries import append
from ownmark.web.routes import every_route

from tests.records.store import made

TODAY = datetime.fromisoformat("2026-11-28T10:00:00")
CODES = ("TH-11", "BF-07")
NO_SCREENS = ("/start/", "/static/", "/sheet/", "/students/empty/")
"""Beginnings of addresses that show no screen: what begins a session, files, printable pages."""


def school(parts):
    """Fill the logbook: two students with trials, and a day on which one was pressed and nothing is stored."""
    logbook = parts.logbook()
    made.filled(logbook, CODES)
    at = TODAY.replace(hour=9)
    append(
        logbook,
        *(entry(TODAY.date(), at, Listed(protocol="slalom-gym"), code) for code in CODES),
        entry(TODAY.date(), at, Press(what="rest_begins"), CODES[0]),
        entry(TODAY.date(), at.replace(minute=5), Press(what="work_begins"), CODES[0]),
    )


VOID = frozenset("area base br col embed hr img input link meta param source track wbr".split())


@dataclass
class Read(HTMLParser):
    """What a screen says: its title, its links, and every text that a person reads or hears.

    What states a language of its own (a sentence to be copied, the name of a language) is not in ``texts``.
    """

    links: list = field(default_factory=list)
    texts: list = field(default_factory=list)
    title: str = ""

    def __post_init__(self):
        super().__init__(convert_charrefs=True)
        self._silent, self._in_title = 0, False
        self._open = []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self._in_title = tag == "title"
        self._silent += tag in ("script", "style")
        if tag not in VOID:
            self._open.append((tag, tag != "html" and "lang" in found))
        if tag == "a" and found.get("href"):
            self.links.append(found["href"])
        heard = ("aria-label", "alt", "title", "placeholder", "aria-valuetext", "data-label", "label")
        self.texts += [found[name] for name in heard if found.get(name)]

    def handle_endtag(self, tag):
        self._in_title = False
        self._silent -= tag in ("script", "style")
        while self._open and self._open.pop()[0] != tag:
            pass  # a tag that HTML lets end by itself

    def handle_data(self, data):
        if self._in_title:
            self.title += data
        elif not self._silent and data.strip() and not any(own for _, own in self._open):
            self.texts.append(data)


def read(text):
    """A screen, read."""
    found = Read()
    found.feed(text)
    return found


def pattern_of(path):
    """The route that an address belongs to."""
    for route in every_route():
        if "GET" in route.methods and route.path_regex.match(path):
            return route.path
    return None


def screens(client):
    """One address of each screen by its route, by following the links from the first one."""
    return found_by_links(client)[0]


def answered(client):
    """Where the answers to the questions of a form lead."""
    tests = client.post("/find", data={"can": "arms"})
    return [*re.findall(r'href="(/find/[^"]+)"', tests.text), "/find/protocol/slalom-gym"]


def found_by_links(client):
    """The screens, and the links that lead nowhere, each with the screen that it stands on."""
    waiting, found, seen, dead, on = ["/", *answered(client)], {}, set(), {}, {}
    while waiting:
        address = waiting.pop(0)
        if address in seen or not address.startswith("/") or address.startswith(NO_SCREENS):
            continue
        seen.add(address)
        route = pattern_of(re.split(r"[?#]", address)[0])
        if route is None:
            dead[address] = on[address]
            continue
        if route in found:
            continue
        answer = client.get(address)
        if not answer.headers["content-type"].startswith("text/html"):
            found[route] = None
            continue
        if answer.status_code != 200:
            raise AssertionError(f"{address}: {answer.status_code}")
        found[route] = address
        links = read(answer.text).links
        on |= dict.fromkeys(links, address)
        waiting += links
    return {route: address for route, address in found.items() if address is not None}, dead
