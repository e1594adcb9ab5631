"""Lets the folder of a clone have any name: pytest is told that test modules are called ``tests.…``, and nothing above.

The root of the repository is the package ``ownmark`` and has an ``__init__.py``. pytest takes the topmost folder with
one for the package that a test belongs to, and so imports the clone's folder by its name: in a folder called ``copy``
the standard library's ``copy`` is replaced. This is loaded by ``-p`` before any test module or ``conftest.py`` is.
"""

from pathlib import Path

from _pytest import pathlib

ROOT = Path(__file__).resolve().parents[1]
_topmost = pathlib.resolve_package_path


def _topmost_below_root(path: Path) -> Path | None:
    """The topmost package that holds a path, the root left out."""
    found = _topmost(path)
    return ROOT / "tests" if found is not None and found.resolve() == ROOT else found


pathlib.resolve_package_path = _topmost_below_root
