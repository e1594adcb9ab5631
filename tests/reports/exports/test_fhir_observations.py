"""HL7 FHIR R4: valid by an independent library, with codes that exist, and equal to the logbook's figures."""

import csv
import json
from decimal import Decimal
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.observation import Observation
from ownmark.records.protocol import HandMeasure
from ownmark.reports.exports import export
from ownmark.reports.exports.fhir_codes import ucum
from ownmark.words.render import english
from ownmark.words.vocabulary import CEILING_FIGURES, FIGURES

ABSENT_CODES = {
    *("unknown", "asked-unknown", "temp-unknown", "not-asked", "asked-declined", "masked", "not-applicable"),
    *("unsupported", "as-text", "error", "not-a-number", "negative-infinity", "positive-infinity", "not-performed"),
    "not-permitted",
}
"""R4's code system data-absent-reason, from memory."""


@pytest.fixture(scope="module")
def lines(filled, tmp_path_factory):
    """Every line of an export, and the trials."""
    logbook, trials = filled
    path = tmp_path_factory.mktemp("fhir") / "d.ndjson"
    export(logbook, "fhir", path)
    return path.read_text(encoding="utf-8").splitlines(), trials


@pytest.fixture(scope="module")
def observations(lines):
    """Each line as the library reads it; it refuses what R4 does not allow."""
    return {each.id: each for each in map(Observation.model_validate_json, lines[0])}


def own(concept):
    """Our own code of a concept, by its system's last part."""
    found = [each for each in concept.coding if each.system.startswith("urn:ownmark:")]
    assert len(found) == 1
    return found[0].system.rpartition(":")[2], found[0].code


def parts(observation):
    """Components by code."""
    return {own(each.code)[1]: each for each in observation.component or ()}


def exactly(quantity):
    """A decimal of the library as the float that was written."""
    return None if quantity is None else float(Decimal(quantity.value))


def test_every_line_is_a_valid_r4_observation_and_ids_are_not_used_twice(lines, observations):
    assert len(observations) == len(lines[0])
    assert {each.status for each in observations.values()} == {"final"}
    assert all(each.code.coding for each in observations.values())
    entries = [
        {"fullUrl": f"urn:ownmark:observation:{n}", "resource": json.loads(one)} for n, one in enumerate(lines[0])
    ]
    Bundle.model_validate({"resourceType": "Bundle", "type": "collection", "entry": entries})


def test_the_library_refuses_what_r4_does_not_allow(lines):
    page = json.loads(lines[0][0])
    for spoiled in (
        {"status": None},
        {"valueQuantity": {"value": "many"}},
        {"valueString": "two values"},
        {"effectiveDateTime": "2026-10-06T09:00:00"},
        {"surprise": 1},
    ):
        with pytest.raises(ValueError, match="validation error"):
            Observation.model_validate({**page, **spoiled})


def test_every_figure_reads_back_equal_with_its_bounds(lines, observations):
    count = 0
    for trial in lines[1]:
        for name, figure in (trial.sheet.figures if trial.sheet else {}).items():
            found = observations[f"t{trial.id}-{name.replace('_', '-')}"]
            count += 1
            assert own(found.code) == ("figure", name)
            assert exactly(found.valueQuantity) == figure.value
            bounds = parts(found)
            for part in ("low", "high", "coverage"):
                assert (exactly(bounds[part].valueQuantity) if part in bounds else None) == getattr(figure, part)
            assert found.method.text == figure.source
            assert found.subject.identifier.value == trial.code
            assert found.subject.reference is None
            assert found.subject.display is None
    assert count == len(FIGURES) * (len(lines[1]) - 1)


def test_a_figure_without_value_says_why_in_code_and_words(lines, observations):
    trial = lines[1][0]
    for name, figure in trial.sheet.figures.items():
        found = observations[f"t{trial.id}-{name.replace('_', '-')}"]
        assert (found.dataAbsentReason is None) == (found.valueQuantity is not None)  # R4, invariant obs-6
        if figure.value is None:
            assert found.dataAbsentReason.text == figure.note
            assert found.dataAbsentReason.coding[0].code in ABSENT_CODES
    assert observations[f"t{trial.id}-moving-time"].dataAbsentReason.coding[0].code == "not-performed"


def test_hand_results_read_back_equal_with_side_attempt_and_unit(lines, observations):
    trial = next(each for each in lines[1] if each.hand_results)
    for number, one in enumerate(trial.hand_results, start=1):
        found = observations[f"t{trial.id}-hand-{number}"]
        assert own(found.code) == ("hand-measure", one.name)
        assert exactly(found.valueQuantity) == one.value
        assert (found.bodySite.text if found.bodySite else None) == one.side
        assert parts(found)["attempt"].valueInteger == one.attempt
        assert found.valueQuantity.code == {"reach": "cm", "lengths": "{lengths}"}[one.name]


def test_a_trial_holds_its_observations_together_with_all_cautions(lines, observations):
    for trial in lines[1]:
        found = observations[f"t{trial.id}"]
        members = {each.reference.removeprefix("Observation/") for each in found.hasMember}
        assert members == {each for each in observations if each.startswith(f"t{trial.id}-")}
        told = {note.text for note in found.note or ()}
        assert set(map(english, trial.sheet.cautions if trial.sheet else ())) <= told
        if trial.practice:
            assert any("practice trial" in text for text in told)


def test_a_caution_that_concerns_the_student_stands_on_each_figure(lines, observations):
    trial = lines[1][0]
    told = {note.text for note in observations[f"t{trial.id}-heart-rate-mean"].note}
    assert "Shunt: no blows to the head." in told


