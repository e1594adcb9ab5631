"""The worker: a job a line; what kills it is lost alone, and a fault or a refusal ends nothing."""

import os
import signal

import pytest
from ownmark.errors import ReaderFault, UnknownCode
from ownmark.records.store.logbook import open_logbook
from ownmark.sample_streams import FOLDER
from ownmark.web.measuring import Measuring
from ownmark.web.pipe import refusal_as_json, refusal_from
from ownmark.words.message import Message, Quoted

STRAP = str(FOLDER / "bag" / "S6.fit")


@pytest.fixture
def measuring(place):
    open_logbook(place).close()
    found = Measuring(place, deadline_s=60)
    yield found
    worker = found.process_id
    found.close()
    if worker is not None:
        with pytest.raises(ProcessLookupError):
            os.kill(worker, 0)


def test_a_file_is_told_by_what_it_holds(measuring):
    found = measuring.ask("see", path=STRAP, zone="America/Denver")
    assert found == {
        "usable": True,
        "streams": ["heart_rate"],
        "format": "FIT",
        "on": "2026-11-18",
        "begin_s": 9 * 3600 + 180,
        "length_s": 900.0,
        "measured_percent": 100.0,
        "checks": [],
    }


def test_a_file_without_a_heart_says_so(measuring):
    found = measuring.ask("see", path=str(FOLDER / "bag" / "S5.fit"), zone="America/Denver")
    assert [each["code"] for each in found["checks"]] == ["day_plan.empty"]


def test_a_file_that_is_not_there_is_told_and_the_worker_goes_on(measuring, tmp_path):
    found = measuring.ask("see", path=str(tmp_path / "gone.fit"), zone=None)
    worker = measuring.process_id
    assert (found["usable"], [each["code"] for each in found["checks"]]) == (False, ["day_plan.unread"])
    assert measuring.ask("see", path=STRAP, zone=None)["usable"]
    assert measuring.process_id == worker


def test_a_worker_that_was_killed_is_started_again(measuring):
    measuring.ask("see", path=STRAP, zone=None)
    first = measuring.process_id
    os.kill(first, signal.SIGKILL)
    with pytest.raises(ReaderFault):
        measuring.ask("no_such_job")
    assert measuring.ask("see", path=STRAP, zone=None)["usable"]
    assert measuring.process_id != first


def test_a_job_that_takes_too_long_is_given_up(place):
    open_logbook(place).close()
    found = Measuring(place, deadline_s=0.0)
    with pytest.raises(ReaderFault) as refusal:
        found.ask("see", path=STRAP, zone=None)
    assert refusal.value.what == Message("web.too_long")
    found.close()


@pytest.mark.parametrize(
    "what", ["There is no student TH-99.", Message.of("web_now.not_known", students=(Quoted("TH-99"),))]
)
def test_a_refusal_crosses_as_it_is(what):
    reason = UnknownCode(what, where="TH-99", mend="Look at the list.")
    found = refusal_from(refusal_as_json(reason))
    assert (type(found), found.what, found.where, found.mend) == (UnknownCode, what, "TH-99", "Look at the list.")
