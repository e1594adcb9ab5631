"""A recording is the same however it is packed: nothing of one student's heart is in another one's record."""

import gzip
import io
import zipfile
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from ownmark.errors import AlreadyThere, NotATrial, UnknownTrial
from ownmark.ingest import containers
from ownmark.ingest.containers import Member
from ownmark.ingest.files import parse_each
from ownmark.records import Trial, disclose, open_logbook, restore, same_heart, trial_span
from ownmark.records.adding import keep
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.recompute import recompute
from ownmark.records.removing import put_back, remove_trial
from ownmark.records.store.backup import back_up
from ownmark.records.store.version import VERSION_TABLE

from tests.records.store import made
from tests.records.test_shared_files import FIRST, PHASES, SECOND, written

TODAY = date(2026, 11, 20)
GAP = np.zeros(10, int)
"""The strap changes its wearer right behind the first one's recovery: without the other trial, the first one's margin
of two minutes reaches 110 s into the second one's wear."""
ONE, TWO = {**PHASES}, {"rest_phase": "15:40-20:10", "work": "20:10-27:10", "recovery": "27:10-29:40"}
SHORT = np.r_[SECOND[:115], SECOND[300:495], SECOND[720:815]]
OF_SHORT = {"rest_phase": "15:40-16:40", "work": "16:40-19:55", "recovery": "19:55-21:20"}
"""So that the file runs on for 5 min at the most behind the first one's margin, and is kept whole."""


def forms(folder, name="strap-1.csv", other=SECOND):
    """One recording, as it lies there in every packing."""
    plain = written(folder, name, FIRST[:875], GAP, other)  # 14:35 the one, 10 s nobody, then the other
    data = plain.read_bytes()
    bag = io.BytesIO()
    with zipfile.ZipFile(bag, "w") as archive:
        archive.writestr("inner.csv", data)
    found = {"plain": plain, "gz": folder / f"{name}.gz", "zip": folder / "bag.zip", "gz again": folder / "copy.gz"}
    found["gz"].write_bytes(gzip.compress(data, mtime=0))
    found["gz again"].write_bytes(gzip.compress(data, 1, mtime=77))
    found["zip"].write_bytes(bag.getvalue())
    return found


def hearts_of(*originals):
    """Every heart rate in files, however they are packed."""
    found = [each["heart_rate"].values for each in parse_each(originals)]
    return set(np.concatenate(found)) - {0} if found else set()


def hearts(logbook, code):
    """Every heart rate that the logbook holds for a student."""
    return hearts_of(
        *((file.path, logbook.original(file.sha256)) for trial in logbook.trials(code) for file in trial.files)
    )


def apart(logbook, other=SECOND):
    """Nothing of either is in the other one's record, and each record has its own."""
    assert hearts(logbook, "TH-11") == set(FIRST)
    assert hearts(logbook, "BF-07") == set(other)


@pytest.fixture
def school(logbook):
    logbook.add_protocol(made.protocol())
    for code in ("TH-11", "BF-07"):
        logbook.add_student(made.student(code))
    return logbook


def added(logbook, code, *paths, **more):
    fields = {"code": code, "protocol": "slalom-gym", "protocol_version": 1, "on": date(2026, 10, 6)}
    return keep(logbook, Trial(**{**fields, **more}), paths).trial


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
@pytest.mark.parametrize("second", ["plain", "gz", "zip", "gz again"])
@pytest.mark.parametrize("first", ["plain", "gz", "zip", "gz again"])
@pytest.mark.parametrize("turned", [False, True])
def test_two_students_of_one_strap_keep_each_their_own_heart(school, tmp_path, first, second, turned):
    strap = forms(tmp_path)
    turns = [("TH-11", strap[first], ONE), ("BF-07", strap[second], TWO)]
    for code, path, phases in reversed(turns) if turned else turns:
        added(school, code, path, **phases)
    apart(school)
    assert not any(each.changed or each.refused for each in recompute(school))


def test_what_is_disclosed_and_backed_up_is_apart_too(school, tmp_path, another_place):
    strap = forms(tmp_path)
    added(school, "TH-11", strap["gz"], **ONE), added(school, "BF-07", strap["plain"], **TWO)
    apart(school)
    for code, own in (("TH-11", FIRST), ("BF-07", SECOND)):
        out = disclose(school, code, tmp_path / code)
        files = [(each.name, each.read_bytes()) for each in out if each.suffix == ".excerpt"]
        assert hearts_of(*files) == set(own)
    back_up(school, tmp_path / "all.zip")
    with open_logbook(another_place) as other:
        restore(other, tmp_path / "all.zip")
        apart(other)


