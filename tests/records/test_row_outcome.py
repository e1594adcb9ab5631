"""What became of a row is held until all rows are done, and holds nothing of what the row was worked out from."""

import gc

from ownmark.errors import NotATrial, UnreadableFile
from ownmark.ingest.files import Refused
from ownmark.records.class_day import add_class
from ownmark.records.class_table import Row, read_class
from ownmark.records.row_outcome import Outcome, refusal

from tests.records.batch import district
from tests.records.batch.district import CODES, TODAY, school

ROW = Row(2, {"code": "TH-11"}, ())


class Recording:
    """What a frame holds while a refusal is raised."""


def raised(what, cause=None):
    """A refusal that was raised where a recording was held."""
    held = Recording()
    try:
        raise what from cause
    except type(what) as reason:
        assert held
        return reason


def recordings():
    gc.collect()
    return sum(isinstance(each, Recording) for each in gc.get_objects())


def test_a_refusal_holds_nothing_of_the_frames_that_raised_it_and_its_cause():
    reason = raised(NotATrial("no.", mend="Look."), raised(UnreadableFile("no.", mend="Look.")))
    assert recordings() == 2
    outcome = refusal(ROW, reason)
    assert recordings() == 0
    assert outcome.reason is reason
    assert isinstance(reason.__cause__, UnreadableFile)


def test_a_refusal_that_came_while_another_was_handled_lets_go_of_both():
    try:
        raised_first = raised(UnreadableFile("no.", mend="Look."))
        raise raised_first
    except UnreadableFile:
        reason = raised(NotATrial("no.", mend="Look."))
    outcome = refusal(ROW, reason)
    assert recordings() == 0
    assert outcome.code == "not_a_trial"


def test_a_refusal_that_was_never_raised_lets_go_of_what_led_to_it():
    reason = NotATrial("no.", mend="Look.")
    reason.__cause__ = raised(UnreadableFile("no.", mend="Look."))
    reason.__context__ = raised(UnreadableFile("another.", mend="Look."))
    assert recordings() == 2
    assert refusal(ROW, reason).reason is reason
    assert recordings() == 0


def test_a_file_that_was_left_out_holds_nothing_of_them_either():
    outcome = Outcome(ROW, "added", "", (Refused("strap.fit", raised(UnreadableFile("no.", mend="Look."))),))
    assert recordings() == 0
    assert outcome.refused[0].reason.code == "unreadable_file"


def test_rows_that_a_logbook_refuses_hold_no_bytes_of_their_files(logbook, tmp_path):
    data, (work, _) = district.handed_round(3, 2)
    district.write(tmp_path, "strap.csv", data)
    lines = [f"{code},slalom-gym,strap.csv,2026-11-10,{work}" for code in CODES[:4]]
    district.write(tmp_path, "class.csv", "\n".join(["code,protocol,files,date,work", *lines]) + "\n")
    rows = read_class(tmp_path / "class.csv")
    outcomes = list(add_class(school(logbook), rows, day=None, today=TODAY))
    assert [each.state for each in outcomes] == ["added", "refused", "refused", "refused"]
    assert [each.reason.__traceback__ for each in outcomes[1:]] == [None] * 3
