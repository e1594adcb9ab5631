"""What apt can bring: only as root on Debian, and never where the variable forbids it."""

import ctypes
import os
import shutil
import subprocess
import sys
from pathlib import Path

NO_APT = "OWNMARK_NO_APT"
_SYSTEM = Path("/etc/os-release")


def has_library(name: str) -> bool:
    """Whether a library of the system can be loaded."""
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


def can_install() -> bool:
    """Whether apt can be asked. Ubuntu is left out: its package of Chromium only calls for a snap."""
    if os.environ.get(NO_APT) or sys.platform != "linux" or os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    try:
        told = dict(line.split("=", 1) for line in _SYSTEM.read_text().splitlines() if "=" in line)
    except OSError:
        return False
    return told.get("ID", "").strip('"') == "debian"


def install(packages: list[str]) -> None:
    """Install packages by apt; where that does not work, tell apt's reason."""
    quietly = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *packages]):
        done = subprocess.run(
            ["apt-get", *words], check=False, env=quietly, stdin=subprocess.DEVNULL, capture_output=True, text=True
        )
        if done.returncode != 0:
            last = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
            print(f"apt-get {words[0]} did not work: {last}")