@pytest.mark.parametrize("turned", [False, True])
def test_rows_of_two_tables_and_of_one(school, tmp_path, turned):
    forms(tmp_path)
    head = "code,protocol,on,files,rest,work,recovery\n"
    rows = [
        f"TH-11,slalom-gym,2026-10-06,strap-1.csv,{','.join(ONE.values())}\n",
        f"BF-07,slalom-gym,2026-10-06,strap-1.csv.gz,{','.join(TWO.values())}\n",
    ]
    rows = rows[::-1] if turned else rows
    (tmp_path / "one.csv").write_text(head + rows[0])
    (tmp_path / "two.csv").write_text(head + rows[1])
    for name in ("one.csv", "two.csv"):
        (outcome,) = add_class(school, read_class(tmp_path / name), day=None, today=TODAY)
        assert outcome.state == "added", outcome
    apart(school)
    (tmp_path / "both.csv").write_text(head + "".join(rows))
    assert {each.state for each in add_class(school, read_class(tmp_path / "both.csv"), day=None, today=TODAY)} == {
        "there already"
    }


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
def test_one_table_may_name_a_file_packed_and_unpacked(school, tmp_path):
    forms(tmp_path)
    (tmp_path / "class.csv").write_text(
        "code,protocol,on,files,rest,work,recovery\n"
        f"TH-11,slalom-gym,2026-10-06,strap-1.csv,{','.join(ONE.values())}\n"
        f"BF-07,slalom-gym,2026-10-06,strap-1.csv.gz,{','.join(TWO.values())}\n"
    )
    found = list(add_class(school, read_class(tmp_path / "class.csv"), day=None, today=TODAY))
    assert [each.state for each in found] == ["added", "added"]
    apart(school)


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
@pytest.mark.parametrize("second", ["gz", "zip"])
def test_one_student_s_packed_copy_is_the_same_recording(school, tmp_path, second):
    strap = forms(tmp_path)
    twice = added(school, "TH-11", strap["plain"], strap[second], **ONE)
    assert len(twice.files) == 1
    assert [each.code for each in twice.sheet.provenance.notes if each.code == "read.same_file"]
    for each in strap.values():
        with pytest.raises(AlreadyThere):
            added(school, "TH-11", each, **ONE)


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
def test_a_trial_of_all_of_a_packed_file_leaves_no_room_in_the_unpacked_one(school, tmp_path):
    strap = forms(tmp_path)
    whole = added(school, "TH-11", strap["gz"], strap["plain"])
    assert [(each.path, each.content_sha256 == each.recording) for each in whole.files] == [("strap-1.csv.gz", True)]
    with pytest.raises(NotATrial, match="takes all of it"):
        added(school, "BF-07", strap["plain"], **TWO)


# ---- logbooks and backups of before


@pytest.fixture
def before(monkeypatch):
    """How packed files were known before: by their packed bytes."""
    from_gz = containers._from_gz

    def older(packed, source, basin):
        found = from_gz(packed, source, basin)
        return Member(replace(found.source, content_sha256=None), found.data, found.notes)

    with monkeypatch.context() as patch:
        patch.setattr(containers, "_from_gz", older)
        for module in (same_heart, trial_span):
            patch.setattr(module, "heart_keys", lambda _: ())
        yield patch


def of_version_0007(logbook):
    with logbook.writing() as connection:
        connection.exec_driver_sql("DROP TABLE hearts")
        connection.exec_driver_sql(f"UPDATE {VERSION_TABLE} SET version_num = '0007'")


@pytest.fixture
def older(place, tmp_path, before):
    """A logbook in which the two hold each other's minutes, since one was given the packed file: and its backup."""
    strap = forms(tmp_path, other=SHORT)
    with open_logbook(place) as logbook:
        logbook.add_protocol(made.protocol())
        for code in ("TH-11", "BF-07"):
            logbook.add_student(made.student(code))
        added(logbook, "TH-11", strap["gz"], **ONE)
        added(logbook, "BF-07", strap["plain"], **OF_SHORT)
        assert set(SHORT) <= hearts(logbook, "TH-11")  # what was wrong
        gone = added(logbook, "TH-11", strap["gz again"], on=date(2026, 10, 9), **ONE)
        remove_trial(logbook, gone.id, why="the wrong day")
        import ownmark.records.store.backup as backup

        before.setattr(backup, "SCHEMA", "0007")
        back_up(logbook, tmp_path / "older.zip")
        of_version_0007(logbook)
    before.undo()
    return place


def test_an_older_logbook_is_mended_when_it_is_opened(older, tmp_path):
    with open_logbook(older) as logbook:
        apart(logbook, SHORT)
        one, two = logbook.trial(1), logbook.trial(2)
        assert [each.files[0].recording for each in (one, two)] == [two.files[0].recording] * 2
        with pytest.raises(AlreadyThere):
            added(logbook, "TH-11", tmp_path / "strap-1.csv", **ONE)
        with pytest.raises(UnknownTrial, match="another student's trial"):
            put_back(logbook, 3)
        assert logbook.count()["originals"] == 2  # what the removed one held of the other student is gone
        back_up(logbook, tmp_path / "again.zip")


def test_an_older_backup_is_mended_when_it_is_restored(older, another_place, tmp_path):
    with open_logbook(another_place) as logbook:
        assert restore(logbook, tmp_path / "older.zip").schema == "0007"
        apart(logbook, SHORT)
        with pytest.raises(UnknownTrial, match="another student's trial"):
            put_back(logbook, 3)


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
def test_the_older_name_of_an_excerpt_out_of_a_packed_file_still_leads_to_it(place, tmp_path, before):
    strap = forms(tmp_path)
    with open_logbook(place) as logbook:
        logbook.add_protocol(made.protocol())
        for code in ("TH-11", "BF-07"):
            logbook.add_student(made.student(code))
        added(logbook, "TH-11", strap["gz"], **ONE)
        (file,) = logbook.trial(1).files
        assert file.of  # it runs on for long, and is kept as an excerpt
        of_version_0007(logbook)
    before.undo()
    with open_logbook(place) as logbook:
        added(logbook, "BF-07", strap["gz"], **TWO)
        apart(logbook)
        with pytest.raises(AlreadyThere):
            added(logbook, "TH-11", strap["gz"], **ONE)
