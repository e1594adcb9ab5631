"""What is typed into a form: values, or errors that name the field."""

import pytest
from ownmark.errors import UsageError
from ownmark.web.app import build
from ownmark.web.body_limits import takes_up_to
from ownmark.web.forms import MOST_FIELDS, Form, posted
from ownmark.web.routes import frame_routes
from ownmark.words.message import Message
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from tests.web.asked import HOST, ask, begun
from tests.web.conftest import PORT


def typed(text, **limits):
    form = Form({"bpm": [text]})
    return form.number("bpm", **limits), form.errors


@pytest.mark.parametrize(
    ("text", "value"), [("72", 72), (" 72.5 ", 72.5), ("72,5", 72.5), ("−3", -3), ("-3", -3), ("", None), ("  ", None)]
)
def test_a_number_is_read_as_people_write_it(text, value):
    assert typed(text) == (value, [])


@pytest.mark.parametrize("text", ["x", "7 2", "nan", "inf", "-inf", "1e999", "٣٢x", "1,2,3"])
def test_what_is_no_number_is_told_at_its_field(text):
    assert typed(text) == (None, [("bpm", Message("web_frame.not_a_number"))])


def test_limits_are_inside():
    assert typed("30", low=30, high=230) == (30, [])
    assert typed("230", low=30, high=230) == (230, [])
    for text in ("29.9", "230.1"):
        refused = Message.of("web_frame.out_of_limits", low=30, high=230)
        assert typed(text, low=30, high=230) == (None, [("bpm", refused)])


def test_one_limit_alone_is_told_alone():
    assert typed("-1", low=0) == (None, [("bpm", Message.of("web_frame.too_low", low=0))])
    assert typed("1", high=0) == (None, [("bpm", Message.of("web_frame.too_high", high=0))])
    assert typed("0", low=0) == typed("0", high=0) == (0, [])


def test_a_field_that_is_not_there_is_empty():
    form = Form()
    assert (form.text("x"), form.all("x"), form.number("x"), form.error("x")) == ("", (), None, None)


def test_all_values_of_a_name_are_kept_and_the_first_is_its_text():
    form = Form({"can": [" arms ", "legs"]})
    assert (form.text("can"), form.all("can")) == ("arms", (" arms ", "legs"))


def test_a_refusal_becomes_the_field_s_error():
    def refuse(text):
        raise UsageError(f"no {text}.")

    form = Form({"x": ["2026"]})
    assert form.take("x", refuse) is None
    assert form.error("x") == "no 2026."
    assert form.take("y", refuse) is None
    assert len(form.errors) == 1
    assert form.take("x", int) == 2026


@pytest.fixture
def echoing(parts):
    """The page with a screen that says what it was sent."""

    @posted
    def echo(_request, form):
        return PlainTextResponse(repr(dict(form.fields)))

    app = build(parts, PORT)
    app.app.all_there()
    app.app.router.routes += [Route("/echo", echo, methods=["POST"])]
    cookie = begun(parts)

    def sent(path, body, more=(), *, plain=True):
        if plain:
            return ask(app, path, "POST", cookie=cookie, body=body, more=more)
        headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={cookie}")]
        headers += [("content-length", str(len(body))), *more]
        return ask(app, path, "POST", headers=headers, body=body)

    return sent


def test_a_form_is_read_as_it_was_sent(echoing):
    assert echoing("/echo", b"a=1&a=2&b=%C3%B1%3Cx%3E+y").text == repr({"a": ["1", "2"], "b": ["ñ<x> y"]})


def test_a_form_of_too_many_fields_or_with_a_file_is_refused(echoing):
    assert echoing("/echo", b"&".join([b"a=1"] * MOST_FIELDS)).status == 200
    assert echoing("/echo", b"&".join([b"a=1"] * (MOST_FIELDS + 1))).status == 400


def test_a_form_takes_no_file(echoing):
    body = b'--b\r\nContent-Disposition: form-data; name="f"; filename="x"\r\n\r\nabc\r\n--b--\r\n'
    more = [("content-type", "multipart/form-data; boundary=b")]
    assert echoing("/echo", body, more, plain=False).status == 400


def test_a_screen_says_how_much_more_than_a_form_it_takes(parts, monkeypatch):
    @takes_up_to(400_000)
    async def much(request):
        return PlainTextResponse(str(len(await request.body())))

    there = [*frame_routes(), Route("/much/{x}", much, methods=["POST"])]
    monkeypatch.setattr("ownmark.web.app.every_route", lambda: there)
    app, cookie = build(parts, PORT), begun(parts)
    assert ask(app, "/much/1", "POST", cookie=cookie, body=b"x" * 400_000).text == "400000"
    assert ask(app, "/much/1", "POST", cookie=cookie, body=b"x" * 400_001).status == 413
