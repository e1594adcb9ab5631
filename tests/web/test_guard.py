"""Who is answered: attacks as bare requests. Each of the three checks is shown to be needed by what it alone stops."""

import asyncio

import pytest
from ownmark.web.app import build
from ownmark.web.guard import FORM_BYTES, Guard, longest_of
from ownmark.web.routes import every_route
from ownmark.web.session import IDLE_S, LINK_S, MOST_SESSIONS, Sessions
from starlette.responses import PlainTextResponse

from tests.web.asked import HOST, ORIGIN, ask, begun
from tests.web.conftest import PORT

OTHER_PORT = f"http://127.0.0.1:{PORT + 1}"
ELSEWHERE = "http://school.example"
OPEN = {"/start/{token:str}", "/static/{mark:str}/{name:str}"}
"""The only routes that answer without a session."""


@pytest.fixture
def app(parts, faults):
    return build(parts, PORT, faults.append)


@pytest.fixture
def cookie(parts):
    return begun(parts)


def filled(path):
    """An address of a route, with something for each part that may be anything."""
    parts = ["1" if each.startswith("{") else each for each in path.split("/")]
    return "/".join(parts)


ROUTES = [(method, route.path) for route in every_route() for method in sorted(route.methods - {"HEAD"})]


@pytest.mark.parametrize(("method", "path"), ROUTES)
def test_no_route_answers_without_a_session(app, method, path):
    answer = ask(app, filled(path), method)
    if path in OPEN:
        assert answer.status in (403, 404)  # no such link, no such file
        assert "new link" in answer.text or answer.status == 404
    else:
        assert answer.status == 403
        assert "Open the page with a new link" in answer.text


@pytest.mark.parametrize(("method", "path"), ROUTES)
def test_no_route_answers_by_another_name_or_for_another_site(app, cookie, method, path):
    address = filled(path)
    assert ask(app, address, method, cookie=cookie, host=f"evil.example:{PORT}").status == 421
    assert ask(app, address, method, cookie=cookie, site=None, more=[("origin", OTHER_PORT)]).status == 403
    if path != "/start/{token:str}":
        assert ask(app, address, method, cookie=cookie, site="cross-site").status == 403
        assert ask(app, address, method, cookie=cookie, site="same-site").status == 403


@pytest.mark.parametrize(("method", "path"), ROUTES)
def test_a_route_either_shows_or_changes(app, cookie, method, path):
    assert method in ("GET", "POST")
    other = {"GET": "POST", "POST": "GET"}[method]
    if (other, path) not in ROUTES:
        assert ask(app, filled(path), other, cookie=cookie).status in (403, 405)
    for strange in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "post", "PROPFIND"):
        assert ask(app, filled(path), strange, cookie=cookie).status == 405


def test_everything_is_inside_the_guard(app):
    assert isinstance(app, Guard)
    app.app.all_there()
    assert {route.path for route in every_route()} == {route.path for route in app.app.routes}


# Rebinding: a foreign name leads here, and its page is then of the same origin as the answer.
@pytest.mark.parametrize(
    "host",
    [
        f"school.example:{PORT}",
        f"localhost:{PORT}",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"127.0.0.1.evil.example:{PORT}",
        f"evil.example@127.0.0.1:{PORT}",
        f"[::1]:{PORT}",
        f" 127.0.0.1:{PORT}",
        "",
    ],
)
def test_another_name_gets_nothing(app, cookie, host):
    for path in ("/", "/start/x", "/static/x/page.css"):
        answer = ask(app, path, cookie=cookie, host=host)
        assert answer.status == 421
        assert "http://127.0.0.1" in answer.text
    assert ask(app, "/language", "POST", cookie=cookie, host=host, body=b"language=es").status == 421


def test_two_names_or_none_get_nothing(app):
    assert ask(app, headers=[("host", HOST), ("host", "evil.example")]).status == 421
    assert ask(app, headers=[("host", "evil.example"), ("host", HOST)]).status == 421
    assert ask(app, headers=[]).status == 421


