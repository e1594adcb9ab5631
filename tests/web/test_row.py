"""A row looked at closer: what is typed lies over what is proposed, wrong fields say so, a test by hand goes in."""

import re
from datetime import datetime, timezone

import pytest
from ownmark.records.day.happened import happened
from ownmark.records.protocol import HandMeasure
from ownmark.records.store.day_entries import entries_of
from ownmark.records.store.logbook import open_logbook
from ownmark.sample_streams import FOLDER
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions

from tests.records.store import made
from tests.web.conftest import browser, here
from tests.web.test_trial import unescaped

DAY = "2026-11-18"
GRIP = (
    HandMeasure(name="grip_force", unit="kg", kind="other", sides=True, attempts=2, how="Squeeze."),
    HandMeasure(name="reach", unit="cm", kind="range by ruler", sides=False, attempts=1, how="Reach."),
)
NOW = datetime(2026, 11, 28, 10, 0, tzinfo=timezone.utc)  # noqa: UP017 as the page has it


def page(place, clock):
    return Parts(place, OnFirstUse(lambda: open_logbook(place)), Sessions("en", clock), now=lambda: NOW)


def stocked(found):
    """Three students, a test with a recording, and one by hand."""
    logbook = found.logbook()
    for code in ("TH-31", "TH-32", "TH-36"):
        logbook.add_student(made.student(code))
    logbook.add_protocol(made.protocol("crank", rest_s=180, work_s=480, recovery_s=120))
    logbook.add_protocol(made.protocol("grip", hand_measures=GRIP, primary_figure="grip_force", better="higher"))
    return found


@pytest.fixture
def parts(place, clock):
    """The page ten days after the class."""
    found = here(stocked(page(place, clock)))
    yield found
    found.close()


def day_of(parts):
    return happened(datetime.fromisoformat(DAY).date(), entries_of(parts.logbook(), datetime.fromisoformat(DAY).date()))


def draft(parts, code="TH-31", turn=1):
    test = day_of(parts).test(code, turn)
    return None if test is None else test.draft


def place_of(parts, code="TH-31", turn=1):
    return f"/day/{DAY}/row/{parts.ids.of(code)}/{turn}"


