"""The local page: from the command to its first screen, beside a bare ``http.server``; and how long screens take."""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from ownmark.records.store.logbook import open_logbook

from tests.bench.clock import median, ratio, side_by_side
from tests.records.store import made
from tests.web.served import connected, cookie_of, get, page

_BARE = (
    "import http.server, sys\n"
    "server = http.server.HTTPServer(('127.0.0.1', 0), http.server.SimpleHTTPRequestHandler)\n"
    "print(server.server_address[1], flush=True)\n"
    "server.serve_forever()\n"
)
ROUNDS = 9
SCREENS = 200


def first_screen() -> None:
    """From the start of the process to the first screen, the link's page before it included."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "logbook.db"
        with open_logbook(place) as logbook:
            made.filled(logbook)
        jobs = {
            "bare": lambda: _bare(folder),
            "begun": lambda: _first(place, whole=False),
            "whole": lambda: _first(place, whole=True),
        }
        spent = side_by_side(jobs, ROUNDS)
        again = _again(place)
    print("The page, from the command to the first screen, beside a bare http.server")
    for name, what in (("begun", "its buttons"), ("whole", "with the days that wait")):
        print(f"  {what}: {ratio(spent, name, 'bare'):.1f} times ({median(spent[name]):.2f} s)")
    print(f"  the first screen again: median {again[0] * 1000:.1f} ms, p95 {again[1] * 1000:.1f} ms of {SCREENS}")


def _bare(folder: str) -> None:
    program = subprocess.Popen(
        [sys.executable, "-c", _BARE], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    try:
        get(int(program.stdout.readline()), "/") if program.stdout else None
    finally:
        program.kill()
        program.communicate()


def _first(place: "os.PathLike[str]", *, whole: bool) -> None:
    """``whole``: with what the logbook says, which follows what the screen begins with."""
    with page(place) as found:
        _, head, _ = get(found.port, found.start)
        lines = ["GET / HTTP/1.1", f"Host: 127.0.0.1:{found.port}", "Connection: close", cookie_of(head)]
        seen = b""
        with connected(found.port) as line:
            line.sendall("\r\n".join(lines).encode() + b"\r\n\r\n")
            while b"/now" not in seen or whole:  # the button that a class begins with
                piece = line.recv(65536)
                seen += piece
                if not piece:
                    break
        if b"<h1>" not in seen or (b"</html>" in seen) < whole:
            raise AssertionError("no first screen")
        found.program.kill()  # its end is no part of its start


def _again(place: "os.PathLike[str]") -> tuple[float, float]:
    """Median and 95th percentile of the first screen's time when all is loaded [s]."""
    with page(place) as found:
        _, head, _ = get(found.port, found.start)
        cookie = cookie_of(head)
        times = []
        for _ in range(SCREENS):
            began = time.perf_counter()
            get(found.port, "/", cookie)
            times.append(time.perf_counter() - began)
        return statistics.median(times), statistics.quantiles(times, n=20)[-1]


if __name__ == "__main__":
    first_screen()
