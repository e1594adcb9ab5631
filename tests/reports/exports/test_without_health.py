"""An export names no condition, and nothing from which one could be read, unless it is asked to."""

import json
import zipfile
from datetime import date

import pyarrow.parquet as pq
import pytest
from ownmark.cli.main import main
from ownmark.errors import UsageError
from ownmark.metrics import choose_basis, effort
from ownmark.metrics.conditions import CONDITIONS, GENERAL_CAUTIONS
from ownmark.metrics.figure import as_messages
from ownmark.metrics.messages.heart_rate import BASIS_MAXIMUM_EQUATION, WHY_HEALTH
from ownmark.metrics.phases import Phases
from ownmark.records import open_logbook
from ownmark.records.student import Student
from ownmark.reports.exports import export
from ownmark.reports.exports.plans import write_plans
from ownmark.reports.exports.run import refuse_other_end
from ownmark.reports.exports.without_health import tells_health, without_health
from ownmark.reports.render.html import to_html
from ownmark.reports.sheets.district_table import district_table
from ownmark.reports.sheets.many_students import district_rows
from ownmark.reports.words import Words as PageWords
from ownmark.words.message import Message, Quoted
from ownmark.words.render import Words, english

from tests.makers.recordings import every_second
from tests.records.store import made

WORK = Phases(work=(60, 500), recovery=(500, 590))
HEART = every_second([100 + second % 7 for second in range(600)])


def sheet(*conditions, **more):
    return effort(HEART, choose_basis(rest_bpm=72, conditions=conditions, **more), WORK)


