"""The page of recordings in no logbook, what figures rest on, and where the formulas come from."""

from ownmark.metrics import Asked, Figure, Phases, choose_basis, effort
from ownmark.metrics.messages.heart_rate import note_above
from ownmark.reports.page import Heading, Listing, Paragraph, Table
from ownmark.reports.render.text import to_text
from ownmark.reports.sheets.basis_rows import basis_rows
from ownmark.reports.sheets.effort_sheet import effort_of_files, sources
from ownmark.reports.words import Words
from ownmark.words.message import Message

from tests.makers.recordings import every_second
from tests.makers.sheets import altered

from .. import pages_made as made
from ..sheets_made import changed

EN, ES = Words("en", terminal=True), Words("es", terminal=True)


def given(name, source="kept"):
    return Figure(name=name, value=1.0, unit="1", source=source)


def whole(**basis):
    return effort(every_second([100.0] * 600), choose_basis(**basis), Phases(work=(60.0, 600.0)))


def table(page, caption):
    return next(each for each in page.blocks if isinstance(each, Table) and each.caption == caption)


def named(sheet, *files, start=None):
    """The sheet as if read from these files."""
    made_from = [{"path": each, "sha256": "ab" * 32, "format": "FIT", "reader": "fit"} for each in files]
    return altered(sheet, lambda page: page["provenance"].update(files=made_from, start=start))


def test_it_is_named_by_its_files_without_their_folders_and_by_its_day():
    sheet = named(whole(rest_bpm=70), "/home/someone/strap.fit", "frame.csv", start="2026-05-12T09:00:00-06:00")
    page = effort_of_files(sheet, EN)
    assert (page.title, page.subtitle) == ("Effort sheet", "strap.fit, frame.csv · May 12, 2026")
    assert page.footer[0] == f"Recorded in strap.fit (FIT, SHA-256 {'ab' * 32}); frame.csv (FIT, SHA-256 {'ab' * 32})."
    assert page.running == "Effort sheet"
    assert table(page, "How it was done").rows[0] == ("Start of the recording", "May 12, 2026, 09:00:00 (UTC−06:00)")
    assert effort_of_files(named(sheet, "strap.fit"), EN).subtitle == "strap.fit"


def test_the_answer_stands_above_how_it_was_done_and_that_above_all_figures():
    page = effort_of_files(whole(rest_bpm=70), EN)
    heads = [each.text for each in page.blocks if isinstance(each, Heading) and each.level == 2]
    assert heads[:4] == ["In short", "How it was done", "Figures", "Not given"]
    assert heads[-1] == "Cautions"
    assert isinstance(page.blocks[1], Table)
    assert isinstance(page.blocks[2], Paragraph)
    assert page.blocks[2].kind == "lead"


def test_the_foot_speaks_of_no_logbook():
    foot = " ".join(effort_of_files(whole(rest_bpm=70), EN).footer)
    assert "logbook" not in foot
    assert "The JSON of this sheet holds every digit." in foot
    assert foot.endswith("Made by ownmark 0.1.0.")


def test_conditions_are_named_in_words_and_options_only_on_the_terminal():
    sheet = whole(rest_bpm=70, age_years=15, conditions=["pacemaker", "shunt"])
    rows = table(effort_of_files(sheet, EN), "How it was done").rows
    assert rows[-1] == ("Conditions", "pacemaker; shunt")
    bare = whole()
    assert "--rest" in to_text(effort_of_files(bare, EN))
    assert " --" not in to_text(effort_of_files(bare, Words("en")))
    assert to_text(effort_of_files(sheet, ES)).startswith("Hoja de esfuerzo\n")


def test_phases_say_how_they_were_decided_and_a_missing_rate_has_no_row():
    rows = dict(basis_rows(whole(), EN, family=False))
    assert rows == {"phases": "work 1:00 to 10:00 (as given)"}
    rows = dict(basis_rows(whole(rest_bpm=70.25, measured_max_bpm=188), EN, family=False))
    assert rows["rest behind the figures"] == "70.3 /min (entered)"
    assert rows["maximum behind the figures"] == "188.0 /min (measured)"


def test_a_predicted_maximum_tells_its_error_and_a_family_reads_units_in_words():
    sheet = whole(rest_bpm=70, age_years=15)
    error = sheet.provenance.basis.maximum_see_bpm
    rows = dict(basis_rows(sheet, EN, family=False))
    assert f"about two students in three lie within {error:g} /min of it" in rows["maximum behind the figures"]
    rows = dict(basis_rows(sheet, EN, family=True))
    assert rows["rest behind the figures"].startswith("70.0 beats a minute")
    assert "/min" not in rows["maximum behind the figures"]