@pytest.mark.parametrize(
    ("site", "more"),
    [
        ("cross-site", []),
        ("same-site", []),  # another port of this computer
        ("none", []),
        ("", []),
        (None, []),
        (None, [("origin", "null")]),
        (None, [("origin", ELSEWHERE)]),
        (None, [("origin", OTHER_PORT)]),
        (None, [("origin", f"https://{HOST}")]),
        (None, [("origin", ORIGIN), ("origin", ELSEWHERE)]),
        ("same-origin", [("origin", OTHER_PORT)]),
        ("same-origin", [("origin", "null")]),
        ("same-origin", [("sec-fetch-site", "cross-site")]),
        ("same-origin, cross-site", []),
    ],
)
def test_a_form_of_elsewhere_changes_nothing(app, parts, cookie, site, more):
    answer = ask(app, "/language", "POST", cookie=cookie, site=site, more=more, body=b"language=es")
    assert answer.status == 403
    assert parts.sessions.of(cookie).language == "en"
    assert answer.header("access-control-allow-origin") is None


@pytest.mark.parametrize(("site", "more"), [("same-origin", []), (None, [("origin", ORIGIN)])])
def test_our_own_form_does_its_work_with_and_without_the_newer_header(app, parts, cookie, site, more):
    answer = ask(app, "/language", "POST", cookie=cookie, site=site, more=more, body=b"language=es")
    assert answer.status == 303
    assert parts.sessions.of(cookie).language == "es"


@pytest.mark.parametrize("site", ["same-site", "cross-site", "", "other"])
def test_a_page_of_elsewhere_cannot_look_either(app, cookie, site):
    answer = ask(app, site=site or "x", cookie=cookie)
    assert answer.status == 403
    assert 'href="/"' in answer.text  # a person who came by a link goes on from here


def test_the_address_typed_or_asked_by_an_old_browser_is_answered(app, cookie):
    assert ask(app, site="none", cookie=cookie).status == 200
    assert ask(app, site=None, cookie=cookie).status == 200


def test_a_link_opened_from_elsewhere_begins_but_only_as_a_page(app, parts):
    link = f"/start/{parts.sessions.new_link()}"
    assert ask(app, link, site="cross-site", more=[("sec-fetch-dest", "image")]).status == 403
    assert ask(app, link, site="cross-site", more=[("sec-fetch-dest", "iframe")]).status == 403
    assert ask(app, link, site="cross-site", more=[("sec-fetch-dest", "document")]).status == 200


def test_looking_ahead_uses_no_link_up(app, parts):
    link = f"/start/{parts.sessions.new_link()}"
    assert ask(app, link, "HEAD").status == 403
    assert ask(app, link, more=[("sec-purpose", "prefetch;prerender")]).status == 403
    assert ask(app, link, more=[("purpose", "prefetch")]).status == 403
    assert ask(app, link).status == 200


def test_a_link_opens_once_and_only_the_last_one(app, parts):
    first, second = parts.sessions.new_link(), parts.sessions.new_link()
    assert ask(app, f"/start/{first}").status == 403
    assert ask(app, f"/start/{second}").status == 200
    again = ask(app, f"/start/{second}")
    assert (again.status, again.header("set-cookie")) == (403, None)
    assert "This link was used already" in again.text


def test_a_link_is_no_place_to_come_back_to(app, parts):
    token = parts.sessions.new_link()
    key = ask(app, f"/start/{token}", site=None).header("set-cookie").partition("=")[2].partition(";")[0]
    assert ask(app, "/language", "POST", cookie=key, body=b"language=es").header("location") == "/"


def test_a_link_grows_old(app, parts, clock):
    link = parts.sessions.new_link()
    clock.now += LINK_S
    assert parts.sessions.begin(link) is not None
    link = parts.sessions.new_link()
    clock.now += LINK_S + 0.001
    assert ask(app, f"/start/{link}").status == 403


