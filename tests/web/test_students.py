"""The students' screens: found without a code in an address, added by a code that is no name, edited with a reason."""

import io
import re
from datetime import date

import pypdf
import pytest
from ownmark.records.student import Ceiling, Student

from tests.records.store import made


@pytest.fixture
def book(parts):
    """A logbook of two students with two trials each, and one without."""
    logbook = parts.logbook()
    made.filled(logbook)
    logbook.add_student(Student(code="C-3"))
    return logbook


@pytest.fixture
def way(parts):
    """The address of a student's screen."""
    return lambda code, more="": f"/student/{parts.ids.of(code)}{more}"


def test_the_list_tells_codes_trials_and_the_last_day(teacher, book):
    page = teacher.get("/students").text
    assert "3 students." in page
    assert page.index("BF-07") < page.index("C-3") < page.index("TH-11")
    assert "Sep 11, 2026" in page
    assert "not yet" in page


def test_an_empty_logbook_says_so(teacher, parts):
    parts.logbook()
    assert "No student is in the logbook yet." in teacher.get("/students").text


def test_a_long_list_comes_in_parts(teacher, parts):
    parts.logbook().add_students([Student(code=f"S-{number:03d}") for number in range(120)])
    first, last = teacher.get("/students").text, teacher.get("/students?page=3").text
    assert "S-049" in first
    assert "S-050" not in first
    assert "Part 1 of 3" in first
    assert "S-100" in last
    assert "S-099" not in last
    for page in ("0", "-1", "x", "99999999", "٣"):
        assert teacher.get(f"/students?page={page}").status_code == 200


def test_a_search_leads_to_the_only_one_and_lists_several_and_no_code_stands_in_an_address(teacher, book, way):
    found = teacher.post("/students/search", data={"code": "th 11"})
    assert found.status_code == 200  # "TH11" is in no code
    assert "No code holds this." in found.text
    found = teacher.post("/students/search", data={"code": "th-"})
    assert (found.status_code, found.headers["location"]) == (303, way("TH-11"))
    several = teacher.post("/students/search", data={"code": "1"})
    assert several.headers["location"] == way("TH-11")
    several = teacher.post("/students/search", data={"code": "-"}).text
    assert "BF-07" in several
    for address in re.findall(r'(?:href|action)="([^"]*)"', several):
        assert "BF-07" not in address
        assert "TH-11" not in address


def test_an_exact_code_is_found_among_longer_ones(teacher, parts, way):
    parts.logbook().add_students([Student(code="A-1"), Student(code="A-11")])
    assert teacher.post("/students/search", data={"code": "a-1"}).headers["location"] == way("A-1")


def test_what_is_searched_for_is_shown_as_text(teacher, book):
    found = teacher.post("/students/search", data={"code": "<script>alert(1)</script>"})
    assert "<script>alert" not in found.text
    assert "&lt;SCRIPT" not in found.text
    assert "&lt;script" in found.text


def test_a_student_is_added_by_a_code_and_a_name_is_refused(teacher, book, way):
    assert "Add a student" in teacher.get("/students/add").text
    refused = teacher.post("/students/add", data={"code": "Maria"})
    assert refused.status_code == 422
    assert 'role="alert"' in refused.text
    assert "cannot be a student" in refused.text
    for wrong, told in ((" ", "Type a code."), ("TH-11", "This code is taken.")):
        page = teacher.post("/students/add", data={"code": wrong})
        assert page.status_code == 422
        assert told in page.text
    born = teacher.post("/students/add", data={"code": "NN-1", "born": "2014-03-02"})
    assert born.status_code == 422
    assert "The day of birth is not kept" in born.text
    added = teacher.post("/students/add", data={"code": "nn-1", "born": "2014-03"})
    assert (added.status_code, added.headers["location"]) == (303, way("NN-1"))
    assert book.student("NN-1").born == "2014-03"
    assert "NN-1 is in the logbook." in teacher.get(way("NN-1")).text


