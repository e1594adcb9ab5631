"""The screen of a trial: corrected, moved, removed and brought back as by the command."""

import re
from datetime import datetime, timezone

import pytest
from ownmark.records.adding import keep
from ownmark.records.store.history import history_of
from ownmark.records.store.logbook import open_logbook
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions

from tests.records.store import made
from tests.records.test_shared_files import FIRST, PHASES, written
from tests.web.conftest import here


@pytest.fixture
def parts(place, clock):
    """The page on a day that is behind every trial."""
    now = datetime(2026, 11, 28, 10, 0, tzinfo=timezone.utc)  # noqa: UP017 as the page has it
    found = here(Parts(place, OnFirstUse(lambda: open_logbook(place)), Sessions("en", clock), now=lambda: now))
    yield found
    found.close()


@pytest.fixture
def kept(parts, tmp_path):
    """The number of a trial with a recording, work typed as 5:00 to 12:00."""
    logbook = parts.logbook()
    logbook.add_protocol(made.protocol())
    for code in ("TH-11", "BF-07"):
        logbook.add_student(made.student(code))
    path = written(tmp_path, "strap.csv", FIRST)
    return keep(logbook, made.trial("TH-11", **PHASES, notes="windy"), [path]).trial.id


def fields(text):
    """The edit form as a browser would send it, untouched."""
    form = re.search(r'<form method="post" action="/trial/\d+" class="mending">.*?</form>', text, re.DOTALL)[0]
    found = {}
    for tag in re.findall(r"<input [^>]*>", form):
        name = re.search(r' name="([^"]*)"', tag)
        if name and 'type="checkbox"' not in tag:
            found[name[1]] = unescaped((re.search(r' value="([^"]*)"', tag) or ("", ""))[1])
    for name, body in re.findall(r'<textarea [^>]*name="([^"]*)"[^>]*>([^<]*)</textarea>', form):
        found[name] = unescaped(body)
    for name, body in re.findall(r'<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', body)
        found[name] = unescaped(chosen[1]) if chosen else ""
    return found


def unescaped(text):
    from html import unescape

    return unescape(text)


def sent(teacher, number, **changes):
    typed = fields(teacher.get(f"/trial/{number}").text)
    return teacher.post(f"/trial/{number}", data={**typed, **changes})


def test_the_screen_holds_the_trial_and_no_student_in_its_address_or_title(teacher, kept):
    answer = teacher.get(f"/trial/{kept}")
    assert answer.status_code == 200
    assert "<title>Trial 1 · ownmark</title>" in answer.text
    assert "TH-11" in answer.text
    assert "windy" in answer.text
    assert 'data-line="pulse"' in answer.text
    assert "Nothing was changed since it was stored." in answer.text


def test_a_form_that_was_not_touched_changes_nothing(teacher, parts, kept):
    before = parts.logbook().trial(kept)
    answer = sent(teacher, kept)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/trial/{kept}")
    assert "nothing was changed" in teacher.get(f"/trial/{kept}").text
    assert parts.logbook().trial(kept) == before
    assert history_of(parts.logbook(), "trial", kept) == ()


def test_dragged_phases_are_kept_as_typed_and_the_figures_worked_out_again(teacher, parts, kept):
    assert sent(teacher, kept, work_from="5:10", why="pressed late").status_code == 303
    now = parts.logbook().trial(kept)
    assert now.work == "5:10-12:00"
    (change,) = history_of(parts.logbook(), "trial", kept)
    assert (change.why, dict(change.before)) == ("pressed late", {"work": PHASES["work"]})
    text = teacher.get(f"/trial/{kept}").text
    assert "The trial is corrected." in text
    assert "pressed late" in text
    assert "→" in text


def test_facts_are_corrected_and_emptied(teacher, parts, kept):
    sent(teacher, kept, notes="", exertion="13", exertion_scale="6-20", stops="9:14 wheel loose", practice="yes")
    now = parts.logbook().trial(kept)
    assert (now.notes, now.exertion, now.stops[0].why, now.practice) == ("", 13, "wheel loose", True)


def test_a_value_that_does_not_fit_is_refused_and_what_was_typed_stays(teacher, parts, kept):
    answer = sent(teacher, kept, exertion="40", exertion_scale="6-20", work_from="5:20")
    assert answer.status_code == 422
    assert "An exertion of 40 is not on the scale" in answer.text
    assert 'value="40"' in answer.text
    assert 'value="5:20"' in answer.text
    assert parts.logbook().trial(kept).exertion is None


