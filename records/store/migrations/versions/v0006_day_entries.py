"""A class's day is kept entry by entry: presses, notes, received files, and what is typed before a row is stored."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the table; an older logbook has no such day."""
    op.create_table(
        "day_entries",
        sa.Column("id", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("code", sa.String(64), sa.ForeignKey("students.code")),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("at", sa.String(19), nullable=False),
        sa.Column("once", sa.String(64)),
        sa.Column("value", sa.JSON, nullable=False),
        sa.Column("seal", sa.BigInteger, nullable=False),
        sa.UniqueConstraint("once", name="day_entries_once"),
    )
    op.create_index("day_entries_by_day", "day_entries", ["day"])
    op.create_index("day_entries_by_student", "day_entries", ["code"])
