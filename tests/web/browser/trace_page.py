"""A trace on a page of its own, on loopback, under the policy of the page: no frame, no session, no logbook."""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import jinja2
import numpy as np
from ownmark.reports.trace.lines import Line, line
from ownmark.reports.trace.trace import Flagged, Trace
from ownmark.reports.words import Words
from ownmark.web import trace as web_trace
from ownmark.web.guard import POLICY
from ownmark.web.static_files import address
from ownmark.web.static_files import assets as assets_of_page

from tests.reports.pictures.pictures_made import MOVING, made

WEB = Path(web_trace.__file__).parent
PAGE = """<!DOCTYPE html><html lang="{{ w.language }}"><head><meta charset="utf-8">
<meta name="color-scheme" content="light dark">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Trace</title>
<link rel="stylesheet" href="{{ asset('page.css') }}">
{% from "trace.html" import trace, trace_head %}{{ trace_head(asset) }}</head><body><main id="main"><h1>Trace</h1>
<form method="post" action="/">{{ trace(t, w) }}
{% if t.editable %}<button id="save">Save</button>{% endif %}</form>
</main></body></html>"""


@dataclass
class Served:
    """The page, and what it was asked for."""

    address: str
    posted: list[dict[str, str]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@contextmanager
def served(trace: Trace, *, editable: bool = True, language: str = "en", data: bool = True) -> Iterator[Served]:
    """The page of a trace while the block runs."""
    words = Words(language)
    environment = jinja2.Environment(loader=jinja2.FileSystemLoader(WEB / "templates"), autoescape=True)
    template = environment.from_string(PAGE)
    assets = {each.path: each for each in assets_of_page().values()}

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            place = urlsplit(self.path)
            query = dict(parse_qsl(place.query))
            found.asked.append(self.path)
            if place.path == "/":
                part = web_trace.asked_view(trace, query)
                t = web_trace.shown(
                    trace,
                    words,
                    view=part,
                    flags="flags" in query,
                    address="/",
                    data="/data" if data else "",
                    editable=editable,
                )
                self.answer("text/html", template.render(t=t, w=words, asset=address).encode())
            elif place.path == "/data":
                self.answer("application/json", json.dumps(web_trace.levels(trace, query)).encode())
            elif place.path in assets:
                self.answer(assets[place.path].media_type, assets[place.path].content)
            else:
                self.send_error(404)

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            found.posted.append(dict(parse_qsl(body, keep_blank_values=True)))
            self.answer("text/html", b"<!DOCTYPE html><html lang=en><title>Saved</title><p>saved")

        def answer(self, kind: str, body: bytes) -> None:
            self.send_response(200)
            self.send_header("Content-Type", kind if ";" in kind else f"{kind}; charset=utf-8")
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Content-Security-Policy", POLICY)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args: Any) -> None:
            return

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    found = Served(f"http://127.0.0.1:{server.server_address[1]}/")
    runs = threading.Thread(target=server.serve_forever, daemon=True)
    runs.start()
    try:
        yield found
    finally:
        server.shutdown()
        server.server_close()
        runs.join()


def shaken(end: float, rate: float = 100.0, seed: int = 2) -> Line:
    """Movement in the middle half of a recording, stillness around it."""
    time = np.arange(0, end, 1 / rate)
    moves = np.where((time > 0.2 * end) & (time < 0.7 * end), 0.6, 0.02)
    return line(time, np.abs(1 + moves * np.random.default_rng(seed).normal(size=len(time))))


def flagged(*samples: tuple[float, float, int, bool]) -> Flagged:
    """Samples as (time, value, place of the rule, used)."""
    time, bpm, rule, used = zip(*samples, strict=True) if samples else ((), (), (), ())
    return Flagged(np.array(time, float), np.array(bpm, float), np.array(rule, np.intp), np.array(used, bool))


def usual(**more: Any) -> Trace:
    """Twenty-four minutes with a gap, a ceiling, movement at 100 Hz and four flagged samples."""
    series = made(**{**MOVING, **more})
    marks = flagged(
        (400.0, 250.0, 2, False), (541.0, np.nan, 1, False), (560.0, 20.0, 2, False), (900.0, 150.0, 12, True)
    )
    return Trace(series=series, movement=shaken(series.end_s), flagged=marks)


def day(hours: float = 8.0) -> Trace:
    """A strap on all day, one value a second."""
    end = int(hours * 3600)
    gaps = tuple((at, at + 40) for at in range(1800, end - 600, 2700))
    return Trace(
        series=made(
            end=end,
            work=(14_400, 15_120),
            gaps=gaps,
            phases={"work": (14_400.0, 15_120.0)},
            start="2026-05-12T07:30:00.400",
        ),
        movement=line([], []),
        flagged=flagged(),
    )
