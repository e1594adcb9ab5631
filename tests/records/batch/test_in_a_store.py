"""Class tables and recordings in an object store give what the same on a disk gives, and whoever works reads them."""

import pytest
from fsspec.implementations.memory import MemoryFileSystem
from ownmark.errors import UnreadableFile
from ownmark.executors.serial import Serial
from ownmark.records import open_logbook
from ownmark.records.address import place
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.whole import Batch
from ownmark.records.batch.writer import How, Writer

from tests.records.batch.district import TODAY, WORK, as_saved, contents, round_the_class, school, strap, write


class Far(Serial):
    """Work somewhere else; what is sent there."""

    shares_disk = False

    def __init__(self):
        self.sent = []

    def map(self, work, jobs):
        return super().map(work, (self.sent.append(each) or each for each in jobs))


@pytest.fixture
def store():
    yield MemoryFileSystem()
    MemoryFileSystem().rm("/", recursive=True)


def batch(logbook, places, aside, executor):
    tables = tables_in(places, aside)
    return Batch(executor, Writer(logbook, How(None, TODAY)), tables).run()


def test_a_folder_in_a_store_gives_what_the_same_folder_on_disk_gives(logbook, another_place, tmp_path, store):
    folder = tmp_path / "district"
    round_the_class(folder / "round")
    as_saved(folder / "saved")
    write(folder / "saved", "bad.fit", b".FIT but nothing that can be read \x00\x01")
    write(folder / "saved", "bad.csv", f"code,protocol,files,work\nTH-11,slalom-gym,bad.fit,{WORK}\n")
    write(folder / "saved", ".hidden.csv", "code,protocol\n")
    store.put(str(folder), "/bucket/district", recursive=True)
    far = Far()
    found = batch(school(logbook), [place("memory://bucket/district")], tmp_path / "far", far)
    with open_logbook(another_place) as other:
        expected = batch(school(other), [folder], tmp_path / "near", Serial())
        assert contents(logbook) == contents(other)
    assert found.counts == expected.counts
    assert found.counts["added"] > 6
    assert [each.path.name for each in found.tables] == [each.path.name for each in expected.tables]
    assert [[open_row.state for open_row in each.open_rows] for each in found.tables] == [
        [open_row.state for open_row in each.open_rows] for each in expected.tables
    ]
    assert far.sent
    assert all(job.files is None for job in far.sent)  # an address each, no bytes
    copies = sorted(str(each.relative_to(tmp_path / "far")) for each in (tmp_path / "far").rglob("*.fit"))
    assert copies == ["district/saved/bad-aside/bad.fit"]
    assert (tmp_path / "far" / copies[0]).read_bytes() == (folder / "saved" / "bad.fit").read_bytes()
    assert not [each for each in store.find("/bucket") if "aside" in each]


def test_without_a_folder_for_bad_files_they_go_beside_the_person_never_into_the_store(
    logbook, tmp_path, store, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    store.pipe("/bucket/monday.csv", f"code,protocol,files,work\nTH-11,slalom-gym,bad.fit,{WORK}\n".encode())
    store.pipe("/bucket/bad.fit", b".FIT but nothing")
    report = batch(school(logbook), [place("memory://bucket/monday.csv")], None, Serial())
    assert (tmp_path / "monday-aside" / "bad.fit").read_bytes() == b".FIT but nothing"
    assert report.tables[0].not_aside is None
    assert len(store.find("/bucket")) == 2


def test_a_table_on_disk_sends_the_bytes_of_its_files_and_none_of_a_store_s(logbook, tmp_path, store):
    write(tmp_path, "near.csv", strap(1))
    store.pipe("/bucket/far.csv", strap(2))
    rows = f"TH-11,slalom-gym,memory://bucket/far.csv,{WORK}\nTH-12,slalom-gym,near.csv,{WORK}\n"
    write(tmp_path, "monday.csv", f"code,protocol,files,work\n{rows}")
    far = Far()
    report = batch(school(logbook), [tmp_path / "monday.csv"], None, far)
    assert (report.counts["added"], report.counts["refused"]) == (1, 1)
    assert [job.files.originals for job in far.sent] == [(("near.csv", strap(1)),)]


def test_a_store_without_its_driver_stops_the_batch_before_it_begins(tmp_path):
    with pytest.raises(UnreadableFile) as refused:
        tables_in([place("s3://bucket/day")])
    assert (
        str(refused.value)
        == "s3://bucket/day: what reads s3:// is not installed. Install it: python -m pip install s3fs"
    )


def test_an_empty_bucket_is_refused_by_its_address(store):
    with pytest.raises(UnreadableFile) as refused:
        tables_in([place("memory://nowhere/day")])
    assert str(refused.value).startswith("memory://nowhere/day: there is no such file or folder.")


def test_report_names_the_address(logbook, store):
    store.pipe("/bucket/monday.csv", b"code,protocol\nXX-99,slalom-gym\n")
    report = batch(school(logbook), [place("memory://bucket/monday.csv")], None, Serial())
    assert report.as_json()["tables"][0]["table"] == "memory://bucket/monday.csv"
