"""After forget no table of either database holds a byte of the student: rows dumped as they are kept, and searched."""

import hashlib

from ownmark.records import forget
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.removing import remove_trial
from ownmark.records.store.tables import metadata

from tests.records.store import made
from tests.records.test_clock_shifts import HOUR, dated
from tests.records.test_shared_files import BEHIND, FIRST, PHASES, SECOND, added, written
from tests.records.test_shared_files import school as two_students

school = two_students


def dumped(logbook):
    """Every cell of every table as bytes: on PostgreSQL as COPY writes them, on SQLite as its rows hold them."""
    found = []
    with logbook.reading() as connection:
        raw = connection.connection.driver_connection
        for table in metadata.sorted_tables:
            if connection.dialect.name == "postgresql":
                with raw.cursor().copy(f"COPY {table.name} TO STDOUT (FORMAT binary)") as copy:
                    found += [bytes(piece) for piece in copy]
                continue
            for row in raw.execute(f"SELECT * FROM {table.name}"):
                found += [cell if isinstance(cell, bytes) else str(cell).encode() for cell in row]
    return b"\0".join(found)


def test_no_table_holds_a_byte_of_a_forgotten_student(school, tmp_path):
    strap, alone = written(tmp_path, "strap-zq.csv", FIRST, SECOND), dated(tmp_path, "alone-zq.csv", FIRST + 1)
    added(school, "TH-11", strap, **PHASES, notes="mark zq-note")
    added(school, "BF-07", strap, **BEHIND)
    added(school, "TH-11", alone, work="@9:05-@9:12", clock_shifts={"alone-zq.csv": HOUR["strap.csv"]})
    edit_trial(school, 1, Edit(texts={"note": "other zq-note"}), why="zq-why", today=made.DAY)
    held = [file.sha256 for trial in school.trials("TH-11") for file in trial.files]
    with school.reading() as connection:
        cells = [
            bytes(connection.exec_driver_sql(f"SELECT data FROM originals WHERE sha256 = '{each}'").scalar_one())
            for each in held
        ]
    remove_trial(school, 3, why="zq-why")
    mine = (b"TH-11", b"zq-note", b"zq-why", b"alone-zq.csv", *(each.encode() for each in held), *cells)
    before = dumped(school)
    assert [each for each in mine if each not in before] == []  # or the search could not fail
    forget(school, "TH-11")
    after = dumped(school)
    assert [each for each in mine if each in after] == []
    assert hashlib.sha256(alone.read_bytes()).hexdigest().encode() not in after
    assert b"BF-07" in after
