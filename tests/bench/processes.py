"""What processes use: memory and processor time of this one, of its workers, of a server, told apart while they run."""

import os
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

Found = TypeVar("Found")
_TICKS = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100
_EVERY_S = 0.5
_MIB = 2**20


@dataclass(frozen=True)
class Used:
    """Processor time of each group [s]."""

    own: float
    workers: float
    server: float

    def since(self, before: "Used") -> "Used":
        """What was used from then on."""
        return Used(self.own - before.own, self.workers - before.workers, self.server - before.server)

    @property
    def all(self) -> float:
        """Of all together."""
        return self.own + self.workers + self.server


@dataclass
class Meter:
    """Looks at the processes from time to time.

    server : number of the server's first process; None without one
    apart : numbers of processes that are no workers
    """

    server: int | None = None
    apart: frozenset[int] = frozenset()
    own_mib: list[float] = field(default_factory=list)
    worker_mib: list[float] = field(default_factory=list)
    server_mib: list[float] = field(default_factory=list)
    looked_s: float = 0.0
    _last: dict[int, float] = field(default_factory=dict)
    _served: set[int] = field(default_factory=set)
    _ended: threading.Event = field(default_factory=threading.Event)

    def __enter__(self) -> "Meter":
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        self._thread.join()

    def used(self) -> Used:
        """Processor time up to now; of a process that ended, up to the last look. Looking is not counted."""
        began = time.thread_time()
        workers, server = self._look()
        self._last |= {pid: _cpu_s(pid) for pid in (*workers, *server)}
        self._served |= set(server)
        by_workers = sum(spent for pid, spent in self._last.items() if pid not in self._served)
        by_server = sum(spent for pid, spent in self._last.items() if pid in self._served)
        self.looked_s += time.thread_time() - began
        return Used(time.process_time() - self.looked_s, by_workers, by_server)

    def _watch(self) -> None:
        while not self._ended.wait(_EVERY_S):
            began = time.thread_time()
            workers, server = self._look()
            self.own_mib.append(_rss_mib(os.getpid()))
            self.worker_mib.append(max(map(_rss_mib, workers), default=0.0))
            self.server_mib.append(sum(map(_rss_mib, server)))
            self.looked_s += time.thread_time() - began

    def _look(self) -> tuple[list[int], list[int]]:
        """The workers, and the server with its own."""
        children = _children()
        server = [] if self.server is None else [self.server, *_below(self.server, children)]
        apart = {*self.apart, *server}
        for each in self.apart:
            apart |= set(_below(each, children))
        return [pid for pid in _below(os.getpid(), children) if pid not in apart], server


def loads() -> str:
    """How busy the machine is with everything: processes that want to run, over 1 and 5 minutes."""
    one, five, _ = os.getloadavg()
    return f"{one:.1f} and {five:.1f} on {os.cpu_count()} processors"


def cpu_of(pid: int) -> float:
    """Processor time of a process that runs, user and system [s]."""
    return _cpu_s(pid)


def _below(pid: int, children: dict[int, list[int]]) -> list[int]:
    found = list(children.get(pid, ()))
    for each in found:
        found += children.get(each, ())
    return found


def _children() -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            stat = _stat(int(entry.name))
            if stat:
                found.setdefault(int(stat[1]), []).append(int(entry.name))
    return found


def _stat(pid: int) -> list[str]:
    """What the system says of a process behind its name; empty where it has ended."""
    return _read(pid, "stat", lambda text: text.rsplit(")", 1)[1].split()) or []


def _cpu_s(pid: int) -> float:
    stat = _stat(pid)
    return (int(stat[11]) + int(stat[12])) / _TICKS if stat else 0.0


def _rss_mib(pid: int) -> float:
    pages = _read(pid, "statm", lambda text: int(text.split()[1])) or 0
    return pages * os.sysconf("SC_PAGE_SIZE") / _MIB


def _read(pid: int, name: str, take: Callable[[str], Found]) -> Found | None:
    try:
        return take(Path(f"/proc/{pid}/{name}").read_text())
    except (OSError, IndexError):
        return None
