"""Each file of a trial says of which recording it is: all of it, or a part."""

# Alembic loads this file by its path, so it imports by full names, which the type checker finds only installed.
# pyright: reportMissingImports=false, reportUnknownVariableType=false

import sqlalchemy as sa
from alembic import op
from ownmark.records.store.seals import seal

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Until now every file was kept whole."""
    op.add_column("files", sa.Column("recording", sa.String(64), nullable=False, server_default=""))
    files = sa.table("files", *map(sa.column, ("trial_id", "position", "path", "sha256", "recording", "seal")))
    connection = op.get_bind()
    for row in connection.execute(sa.select(files)).all():
        if seal(row[:4]) != row.seal:
            continue  # it changed on the disk: its seal goes on to say so
        here = (files.c.trial_id == row.trial_id) & (files.c.position == row.position)
        new = {"recording": row.sha256, "seal": seal((*row[:4], row.sha256))}
        connection.execute(sa.update(files).where(here).values(**new))
    op.create_index("files_by_recording", "files", ["recording"])
