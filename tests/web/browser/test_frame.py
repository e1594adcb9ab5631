"""What a person types is not lost when the page has ended or locked meanwhile."""

import re

import pytest
from ownmark.records.store.logbook import open_logbook
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions
from playwright.sync_api import expect

from tests.web.browser.hand import entered, press
from tests.web.served import page, serving


@pytest.fixture
def parts(tmp_path):
    place = tmp_path / "logbook.db"
    found = Parts(str(place), OnFirstUse(lambda: open_logbook(place)), Sessions("en"))
    yield found
    found.close()


def begin(tab, base, link):
    return entered(tab(base_url=base), base, link)


def type_a_student(found):
    found.goto("/students/add")
    found.locator("main input[name=code]").fill("ZZ-99")


def test_a_form_is_sent_once_with_the_button_that_was_pressed(parts, tab):
    with serving(parts, lambda _: None) as port:
        found = begin(tab, f"http://127.0.0.1:{port}", f"/start/{parts.sessions.new_link()}")
        sent = []
        found.on("request", lambda request: sent.append((request.method, request.post_data)))
        press(found.get_by_role("button", name="Español"))
        expect(found.locator("html")).to_have_attribute("lang", "es")
        assert [each for each in sent if each[0] == "POST"] == [("POST", "language=es")]


def test_a_locked_page_keeps_what_was_typed_until_a_new_link_was_opened_elsewhere(parts, tab):
    with serving(parts, lambda _: None) as port:
        base = f"http://127.0.0.1:{port}"
        found = begin(tab, base, f"/start/{parts.sessions.new_link()}")
        type_a_student(found)
        for session in list(parts.sessions._sessions.values()):
            parts.sessions.lock(session)
        button = found.locator("main form:has(input[name=code]) button").first
        button.click()
        expect(found.locator("#gone")).to_be_visible()
        expect(found.locator("#gone")).to_contain_text("locked")
        expect(found.locator("main input[name=code]")).to_have_value("ZZ-99")
        other = found.context.new_page()
        other.goto(f"/start/{parts.sessions.new_link()}")
        other.wait_for_url(re.compile(r"/students/add$"))
        press(button)
        expect(found).to_have_url(re.compile("/student/"))
        assert [each.code for each in parts.logbook().students()] == ["ZZ-99"]


def test_a_page_that_ended_keeps_what_was_typed_until_it_was_started_again(tmp_path, tab):
    place = tmp_path / "logbook.db"
    with page(place, "--port", "0") as first:  # on the usual one another page may answer as soon as this one has ended
        found = begin(tab, f"http://127.0.0.1:{first.port}", first.start)
        type_a_student(found)
    button = found.locator("main form:has(input[name=code]) button").first
    button.click()
    expect(found.locator("#gone")).to_be_visible()
    expect(found.locator("#gone")).to_contain_text("has ended")
    expect(found.locator("main input[name=code]")).to_have_value("ZZ-99")
    with page(place, "--port", str(first.port)) as again:
        entered(found.context.new_page(), f"http://127.0.0.1:{again.port}", again.start)
        press(button)
        expect(found).to_have_url(re.compile("/student/"))
    with open_logbook(place) as logbook:
        assert [each.code for each in logbook.students()] == ["ZZ-99"]
