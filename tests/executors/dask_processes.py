"""A Dask scheduler and workers as processes of their own, on this machine's own address; ended by their id."""

import os
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager, suppress

HOST = "127.0.0.1"
_SCHEDULER = """
import asyncio, sys
from distributed import Scheduler
async def main():
    quiet = {"dashboard": False, "dashboard_address": "127.0.0.1:0"}
    async with Scheduler(host="127.0.0.1", port=int(sys.argv[1]), **quiet) as it:
        await it.finished()
asyncio.run(main())
"""
_WORKER = """
import asyncio, sys
from distributed import Worker, Nanny
async def main():
    kind = Nanny if sys.argv[2] == "nanny" else Worker
    async with kind(sys.argv[1], host="127.0.0.1", nthreads=1, memory_limit=0) as it:
        print("at work", flush=True)
        await it.finished()
if __name__ == "__main__":
    asyncio.run(main())
"""


def free_port():
    with socket.create_server((HOST, 0)) as server:
        return server.getsockname()[1]


@contextmanager
def ended(process):
    try:
        yield process
    finally:
        end(process)


def end(process):
    with suppress(ProcessLookupError):
        process.kill()
    process.wait(10)
    process.stdout.close()


@contextmanager
def later(seconds, started):
    """Start processes after a while, and end them."""
    found = []
    timer = threading.Timer(seconds, lambda: found.extend(started()))
    timer.start()
    try:
        yield
    finally:
        timer.join()
        for each in found:
            end(each)


def scheduler(port):
    """It answers when this comes back."""
    process = _process(_SCHEDULER, str(port))
    until = time.monotonic() + 30
    while time.monotonic() < until:
        with suppress(OSError), socket.create_connection((HOST, port), timeout=1):
            return process
        time.sleep(0.05)
    end(process)
    raise AssertionError("the scheduler did not start")


def worker(port, path=None, kind="worker"):
    """It is at work when this comes back.

    path : a folder before all others of the worker's modules
    """
    more = {"PYTHONPATH": os.pathsep.join([str(path)] if path else [*filter(None, sys.path)])}
    process = _process(_WORKER, f"tcp://{HOST}:{port}", kind, **more)
    assert process.stdout.readline() == b"at work\n"
    return process


def _process(program, *words, **more):
    heard = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    return subprocess.Popen([sys.executable, "-c", program, *words], env={**os.environ, **more}, **heard)