def test_a_sex_and_a_month_that_are_kept_are_shown_and_nobody_says_that_only_the_code_is(teacher, book, way):
    for code, born, sex in (("S-1", "2014-03", "female"), ("S-2", None, "male"), ("S-3", "2014-03", None)):
        book.add_student(Student(code=code, born=born, sex=sex))
        page = teacher.get(way(code)).text
        line = re.search(r'class="subtitle">([^<]*)<', page)[1]
        assert (
            line == f"{'Born in March 2014' if born else 'Month of birth not written down'}{f' · {sex}' if sex else ''}"
        )
        assert "Nothing else is kept of this student yet." in page
        assert "yet but the code" not in page


def test_a_student_is_shown_with_what_was_tested_and_kept_and_the_ways_on(teacher, book, way):
    page = teacher.get(way("TH-11")).text
    assert "Born in April 2012" in page
    assert "2 trials, the last on September 11, 2026." in page
    assert "72\u00a0/min" in page
    assert "measured on September 1, 2026" in page
    for more in ("/card/slalom-gym", "/change/slalom-gym", "/print", "/facts"):
        assert f'href="{way("TH-11", more)}"' in page
    empty = teacher.get(way("C-3")).text
    assert "Nothing was tested yet." in empty
    assert "Nothing is kept of this student yet but the code." in empty


def test_the_title_holds_no_code_and_neither_does_an_address(teacher, book, way):
    for more in ("", "/facts", "/print", "/card/slalom-gym", "/change/slalom-gym"):
        page = teacher.get(way("TH-11", more))
        assert page.status_code == 200, more
        assert "TH-11" not in re.search("<title>(.*?)</title>", page.text)[1]
        assert not [each for each in re.findall(r'(?:href|action)="([^"]*)"', page.text) if "TH-11" in each]


def test_nobody_is_found_by_a_wrong_or_a_forgotten_identifier(teacher, book, way):
    from ownmark.records import forget

    assert teacher.get("/student/0123456789abcdef").status_code == 404
    address = way("TH-11")
    assert teacher.get(address).status_code == 200
    forget(book, "TH-11")
    assert teacher.get(address).status_code == 404


def test_a_change_needs_two_days(teacher, book, way):
    book.add_trial(made.trial("C-3", date(2026, 9, 10), sheet=made.sheet(3)))
    page = teacher.get(way("C-3")).text
    assert "A change needs a second day of this test." in page
    assert way("C-3", "/change/slalom-gym") not in page
    assert teacher.get(way("C-3", "/change/slalom-gym")).status_code == 404
    assert teacher.get(way("C-3", "/change/no-such")).status_code == 404
    assert teacher.get(way("C-3", "/card/slalom-gym")).status_code == 200


def test_every_page_to_print_is_served_under_its_own_policy_in_both_languages(teacher, book, way):
    page = teacher.get(way("TH-11", "/print?trial=1")).text
    ways = [each.replace("&amp;", "&") for each in re.findall(r'href="(/sheet/[^"]*)"', page)]
    assert len(ways) == 2 * (1 + 2 + 2 + 1 + 2 + 2)
    names = set()
    for each in ways:
        found = teacher.get(each)
        assert found.status_code == 200, each
        assert "TH-11" not in each
        if "/pdf" in each:
            assert found.content.startswith(b"%PDF")
            name = found.headers["content-disposition"]
            assert re.fullmatch(r'inline; filename="[a-z0-9-]+\.pdf"', name)
            told = pypdf.PdfReader(io.BytesIO(found.content))
            assert "th-11" not in f"{name} {told.metadata.title}".lower()
            assert "TH-11" in told.pages[0].extract_text()
            assert name not in names
            names.add(name)
            assert name.endswith('-es.pdf"') == ("lang=es" in each)
        else:
            assert "sandbox" in found.headers["content-security-policy"]
            assert f'<html lang="{"es" if "lang=es" in each else "en"}"' in found.text
    assert teacher.get("/sheet/effort/1/html?lang=xx").status_code == 404
    assert teacher.get("/sheet/effort/1/exe").status_code == 404
    assert teacher.get("/sheet/effort/999/html").status_code == 404


def test_a_spanish_copy_is_a_familys(teacher, book):
    staff = teacher.get("/sheet/effort/1/html").text
    assert "turn 0 of TH-11" in staff
    for copy in ("lang=es", "family=1", "lang=es&family=1"):
        assert "turn 0 of TH-11" not in teacher.get(f"/sheet/effort/1/html?{copy}").text