def test_the_cookie_is_of_this_port_of_this_site_and_no_script_s(app, parts):
    answer = ask(app, f"/start/{parts.sessions.new_link()}")
    name, *settings = answer.header("set-cookie").split("; ")
    assert name.startswith(f"ownmark-{PORT}=")
    assert {each.lower() for each in settings} == {"httponly", "samesite=strict", "path=/"}  # gone with the browser


@pytest.mark.parametrize("key", ["", "x", "x" * 5000, "é", '"', "a=b; c", "\\"])
def test_a_cookie_that_is_none_of_ours_opens_nothing(app, key):
    assert ask(app, cookie=key or None).status == 403


def test_the_cookie_of_another_port_opens_nothing(app, cookie):
    more = [("cookie", f"ownmark-{PORT + 1}={cookie}; other={cookie}")]
    assert ask(app, more=more).status == 403


def test_a_session_locks_when_nobody_uses_it_and_each_use_counts(app, parts, cookie, clock):
    clock.now += IDLE_S
    assert ask(app, cookie=cookie).status == 200
    clock.now += IDLE_S
    assert ask(app, cookie=cookie).status == 200
    clock.now += IDLE_S + 0.001
    locked = ask(app, cookie=cookie)
    assert locked.status == 403
    assert "Locked" in locked.text
    clock.now -= 60  # and stays so
    assert ask(app, cookie=cookie).status == 403
    assert ask(app, "/language", "POST", cookie=cookie, body=b"language=es").status == 403


def test_a_screen_that_is_waited_at_may_lock_later(app, parts, cookie, clock):
    parts.sessions.of(cookie).idle_s = 3600
    clock.now += 3600
    assert ask(app, cookie=cookie).status == 200


def test_whoever_comes_back_with_a_new_link_is_where_they_were(app, parts, cookie, clock):
    session = parts.sessions.of(cookie)
    session.place, session.language = "/day/2026-11-28", "es"
    clock.now += 2 * IDLE_S
    link = parts.sessions.new_link()
    answer = ask(app, f"/start/{link}", cookie=cookie)
    assert 'url=/day/2026-11-28"' in answer.text
    assert 'lang="es"' in answer.text
    assert parts.sessions.of(cookie) is None


def test_a_refusal_shows_a_stranger_no_screen_to_go_to(app):
    assert "<nav" not in ask(app).text


def test_the_browser_used_longest_ago_makes_room(clock):
    sessions = Sessions("en", clock)
    keys = []
    for _ in range(MOST_SESSIONS + 1):
        clock.now += 1
        keys.append(sessions.begin(sessions.new_link()).key)
    assert [sessions.of(each) is None for each in keys] == [True] + [False] * MOST_SESSIONS


def test_a_body_that_says_it_is_too_long_is_not_read(app, cookie):
    more = [("content-length", str(FORM_BYTES + 1))]
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={cookie}"), *more]
    answer = ask(app, "/language", "POST", headers=headers, body=[b"x" * 1000] * 10)
    assert (answer.status, answer.header("connection"), answer.taken) == (413, "close", 0)


def test_a_body_that_does_not_say_its_length_is_read_to_the_limit_and_no_further(app, cookie):
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={cookie}")]
    headers += [("content-type", "application/x-www-form-urlencoded"), ("transfer-encoding", "chunked")]
    answer = ask(app, "/language", "POST", headers=headers, body=[b"x" * 65536] * 100)
    assert (answer.status, answer.header("connection")) == (413, "close")
    assert answer.taken <= FORM_BYTES + 65536


def test_a_body_of_exactly_the_limit_is_taken(app, parts, cookie):
    body = b"language=es&x="
    body += b"x" * (FORM_BYTES - len(body))
    assert ask(app, "/language", "POST", cookie=cookie, body=body).status == 303


def test_who_is_refused_before_the_body_came_sends_no_more(app):
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("content-length", "1000")]
    answer = ask(app, "/language", "POST", headers=headers, body=[b"x" * 10] * 100)
    assert (answer.status, answer.header("connection"), answer.taken) == (403, "close", 0)
    assert ask(app).header("connection") is None