def every_text(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from every_text(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from every_text(each)


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_no_condition_and_no_word_of_it_is_left(name):
    plain = without_health(sheet(name, age_years=15))
    told = list(every_text(json.loads(plain.to_json())))
    own = {english(each) for each in as_messages((*CONDITIONS[name].cautions,))} - set(map(english, GENERAL_CAUTIONS))
    words = Words("en").get(f"condition.{name}").lower()
    for text in told:
        assert name not in text
        assert words not in text.lower(), text
        assert text not in own, text
    assert plain.provenance.basis.conditions == ()


def test_numbers_stay_and_a_figure_that_is_not_given_has_a_reason_that_names_nothing():
    before = sheet("pacemaker", age_years=15)
    after = without_health(before)
    assert {name: (each.value, each.low, each.high) for name, each in after.figures.items()} == {
        name: (each.value, each.low, each.high) for name, each in before.figures.items()
    }
    assert after.figures["reserve_mean"].reason == WHY_HEALTH
    assert after.figures["time_on_target"].reason == before.figures["time_on_target"].reason  # nobody's health
    assert set(after.cautions) <= set(as_messages(GENERAL_CAUTIONS))


def test_an_equation_for_one_diagnosis_tells_of_it():
    before = sheet("intellectual-disability", age_years=15, equation="fernhall-id")
    assert "fernhall" in before.to_json().lower()
    after = without_health(before)
    assert "fernhall" not in after.to_json().lower()
    assert after.provenance.basis.maximum_from == BASIS_MAXIMUM_EQUATION
    assert after.provenance.basis.maximum_bpm == before.provenance.basis.maximum_bpm


def test_a_sheet_without_a_condition_is_as_it_was():
    before = sheet(age_years=15)
    assert without_health(before) is before


def test_what_tells_of_health_and_what_does_not():
    assert tells_health(Message.of("why.no_reserve", condition="pacemaker", reason=Message("reason.pacemaker")))
    assert tells_health(Message.of("note.x", parts=(Message("reason.muscle"),)))
    assert tells_health(Message.english("Not given: pacemaker."))  # a sentence of an older sheet may name one
    assert not tells_health(Message.of("why.too_little", percent=61.2, needed=80))
    assert not tells_health(Message.of("note.x", file=Quoted("pacemaker")))


@pytest.mark.parametrize("form", ["csv", "json", "fhir"])
@pytest.mark.parametrize("with_health", [False, True])
def test_every_form_keeps_it_out_unless_it_is_asked_for(tmp_path, form, with_health):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        logbook.add_protocol(made.protocol())
        logbook.add_student(Student(code="TH-11", conditions=("pacemaker",)))
        logbook.add_trial(made.trial(sheet=sheet("pacemaker", age_years=15)), [("a.csv", made.recording())])
        path = tmp_path / {"csv": "d.csv", "json": "d.json", "fhir": "d.ndjson"}[form]
        export(logbook, form, path, with_health=with_health)
    assert ("pacemaker" in path.read_text().lower()) is with_health


@pytest.mark.parametrize(("form", "name"), [("xlsx", "d.csv"), ("csv", "d.XLSX"), ("json", "d.ndjson")])
def test_a_name_that_ends_like_another_form_is_refused(tmp_path, form, name):
    with pytest.raises(UsageError, match="ends like a file of the form"):
        refuse_other_end(form, tmp_path / name)


@pytest.mark.parametrize(("form", "name"), [("xlsx", "d.xlsx"), ("csv", "d"), ("all", "d.csv"), ("fhir", "d.txt")])
def test_any_other_name_will_do(tmp_path, form, name):
    refuse_other_end(form, tmp_path / name)


SECRETS = ("pacemaker", "marcapasos", "propranolol", "seizure", "syncope", "beta-blocker")
"""Of the student below: a diagnosis, a medicine, the health of a day, and what was written of them in other places."""


@pytest.fixture(scope="module")
def of_one_with_much_to_hide(tmp_path_factory):
    """A logbook of a pair of trials whose medicines, health and conditions differ."""
    folder = tmp_path_factory.mktemp("hidden")
    with open_logbook(folder / "logbook.db") as logbook:
        logbook.add_protocol(made.protocol(primary_figure="reserve_mean"))
        logbook.add_student(Student(code="TH-11", conditions=("pacemaker",), notes="syncope in 2024"))
        days = (
            (date(2026, 5, 12), (), "none"),
            (date(2026, 10, 6), ("pacemaker", "beta-blocker"), "propranolol 10 mg"),
        )
        for day, conditions, medicines in days:
            one = made.trial(on=day, sheet=sheet(*conditions, age_years=15), medicines=medicines, health="a seizure")
            logbook.add_trial(one)
        yield logbook, folder


def written_by(logbook, folder, with_health):
    """Every byte of every export, unpacked, and of the pages for many students, by name."""
    folder = folder / f"{with_health}"
    folder.mkdir()
    export(logbook, "all", folder / "d", change=True, with_health=with_health)
    for language in ("en", "es"):
        write_plans(logbook, folder / f"plan-{language}.txt", language=language, with_health=with_health)
    for language in ("en", "es"):
        words = PageWords(language)
        page = district_table(district_rows(logbook), words)
        (folder / f"district-{language}.html").write_bytes(to_html(page))
    found = {path.name: path.read_bytes() for path in folder.iterdir()}
    with zipfile.ZipFile(folder / "d.xlsx") as book:
        found |= {f"d.xlsx/{name}": book.read(name) for name in book.namelist()}
    rows = [pq.read_table(path).to_pylist() for path in folder.glob("*.parquet")]
    return found | {"d.parquet, read": json.dumps(rows, default=str).encode()}


def test_no_export_and_no_page_for_many_holds_diagnosis_medicine_or_caution_of_a_student(of_one_with_much_to_hide):
    logbook, folder = of_one_with_much_to_hide
    found = written_by(logbook, folder, with_health=False)
    assert len(found) > 12
    own = [english(each) for each in sheet("pacemaker", "beta-blocker", age_years=15).cautions]
    own = [each for each in own if each not in set(map(english, GENERAL_CAUTIONS))]
    assert own
    for name, data in found.items():
        text = data.decode("utf-8", "replace").casefold()
        for secret in (*SECRETS, *own):
            assert secret.casefold() not in text, (name, secret)


def test_each_export_holds_them_where_they_were_asked_for(of_one_with_much_to_hide):
    logbook, folder = of_one_with_much_to_hide
    found = written_by(logbook, folder, with_health=True)
    for name in ("d.csv", "d.json", "d.ndjson", "d.parquet, read", "plan-en.txt"):
        assert "pacemaker" in found[name].decode("utf-8", "replace").casefold(), name


def test_the_index_of_a_class_holds_nothing_of_health(of_one_with_much_to_hide, capsys):
    logbook, folder = of_one_with_much_to_hide
    for kind in ("change", "sheet"):
        main([kind, "--class", "--html", "--out", str(folder / "class"), "--logbook", logbook.place.shown])
    capsys.readouterr()
    pages = list((folder / "class").glob("index-*.html"))
    assert len(pages) == 2
    for path in pages:
        text = path.read_text(encoding="utf-8").casefold()
        assert not [each for each in SECRETS if each in text]