def test_another_students_trial_is_not_printed_under_this_one(teacher, book, way):
    assert teacher.get(way("TH-11", "/print?trial=3")).status_code == 404  # BF-07's
    assert teacher.get(way("TH-11", "/print?trial=x")).status_code == 404


TODAY = "2026-10-01"


def edit(teacher, way, form, **data):
    return teacher.post(way("TH-11", f"/facts/{form}"), data=data)


def test_a_ceiling_is_set_from_a_day_on_and_the_history_keeps_why(teacher, book, way):
    saved = edit(
        teacher, way, "ceiling", ceiling_bpm="150,5", ceiling_by="school nurse", ceiling_on=TODAY, why="new plan"
    )
    assert (saved.status_code, saved.headers["location"]) == (303, way("TH-11", "/facts"))
    assert book.student("TH-11").ceilings == (Ceiling(bpm=150.5, set_by="school nurse", set_on=date(2026, 10, 1)),)
    page = teacher.get(way("TH-11", "/facts")).text
    assert "Saved for TH-11." in page
    assert "2 trials were worked out again" in page
    assert "set by the school nurse, from October 1, 2026" in page
    assert "new plan" in page
    later = edit(teacher, way, "ceiling", ceiling_bpm="140", ceiling_by="therapist", ceiling_on="2026-10-02")
    assert later.status_code == 303
    assert "(no longer the one that counts)" in teacher.get(way("TH-11", "/facts")).text
    assert book.student("TH-11").ceiling.bpm == 140
    undated = edit(teacher, way, "ceiling", ceiling_bpm="130", ceiling_by="therapist", ceiling_on="")
    assert undated.status_code == 422
    assert "Give the day from which it counts" in undated.text


@pytest.mark.parametrize(
    ("form", "data", "told"),
    [
        ("ceiling", {"ceiling_by": "therapist"}, "Type beats per minute."),
        ("ceiling", {"ceiling_bpm": "150"}, "Choose who set it"),
        ("ceiling", {"ceiling_bpm": "150", "ceiling_by": "Maria Gomez"}, "must be a role, not a name"),
        ("ceiling", {"ceiling_bpm": "29", "ceiling_by": "therapist"}, "Type a number from 30 to 230."),
        ("rest", {"rest_bpm": "abc"}, "This is not a number."),
        ("rest", {"rest_bpm": "190", "rest_on": "2026-10-01"}, "is not below the maximum"),
        ("rest", {"rest_bpm": "70", "rest_on": "2999-01-01"}, "This day is in the future."),
        ("rest", {"rest_bpm": "70", "rest_on": "1949-12-31"}, "This day is too long ago."),
        ("rest", {"rest_bpm": "70", "rest_on": "yesterday"}, "This is not a date."),
        ("maximum", {}, "Type beats per minute."),
        ("condition", {"condition": "anything"}, "Choose a condition."),
        ("abilities", {}, "Choose what the student can do or needs."),
        ("abilities", {"can": "fly"}, "fly"),
        ("about", {"born": "2014"}, "not a month of birth"),
        ("about", {"notes": "write to a@b.com"}, "mail address"),
        ("withdraw", {"list": "code", "mark": "TH-11"}, "This entry is not there any more"),
        ("withdraw", {"list": "rests", "mark": "{}"}, "This entry is not there any more"),
    ],
)
def test_what_cannot_be_kept_is_told_and_nothing_is_changed(teacher, book, way, form, data, told):
    before = book.student("TH-11")
    answer = teacher.post(way("TH-11", f"/facts/{form}"), data=data)
    assert answer.status_code == 422
    assert told in answer.text
    assert book.student("TH-11") == before


