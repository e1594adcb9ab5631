"""How a screen is answered: piece by piece, on to another, as a sheet."""

import pytest
from ownmark.reports.page import Page, Paragraph
from ownmark.web import rendering
from ownmark.web.app import build
from ownmark.web.rendering import SHEET_POLICY, screen, see, sheet, streamed
from ownmark.web.routes import frame_routes
from ownmark.words.message import Message, Quoted
from starlette.routing import Route

from tests.web.asked import ask, begun
from tests.web.conftest import PORT

LATE = (
    '{% extends "base.html" %}{% block title %}x{% endblock %}'
    "{% block main %}<h1>early</h1>{{ flush }}<p>{{ late() }}</p>{% endblock %}"
)


@pytest.fixture
def asked(parts, faults, monkeypatch):
    """Asks a handler as a screen of the page; the answer keeps its pieces."""

    def ask_(handler, path="/try", **more):
        there = [*frame_routes(), Route("/try", handler, methods=["GET", "POST"])]
        monkeypatch.setattr("ownmark.web.app.every_route", lambda: there)
        return ask(build(parts, PORT, faults.append), path, cookie=more.pop("cookie", None) or begun(parts), **more)

    return ask_


@pytest.fixture
def template(monkeypatch):
    """The template above, as a file of the page."""
    environment = rendering._environment()
    plain = environment.get_template
    monkeypatch.setattr(
        environment,
        "get_template",
        lambda name, *more: environment.from_string(LATE) if name == "late.html" else plain(name, *more),
    )


def test_what_is_late_follows_what_was_early(asked, template):
    answer = asked(lambda request: streamed(request, "late.html", late=lambda: "<late>"))
    assert answer.text.index("early") < answer.text.index("&lt;late&gt;") < answer.text.index("</html>")
    assert "\0" not in answer.text


def test_the_early_part_is_sent_before_the_late_one_is_made(parts, template):
    pieces = rendering._pieces(
        None, rendering._environment().from_string("a{{ flush }}b").generate(flush=rendering._FLUSH)
    )
    assert next(pieces) == b"a"
    assert list(pieces) == [b"b"]


def test_what_goes_wrong_late_is_said_in_its_place(asked, template, faults):
    answer = asked(lambda request: streamed(request, "late.html", late=lambda: 1 / 0))
    assert answer.status == 200
    assert "early" in answer.text
    assert "What you did may not have been kept" in answer.text
    assert [type(each) for each in faults] == [ZeroDivisionError]


def test_what_goes_wrong_early_is_a_page_of_its_own(asked, monkeypatch, faults):
    environment = rendering._environment()
    plain = environment.get_template
    broken = environment.from_string("{{ early() }}{{ flush }}")
    monkeypatch.setattr(environment, "get_template", lambda name, *more: broken if name == "x" else plain(name, *more))
    answer = asked(lambda request: streamed(request, "x", early=lambda: 1 / 0))
    assert answer.status == 500
    assert "ownmark itself failed" in answer.text
    assert "Traceback" not in answer.text
    assert [type(each) for each in faults] == [ZeroDivisionError]


@pytest.mark.parametrize(
    "path", ["//evil.example/", "/\\evil.example", "https://evil.example", "x", "", "/a\r\nX: y", "/é", "/a\0"]
)
def test_no_press_leads_out_of_the_page(asked, faults, path):
    answer = asked(lambda request: see(request, path))
    assert (answer.status, answer.header("location")) == (500, None)
    assert len(faults) == 1


def test_what_a_press_did_is_said_once_on_the_next_screen(parts, asked):
    key = begun(parts)
    told = Message.of("web_frame.left", what=(Message.of("web_frame.files_left", count=1),))
    assert asked(lambda request: see(request, "/x", told), cookie=key).header("location") == "/x"
    shown = asked(lambda request: screen(request, "error.html", name="not_found", what="", mend=""), cookie=key)
    assert "not stored yet: 1 file" in shown.text
    again = asked(lambda request: screen(request, "error.html", name="not_found", what="", mend=""), cookie=key)
    assert "not stored yet" not in again.text


def test_a_sheet_has_a_policy_of_its_own_and_a_name_that_ends_no_header(asked):
    page = Page("Title", "en", "sub", (Paragraph("<b>text</b>"),))
    answer = asked(lambda _: sheet(page, file_name='TH-11"\r\nX: y; é.html'))
    assert answer.header("content-security-policy") == SHEET_POLICY
    assert answer.header("content-disposition") == 'attachment; filename="TH-11---X--y---.html"'
    assert answer.header("cache-control") == "no-store"
    assert "&lt;b&gt;text" in answer.text


def test_markup_in_what_somebody_typed_is_shown_as_it_was_typed(parts, asked):
    key = begun(parts)
    evil = '<img src=x onerror="alert(1)">'
    told = Message.of("web_frame.left", what=(Quoted(evil),))
    asked(lambda request: see(request, "/", told), cookie=key)
    shown = asked(lambda request: screen(request, "error.html", name="refused", what=evil, mend=evil), cookie=key)
    assert "<img" not in shown.text
    assert shown.text.count("&lt;img src=x") == 3


def test_only_a_screen_that_was_shown_is_come_back_to(parts, asked):
    key = begun(parts)

    def handler(request):
        return screen(request, "error.html", name="not_found", what="", mend="")

    asked(handler, cookie=key)
    assert parts.sessions.of(key).place == "/try"
    asked(handler, "/nothing", cookie=key)
    asked(handler, cookie=key, method="POST")
    assert parts.sessions.of(key).place == "/try"
