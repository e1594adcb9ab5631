"""What holds for all of a logbook, as the school's time zone."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table; an older logbook has no settings."""
    op.create_table(
        "settings",
        sa.Column("name", sa.String(20), primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
        sa.Column("seal", sa.BigInteger, nullable=False),
    )
