"""The page's own style sheet, scripts and pictures: read once, each under an address that holds its hash.

A style sheet's ``$PLUM`` is the colour of that name in ``reports/palette.py``, so that screen and paper agree.
"""

import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ..reports import palette

FOLDER = Path(__file__).parent / "static"
TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


@dataclass(frozen=True, slots=True)
class Asset:
    """A file as it is served."""

    name: str
    mark: str
    content: bytes
    media_type: str

    @property
    def path(self) -> str:
        """Its address."""
        return f"/static/{self.mark}/{self.name}"


@lru_cache
def assets() -> dict[str, Asset]:
    """Every file of the folder by its name."""
    return {path.name: _asset(path) for path in sorted(FOLDER.iterdir()) if path.suffix in TYPES}


def _asset(path: Path) -> Asset:
    content = path.read_bytes()
    if path.suffix == ".css":
        text = re.sub(r"\$([A-Z]+)", lambda found: getattr(palette, found[1]), content.decode())
        content = text.encode()
    return Asset(path.name, hashlib.sha256(content).hexdigest()[:16], content, TYPES[path.suffix])


def address(name: str) -> str:
    """The address of a file, for a template.

    Raises
    ------
    KeyError
        If there is no such file.
    """
    return assets()[name].path