def test_the_mean_has_the_loinc_codes_of_a_measured_mean_and_of_the_physical_activity_guide_and_the_peak_none(
    lines, observations
):
    # Sources: LOINC 2.82, 103205-1, component Heart rate.mean, method Measured (value set heart-rate-loinc of the
    # Fiji/Pacific Core guide 0.2.1); HL7 US Physical Activity guide 1.0.0, example ExampleActivityMeanHR: 55425-3,
    # category activity, /min.
    number = lines[1][0].id
    mean, peak = observations[f"t{number}-heart-rate-mean"], observations[f"t{number}-heart-rate-peak"]
    loinc = [each for each in mean.code.coding if each.system == "http://loinc.org"]
    assert [(each.code, each.display) for each in loinc] == [
        ("103205-1", "Mean heart rate"),
        ("55425-3", "Heart rate unspecified time mean by Pedometer"),
    ]
    assert mean.valueQuantity.code == "/min"
    assert mean.category[0].coding[0].code == "activity"
    assert all(each.system != "http://loinc.org" for each in peak.code.coding)


def test_a_rest_that_was_measured_in_the_trial_has_its_loinc_code_and_one_that_was_entered_is_left_out(
    lines, observations
):
    # Source: value set pa-observation-code-time of the same guide: 40443-4, Heart rate --resting.
    measured, entered = lines[1][1], lines[1][0]
    rest = observations[f"t{measured.id}-rest"]
    assert rest.code.coding[0].code == "40443-4"
    assert exactly(rest.valueQuantity) == measured.sheet.provenance.basis.rest_bpm
    assert f"t{entered.id}-rest" not in observations


def test_the_span_of_the_work_is_told_only_with_an_offset_from_utc(lines, observations):
    # R4, data type dateTime: with hours and minutes, a time zone shall be given.
    with_zone, without = lines[1][1], lines[1][0]
    period = observations[f"t{with_zone.id}-heart-rate-mean"].effectivePeriod
    assert period.start.isoformat() == "2026-10-06T09:01:00.250000-06:00"
    assert (period.end - period.start).total_seconds() == 440
    assert observations[f"t{without.id}-heart-rate-mean"].effectiveDateTime.isoformat() == "2026-10-06"
    for name in ("recovery-60s", *(each.replace("_", "-") for each in CEILING_FIGURES)):  # not of the work alone
        assert observations[f"t{with_zone.id}-{name}"].effectiveDateTime.isoformat() == "2026-10-06"


def test_a_figure_names_the_kind_of_its_own_sensor_only(lines, observations):
    trial = lines[1][0]
    assert observations[f"t{trial.id}-heart-rate-mean"].device.display == "chest heart-rate sensor"
    moving = next(each for each in lines[1] if each.sheet and each.sheet.provenance.movement)
    assert observations[f"t{moving.id}-moving-time"].device.display == "sensor on the frame"
    assert moving.sheet.figures["moving_time"].note in {
        note.text for note in observations[f"t{moving.id}-moving-time"].note
    }


def test_nothing_that_was_typed_as_a_note_leaves_by_fhir(lines):
    whole = "\n".join(lines[0])
    for typed in ("cmd|", "שלום", "strap slipped", "already quoted"):
        assert typed not in whole


@cache
def ucum_atoms():
    """Units of UCUM's own table, as a package carries it: the codes, and those that take a prefix."""
    import defusedxml.ElementTree as Xml

    root = Xml.parse(Path(find_spec("ucumvert").submodule_search_locations[0]) / "vendor" / "ucum-essence.xml")
    name = "{http://unitsofmeasure.org/ucum-essence}"
    atoms = {each.get("Code"): each.get("isMetric") == "yes" for each in root.iter(f"{name}unit")}
    atoms |= {each.get("Code"): True for each in root.iter(f"{name}base-unit")}
    return atoms, {each.get("Code") for each in root.iter(f"{name}prefix")}


def is_ucum(code):
    """Whether a code is one of UCUM's units, perhaps with a prefix, over another one or with an annotation."""
    atoms, prefixes = ucum_atoms()

    def term(text):
        if text in ("", "1") or text in atoms or (text.startswith("{") and text.endswith("}")):
            return True
        return any(text.startswith(each) and atoms.get(text[len(each) :], False) for each in prefixes)

    return all(term(each) for each in code.split("/"))


def test_every_unit_is_a_ucum_code():
    # Source: the table ucum-essence.xml of the UCUM organisation.
    units = {entry.unit for entry in FIGURES.values()} | {"%", "cm", "m", "s", "kg", "min", "degrees", "lb", "in"}
    assert all(is_ucum(ucum(unit)) for unit in units)
    assert not is_ucum("beats")
    assert not is_ucum("rpm")
    assert ucum("mg") == "m[g]"  # thousandths of standard gravity; mg is milligram
    assert ucum("gates") == "{gates}"
    assert ucum("two words") is None


def test_every_unit_of_the_catalogue_has_a_ucum_code():
    from ownmark.records.catalogue import catalogue

    measures = [measure for entry in catalogue().values() for measure in entry.hand_measures]
    assert all(isinstance(each, HandMeasure) and is_ucum(ucum(each.unit)) for each in measures)
    assert len(measures) > 5


def test_the_csv_names_the_same_units(filled, tmp_path):
    logbook, _ = filled
    export(logbook, "csv", tmp_path / "d.csv")
    with (tmp_path / "d-columns.csv").open(newline="", encoding="utf-8") as file:
        rows = {row["column"]: row for row in csv.DictReader(file) if row["table"] == "trials"}
    assert {name: rows[name]["unit"] for name in FIGURES} == {name: entry.unit for name, entry in FIGURES.items()}
