"""Sheets are worked out again from the original files, and what changed is listed."""

import json
import pickle
import re
import sqlite3

import pytest
from ownmark.cli.main import main
from ownmark.errors import DamagedFile, DiskFull, LogbookDamaged, WorkersGone
from ownmark.executors import Lost
from ownmark.executors.messages import EXECUTOR_DIED, executor_raised
from ownmark.executors.pool import Pool
from ownmark.records import MeasuredRate, open_logbook
from ownmark.records import recompute as recomputing
from ownmark.records.recompute import differences, new_sheet, recompute
from ownmark.records.removing import remove_trial
from ownmark.records.sheet_facts import PRELOAD
from ownmark.records.store.forgetting import forget
from ownmark.records.store.logbook import Within
from ownmark.records.store.rows import sheet_text

from tests.makers.sheets import altered, with_figure
from tests.records.store import made


@pytest.fixture(autouse=True)
def patient(monkeypatch):
    """Sheets are stored by their number, however slow the machine is."""
    monkeypatch.setattr(recomputing, "_LONGEST_S", 1000.0)


@pytest.fixture
def one(logbook):
    """A trial with a file and its true sheet."""
    logbook.add_student(made.student())
    logbook.add_protocol(made.protocol())
    trial = logbook.add_trial(made.trial(work="01:00-08:20", recovery="08:20-09:50"), [("s.csv", made.recording())])
    logbook.replace_sheet(trial.id, new_sheet(logbook, trial))
    logbook.add_trial(made.trial(time_of_day="11:00"))  # by hand: passed over
    return logbook.trial(trial.id)


def test_nothing_changes_where_nothing_changed(logbook, one):
    (done,) = recompute(logbook)
    assert (done.trial_id, done.changed, done.stored, done.refused) == (one.id, (), False, None)
    assert logbook.trial(one.id) == one


def made_by(version, sheet):
    """The sheet as another version of ownmark would have made it."""
    return altered(sheet, lambda page: page["provenance"].update(ownmark=version))


def test_the_sheet_holds_the_mean_of_the_file(one):
    # The mean of the table's own rows from 60 s to 499 s, by plain division.
    rows = [line.split(",") for line in made.recording().decode().splitlines()[1:]]
    values = [int(bpm) for second, bpm in rows if 60 <= int(second) < 500]
    assert one.sheet.figures["heart_rate_mean"].value == pytest.approx(sum(values) / len(values), abs=1e-9)
    assert one.sheet.provenance.basis.rest_bpm == 72


def test_a_figure_that_changed_is_listed_and_stored(logbook, one):
    truth = one.sheet.figures["heart_rate_mean"].value
    old = made_by("0.0.1", with_figure(one.sheet, "heart_rate_mean", value=99.0))
    logbook.replace_sheet(one.id, old)
    assert logbook.trial(one.id).computed_by == "0.0.1"
    (only_told,) = recompute(logbook, store=False)
    assert not only_told.stored
    assert logbook.trial(one.id).sheet == old
    (done,) = recompute(logbook)
    assert [(each.name, each.before, each.after) for each in done.changed] == [("heart_rate_mean", 99.0, truth)]
    assert done.stored
    assert logbook.trial(one.id) == one


def test_a_new_version_is_stored_even_without_a_change(logbook, one):
    old = made_by("0.0.1", one.sheet)
    logbook.replace_sheet(one.id, old)
    (done,) = recompute(logbook)
    assert (done.changed, done.stored) == ((), True)
    assert logbook.trial(one.id).computed_by == one.computed_by


def test_a_rest_measured_later_changes_no_old_trial(logbook, one):
    made.bare_edit(logbook, "TH-11", rests=(*made.student().rests, MeasuredRate(bpm=60, on=one.on.replace(day=28))))
    assert next(recompute(logbook)).changed == ()
    made.bare_edit(logbook, "TH-11", rests=(MeasuredRate(bpm=60, on=made.student().rests[0].on),))
    assert "heart_rate_rise" in {each.name for each in next(recompute(logbook)).changed}


def test_a_file_that_cannot_be_read_keeps_the_old_sheet_and_stops_no_other(logbook, one):
    broken = logbook.add_trial(made.trial(on=one.on.replace(day=7)), [("s.csv", b"\x00\x01" * 50)])
    logbook.replace_sheet(broken.id, one.sheet)
    more = logbook.add_trial(made.trial(on=one.on.replace(day=8)), [("other.csv", made.recording(5))])
    _, first, second = recompute(logbook)
    assert first.refused is not None
    assert first.refused.code.startswith(("unknown_format", DamagedFile.code))
    assert (second.trial_id, second.stored) == (more.id, True)
    assert logbook.trial(broken.id).sheet == one.sheet


def test_an_original_that_changed_on_the_disk_is_never_measured(logbook, one):
    with logbook.writing() as connection:
        connection.exec_driver_sql("UPDATE originals SET size = size + 1")
    (done,) = recompute(logbook)
    assert isinstance(done.refused, LogbookDamaged)
    assert str(done.refused).count("s.csv")


