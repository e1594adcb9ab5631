"""The frame that every screen stands in."""

import re

import pytest
from ownmark.web.guard import POLICY


def test_the_link_begins_a_session_once(stranger, parts):
    link = f"/start/{parts.sessions.new_link()}"
    assert stranger.get("/").status_code == 403
    first = stranger.get(link)
    assert first.status_code == 200
    assert "HttpOnly" in first.headers["set-cookie"]
    assert "SameSite=strict" in first.headers["set-cookie"]
    assert stranger.get("/").status_code == 200
    stranger.cookies.clear()
    assert stranger.get(link).status_code == 403


def test_the_first_screen_is_in_the_language_that_was_chosen(teacher):
    assert "<h1>Today</h1>" in teacher.get("/").text
    answer = teacher.post("/language", data={"language": "es"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "<h1>Hoy</h1>" in teacher.get("/").text


def test_every_answer_is_kept_nowhere_and_has_the_policy(teacher):
    for path in ("/", "/nothing"):
        answer = teacher.get(path)
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["content-security-policy"] == POLICY


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/", "Today"),
        ("/day/2026-11-18/now", "Today"),
        ("/students/add", "Students"),
        ("/district/plans", "District"),
        ("/find/test/arm-crank-steady", "Find a test"),
    ],
)
def test_the_navigation_says_where_one_is(teacher, path, name):
    here = re.findall(r'<a href="[^"]*" aria-current="page">([^<]*)</a>', teacher.get(path).text)
    assert here == [name]


@pytest.mark.parametrize(
    "address",
    [
        "/district?from=2026-01-02&to=2026-03-04",
        "/caseload?from=2026-01-02&to=2026-03-04",
        "/students?page=1",
        "/students",
    ],
)
def test_another_language_shows_the_same_screen_with_its_filters(teacher, parts, address):
    parts.logbook()
    assert teacher.get(address).status_code == 200
    assert teacher.post("/language", data={"language": "es"}).headers["location"] == address
