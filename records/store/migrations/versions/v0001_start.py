"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table."""
    _make_kept()
    _make_trials()
    _make_of_a_trial()


def _seal() -> "sa.Column[int]":
    return sa.Column("seal", sa.BigInteger, nullable=False)


def _make_kept() -> None:
    """What stands for itself."""
    op.create_table(
        "students",
        sa.Column("code", sa.String(64), primary_key=True),
        sa.Column("value", sa.JSON, nullable=False),
        _seal(),
    )
    op.create_table(
        "protocols",
        sa.Column("name", sa.String(100), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("component", sa.String(20), nullable=False),
        sa.Column("value", sa.JSON, nullable=False),
        _seal(),
    )
    op.create_table(
        "originals",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.Column("packed", sa.Boolean, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "counters",
        sa.Column("name", sa.String(20), primary_key=True),
        sa.Column("value", sa.BigInteger, nullable=False),
        _seal(),
    )


def _make_trials() -> None:
    """A narrow row a trial."""
    op.create_table(
        "trials",
        sa.Column("id", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("code", sa.String(64), sa.ForeignKey("students.code"), nullable=False),
        sa.Column("protocol", sa.String(100), nullable=False),
        sa.Column("protocol_version", sa.Integer, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("time_of_day", sa.String(5)),
        sa.Column("practice", sa.Boolean, nullable=False),
        sa.Column("computed_by", sa.String(40)),
        sa.Column("has_sheet", sa.Boolean, nullable=False),
        sa.Column("file_count", sa.Integer, nullable=False),
        sa.Column("figure_count", sa.Integer, nullable=False),
        sa.Column("same_as", sa.String(64), nullable=False),
        _seal(),
        sa.ForeignKeyConstraint(["protocol", "protocol_version"], ["protocols.name", "protocols.version"]),
        sa.UniqueConstraint("code", "same_as", name="trials_once"),
    )
    op.create_index("trials_by_student", "trials", ["code", "day"])
    op.create_index("trials_by_protocol", "trials", ["protocol", "protocol_version", "day"])


def _trial_id() -> "sa.Column[int]":
    return sa.Column("trial_id", sa.BigInteger, sa.ForeignKey("trials.id"), primary_key=True, autoincrement=False)


def _make_of_a_trial() -> None:
    """What goes with a trial."""
    for name in ("details", "sheets"):
        op.create_table(name, _trial_id(), sa.Column("value", sa.JSON, nullable=False), _seal())
    op.create_table(
        "files",
        _trial_id(),
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("path", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), sa.ForeignKey("originals.sha256"), nullable=False),
        _seal(),
    )
    op.create_index("files_by_original", "files", ["sha256"])
    op.create_table(
        "figures",
        _trial_id(),
        sa.Column("name", sa.String(60), primary_key=True),
        sa.Column("value", sa.Double),
        sa.Column("unit", sa.String(20), nullable=False),
        sa.Column("low", sa.Double),
        sa.Column("high", sa.Double),
        sa.Column("coverage", sa.Double),
        sa.Column("basis", sa.Text),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("note", sa.Text),
        _seal(),
        sqlite_with_rowid=False,
    )
