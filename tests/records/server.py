"""A private PostgreSQL server on a socket in a temporary folder, started for the tests and stopped by its number."""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path

FASTER = ("fsync=off", "full_page_writes=off", "synchronous_commit=off")


def programs():
    """The folder of the server's programs, None where there are none."""
    found = shutil.which("initdb")
    folders = ([str(Path(found).parent)] if found else []) + sorted(
        map(str, Path("/usr/lib/postgresql").glob("*/bin"))
    )[::-1]
    return next((Path(each) for each in folders if (Path(each) / "postgres").exists()), None)


def _account():
    """The server refuses to run as root: another account does it then."""
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    entry = names.get("postgres") or names["nobody"]
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


class Server:
    """``url()`` leads to an empty schema of its own each time."""

    def __init__(self, settings=FASTER):
        self.bin = programs()
        self.folder = Path(tempfile.mkdtemp(prefix="ownmark-pg-"))
        self.account = _account()
        if self.account:
            os.chown(self.folder, self.account["user"], self.account["group"])
        self.settings = [part for each in settings for part in ("-c", each)]
        self.schemas = 0
        self.process = None
        self._run("initdb", "-D", self.folder / "data", "-U", "ownmark", "-A", "trust", "--no-sync", "-E", "UTF8",
                  "--locale=C")  # fmt: skip
        self.start()

    def _run(self, program, *words):
        subprocess.run([self.bin / program, *words], check=True, cwd="/", capture_output=True, **self.account)

    def start(self):
        """Start the server and wait until it answers."""
        command = [self.bin / "postgres", "-D", self.folder / "data", "-k", self.folder, "-c", "listen_addresses=",
                   "-c", "shared_buffers=32MB", "-c", "max_connections=30", *self.settings]  # fmt: skip
        log = (self.folder / "log").open("ab")
        self.process = subprocess.Popen(command, cwd="/", stdout=log, stderr=log, **self.account)
        log.close()
        self.execute("SELECT 1")

    def connect(self):
        """A connection; waits while the server starts or recovers."""
        import psycopg

        until = time.monotonic() + 60
        while True:
            try:
                return psycopg.connect(host=str(self.folder), user="ownmark", dbname="postgres", autocommit=True)
            except psycopg.OperationalError:
                if time.monotonic() > until:
                    raise
                time.sleep(0.02)

    def execute(self, command):
        """One command, and the rows that it gives."""
        with self.connect() as connection:
            cursor = connection.execute(command)
            return cursor.fetchall() if cursor.description else []

    def url(self):
        """The address of a new, empty schema."""
        self.schemas += 1
        name = f"t{self.schemas}"
        self.execute(f"CREATE SCHEMA {name}")
        return f"postgresql://ownmark@/postgres?host={self.folder}&options=-csearch_path%3D{name}"

    def kill(self):
        """End the server at once, as a power cut would end its programs."""
        self._end(signal.SIGKILL)

    def stop(self):
        """End the server and remove its folder."""
        self._end(signal.SIGQUIT)  # at once: nobody needs it any more
        shutil.rmtree(self.folder)

    def _end(self, how):
        if self.process is not None:
            os.kill(self.process.pid, how)
            self.process.wait(60)
            self.process = None
