"""Original files are packed by zstd from here on, which an older ownmark would take for damage: no row changes.

What was packed by zlib stays, and is read for ever.
"""

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Nothing but the version, by which an older ownmark tells that it is too old."""