def fields(text):
    """The form as a browser would send it, untouched."""
    form = re.search(r'<form method="post" action="[^"]*" class="mending">.*?</form>', text, re.DOTALL)[0]
    found = {}
    for tag in re.findall(r"<input [^>]*>", form):
        name, value = re.search(r' name="([^"]*)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and ('type="checkbox"' not in tag or " checked" in tag):
            found.setdefault(unescaped(name[1]), []).append(unescaped(value[1]) if value else "")
    for name, body in re.findall(r'<textarea [^>]*name="([^"]*)"[^>]*>\n?([^<]*)</textarea>', form):
        found[name] = [unescaped(body)]
    for name, body in re.findall(r'<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', body)
        found[name] = [unescaped(chosen[1]) if chosen else ""]
    return found


def sent(client, place, then="keep", shown=None, **changes):
    """The form of a place with some fields typed; ``shown``: as it was when it was opened."""
    typed = (shown or fields(client.get(place).text)) | {name: [text] for name, text in changes.items()}
    return client.post(place, data={**typed, "then": then})


def dropped(client, *names):
    files = [("files", (name, (FOLDER / "bag" / name).read_bytes())) for name in names]
    assert client.post(f"/day/{DAY}/files", files=files).status_code == 303
    client.get(f"/day/{DAY}")


@pytest.fixture
def recorded(teacher, parts):
    """TH-36 wore S6: a row that the plan knows."""
    teacher.post(f"/day/{DAY}/class", data={"do": "add", "codes": "TH-36 S6", "protocol": "crank"})
    dropped(teacher, "S6.fit")
    return place_of(parts, "TH-36")


def test_the_screen_shows_the_trace_and_no_code_in_address_or_title(teacher, parts, recorded):
    text = teacher.get(recorded).text
    assert "TH-36" in text
    assert "TH-36" not in recorded
    assert "<title>Look closer · ownmark</title>" in text
    assert 'data-line="pulse"' in text
    assert "S6.fit" in text
    assert f'href="{recorded}"' in teacher.get(f"/day/{DAY}").text


def test_the_numbers_of_the_trace_come_from_the_worker(teacher, recorded):
    found = teacher.get(f"{recorded}/trace?from=60&until=120").json()
    assert found["from"] <= 60 < 120 <= found["until"]


def test_a_form_that_was_not_touched_enters_nothing(teacher, parts, recorded):
    before = day_of(parts).last
    answer = sent(teacher, recorded)
    assert (answer.status_code, answer.headers["location"]) == (303, recorded)
    assert "nothing was changed" in teacher.get(recorded).text
    assert day_of(parts).last == before


def test_only_what_differs_from_the_proposal_is_typed_over_it(teacher, parts, recorded):
    sent(teacher, recorded, notes="new tires", exertion="5", exertion_scale="0-10")
    assert draft(parts, "TH-36").texts == {"notes": "new tires", "exertion": "5", "exertion_scale": "0-10"}
    sent(teacher, recorded, notes="")
    assert draft(parts, "TH-36").texts == {"exertion": "5", "exertion_scale": "0-10"}
    assert draft(parts, "TH-36").files is None


def test_a_proposed_text_that_is_emptied_stays_away_and_comes_back_when_it_is_typed_again(teacher, parts, recorded):
    sent(teacher, recorded, protocol="")
    assert draft(parts, "TH-36").texts == {"protocol": ""}
    sent(teacher, recorded, protocol="crank")
    assert draft(parts, "TH-36").texts == {}


def test_phases_on_the_trace_are_kept_by_the_clock_and_go_into_the_trial(teacher, parts, recorded):
    times = {"work_from": "09:06:00", "work_until": "09:12:00", "rest_from": "09:03:30", "rest_until": "09:05:30"}
    sent(teacher, recorded, **times, recovery_from="", recovery_until="")
    texts = draft(parts, "TH-36").texts
    assert (texts["work"], texts["rest_phase"]) == ("@09:06:00-@09:12:00", "@09:03:30-@09:05:30")
    text = teacher.get(recorded).text
    assert 'name="work_from" value="09:06:00"' in text
    assert "Kept with the trial: 09:03:00 to" in text


def test_wrong_fields_say_so_and_the_others_are_kept(teacher, parts, recorded):
    answer = sent(
        teacher, recorded, notes="windy", battery_start_percent="120", work_from="nine", work_until="09:12:00"
    )
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert 'href="#field-battery_start_percent"' in answer.text
    assert 'href="#trace-work_from"' in answer.text
    assert "Everything else that you typed is kept." in answer.text
    wrong = re.search(r'<input id="field-battery_start_percent"[^>]*>', answer.text)[0]
    assert 'value="120"' in wrong
    assert 'aria-invalid="true"' in wrong
    assert 'aria-describedby="hint-happened error-field-battery_start_percent"' in wrong
    assert 'id="error-field-battery_start_percent"' in answer.text
    assert draft(parts, "TH-36").texts == {"notes": "windy"}


def test_half_a_phase_is_refused_at_its_empty_end(teacher, parts, recorded):
    answer = sent(teacher, recorded, work_from="09:06:00", work_until="")
    assert answer.status_code == 422
    assert 'href="#trace-work_until"' in answer.text
    assert draft(parts, "TH-36") is None


def test_a_clock_that_was_wrong_is_put_right_and_the_trace_stands_on_the_right_one(teacher, parts, recorded):
    sha256 = day_of(parts).files[0].sha256
    assert sent(teacher, recorded, **{f"shift:{sha256}": "1:00"}).status_code == 422
    sent(teacher, recorded, **{f"shift:{sha256}": "+1:00:00"})
    assert draft(parts, "TH-36").shifts == {sha256: 3600.0}
    assert "Shown: 10:03:00 to 10:18:00" in teacher.get(recorded).text
    sent(teacher, recorded, **{f"shift:{sha256}": ""})
    assert "Shown: 09:03:00 to 09:18:00" in teacher.get(recorded).text


def test_a_file_is_ticked_for_a_student_and_taken_from_nobody_else_unseen(teacher, parts, recorded):
    sha256 = day_of(parts).files[0].sha256
    other = place_of(parts, "TH-31")
    assert "now with TH-36" in teacher.get(other).text
    sent(teacher, other, protocol="crank", file=sha256)
    assert draft(parts, "TH-31").files == (sha256,)
    assert "now with TH-31" in teacher.get(recorded).text
    assert sent(teacher, other, file="0" * 64).status_code == 422
    assert draft(parts, "TH-31").files == (sha256,)


def test_a_test_by_hand_with_both_sides_goes_in_equal_to_what_was_typed(teacher, parts):
    place = place_of(parts)
    assert "grip_force left 1" not in teacher.get(place).text
    sent(teacher, place, protocol="grip")
    typed = {"grip_force left 1": "12.5", "grip_force left 2": "13", "grip_force right 1": "9,5", "reach 1": "31"}
    sent(teacher, place, **{f"result:{name}": text for name, text in typed.items()}, tested_by="PE teacher")
    assert draft(parts).texts == {"protocol": "grip", **typed, "tested_by": "PE teacher"}
    answer = sent(teacher, place, then="add")
    assert answer.headers["location"].startswith(f"/day/{DAY}")
    (number,) = day_of(parts).test("TH-31", 1).trials
    trial = parts.logbook().trial(number)
    assert {(each.name, each.side, each.attempt): each.value for each in trial.hand_results} == {
        ("grip_force", "left", 1): 12.5,
        ("grip_force", "left", 2): 13.0,
        ("grip_force", "right", 1): 9.5,
        ("reach", None, 1): 31.0,
    }
    assert (trial.on.isoformat(), trial.tested_by, trial.files) == (DAY, "pe teacher", ())
    assert "It is in the logbook." in teacher.get(place).text


def test_a_result_that_is_no_number_is_refused_at_its_field(teacher, parts):
    place = place_of(parts)
    sent(teacher, place, protocol="grip")
    answer = sent(teacher, place, **{"result:grip_force left 1": "strong", "result:reach 1": "30"})
    assert answer.status_code == 422
    assert 'href="#field-result-grip_force-left-1"' in answer.text
    assert draft(parts).texts == {"protocol": "grip", "reach 1": "30"}


def test_results_of_another_protocol_are_shown_and_refused_until_they_are_emptied(teacher, parts):
    place = place_of(parts)
    sent(teacher, place, protocol="grip")
    sent(teacher, place, **{"result:reach 1": "30"})
    answer = sent(teacher, place, protocol="crank")
    assert answer.status_code == 422
    assert draft(parts).texts["protocol"] == "crank"
    sent(teacher, place, **{"result:reach 1": ""})
    assert draft(parts).texts == {"protocol": "crank"}


def test_a_second_test_of_the_day_is_begun_and_the_first_stays_as_it_is(teacher, parts, recorded):
    second = place_of(parts, "TH-36", 2)
    assert f'href="{second}"' in teacher.get(recorded).text
    assert teacher.get(place_of(parts, "TH-36", 3)).status_code == 404
    sent(teacher, second, protocol="grip")
    sent(teacher, second, then="add", **{"result:grip_force left 1": "8", "result:grip_force right 1": "7"})
    (number,) = day_of(parts).test("TH-36", 2).trials
    assert parts.logbook().trial(number).protocol == "grip"
    listed = teacher.get(f"/day/{DAY}").text
    assert '<span class="code">TH-36</span>' in listed
    assert '<span class="code">TH-36, test 2 of the day</span>' in listed
    assert f'href="{second}"' in listed
    assert f'href="{place_of(parts, "TH-36", 3)}"' in teacher.get(second).text
    assert draft(parts, "TH-36") is None
    assert not day_of(parts).test("TH-36", 1).trials


def test_two_windows_do_not_undo_each_other(teacher, parts, recorded):
    shown = fields(teacher.get(recorded).text)
    sent(teacher, recorded, shown=shown, notes="windy")
    sent(teacher, recorded, shown=shown, health="a cold")
    assert draft(parts, "TH-36").texts == {"notes": "windy", "health": "a cold"}


def test_what_was_kept_is_there_after_the_page_died(teacher, parts, place, clock, recorded):
    sent(teacher, recorded, notes="windy", tested_by="PE teacher")
    parts.measuring.close()
    again = page(place, clock)
    try:
        client = browser(again)
        client.get(f"/start/{again.sessions.new_link()}")
        text = client.get(place_of(again, "TH-36")).text
        assert ">\nwindy</textarea>" in text
        assert 'value="PE teacher"' in text
    finally:
        again.close()


def test_a_row_that_cannot_go_in_yet_says_why_and_is_kept(teacher, parts):
    place = place_of(parts)
    answer = sent(teacher, place, then="add", notes="windy")
    assert answer.headers["location"] == place
    assert "There is neither a recording nor a result yet." in teacher.get(place).text
    assert sent(teacher, place, then="add", protocol="grip").headers["location"] == place
    assert "There is neither a recording nor a result yet." in teacher.get(place).text
    assert draft(parts).texts == {"notes": "windy", "protocol": "grip"}


def test_a_day_in_the_future_and_a_stranger_are_refused(teacher, parts):
    assert sent(teacher, place_of(parts), on="2027-01-01").status_code == 422
    assert teacher.get(f"/day/{DAY}/row/{'0' * 16}/1").status_code == 404
    assert draft(parts) is None


def test_answers_of_the_rows_own_screen_lead_back_to_it(teacher, parts):
    teacher.post(f"/day/{DAY}/class", data={"do": "add", "codes": "TH-36 S6", "protocol": ""})
    dropped(teacher, "S6.fit")
    place = place_of(parts, "TH-36")
    text = teacher.get(place).text
    mark = re.findall(r'name="mark" value="([^"]+)"', text)[0]
    data = {"row": "TH-36 1", "mark": mark, "place": "0", "back": "row"}
    assert teacher.post(f"/day/{DAY}/answer", data=data).headers["location"] == place
    assert teacher.post(f"/day/{DAY}/answer", data=data).headers["location"] == f"/day/{DAY}"


def test_it_speaks_spanish(teacher, parts, recorded):
    teacher.post("/language", data={"language": "es"})
    assert "Guardar y añadir al cuaderno" in teacher.get(recorded).text
