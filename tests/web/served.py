"""The page as it is started by its command, or in a thread, on a socket of this computer."""

import array
import fcntl
import os
import re
import signal
import socket
import subprocess
import sys
import termios
import threading
import time
from contextlib import contextmanager

from ownmark.web.serve import bind, port_of, server

STARTED_S = 30


class Page:
    """A page that runs as a program of its own."""

    def __init__(self, place, *options, env=None):
        words = [sys.executable, "-m", "ownmark.cli", "page", "--no-browser", "--logbook", str(place), *options]
        self.program = subprocess.Popen(
            words,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**{name: each for name, each in os.environ.items() if name != "PYTHONUNBUFFERED"}, **(env or {})},
        )
        self.link = self.program.stdout.readline().strip()
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)(/start/[\w-]{43})", self.link)
        if found is None:
            self.end()
            raise AssertionError(f"no address: {self.link!r}")
        self.port, self.start = int(found[1]), found[2]

    def end(self):
        """End it if it still runs; what it printed since, and its exit code."""
        if self.program.poll() is None:
            self.program.terminate()
        out, err = self.program.communicate(timeout=STARTED_S)
        return self.program.returncode, out, err


@contextmanager
def page(place, *options, env=None):
    """A page of its own program, ended by its process."""
    found = Page(place, *options, env=env)
    try:
        yield found
    finally:
        found.end()


@contextmanager
def serving(parts, fault):
    """The page in a thread of this process; gives its port."""
    with bind(0) as listening:
        found = server(parts, port_of(listening), fault)
        thread = threading.Thread(target=found.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            if not until(lambda: found.started):
                raise AssertionError("the page does not begin")
            yield port_of(listening)
        finally:
            found.should_exit = True
            thread.join(STARTED_S)


def until(found, wait_s=STARTED_S):
    """Wait for something to be true; whether it is."""
    end = time.monotonic() + wait_s
    while not found() and time.monotonic() < end:
        time.sleep(0.02)
    return found()


def stop(process_id):
    """Stop a process that this one started, and wait until none of its threads does anything more."""
    os.kill(process_id, signal.SIGSTOP)
    os.waitpid(process_id, os.WUNTRACED)


def unread(pipe):
    """How many bytes lie in a pipe that nobody has read yet, asked at the end that writes."""
    found = array.array("i", [0])
    fcntl.ioctl(pipe, termios.FIONREAD, found)
    return found[0]


def connected(port):
    """A connection to a port of this computer."""
    found = socket.create_connection(("127.0.0.1", port), timeout=STARTED_S)
    found.settimeout(STARTED_S)
    return found


def exchange(port, request, wait_s=2):
    """All that comes back for these bytes, until the other side closes or says nothing more for a while."""
    with connected(port) as line:
        line.sendall(request)
        line.settimeout(wait_s)
        return all_of(line)


def all_of(line):
    """What comes until the connection ends."""
    found = b""
    try:
        while piece := line.recv(65536):
            found += piece
    except (TimeoutError, ConnectionError):
        pass
    return found


def get(port, path, *headers, method="GET", body=b""):
    """Status, head and body of one request."""
    lines = [f"{method} {path} HTTP/1.1", f"Host: 127.0.0.1:{port}", "Connection: close", *headers]
    answer = exchange(port, "\r\n".join(lines).encode("latin-1") + b"\r\n\r\n" + body, STARTED_S)
    head, _, content = answer.partition(b"\r\n\r\n")
    return int(head.split(b" ")[1]), head.decode("latin-1"), content.decode("utf-8", "replace")


def cookie_of(head):
    """The cookie that an answer sets, as a header."""
    return "Cookie: " + re.search(r"(?im)^set-cookie: ([^;\r]+)", head)[1]
