"""The made district: every trial's files are its own, the same each time, and give every kind of figure."""

from datetime import date

from ownmark.ingest.files import parse_each
from ownmark.records.class_table import read_class

from tests.bench.district_files import ROWS, SECONDS, District, begin_of, codes

MADE = District(4)


def test_files_differ_from_trial_to_trial_and_never_from_call_to_call():
    places = [(0, 0), (0, 1), (1, 0), (3, 29)]
    tables, straps = [MADE.csv(*place) for place in places], [MADE.fit(*place) for place in places]
    assert len(set(tables)) == len(set(straps)) == len(places)
    assert [District(4).csv(*place) for place in places] == tables
    assert {len(each) for each in tables} == {len(tables[0])}


def test_they_are_what_a_strap_and_a_sensor_wrote_at_the_same_time():
    begin = begin_of(1, 7, 4)
    (strap,), (frame,) = (list(parse_each([file])) for file in (("a.fit", MADE.fit(1, 7)), ("b.csv", MADE.csv(1, 7))))
    assert (strap.start, frame.start) == (begin, begin)
    assert (len(strap["heart_rate"]), len(frame["acceleration"])) == (SECONDS, 100 * SECONDS)
    assert frame["acceleration"].time[-1] == SECONDS - 0.01
    work = strap["heart_rate"].values[300:900]
    assert 115 < work.min() < work.max() < 170


def test_a_class_is_a_table_and_two_files_a_row(tmp_path):
    District(4).write(tmp_path, 3)
    rows = read_class(MADE.table(tmp_path, 3))
    assert len(rows) == ROWS
    assert {row.problem for row in rows} == {""}
    assert [len(row.files) for row in rows] == [2] * ROWS
    assert len({row.code for row in rows} & set(codes(4))) == ROWS
    assert date.fromisoformat(rows[0].texts["on"]) == begin_of(3, 0, 4).date()
