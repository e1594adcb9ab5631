"""The changes that change nothing, with the reason, written down by hand in ``reasons.toml``."""

import tomllib
from pathlib import Path

FILE = Path(__file__).with_name("reasons.toml")


def reasons() -> dict[tuple[str, str, str, str], str]:
    """By module, function, statement before and after."""
    rows = tomllib.loads(FILE.read_text()).get("same", [])
    return {(row["module"], row["where"], row["was"], row["now"]): row["why"] for row in rows}
