"""What somebody sends who means harm, or a program that is broken: refused, and nobody else waits or loses anything."""

import asyncio
import re
from datetime import date

import pytest
from ownmark.records.day.happened import happened
from ownmark.records.store.day_entries import entries_of
from ownmark.web.app import build
from ownmark.web.forms import anchor, whole
from ownmark.web.uploads import MOST_PARTS, receive
from starlette.exceptions import HTTPException

from tests.web.asked import ask, begun
from tests.web.conftest import PORT
from tests.web.every_screen import CODES, school

DAY = "2026-11-18"
KIND = "multipart/form-data; boundary=line"
LONG = "1" * 5000


def test_a_whole_number_has_ascii_digits_and_never_many():
    found = [whole(each) for each in ("0", "12", "9" * 9, "9" * 10, "", "-1", "٣", "²", "1.0", LONG)]
    assert found == [0, 12, 999_999_999, None, None, None, None, None, None, None]
    assert [anchor("row", each) for each in ("12", "x", LONG)] == ["#row-12", "", ""]


@pytest.mark.parametrize(
    ("path", "data", "status"),
    [
        ("class", {"same": "<x>"}, 400),
        ("class", {"same": "2026-11-18/../.."}, 400),
        ("clocks", {"how": "button", "strap": "s1", "row": LONG}, 303),
        ("answer", {"row": "TH-11 1", "place": LONG}, 400),
        ("undo", {"entry": LONG}, 400),
        ("press", {"what": "work_begins", "test": f"TH-11 {LONG}", "row": LONG}, 303),
        ("note", {"test": f"TH-11 {LONG}"}, 404),
    ],
)
def test_no_number_and_no_day_in_a_field_is_a_fault(teacher, path, data, status):
    assert teacher.post(f"/day/{DAY}/{path}", data=data).status_code == status


@pytest.mark.parametrize("path", ["/trial/{}", "/trial/{}/trace", "/sheet/effort/{}/html", "/day/2026-11-18/row/0/{}"])
@pytest.mark.parametrize("number", ["9" * 9, "9" * 10, "9" * 30, LONG])
def test_no_number_in_an_address_is_a_fault(teacher, path, number):
    assert teacher.get(path.format(number)).status_code == 404


@pytest.mark.parametrize("path", ["/sheet/effort/1/html", "/sheet/card/{}/slalom-gym/html"])
def test_no_student_stands_in_the_title_of_a_printed_page(teacher, parts, path):
    school(parts)
    text = teacher.get(path.format(parts.ids.of(CODES[0]))).text
    assert "TH-11" in text
    assert re.findall(r"<title>(.*?)</title>", text) == ["ownmark"]


class _File:
    def __init__(self, name):
        self.name = name

    def write(self, data):
        pass

    def done(self):
        return self.name

    def cancel(self):
        pass


def got(body, kind=KIND):
    async def pieces():
        yield body

    try:
        return asyncio.run(receive(kind, pieces(), _File))
    except HTTPException as refusal:
        return refusal.status_code


def part(disposition):
    return f"--line\r\nContent-Disposition: form-data; {disposition}\r\n\r\n\r\n".encode()


def test_a_form_never_has_many_parts_of_any_kind():
    for many in (part('name="a"'), part('name="files"; filename=""'), b"--line\r\n\r\n\r\n"):
        assert got(many * MOST_PARTS + b"--line--\r\n") not in (400, 413)
        assert got(many * (MOST_PARTS + 1) + b"--line--\r\n") == 413


def test_a_boundary_that_is_too_long_is_no_form():
    assert got(part('name="a"'), f"multipart/form-data; boundary={'b' * 257}") == 400


@pytest.mark.parametrize(
    "others",
    [
        "{name}=tossed; {own}",
        "{own}; {name}=tossed",
        'a={{"b": 1}}; {own}',
        'a="b; {own}',
        "a=\x80 b; =; ;; {own}",
    ],
)
def test_a_cookie_of_another_program_shuts_nobody_out(parts, others):
    key = begun(parts)
    app = build(parts, PORT)
    name = f"ownmark-{PORT}"
    line = others.format(name=name, own=f"{name}={key}")
    assert ask(app, "/alive", more=[("cookie", line)]).status == 204
    assert ask(app, "/alive", more=[("cookie", line.replace(key, "x"))]).status == 403


def cut_after_a_whole_file(parts):
    """An upload whose line is cut in its second file."""
    heard = []
    app, key = build(parts, PORT, fault=heard.append), begun(parts)
    whole_one = (
        b'--line\r\nContent-Disposition: form-data; name="files"; filename="a.csv"\r\n\r\ntime_s,heart_rate\n0,1\r\n'
    )
    half = b'--line\r\nContent-Disposition: form-data; name="files"; filename="b.csv"\r\n\r\ntime_s'
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": f"/day/{DAY}/files",
        "raw_path": b"",
        "root_path": "",
        "query_string": b"",
        "headers": [
            (b"host", f"127.0.0.1:{PORT}".encode()),
            (b"sec-fetch-site", b"same-origin"),
            (b"cookie", f"ownmark-{PORT}={key}".encode()),
            (b"content-type", KIND.encode()),
            (b"content-length", b"100000"),
        ],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", PORT),
    }
    come = [
        {"type": "http.request", "body": whole_one + half, "more_body": True},
        {"type": "http.disconnect"},
    ]

    async def receive():
        return come.pop(0)

    async def send(_message):
        pass

    asyncio.run(app(scope, receive, send))
    return heard


def test_what_came_whole_before_the_line_was_cut_is_on_the_day(parts):
    assert cut_after_a_whole_file(parts) == []
    found = happened(date.fromisoformat(DAY), entries_of(parts.logbook(), date.fromisoformat(DAY)))
    assert [each.name for each in found.files] == ["a.csv"]
    assert [each.name for each in parts.received().paths(found.day).values()] == ["a.csv"]