def test_every_kind_of_fact_is_kept_and_taken_away(teacher, book, way):
    edit(teacher, way, "rest", rest_bpm="70", rest_on=TODAY, rest_posture="lying down")
    edit(teacher, way, "maximum", maximum_bpm="170", maximum_on=TODAY, maximum_exercise="arms")
    edit(teacher, way, "condition", condition="epilepsy")
    edit(teacher, way, "abilities", can=["arms", "push-chair", "hear"], needs=["reminders"], abilities_on=TODAY)
    edit(teacher, way, "about", born="2013-05", sex="female", notes="likes music")
    who = book.student("TH-11")
    assert (who.rest.bpm, who.rest.posture) == (70, "lying down")
    assert who.maximum("arms").bpm == 170
    assert who.conditions == ("epilepsy",)
    assert (who.answer.can, who.answer.needs) == (("arms", "push-chair", "hear"), ("reminders",))
    assert (who.born, who.sex, who.notes) == ("2013-05", "female", "likes music")
    page = teacher.get(way("TH-11", "/facts")).text
    for _ in range(6):
        forms = re.findall(
            r'name="list" value="(\w+)"><input type="hidden" name="mark" value="([^"]*)"',
            teacher.get(page_of(way)).text,
        )
        if not forms:
            break
        name, mark = forms[-1]
        gone = edit(teacher, way, "withdraw", list=name, mark=mark.replace("&#34;", '"'), why="typing error")
        assert gone.status_code == 303
    who = book.student("TH-11")
    assert (who.rests, who.maxima, who.conditions, who.answers) == ((), (), (), ())
    assert "typing error" in teacher.get(page_of(way)).text
    assert page


def page_of(way):
    return way("TH-11", "/facts")


def test_a_name_in_a_text_is_asked_about_and_its_button_keeps_it(teacher, book, way):
    asked = edit(teacher, way, "about", born="2012-04", notes="ask Maria Gomez")
    assert asked.status_code == 422
    assert 'name="confirm" value="keep-text"' in asked.text
    assert "ask Maria Gomez" in asked.text  # what was typed is still there
    assert book.student("TH-11").notes == ""
    kept = edit(teacher, way, "about", born="2012-04", notes="ask Maria Gomez", confirm="keep-text")
    assert kept.status_code == 303
    assert book.student("TH-11").notes == "ask Maria Gomez"
    again = edit(teacher, way, "about", born="2012-05", notes="ask Maria Gomez")  # what stands once is not asked again
    assert again.status_code == 303
    assert edit(teacher, way, "rest", rest_bpm="66", why="Maria Gomez said so").status_code == 422


def test_nothing_new_is_said_to_be_so(teacher, book, way):
    who = book.student("TH-11")
    same = edit(teacher, way, "about", born=who.born, sex="", notes="")
    assert same.status_code == 303
    assert "this was so already" in teacher.get(page_of(way)).text


def test_two_who_edit_at_once_keep_each_others_entries(teacher, book, way, place):
    from ownmark.records import open_logbook
    from ownmark.records.student_mending import edit_student

    teacher.get(page_of(way))
    with open_logbook(place) as other:
        edit_student(other, "TH-11", {"ceilings": (Ceiling(bpm=160, set_by="physician", set_on=date(2026, 9, 30)),)})
    edit(teacher, way, "ceiling", ceiling_bpm="150", ceiling_by="therapist", ceiling_on=TODAY)
    assert [each.bpm for each in book.student("TH-11").ceilings] == [160, 150]


def test_from_the_caseload_a_saved_ceiling_leads_back_there_and_nowhere_else(teacher, book, way):
    data = {"ceiling_bpm": "150", "ceiling_by": "therapist", "ceiling_on": TODAY}
    assert edit(teacher, way, "ceiling", back="caseload", **data).headers["location"] == "/caseload"
    data["ceiling_bpm"] = "151"
    assert edit(teacher, way, "ceiling", back="https://elsewhere.example", **data).headers["location"] == page_of(way)


@pytest.mark.parametrize("language", ["es", "pseudo"])
def test_every_screen_is_in_the_language_of_the_session(teacher, book, way, language):
    teacher.post("/language", data={"language": language})
    for address in ("/students", "/students/add", way("TH-11"), page_of(way), way("TH-11", "/print")):
        page = teacher.get(address)
        assert page.status_code == 200
        for english in ("Students", "Add or correct", "What was tested", "Pages to print", "Month of birth"):
            assert english not in page.text, (address, english)
