"""A list of students in a browser: without scripts too, accessible and never wider than the window in its states."""

import pytest
from playwright.sync_api import expect

from tests.web.browser.bag_day import ready, school
from tests.web.browser.hand import press
from tests.web.browser.test_states import wrong_in

ROWS = """\
code\tborn\tconditions\tnotes
ZZ-41\tMar-14\tepilepsy; cerebral-palsy\tnew chair
ZZ-42\t2013-07-19\t\t
Maria\t2014-03\t\t
ZZ-43\t\t\task Mrs. Lopez
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    with school(ready(tmp_path_factory.mktemp("lists") / "logbook.db")) as opened:
        yield opened


def asked(page):
    page.goto("/students")
    press(page.get_by_role("link", name="Add a list of students"))
    page.locator("#field-list").fill("code\tFull name\nZZ-41\tx\n")
    press(page.get_by_role("button", name="Add the students"))
    expect(page.locator(".errors")).to_be_visible()
    expect(page.get_by_role("checkbox", name="full_name")).to_be_visible()


def told(page):
    page.locator("#field-list").fill(ROWS)
    press(page.get_by_role("button", name="Add the students"))
    expect(page.get_by_role("row")).to_have_count(5)
    expect(page.locator("#field-list")).to_have_value(ROWS)


def otherwise(page):
    page.locator("#field-list").fill(ROWS.replace("Mar-14", "Apr-14"))
    press(page.get_by_role("button", name="Add the students"))
    expect(page.get_by_role("button", name="Correct one student as the list says")).to_be_visible()


def test_every_state_of_a_list(tab, found):
    assert wrong_in(found.enter(tab(base_url=found.base)), (asked, told, otherwise)) == {}


def test_a_list_goes_in_without_scripts(tab, found):
    page = found.enter(tab(base_url=found.base, java_script_enabled=False))
    page.goto("/students/list")
    held = {"name": "a.csv", "mimeType": "text/csv", "buffer": b"code;rest\nZZ-51;70\n"}
    page.locator("#file").set_input_files(held)
    page.get_by_role("button", name="Add the students").click()
    expect(page.get_by_text("One student is new in the logbook.")).to_be_visible()
    expect(page.locator("#field-list")).to_have_value("code,rest\nZZ-51,70\n")
