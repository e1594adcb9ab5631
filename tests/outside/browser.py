"""The browser that pages are looked at with, and the accessibility rules (axe-core, MPL-2.0) that run in it."""

import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

VARIABLE = "OWNMARK_CHROMIUM"
_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge", "microsoft-edge")
_PLACES = {
    "darwin": ("/Applications/Chromium.app/Contents/MacOS/Chromium",
               "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
    "win32": (r"C:\Program Files\Google\Chrome\Application\chrome.exe",
              r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe"),
}  # fmt: skip

_SYSTEM = Path("/etc/os-release")


def chromium() -> Path | None:
    """The program of a Chromium, or of a browser made from it."""
    if named := os.environ.get(VARIABLE):
        return Path(named) if Path(named).is_file() else None
    found = [shutil.which(name) for name in _NAMES] + list(_PLACES.get(sys.platform, ()))
    return next((Path(each) for each in found if each and Path(each).is_file()), None)


def axe() -> Path | None:
    """The script with the accessibility rules."""
    spec = find_spec("axe_playwright_python")
    if spec is None or not spec.submodule_search_locations:
        return None
    script = Path(spec.submodule_search_locations[0]) / "axe.min.js"
    return script if script.is_file() else None


def can_install() -> bool:
    """Whether apt can install Chromium here: Debian, and the rights to. Ubuntu's package only calls for a snap."""
    if sys.platform != "linux" or os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    try:
        told = dict(line.split("=", 1) for line in _SYSTEM.read_text().splitlines() if "=" in line)
    except OSError:
        return False
    return told.get("ID", "").strip('"') == "debian"


def install() -> bool:
    """Install Chromium by apt; whether it is there now."""
    quietly = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", "chromium"]):
        done = subprocess.run(
            ["apt-get", *words], check=False, env=quietly, stdin=subprocess.DEVNULL, capture_output=True, text=True
        )
        if done.returncode != 0:
            last = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
            print(f"apt-get {words[0]} did not work: {last}")
    return chromium() is not None
