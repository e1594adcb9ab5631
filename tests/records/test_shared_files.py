"""One recording, several trials: nothing outside a student's own span is in that student's record."""

import gzip
import hashlib
import json
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from ownmark.errors import NotATrial
from ownmark.ingest.formats import parse
from ownmark.ingest.recording import Source
from ownmark.records import Trial, disclose, forget, open_logbook, restore
from ownmark.records.adding import keep
from ownmark.records.entry import trial_of
from ownmark.records.recompute import recompute
from ownmark.records.student import Ceiling
from ownmark.records.trial_span import LONG_S, free_between

from tests.records.store import made

OLDER = Path(__file__).with_name("store") / "v0001"
WALK = np.arange(900) * 7 // 3 % 5 - 2
FIRST = np.r_[np.full(300, 71), np.full(420, 127), np.full(180, 83)] + WALK
SECOND = np.r_[np.full(300, 93), np.full(420, 171), np.full(180, 111)] + WALK
"""Rest 5 min, work 7 min, recovery 3 min; no rate of the one is a rate of the other."""
PHASES = {"rest_phase": "00:30-05:00", "work": "05:00-12:00", "recovery": "12:00-14:30"}
BEHIND = {"rest_phase": "15:30-20:00", "work": "20:00-27:00", "recovery": "27:00-29:30"}


def written(folder, name, *hearts):
    rows = "".join(f"{second},{bpm}\n" for second, bpm in enumerate(np.concatenate(hearts)))
    path = folder / name
    path.write_text(f"time_s,heart_rate\n{rows}")
    return path


@pytest.fixture
def school(logbook):
    logbook.add_protocol(made.protocol())
    for code in ("TH-11", "BF-07"):
        logbook.add_student(
            made.student(code, ceilings=(Ceiling(bpm=145, set_by="therapist", set_on=date(2026, 9, 1)),))
        )
    return logbook


def added(logbook, code, path, **more):
    fields = {"code": code, "protocol": "slalom-gym", "protocol_version": 1, "on": date(2026, 10, 6)}
    return keep(logbook, Trial(**{**fields, **more}), [path])


def hearts(logbook, code):
    """Every heart rate that the logbook holds for a student."""
    found = [
        parse(logbook.original(file.sha256), Source(file.path))["heart_rate"].values
        for trial in logbook.trials(code)
        for file in trial.files
    ]
    return set(np.concatenate(found)) if found else set()


