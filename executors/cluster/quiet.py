"""Dask without its own voice: what it logs and warns of reaches no terminal while a cluster is open."""

import logging
import os
import warnings
from collections.abc import Generator, Mapping
from contextlib import contextmanager, suppress
from importlib import import_module

_LOGGERS = ("distributed", "distributed.client", "distributed.gc", "bokeh", "tornado", "tornado.application", "asyncio")
_LEFT_BEHIND = ("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MALLOC_TRIM_THRESHOLD_")
"""What Dask sets for its workers, in the process that starts them too."""
SETTINGS: Mapping[str, object] = {
    "distributed.admin.large-graph-warning-threshold": "1GiB",  # a job may be a day's recording
    "distributed.comm.timeouts.connect": "5s",
    # Else a worker that ends twice within this time can be missing when it is looked for, and never comes back.
    "distributed.deploy.lost-worker-timeout": "365 days",
    "distributed.worker.profile.enabled": False,
    "distributed.worker.memory.target": False,  # no recording of a student's is written to a scratch folder
    "distributed.worker.memory.spill": False,
    "distributed.worker.memory.pause": False,
    "distributed.worker.http.routes": [],
    "distributed.scheduler.http.routes": [],
    "distributed.scheduler.allowed-failures": 0,  # a job whose worker ended is done again, in a process of its own
    "distributed.scheduler.active-memory-manager.start": False,
    "distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": None,  # each job would fetch its memory anew
    # What looks after a cluster of thousands, many times a second: idle, it takes half of what a cluster here takes.
    "distributed.admin.tick.interval": "1s",
    "distributed.admin.system-monitor.interval": "20s",
    "distributed.admin.system-monitor.disk": False,
    "distributed.admin.system-monitor.gil.enabled": False,
}
"""For the client, and for a cluster on this machine; one that is there has its own."""


@contextmanager
def quiet() -> Generator[None]:
    """Import Dask, set it up, and put everything back at the end."""
    with warnings.catch_warnings():
        for package in ("distributed", "dask", "tornado", "asyncio", "zict"):
            warnings.filterwarnings("ignore", module=rf"{package}(\.|$)")
        from dask import config

        import_module("distributed.config")  # it sets its loggers up, which is undone now

        loggers = [logging.getLogger(name) for name in _LOGGERS]
        before = [(each.handlers[:], each.propagate, each.level) for each in loggers]
        environment = {name: os.environ.get(name) for name in _LEFT_BEHIND}
        try:
            for each in loggers:
                each.handlers, each.propagate = [logging.NullHandler()], False
            with config.set(SETTINGS):
                yield
        finally:
            for each, (handlers, propagate, level) in zip(loggers, before, strict=True):
                each.handlers, each.propagate = handlers, propagate
                each.setLevel(level)
            for name, value in environment.items():
                with suppress(KeyError):
                    del os.environ[name]
                if value is not None:
                    os.environ[name] = value
