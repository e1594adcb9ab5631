"""Keys of the hearts that trials hold, by which one heart in two files of two students is known."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Make the table; trials of before have no key until their files are kept anew."""
    op.create_table(
        "hearts",
        sa.Column("trial_id", sa.BigInteger, sa.ForeignKey("trials.id"), primary_key=True, autoincrement=False),
        sa.Column("key", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("seal", sa.BigInteger, nullable=False),
    )
    op.create_index("hearts_by_key", "hearts", ["key"])