def test_two_students_of_one_strap_keep_each_their_own_heart(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    first, second = added(school, "TH-11", strap, **PHASES), added(school, "BF-07", strap, **BEHIND)
    assert hearts(school, "TH-11") == set(FIRST)
    assert hearts(school, "BF-07") == set(SECOND)
    assert first.remark is None
    assert second.shared == ((first.trial.id, "TH-11"),)
    sheets = {trial.code: trial.sheet for trial in school.trials()}
    above = {code: sheet.figures["time_above_ceiling"].value for code, sheet in sheets.items()}
    assert above == {"TH-11": 0.0, "BF-07": 420.0}
    # Half way between the end of the first one's recovery (14:30) and the second one's rest (15:30) is 15:00.
    assert sheets["TH-11"].provenance.span[1] == sheets["BF-07"].provenance.span[0] == 900.0
    assert not any(each.changed or each.refused for each in recompute(school))  # the excerpts give the same sheets


def test_the_order_in_which_they_come_decides_nothing(school, tmp_path, another_place):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    with open_logbook(another_place) as other:
        for each in (school, other):
            if each is other:
                other.add_protocol(made.protocol())
                for code in ("TH-11", "BF-07"):
                    other.add_student(school.student(code))
        added(school, "TH-11", strap, **PHASES), added(school, "BF-07", strap, **BEHIND)
        added(other, "BF-07", strap, **BEHIND), added(other, "TH-11", strap, **PHASES)
        one = {trial.code: (trial.files, trial.sheet) for trial in school.trials()}
        two = {trial.code: (trial.files, trial.sheet) for trial in other.trials()}
    assert one == two


def test_forgetting_one_leaves_nothing_of_that_heart(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    whole = strap.read_bytes()
    added(school, "TH-11", strap, **PHASES), added(school, "BF-07", strap, **BEHIND)
    done = forget(school, "TH-11")
    assert (len(done.files), done.shared) == (1, ())
    assert hearts(school, "BF-07") == set(SECOND)
    written_out = disclose(school, "BF-07", tmp_path / "record")
    assert any(each.name.endswith(".excerpt") for each in written_out)
    for each in written_out:
        if each.suffix == ".excerpt":
            assert set(parse(each.read_bytes(), Source("x"))["heart_rate"].values) == set(SECOND)
    assert school.count()["originals"] == 1
    with school.reading() as connection:
        held = [row[0] for row in connection.exec_driver_sql("SELECT sha256 FROM originals")]
    assert hashlib.sha256(whole).hexdigest() not in held


def test_after_forgetting_no_byte_of_that_heart_is_in_the_file(tmp_path):
    # A mark that no other part of the file holds: a heart rate of 3 decimals, in any type it could be kept in.
    mark = FIRST + 0.0001220703125 * (np.arange(900) % 2)
    strap = written(tmp_path, "strap-1.csv", mark, SECOND)
    place = tmp_path / "logbook.db"
    with open_logbook(place) as school:
        school.add_protocol(made.protocol())
        for code in ("TH-11", "BF-07"):
            school.add_student(made.student(code))
        added(school, "TH-11", strap, **PHASES), added(school, "BF-07", strap, **BEHIND)
        first = [school.original(file.sha256) for file in school.trial(1).files]
        with school.reading() as connection:
            packed = [bytes(row[0]) for row in connection.exec_driver_sql("SELECT data FROM originals").all()]
        forget(school, "TH-11")
    left = place.read_bytes()
    (gone,) = [data for data in packed if data not in left]
    assert len(packed) == 2
    assert all(gone[place : place + 24] not in left for place in range(64, len(gone) - 24, 24))
    assert b"TH-11" not in left
    assert first[0][200:240] not in left


def test_a_file_of_a_school_day_is_kept_as_the_minutes_of_the_trial(school, tmp_path):
    recess = np.full(3600, 168) + np.resize(WALK, 3600)
    watch = written(tmp_path, "watch.csv", recess, FIRST, recess)
    kept = added(school, "TH-11", watch, rest_phase="60:30-65:00", work="65:00-72:00")
    (file,) = kept.trial.files
    assert file.part_s == (3510.0, 4440.0)  # two minutes before 60:30 and behind 72:00
    assert file.recording == hashlib.sha256(watch.read_bytes()).hexdigest()
    assert file.size < len(watch.read_bytes()) / 10
    figures = kept.sheet.figures
    assert figures["heart_rate_mean"].value == pytest.approx(FIRST[300:720].mean(), abs=0.01)
    assert figures["time_above_ceiling"].value == 90.0  # of recess, what lies in the margin before
    assert kept.sheet.provenance.span == (3510.0, 4440.0)


@pytest.mark.parametrize(("margin", "span"), [("0", (3630.0, 4320.0)), ("45.5", (3584.5, 4365.5))])
def test_the_margin_can_be_set(school, tmp_path, margin, span):
    recess = np.full(3600, 168) + np.resize(WALK, 3600)
    watch = written(tmp_path, "watch.csv", recess, FIRST, recess)
    texts = {"code": "TH-11", "rest": "60:30-65:00", "work": "65:00-72:00", "margin": margin}
    trial = trial_of(texts, made.protocol(), today=date(2026, 10, 6))
    (file,) = keep(school, trial, [watch]).trial.files
    assert file.part_s == span


@pytest.mark.parametrize(("more", "whole"), [(int(LONG_S) - 121, True), (int(LONG_S) + 1, False)])
def test_a_file_that_holds_the_trial_and_little_else_is_kept_byte_for_byte(school, tmp_path, more, whole):
    late = np.full(more, 88) + np.resize(WALK, more)
    path = written(tmp_path, "strap.csv", FIRST[:720], FIRST[720:840], late)
    kept = added(school, "TH-11", path, rest_phase="00:00-05:00", work="05:00-12:00")
    (file,) = kept.trial.files
    assert (school.original(file.sha256) == path.read_bytes()) is whole
    assert (file.part_s is None) is whole
    assert kept.sheet.provenance.span == (0.0, 840.0)  # what is seen of it is the span, kept whole or not


def test_one_strap_cannot_be_on_two_students_at_once(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    added(school, "TH-11", strap, **PHASES)
    before = school.count()
    with pytest.raises(NotATrial, match="the same minutes"):
        added(school, "BF-07", strap, work="06:00-11:00")
    assert school.count() == before


def test_the_minutes_of_two_students_are_told_by_the_school_s_clock_and_in_seconds(school, tmp_path):
    seconds = np.concatenate((FIRST, SECOND))
    at = datetime.fromisoformat("2026-10-06T15:00:00+00:00")
    rows = "".join(f"{(at + timedelta(seconds=n)).isoformat()},{bpm}\n" for n, bpm in enumerate(seconds))
    strap = tmp_path / "strap-1.csv"
    strap.write_text(f"time,heart_rate\n{rows}")
    added(school, "TH-11", strap, **PHASES, zone="America/Denver")
    with pytest.raises(NotATrial) as refusal:
        added(school, "BF-07", strap, work="@9:06-@9:11", zone="America/Denver")
    assert refusal.value.what == (
        "another student's trial is written down for the same minutes of the same file: this one takes "
        "09:06:00 to 09:11:00 (360 s to 660 s from its start), the other one 09:00:30 to 09:14:30 "
        "(30 s to 870 s from its start)."
    )


def test_a_trial_that_takes_a_whole_file_leaves_no_room_for_another(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    added(school, "TH-11", strap)
    with pytest.raises(NotATrial, match="trial 1 of TH-11 takes all of it"):
        added(school, "BF-07", strap, **BEHIND)


def test_a_trial_without_phases_cannot_take_what_another_has(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    added(school, "TH-11", strap, **PHASES)
    with pytest.raises(NotATrial, match="this trial of BF-07 takes all of it"):
        added(school, "BF-07", strap)


def test_half_way_is_shared(school):
    inf = float("inf")
    assert free_between((100, 200), []) == (-inf, inf)
    assert free_between((100, 200), [(0, 60), (260, 300), (500, 600)]) == (80.0, 230.0)
    assert free_between((100, 200), [(0, 100), (200, 300)]) == (100.0, 200.0)
    for other in ((0, 101), (199, 300), (120, 150), (0, 900), (100, 200)):
        with pytest.raises(
            NotATrial, match=f"this one takes 100 s to 200 s, the other one {other[0]} s to {other[1]} s"
        ):
            free_between((100, 200), [other])


def expected_of(logbook):
    """What the older logbook must hold today."""
    sheets = {trial.id: trial.sheet for trial in logbook.trials()}
    assert {number: round(sheet.figures["heart_rate_mean"].value) for number, sheet in sheets.items()} == {
        1: 127,
        2: 171,
        3: 127,
        4: 127,
    }
    assert [sheets[number].figures["time_above_ceiling"].value for number in (1, 2, 4)] == [0.0, 420.0, 0.0]
    assert sheets[3].figures["possible_above_ceiling"].value < 300  # 3,598 s of recess were counted before
    rates = {code: hearts(logbook, code) for code in ("TH-11", "BF-07")}
    assert rates == {"TH-11": set(FIRST), "BF-07": set(SECOND)}
    assert [file.part_s is None for number in (1, 2, 3, 4) for file in logbook.trial(number).files] == [
        *(False, False, False),
        True,
    ]
    assert logbook.count()["trials"] == 4
    assert not any(each.changed or each.refused for each in recompute(logbook))


def test_a_logbook_of_the_first_version_is_cut_to_the_spans_and_loses_nothing_else(tmp_path):
    place = tmp_path / "logbook.db"
    place.write_bytes(gzip.decompress((OLDER / "shared.db.gz").read_bytes()))
    place.chmod(0o600)
    whole = hashlib.sha256(written(tmp_path, "strap-1.csv", FIRST, SECOND).read_bytes()).hexdigest()
    with open_logbook(place) as logbook:
        expected_of(logbook)
        with logbook.reading() as connection:
            assert whole not in {row[0] for row in connection.exec_driver_sql("SELECT sha256 FROM originals")}
    with open_logbook(place) as logbook:  # and once is enough
        expected_of(logbook)


def test_a_backup_of_the_first_version_is_cut_too(logbook):
    restore(logbook, OLDER / "shared.zip")
    expected_of(logbook)


def test_a_migration_that_ends_half_way_leaves_the_older_logbook(tmp_path, monkeypatch):
    place = tmp_path / "logbook.db"
    data = gzip.decompress((OLDER / "shared.db.gz").read_bytes())
    place.write_bytes(data)
    place.chmod(0o600)
    with monkeypatch.context() as patch:

        def broken(*_):
            raise KeyboardInterrupt

        patch.setattr("ownmark.records.store.logbook.replace_trial", broken)
        with pytest.raises(KeyboardInterrupt):
            open_logbook(place)
    assert place.read_bytes() == data
    with open_logbook(place) as logbook:
        expected_of(logbook)


def test_a_recording_that_is_given_again_is_known_whether_it_is_kept_whole_or_in_part(school, tmp_path):
    from ownmark.errors import AlreadyThere

    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    added(school, "TH-11", strap, **PHASES), added(school, "BF-07", strap, **BEHIND)
    for code, phases in (("TH-11", PHASES), ("BF-07", BEHIND)):
        with pytest.raises(AlreadyThere):
            added(school, code, strap, **phases)


def test_the_sheet_says_what_it_saw(school, tmp_path):
    strap = written(tmp_path, "strap-1.csv", FIRST, SECOND)
    sheet = added(school, "TH-11", strap, **PHASES).sheet
    page = json.loads(sheet.to_json())
    assert page["provenance"]["span"] == [0.0, 990.0]
    assert page["provenance"]["files"][0]["sha256"] == hashlib.sha256(strap.read_bytes()).hexdigest()


def test_where_a_strap_was_put_on_late_the_margin_ends_at_the_break_and_not_half_way(school, tmp_path):
    # The first one wears it on until 16:40, 8 s later the second one has it on, who rests from 18:20: half way lies
    # at 16:25, and the margin of 2 min would begin at 16:20.
    beats = np.concatenate((np.r_[FIRST, FIRST[-100:]], SECOND[8:]))
    seconds = np.r_[0:1000, 1008 : 1008 + len(SECOND) - 8]
    path = tmp_path / "strap-1.csv"
    path.write_text("time_s,heart_rate\n" + "".join(f"{s},{b}\n" for s, b in zip(seconds, beats, strict=True)))
    behind = {"rest_phase": "18:20-21:40", "work": "21:40-28:40", "recovery": "28:40-31:00"}
    first = added(school, "TH-11", path, **PHASES).trial
    second = added(school, "BF-07", path, **behind).trial
    assert second.files[0].part_s[0] == 1008.0
    assert hearts(school, "BF-07") <= set(SECOND)
    assert not hearts(school, "TH-11") & set(SECOND)
    assert school.trial(first.id).files[0].part_s[1] == 985.0  # half way: the break lies behind it


def breaks(*spans, between=()):
    """A recording of one value a second within these seconds, the ends left out; ``between`` stands at 81 and 82 s."""
    known = {second: 80 for span in spans for second in range(*span)} | dict(zip((81, 82), between, strict=False))
    rows = "".join(f"{second},{known[second]}\n" for second in sorted(known))
    return parse(f"time_s,heart_rate\n{rows}".encode(), Source("strap.csv"))


def test_margins_toward_another_trial_end_at_a_break_of_more_than_three_seconds():
    own, others = (100.0, 200.0), [(0.0, 40.0), (260.0, 300.0)]
    assert free_between(own, others) == (70.0, 230.0)
    assert free_between(own, others, recording=breaks((0, 400))) == (70.0, 230.0)
    assert free_between(own, others, recording=breaks((0, 80), (82, 211), (213, 400))) == (70.0, 230.0)
    assert free_between(own, others, recording=breaks((0, 80), (83, 211), (214, 400))) == (83.0, 211.0)
    assert free_between(own, others, recording=breaks((0, 95), (105, 195), (205, 400))) == (100.0, 200.0)
    assert free_between(own, others, recording=breaks((0, 120), (150, 400))) == (70.0, 230.0)
    assert free_between(own, others[:1], recording=breaks((0, 80), (90, 211), (220, 400))) == (90.0, float("inf"))
    assert free_between(own, (), recording=breaks((0, 80), (90, 400))) == (float("-inf"), float("inf"))
    for nothing in (0, 255):  # codes for no heart rate are none
        found = breaks((0, 80), (83, 400), between=(nothing, nothing))
        assert free_between(own, others, recording=found) == (83.0, 230.0)
    assert free_between(own, others, recording=breaks((0, 80), (83, 400), between=(250, 250))) == (70.0, 230.0)