def spoiled(place, number):
    """Change a byte of the recording that a trial keeps, as a failing disk would."""
    with sqlite3.connect(place) as raw:
        (sha256,) = raw.execute("SELECT sha256 FROM files WHERE trial_id = ?", (number,)).fetchone()
        (data,) = raw.execute("SELECT data FROM originals WHERE sha256 = ?", (sha256,)).fetchone()
        raw.execute("UPDATE originals SET data = ? WHERE sha256 = ?", (data[:-9] + b"!" + data[-8:], sha256))
    raw.close()


@pytest.mark.parametrize("rest", [72, 90])
def test_a_change_that_rests_on_a_damaged_recording_is_told_and_no_success(tmp_path, capsys, rest):
    place = str(tmp_path / "logbook.db")
    with open_logbook(place) as logbook:
        made.filled(logbook, codes=("TH-11", "BF-07"))
        # A new rest, so that the re-test is worked out again from its recording.
        made.bare_edit(logbook, "TH-11", rests=[{"bpm": rest, "on": "2026-09-11"}])
    words = ["change", "TH-11", "--retest-from", "2026-09-11", "--logbook", place]
    assert main(words) == 0
    assert "has changed on the disk" not in capsys.readouterr().out
    spoiled(place, 2)
    assert main(words) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert re.search(r"A recording of the trial on [^.]*\b11\b[^.]*2026[^.]* has changed on the disk", told)
    assert main([*words, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["damaged"] == [2]
    assert main([*words, "--lang", "es", "--html", "--out", str(tmp_path)]) == 1
    told = capsys.readouterr()
    assert told.err == "A kept recording has changed on the disk (trial 2): restore the latest backup.\n"
    (page,) = tmp_path.glob("*.html")
    assert "ha cambiado en el disco" in page.read_text()
    assert main(["change", "BF-07", "--retest-from", "2026-09-11", "--logbook", place]) == 0
    spoiled(place, 1)
    capsys.readouterr()
    assert main([*words, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["damaged"] == [1, 2]


class Doing:
    """An executor in this process, which lets something happen after each job: another program, a person, a crash."""

    shares_disk = True

    def __init__(self, *after):
        self.after = after
        self.taken = 0

    def map(self, work, jobs):
        for turn, job in enumerate(jobs):
            self.taken += 1
            # As by another process: what cannot be pickled cannot be worked on.
            found = pickle.loads(pickle.dumps(pickle.loads(pickle.dumps(work))(pickle.loads(pickle.dumps(job)))))
            found = next((each(found) for each in self.after[turn : turn + 1] if each), found)
            yield found


def outdated(logbook):
    """Trials of two students whose sheets another version made, with other figures."""
    made.filled(logbook)
    for trial in list(logbook.trials()):
        logbook.replace_sheet(trial.id, made_by("0.0.1", with_figure(trial.sheet, "heart_rate_mean", value=99.0)))
    return [trial.id for trial in logbook.trials()]


def versions(logbook):
    """Which version made each sheet."""
    return [trial.computed_by for trial in logbook.trials()]


def exact(logbook):
    """All that the trials hold, to the last digit."""
    return [(each.id, each.computed_by, sheet_text(each.sheet)) for each in logbook.trials()]


def test_the_figures_are_the_same_to_the_last_digit_whoever_works_them_out(tmp_path):
    outcomes = []
    for name in ("alone", "pool"):
        with open_logbook(tmp_path / f"{name}.db") as logbook, Pool(2, PRELOAD) as pool:
            outdated(logbook)
            done = list(recompute(logbook, executor=pool if name == "pool" else None))
            assert all(each.stored and each.changed for each in done)
            outcomes.append((done, exact(logbook)))
    assert outcomes[0] == outcomes[1]


def test_a_damaged_recording_costs_its_trial_alone_in_a_pool_too(tmp_path):
    place = str(tmp_path / "logbook.db")
    with open_logbook(place) as logbook, Pool(1, PRELOAD) as pool:
        outdated(logbook)
        spoiled(place, 2)
        done = {each.trial_id: each for each in recompute(logbook, executor=pool)}
        assert [number for number, each in sorted(done.items()) if each.stored] == [1, 3, 4]
        assert isinstance(done[2].refused, LogbookDamaged)
        assert done[2].refused.where == "strap-1.csv"
        assert versions(logbook).count("0.0.1") == 1


def test_a_rest_that_is_mended_meanwhile_is_what_the_sheet_is_stored_with(logbook):
    numbers = outdated(logbook)
    rest = {"rests": (MeasuredRate(bpm=60, on=made.student().rests[0].on),)}

    def mended(found):
        made.bare_edit(logbook, "TH-11", **rest)
        return found

    done = list(recompute(logbook, executor=Doing(mended)))
    assert all(each.stored for each in done)
    assert [each.trial_id for each in done] == numbers
    used = {each.code: each.sheet.provenance.basis.rest_bpm for each in logbook.trials()}
    assert used == {"TH-11": 60, "BF-07": 72}
    for each in logbook.trials():
        assert differences(each.sheet, new_sheet(logbook, each)) == ()


def test_a_trial_that_is_mended_meanwhile_is_worked_out_as_it_stands_now(logbook, one):
    logbook.replace_sheet(one.id, made_by("0.0.1", one.sheet))

    def mended(found):
        logbook.narrow([(one.model_copy(update={"work": "02:00-04:00"}), ())])
        return found

    (done,) = recompute(logbook, executor=Doing(mended))
    assert done.stored
    assert "heart_rate_mean" in {each.name for each in done.changed}
    now = logbook.trial(one.id)
    assert now.work == "02:00-04:00"
    rows = [line.split(",") for line in made.recording().decode().splitlines()[1:]]
    values = [int(bpm) for second, bpm in rows if 120 <= int(second) < 240]
    assert now.sheet.figures["heart_rate_mean"].value == pytest.approx(sum(values) / len(values), abs=1e-9)


def test_a_trial_that_is_taken_away_meanwhile_is_told_and_stops_no_other(logbook):
    numbers = outdated(logbook)

    def removed(found):
        remove_trial(logbook, numbers[1], why="wrong strap")
        return found

    done = list(recompute(logbook, executor=Doing(None, removed)))
    assert [each.refused and each.refused.code for each in done] == [None, "unknown_trial", None, None]
    assert [each.stored for each in done] == [True, False, True, True]


def test_a_student_who_is_forgotten_meanwhile_does_not_come_back(logbook):
    outdated(logbook)

    def forgotten(found):
        forget(logbook, "TH-11")
        return found

    done = list(recompute(logbook, executor=Doing(None, None, None, forgotten)))
    assert {each.code: each.stored for each in done} == {"TH-11": False, "BF-07": True}
    assert {each.code for each in logbook.trials()} == {"BF-07"}


def test_a_sheet_that_never_came_back_keeps_the_old_one_and_stops_no_other(logbook):
    outdated(logbook)
    fault = ZeroDivisionError()
    lost = Lost(executor_raised("ZeroDivisionError"), fault)
    first, second, third, last = recompute(logbook, executor=Doing(None, lambda _: lost, lambda _: Lost(EXECUTOR_DIED)))
    assert first.stored
    assert last.stored
    assert second.refused.what == lost.reason
    assert second.refused.__cause__ is fault
    assert third.refused.what == EXECUTOR_DIED
    assert versions(logbook).count("0.0.1") == 2


@pytest.mark.parametrize("end", [KeyboardInterrupt(), WorkersGone("the cluster is gone."), ValueError("a fault")])
def test_whatever_ends_it_what_is_worked_out_is_stored(logbook, end):
    outdated(logbook)

    def ends(_):
        raise end

    with pytest.raises(type(end)):
        list(recompute(logbook, executor=Doing(None, None, ends)))
    assert versions(logbook).count("0.0.1") == 2


def test_ctrl_c_in_the_middle_of_storing_stores_it_all_the_same(logbook, monkeypatch):
    outdated(logbook)
    real = Within.replace_sheet
    calls = []

    def interrupted(self, number, sheet):
        calls.append(number)
        if len(calls) == 2:
            raise KeyboardInterrupt
        real(self, number, sheet)

    monkeypatch.setattr(Within, "replace_sheet", interrupted)
    with pytest.raises(KeyboardInterrupt):
        list(recompute(logbook))
    assert "0.0.1" not in versions(logbook)


def test_a_logbook_that_cannot_be_written_ends_it_at_once_with_its_reason(logbook, monkeypatch):
    outdated(logbook)
    tried = []

    def full(self, number, sheet):
        tried.append(number)
        raise DiskFull("there is no room.")

    monkeypatch.setattr(Within, "replace_sheet", full)
    with pytest.raises(DiskFull):
        list(recompute(logbook))
    assert len(tried) == 1
    assert versions(logbook) == ["0.0.1"] * 4


def test_sheets_are_stored_many_at_a_time_and_told_once_they_are(logbook, monkeypatch):
    outdated(logbook)
    monkeypatch.setattr(recomputing, "_AT_ONCE", 3)
    executor = Doing()
    known = [(executor.taken, versions(logbook).count("0.0.1")) for _ in recompute(logbook, executor=executor)]
    assert known == [(3, 1), (3, 1), (3, 1), (4, 0)]


def test_no_sheet_waits_long_for_others(logbook, monkeypatch):
    outdated(logbook)
    monkeypatch.setattr(recomputing, "_LONGEST_S", 0.0)
    executor = Doing()
    next(recompute(logbook, executor=executor))
    assert executor.taken == 1


def test_what_is_only_shown_or_has_not_changed_is_told_at_once(logbook):
    outdated(logbook)
    executor = Doing()
    next(recompute(logbook, executor=executor, store=False))
    assert executor.taken == 1
    list(recompute(logbook))
    executor = Doing()
    next(recompute(logbook, executor=executor))
    assert executor.taken == 1
