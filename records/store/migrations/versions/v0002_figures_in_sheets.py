"""The figures stand in the sheets alone: the table that held them a second time goes."""

import sqlalchemy as sa
from alembic import op

# A step is loaded by its path, and has no package to be relative to.
from ownmark.records.store.seals import damaged  # pyright: ignore[reportMissingImports, reportUnknownVariableType]

revision = "0002"
down_revision = "0001"

_WITHOUT_SHEET = sa.text(
    "SELECT figures.trial_id FROM figures LEFT JOIN sheets ON sheets.trial_id = figures.trial_id "
    "WHERE sheets.trial_id IS NULL LIMIT 1"
)


def upgrade() -> None:
    """Drop the table, if no figure of it stands nowhere else.

    Raises
    ------
    LogbookDamaged
        If a trial has figures and its sheet is lost: they are then the only trace of it.
    """
    lost = op.get_bind().execute(_WITHOUT_SHEET).first()
    if lost is not None:
        raise damaged(f"the sheet of trial {lost[0]}")
    op.drop_table("figures")