def test_where_it_cannot_be_said_how_the_number_alone_stands():
    untold = Message.english("as the wind blew").to_json()
    sheet = whole(rest_bpm=70)
    basis = {**sheet.provenance.basis.model_dump(mode="json"), "rest_from": untold}
    phases = {**sheet.provenance.phases.model_dump(mode="json"), "decided": untold}
    rows = dict(basis_rows(changed(sheet, basis=basis, phases=phases), ES, family=False))
    assert list(rows.values()) == ["ejercicio de 1:00 a 10:00", "70,0 /min"]


def test_each_source_stands_once_with_its_figures_and_common_practice_last():
    found = {name: given(name) for name in ("heart_rate_mean", "reserve_mean", "reserve_peak", "cost_index")}
    assert sources(found, EN) == (
        "Karvonen 1957: mean share of the reserve and peak share of the reserve; MacGregor 1981, Butler 1984: cost "
        "index (rise over rest for each meter); common practice: all others"
    )
    assert sources({"heart_rate_mean": given("heart_rate_mean")}, EN) == "common practice: all figures"
    assert sources({}, EN) == ""
    missing = Figure(name="reserve_mean", value=None, unit="%", source="kept")
    assert sources({"reserve_mean": missing}, EN) == ""
    assert sources({"reserve_mean": given("reserve_mean")}, EN) == "Karvonen 1957: mean share of the reserve"


def test_all_classes_are_named_together_and_some_by_themselves():
    zones = ("time_very_light", "time_light", "time_moderate", "time_vigorous", "time_near_maximal")
    named_together = sources({name: given(name) for name in zones}, EN)
    assert named_together.endswith("consensus statement: time in the classes of effort")
    assert sources({name: given(name) for name in zones[:2]}, EN).endswith(": very light effort and light effort")


def test_a_figure_that_the_vocabulary_does_not_know_keeps_its_own_source():
    assert sources({"old_index": given("old_index", "Somebody 1970")}, EN) == "Somebody 1970: old index"


def test_flagged_samples_stand_with_what_the_rule_finds():
    sheet = altered(whole(rest_bpm=70), lambda page: page.update(flags={"heart_rate": {"too_fast": 2, "varying": 1}}))
    for words, told in (
        (EN, "Samples of heart rate marked “too fast”: 2 (an excursion of under 15 s by steps no heart can make"),
        (ES, "Muestras de frecuencia cardíaca con la marca «demasiado rápida»: 2 (una salida de menos de 15 s"),
    ):
        blocks = effort_of_files(sheet, words).blocks
        items = [item for each in blocks if isinstance(each, Listing) for item in each.items]
        assert sum(item.startswith(told) for item in items) == 1


def test_a_trial_by_hand_alone_begins_with_the_results_of_its_primary_measure():
    page = made.every_page()["effort by hand"]
    assert page.blocks[0] == Heading("In short")
    assert page.blocks[1].rows == (("Forward reach, left", "21 cm"), ("Forward reach, right", "24 cm"))


def test_a_note_that_is_the_same_as_the_row_above_is_said_once():
    sheet = effort(every_second([100.0] * 600), choose_basis(), Phases(work=(60.0, 600.0)), Asked(ceiling_bpm=130.0))
    rows = table(effort_of_files(sheet, EN), "The ceiling").rows
    notes = [row[-1] for row in rows]
    assert notes[0].startswith("above 130 /min")
    assert notes[1] == "as above"
    assert sum(note == notes[0] for note in notes) == 1


def test_as_above_is_said_of_the_same_message_and_not_of_one_that_reads_the_same():
    sheet = effort(every_second([100.0] * 600), choose_basis(), Phases(work=(60.0, 600.0)), Asked(ceiling_bpm=130.0))
    names = ("time_above_ceiling", "longest_above_ceiling")
    notes = [note_above(130.0, percent) for percent in (98.2, 98.3)]
    assert EN.message(notes[0]) == EN.message(notes[1])
    told = {}
    for which in ((0, 1), (1, 1)):
        pairs = zip(names, which, strict=True)
        mine = {name: sheet.figures[name].model_copy(update={"notes": (notes[one],)}) for name, one in pairs}
        page = effort_of_files(sheet.model_copy(update={"figures": {**sheet.figures, **mine}}), EN)
        told[which] = [row[-1] for row in table(page, "The ceiling").rows[:2]]
    assert told[0, 1] == [EN.message(notes[0])] * 2
    assert told[1, 1] == [EN.message(notes[1]), "as above"]
