"""What was changed is remembered: one row a change, with the state before it."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table; an older logbook has no history."""
    op.create_table(
        "history",
        sa.Column("id", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("thing", sa.String(100), nullable=False),
        sa.Column("code", sa.String(64)),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("made", sa.String(32), nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("held", sa.Text, nullable=False),
        sa.Column("value", sa.JSON, nullable=False),
        sa.Column("seal", sa.BigInteger, nullable=False),
    )
    op.create_index("history_by_thing", "history", ["kind", "thing"])
    op.create_index("history_by_student", "history", ["code"])
