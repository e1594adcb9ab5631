"""The worker: a job a line; what kills it is lost alone, and a fault or a refusal ends nothing."""

import io
import os
import signal
import threading

import pytest
from ownmark.errors import OwnmarkError, ReaderFault, UnknownCode
from ownmark.records.store.logbook import open_logbook
from ownmark.sample_streams import FOLDER
from ownmark.web.measuring import Measuring
from ownmark.web.pipe import refusal_as_json, refusal_from
from ownmark.web.worker import lines
from ownmark.words.message import Message, Quoted

from tests.web.served import stop, unread, until

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


LONG = "x" * 300_000
"""Longer than what a pipe holds: whoever writes it waits until it is read."""


def asked_apart(measuring):
    """Ask for something in a thread of its own; gives the thread and what became of it."""
    found = []

    def ask():
        try:
            found.append(measuring.ask("see", path=LONG, zone=None))
        except OwnmarkError as reason:
            found.append(type(reason))

    thread = threading.Thread(target=ask)
    thread.start()
    return thread, found


def test_the_page_ends_although_a_worker_that_reads_nothing_is_written_to(measuring):
    measuring.ask("see", path=STRAP, zone=None)
    worker = measuring.process_id
    stop(worker)
    thread, found = asked_apart(measuring)
    assert until(lambda: unread(measuring._worker.stdin))
    ending = threading.Thread(target=measuring.close, daemon=True)
    ending.start()
    ending.join(15)
    thread.join(15)
    ended = not ending.is_alive() and not thread.is_alive()
    if not ended:
        os.kill(worker, signal.SIGKILL)
    assert ended
    assert found == [ReaderFault]


def test_a_worker_that_reads_nothing_is_given_up_at_the_deadline(place):
    open_logbook(place).close()
    measuring = Measuring(place, deadline_s=60)
    measuring.ask("see", path=STRAP, zone=None)
    measuring._deadline_s = 0.3
    worker = measuring.process_id
    stop(worker)
    thread, found = asked_apart(measuring)
    thread.join(10)
    given_up = not thread.is_alive()
    if not given_up:
        os.kill(worker, signal.SIGKILL)
    thread.join(10)
    measuring.close()
    assert given_up
    assert found == [ReaderFault]


def test_a_job_that_goes_on_when_nobody_asks_any_more_is_left():
    left = threading.Event()
    came = lines(io.BytesIO(b"a\nb\n"), left.set, end_s=0.05)
    assert next(came) == b"a\n"  # and the job of this line never ends
    assert left.wait(5)


def test_a_job_has_time_to_end():
    left = threading.Event()
    assert list(lines(io.BytesIO(b"a\nb"), left.set, end_s=60)) == [b"a\n", b"b"]
    assert not left.is_set()
