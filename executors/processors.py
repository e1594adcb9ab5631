"""How many processors this process may use: those of the machine, less what it was bound to or allotted."""

import math
import os
from pathlib import Path

_GROUPS, _MINE = Path("/sys/fs/cgroup"), Path("/proc/self/cgroup")


def usable(groups: Path = _GROUPS, mine: Path = _MINE) -> int:
    """At least 1.

    groups, mine : where Linux keeps the control groups, and which of them this process is in
    """
    try:
        count = len(os.sched_getaffinity(0))
    except AttributeError:  # not on this system
        count = os.cpu_count() or 1
    shares = [share for folder in _folders(groups, mine) if (share := _share(folder)) is not None]
    return max(1, min([count, *(math.ceil(share) for share in shares)]))


def _folders(groups: Path, mine: Path) -> list[Path]:
    """The folders of this process's group and of all above it: each may allot less than the one above."""
    try:
        lines = mine.read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError):
        lines = []
    found = [groups, groups / "cpu"]
    for line in lines:
        _, _, rest = line.partition(":")
        controllers, _, inside = rest.partition(":")
        if controllers == "":
            found += _downward(groups, inside)
        elif "cpu" in controllers.split(","):
            found += [*_downward(groups / "cpu", inside), *_downward(groups / controllers, inside)]
    return found


def _downward(top: Path, inside: str) -> list[Path]:
    """Each folder on the way from the top to a group."""
    parts = [part for part in inside.split("/") if part not in ("", ".", "..")]
    return [top.joinpath(*parts[: depth + 1]) for depth in range(len(parts))]


def _share(folder: Path) -> float | None:
    """Processors allotted to a group, by version 2 ("150000 100000": one and a half) or version 1; None: all."""
    quota, _, period = _text(folder / "cpu.max").partition(" ")
    if not quota:
        quota, period = _text(folder / "cpu.cfs_quota_us"), _text(folder / "cpu.cfs_period_us")
    try:
        allotted, of = int(quota), int(period)
    except ValueError:  # "max", or nothing is said
        return None
    return allotted / of if allotted > 0 and of > 0 else None


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        return ""
