"""A private PostgreSQL server on a socket in a temporary folder, started for the tests and stopped by its number."""

import ctypes
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FASTER = ("fsync=off", "full_page_writes=off", "synchronous_commit=off")


def _account():
    """The server refuses to run as root: another account does it then."""
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    entry = names.get("postgres") or names["nobody"]
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


def _open_to_all(folder):
    """Whether any account may enter a folder."""
    return all(each.stat().st_mode & 0o001 for each in (folder, *folder.parents))


def _new_folder(account):
    """A temporary folder; where another account is to use it, one that this account can reach."""
    places = [Path(tempfile.gettempdir()), Path("/tmp"), Path("/var/tmp")]
    place = next((each for each in places if not account or (each.is_dir() and _open_to_all(each))), places[0])
    folder = Path(tempfile.mkdtemp(prefix="ownmark-pg-", dir=place))
    if account:
        os.chown(folder, account["user"], account["group"])
    return folder


def _within_reach(programs, folder, account):
    """The programs, copied beside the server's files where the other account cannot reach them (a clone in /root)."""
    if not account or _open_to_all(programs.resolve()):
        return programs
    whole = programs.parents[2]  # the programs find their libraries from where they are, also those beside the package
    inside = programs.parent.relative_to(whole)
    for part in (
        *(inside / name for name in ("bin/postgres", "bin/initdb", "lib", "share")),
        f"{inside.parts[0]}.libs",
    ):
        if not (whole / part).exists():
            continue
        place = folder / "server" / part
        place.parent.mkdir(parents=True, exist_ok=True)
        (shutil.copytree if (whole / part).is_dir() else shutil.copy2)(whole / part, place)
    for path in (folder / "server", *(folder / "server").rglob("*")):
        os.chown(path, account["user"], account["group"], follow_symlinks=False)
    return folder / "server" / inside / "bin"


def _end_with_parent():
    """What makes the server end with the process that started it, however that ends; only Linux can be asked for it."""
    if sys.platform != "linux":
        return None
    set_signal_of_parents_end = 1  # PR_SET_PDEATHSIG
    prctl = ctypes.CDLL(None).prctl
    return lambda: prctl(set_signal_of_parents_end, signal.SIGQUIT)


class Server:
    """``url()`` leads to an empty schema of its own each time."""

    def __init__(self, programs, settings=FASTER):
        self.account = _account()
        self.folder = _new_folder(self.account)
        self.bin = _within_reach(programs, self.folder, self.account)
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
        end = _end_with_parent()
        self.process = subprocess.Popen(command, cwd="/", stdout=log, stderr=log, preexec_fn=end, **self.account)  # noqa: PLW1509 it only calls prctl
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
