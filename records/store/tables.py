"""The tables of a logbook. Lists read narrow rows; the full value of each thing is beside them as JSON.

students ── trials ── details, sheets                   one row of each a trial
protocols ──┘    └─── files ── originals                a file's bytes are held once, by their SHA-256
history                                                 one row a change: what it was before, when and why
day_entries                                             one row a press, a note, a received file of a class's day

Every row carries a seal over its other columns: a byte that changed on the disk is told and never shown as a figure.
The migrations make these tables; a test holds both together.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ColumnElement,
    Date,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    func,
)
from sqlalchemy.types import UserDefinedType


class JsonText(UserDefinedType[str]):
    """A JSON column whose text goes in and comes out as it is: the values read and write their own JSON."""

    cache_ok = True

    def get_col_spec(self, **_: object) -> str:
        """The type's name on both databases."""
        return "JSON"


metadata = MetaData()

students = Table(
    "students",
    metadata,
    Column("code", String(64), primary_key=True),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

protocols = Table(
    "protocols",
    metadata,
    Column("name", String(100), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("component", String(20), nullable=False),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

trials = Table(
    "trials",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("code", String(64), ForeignKey("students.code"), nullable=False),
    Column("protocol", String(100), nullable=False),
    Column("protocol_version", Integer, nullable=False),
    Column("day", Date, nullable=False),
    Column("time_of_day", String(5)),
    Column("practice", Boolean, nullable=False),
    Column("computed_by", String(40)),
    Column("has_sheet", Boolean, nullable=False),
    Column("file_count", Integer, nullable=False),
    Column("figure_count", Integer, nullable=False),
    Column("same_as", String(64), nullable=False),
    Column("seal", BigInteger, nullable=False),
    ForeignKeyConstraint(["protocol", "protocol_version"], ["protocols.name", "protocols.version"]),
    UniqueConstraint("code", "same_as", name="trials_once"),
    Index("trials_by_student", "code", "day"),
    Index("trials_by_protocol", "protocol", "protocol_version", "day"),
)

_OF_TRIAL = "trials.id"

details = Table(
    "details",
    metadata,
    Column("trial_id", BigInteger, ForeignKey(_OF_TRIAL), primary_key=True, autoincrement=False),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

sheets = Table(
    "sheets",
    metadata,
    Column("trial_id", BigInteger, ForeignKey(_OF_TRIAL), primary_key=True, autoincrement=False),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

originals = Table(
    "originals",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("size", BigInteger, nullable=False),
    Column("packed", Boolean, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

files = Table(
    "files",
    metadata,
    Column("trial_id", BigInteger, ForeignKey(_OF_TRIAL), primary_key=True, autoincrement=False),
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("path", Text, nullable=False),
    Column("sha256", String(64), ForeignKey("originals.sha256"), nullable=False),
    Column("recording", String(64), nullable=False),
    Column("seal", BigInteger, nullable=False),
    Index("files_by_original", "sha256"),
    Index("files_by_recording", "recording"),
)

counters = Table(
    "counters",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("value", BigInteger, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

history = Table(
    "history",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("kind", String(10), nullable=False),
    Column("thing", String(100), nullable=False),
    Column("code", String(64)),
    Column("what", String(20), nullable=False),
    Column("made", String(32), nullable=False),
    Column("why", Text, nullable=False),
    Column("held", Text, nullable=False),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
    Index("history_by_thing", "kind", "thing"),
    Index("history_by_student", "code"),
)
"""``thing``: a trial's number, a student's code, a protocol's name; ``code``: the student whose it is; ``held``: the
SHA-256 of each file of a removed trial, a space between two."""

settings = Table(
    "settings",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("value", Text, nullable=False),
    Column("seal", BigInteger, nullable=False),
)

day_entries = Table(
    "day_entries",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("day", Date, nullable=False),
    Column("code", String(64), ForeignKey("students.code")),
    Column("kind", String(20), nullable=False),
    Column("at", String(19), nullable=False),
    Column("once", String(64)),
    Column("value", JsonText, nullable=False),
    Column("seal", BigInteger, nullable=False),
    UniqueConstraint("once", name="day_entries_once"),
    Index("day_entries_by_day", "day"),
    Index("day_entries_by_student", "code"),
)
"""What happened on a class's day, entry by entry; ``code`` is None where an entry is of no student."""

hearts = Table(
    "hearts",
    metadata,
    Column("trial_id", BigInteger, ForeignKey(_OF_TRIAL), primary_key=True, autoincrement=False),
    Column("key", BigInteger, primary_key=True, autoincrement=False),
    Column("seal", BigInteger, nullable=False),
    Index("hearts_by_key", "key"),
)
"""The keys of what a trial's files hold of a heart, as its details name them."""

OF_A_TRIAL = (sheets, details, files, hearts)
"""The tables whose rows go with a trial."""


def of_student(code: str) -> ColumnElement[bool]:
    """The trials of a student, read from the table: an index that lost an entry on a failing disk would hide one."""
    return func.coalesce(trials.c.code, "") == code
