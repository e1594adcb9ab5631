"""heartpy without the package that it imports for one function, and which new versions of setuptools no longer bring.

heartpy 1.2.7 takes ``resource_filename`` from ``pkg_resources`` to find its example recordings. While it is imported a
stand-in of that one function takes the place, so that no old setuptools need be installed beside it.
"""

import sys
import warnings
from pathlib import Path
from types import ModuleType

_ASKED = "pkg_resources"


def import_heartpy() -> ModuleType:
    """The module, silently; 2 to 4 s the first time."""
    there = sys.modules.get(_ASKED)
    sys.modules[_ASKED] = there or _stand_in()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # none of it concerns the person
            import heartpy
    finally:
        if there is None:
            del sys.modules[_ASKED]
    return heartpy


def _stand_in() -> ModuleType:
    """A module with the one function."""
    module = ModuleType(_ASKED)
    module.resource_filename = _beside  # pyright: ignore[reportAttributeAccessIssue]
    return module


def _beside(module: str, name: str) -> str:
    """The path of a file that lies beside a module."""
    return str(Path(sys.modules[module].__file__ or "").parent / name)
