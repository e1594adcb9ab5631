"""A recording is known by what its file unpacks to, so that it is the same however it is packed: no table changes.

The rows of what is kept packed are renamed behind this step (``known_by_content``), as those of a restored backup are.
"""

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Nothing but the version: an older ownmark would take a packed and an unpacked file for two recordings."""
