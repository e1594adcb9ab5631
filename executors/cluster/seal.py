"""What must be the same wherever work is done, so that figures are equal to the last digit."""

import hashlib
import sys
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
_FOLDERS = ("words", "ingest", "metrics", "records")
"""What figures are made of."""


@dataclass(frozen=True, slots=True)
class Seal:
    """Versions, and a hash of the code and tables that figures are made of."""

    ownmark: str
    python: str
    numpy: str
    code: str


@cache
def seal_here() -> Seal:
    """The seal of this process; reads the package once (some 40 ms)."""
    from ... import __version__

    return Seal(__version__, f"{sys.version_info.major}.{sys.version_info.minor}", _major("numpy"), _code())


def _major(package: str) -> str:
    """The first part of a package's version; empty where it is not installed."""
    try:
        return version(package).partition(".")[0]
    except PackageNotFoundError:
        return ""


def _code() -> str:
    """The hash; line ends do not count, as a clone on Windows may have others."""
    found = hashlib.sha256()
    for folder in _FOLDERS:
        for path in sorted((_ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml"):
                found.update(path.relative_to(_ROOT).as_posix().encode())
                found.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return found.hexdigest()[:12]