def test_a_phase_of_one_end_is_refused_at_its_field(teacher, kept):
    answer = sent(teacher, kept, work_until="")
    assert answer.status_code == 422
    assert "A phase needs both its beginning and its end" in answer.text


def test_what_could_be_a_mistake_is_asked_and_a_press_answers_it(teacher, parts, kept):
    typed = fields(teacher.get(f"/trial/{kept}").text) | {"notes": "call Mr Miller 555 010 4477"}
    answer = teacher.post(f"/trial/{kept}", data=typed)
    assert answer.status_code == 422
    assert 'name="answer" value="keep-text"' in answer.text
    assert parts.logbook().trial(kept).notes == "windy"
    again = fields(answer.text) | {"answer": "keep-text"}
    assert again["notes"] == "call Mr Miller 555 010 4477"
    assert teacher.post(f"/trial/{kept}", data=again).status_code == 303
    assert parts.logbook().trial(kept).notes == "call Mr Miller 555 010 4477"


def test_two_windows_do_not_undo_each_other(teacher, parts, kept):
    first = fields(teacher.get(f"/trial/{kept}").text)
    sent(teacher, kept, notes="calm")
    teacher.post(f"/trial/{kept}", data={**first, "temperature_c": "21"})
    now = parts.logbook().trial(kept)
    assert (now.notes, now.temperature_c) == ("calm", 21)


def test_a_trial_is_moved_removed_and_brought_back(teacher, parts, kept):
    assert teacher.post(f"/trial/{kept}/move", data={"code": "", "why": ""}).status_code == 422
    assert teacher.post(f"/trial/{kept}/move", data={"code": "BF-07", "why": "straps changed"}).status_code == 303
    assert parts.logbook().trial(kept).code == "BF-07"
    assert "moved here from another student" in teacher.get(f"/trial/{kept}").text
    answer = teacher.post(f"/trial/{kept}/remove", data={"why": " "})
    assert (answer.status_code, "Say why it is removed" in answer.text) == (422, True)
    assert teacher.post(f"/trial/{kept}/remove", data={"why": "fell off"}).status_code == 303
    text = teacher.get(f"/trial/{kept}").text
    assert "This trial was removed." in text
    assert "fell off" in text
    assert "BF-07" not in text
    assert teacher.post(f"/trial/{kept}/restore", data={"why": "it did not"}).status_code == 303
    assert parts.logbook().trial(kept).code == "BF-07"


@pytest.mark.parametrize("path", ["", "/trace"])
def test_a_number_of_no_trial_is_not_found(teacher, parts, path):
    parts.logbook()
    assert teacher.get(f"/trial/99{path}").status_code == 404


def test_the_numbers_of_the_trace_are_those_of_the_part_asked_for(teacher, kept):
    whole = teacher.get(f"/trial/{kept}/trace").json()
    assert whole["exact"]
    assert teacher.get(f"/trial/{kept}/trace?from=60&until=70").json()["until"] == 80
    assert teacher.get(f"/trial/{kept}/trace?from=<b>&until=nan").status_code == 200


def test_a_trial_of_results_alone_has_no_trace(teacher, parts):
    logbook = parts.logbook()
    logbook.add_protocol(made.protocol())
    logbook.add_student(made.student())
    number = keep(logbook, made.trial(notes="by hand", distance_m=300), []).trial.id
    assert "This trial has no recording" in teacher.get(f"/trial/{number}").text
    assert teacher.get(f"/trial/{number}/trace").status_code == 404
    assert sent(teacher, number, notes="by eye").status_code == 303


def test_a_file_is_taken_out(teacher, parts, kept):
    assert sent(teacher, kept, take_out="strap.csv", distance_m="300", why="another strap").status_code == 303
    assert parts.logbook().trial(kept).files == ()


def test_a_note_that_looks_like_a_page_is_shown_as_it_is(teacher, parts, kept):
    sent(teacher, kept, notes="<script>alert(1)</script>\"'")
    text = teacher.get(f"/trial/{kept}").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_screen_has_all_its_words_in_each_language(teacher, kept, language):
    teacher.post("/language", data={"language": language})
    assert teacher.get(f"/trial/{kept}").status_code == 200
    assert teacher.post(f"/trial/{kept}/remove", data={"why": ""}).status_code == 422
    teacher.post(f"/trial/{kept}/remove", data={"why": "x"})
    assert teacher.get(f"/trial/{kept}").status_code == 200
