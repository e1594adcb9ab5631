"""What is installed without ``-e`` is whole: every package of the tree, and every file of data that they read."""

import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
NOT_INSTALLED = ("tests", "docs", ".ci")


@pytest.fixture(scope="module")
def kept():
    """The files of the tree."""
    if not (ROOT / ".git").exists():
        names = [path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.*") if ".venv" not in path.parts]
    else:
        words = ["git", "-C", str(ROOT), "ls-files", "--cached", "--others", "--exclude-standard"]
        names = subprocess.run(words, capture_output=True, text=True, check=True).stdout.splitlines()
    return [Path(name) for name in names if not name.startswith(NOT_INSTALLED) and (ROOT / name).is_file()]


def dotted(folder):
    return ".".join(("ownmark", *folder.parts))


def test_every_package_is_installed(kept):
    assert {dotted(path.parent) for path in kept if path.name == "__init__.py"} == set(SETTINGS["packages"])


def test_every_file_of_data_is_installed(kept):
    patterns = [
        (Path(*package.split(".")[1:]), pattern)
        for package, found in SETTINGS["package-data"].items()
        for pattern in found
    ]
    data = [path for path in kept if path.suffix != ".py" and path.parent != Path()]
    assert [
        path.as_posix() for path in data if not any(path.match(str(folder / pattern)) for folder, pattern in patterns)
    ] == []