def test_where_nothing_is_sent_nothing_is_taken(app, cookie):
    assert ask(app, "/", cookie=cookie, more=[("content-length", "1")], body=b"x").status == 413


@pytest.mark.parametrize("length", ["-1", "1e3", "٣", "", "0x10", "1,1"])
def test_a_length_that_is_no_number_is_refused(app, cookie, length):
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={cookie}")]
    more = [(b"content-length", length.encode("utf-8"))]
    more = [(name.decode(), value.decode("latin-1")) for name, value in more]
    assert ask(app, "/language", "POST", headers=[*headers, *more]).status == 400


def guarded(app, **settings):
    """A guard of a bare application, for what no screen of ours does."""

    def refuse(_scope, name, status):
        return PlainTextResponse(name, status)

    sessions = Sessions()
    seen = []
    guard = Guard(
        app, port=PORT, sessions=sessions, longest=longest_of([]), refuse=refuse, fault=seen.append, **settings
    )
    return guard, sessions.begin(sessions.new_link()).key, seen


def test_a_body_that_stops_coming_is_not_waited_for():
    async def reading(scope, receive, send):
        while (await receive()).get("more_body"):
            pass

    app, key, seen = guarded(reading, chunk_wait_s=0.05)
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={key}")]
    headers += [("transfer-encoding", "chunked")]
    scope_body = [b"x", b"y"]

    async def stuck():
        if len(scope_body) < 2:
            await asyncio.sleep(30)
        return {"type": "http.request", "body": scope_body.pop(), "more_body": True}

    got = []

    async def send(message):
        got.append(message)

    raw = [(name.encode(), value.encode()) for name, value in headers]
    scope = {"type": "http", "method": "POST", "path": "/", "headers": raw, "state": {}}
    asyncio.run(app(scope, stuck, send))
    assert got[0]["status"] == 408
    assert (b"connection", b"close") in got[0]["headers"]
    assert seen == []


def test_who_does_not_read_the_answer_is_not_waited_for():
    app, key, _ = guarded(PlainTextResponse("x"), chunk_wait_s=0.05)
    headers = [("host", HOST), ("sec-fetch-site", "same-origin"), ("cookie", f"ownmark-{PORT}={key}")]
    raw = [(name.encode(), value.encode()) for name, value in headers]
    scope = {"type": "http", "method": "GET", "path": "/", "headers": raw, "state": {}}

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(_message):
        await asyncio.sleep(30)

    asyncio.run(asyncio.wait_for(app(scope, receive, send), 5))


def test_a_fault_shows_nothing_of_where_it_happened():
    async def broken(scope, receive, send):
        raise ZeroDivisionError("student TH-11")

    app, key, seen = guarded(broken)
    answer = ask(app, cookie=key)
    assert (answer.status, answer.text) == (500, "fault")
    assert [type(each) for each in seen] == [ZeroDivisionError]


def test_a_header_cannot_be_put_into_an_answer():
    async def careless(scope, receive, send):
        await send({"type": "http.response.start", "status": 200, "headers": [(b"x-y", b"a\r\nset-cookie: b=c")]})

    app, key, _ = guarded(careless)
    answer = ask(app, cookie=key)
    assert not any(b"\n" in value for _, value in answer.headers)


def test_no_websocket_and_no_lifespan_is_spoken():
    async def never(scope, receive, send):
        raise AssertionError

    app, _, _ = guarded(never)
    asyncio.run(app({"type": "websocket", "path": "/"}, None, None))
    asyncio.run(app({"type": "lifespan"}, None, None))


def test_the_longest_beginning_decides_how_much_is_taken():
    longest = longest_of([("/day/", 10**9), ("/day/x/", 5)])
    assert [longest("POST", path) for path in ("/day/1/files", "/day/x/y", "/day", "/")] == [
        *(10**9, 5, FORM_BYTES, FORM_BYTES)
    ]
    assert longest("GET", "/day/1") == 0
