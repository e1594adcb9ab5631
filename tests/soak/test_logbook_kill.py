"""A hundred kills of a writer, and a dozen of the server itself, at random moments: only whole trials stay."""

import os
import random
import signal
import time
from pathlib import Path

import pytest
from ownmark.errors import RecordsError
from ownmark.records import open_logbook

from tests.outside.parts import POSTGRESQL
from tests.records.store import made
from tests.records.store.server import Server
from tests.records.store.whole import assert_whole, kill_at_random
from tests.records.store.zygote import Zygote

pytestmark = pytest.mark.soak


@pytest.fixture(scope="module")
def zygote():
    running = Zygote()
    yield running
    running.stop()


@pytest.fixture
def own_server():
    running = Server(POSTGRESQL.need(), settings=())  # with all that makes a server lose nothing
    yield running
    running.stop()


@pytest.mark.parametrize("what", ["add", "forget"])
def test_a_hundred_kills_on_a_file(tmp_path, zygote, what):
    draw = random.Random(20)
    kept = 0
    for turn in range(10):
        place = str(tmp_path / f"{turn}.db")
        if what == "forget":
            with open_logbook(place) as logbook:
                made.filled(logbook, codes=("TH-11",))
        kept += kill_at_random(zygote, place, 11, draw, what)
    print(f"110 kills while one could {what}: {kept} trials were acknowledged, none was lost")


@pytest.mark.parametrize("what", ["add", "forget"])
def test_a_hundred_kills_of_a_client_of_the_server(own_server, zygote, what):
    draw = random.Random(21)
    for _ in range(10):
        place = own_server.url()
        if what == "forget":
            with open_logbook(place) as logbook:
                made.filled(logbook, codes=("TH-11",))
        kill_at_random(zygote, place, 11, draw, what)


def children(parent):
    """Numbers of the processes that a process has started."""
    found = []
    for entry in Path("/proc").glob("[0-9]*/stat"):
        try:
            if int(entry.read_text().rpartition(")")[2].split()[1]) == parent:
                found.append(int(entry.parent.name))
        except (OSError, IndexError):
            continue
    return found


def test_a_server_that_is_killed_holds_only_whole_trials(own_server, zygote):
    draw = random.Random(22)
    place = own_server.url()
    open_logbook(place).close()
    kept, start = set(), 0
    for _ in range(12):
        zygote.begin("add", place, start)
        time.sleep(0.1 + draw.random() * 0.4)
        server = own_server.process.pid
        of_server = children(server)
        own_server.kill()
        for process in of_server:
            try:
                os.kill(process, signal.SIGKILL)
            except ProcessLookupError:
                continue
        said = zygote.rest()
        assert said[-1] == ["refused", "no_logbook"]
        kept |= {int(words[2]) for words in said if words[0] == "kept"}
        start += len(said) + 2
        (own_server.folder / "data" / "postmaster.pid").unlink(missing_ok=True)
        own_server.start()
        with open_logbook(place) as logbook:
            assert kept <= {int(notes.split()[1]) for notes in assert_whole(logbook)}
    assert kept


def test_random_damage_at_many_places(tmp_path):
    from tests.records.store.test_damage import all_of, check

    with open_logbook(tmp_path / "whole.db") as logbook:
        made.filled(logbook)
        truth = all_of(logbook)
    content = (tmp_path / "whole.db").read_bytes()
    draw = random.Random(23)
    refused = 0
    for _ in range(1500):
        damaged = bytearray(content)
        for _ in range(draw.choice((1, 1, 2, 16))):
            damaged[draw.randrange(len(content))] = draw.randrange(256)
        refused += check(tmp_path / "damaged.db", bytes(damaged), truth)
    print(f"{refused} of 1500 damaged files were refused, the others read as they were")


def test_a_damaged_backup_is_never_restored(tmp_path):
    from ownmark.records import back_up, restore

    with open_logbook(tmp_path / "whole.db") as logbook:
        made.filled(logbook)
        back_up(logbook, tmp_path / "whole.zip")
        truth = list(logbook.trials())
    content = (tmp_path / "whole.zip").read_bytes()
    draw = random.Random(24)
    for turn in range(200):
        damaged = bytearray(content)
        damaged[draw.randrange(len(content))] = draw.randrange(256)
        (tmp_path / "damaged.zip").write_bytes(damaged)
        with open_logbook(tmp_path / f"{turn}.db") as second:
            try:
                restore(second, tmp_path / "damaged.zip")
            except RecordsError:
                assert set(second.count().values()) == {0}
            else:
                assert list(second.trials()) == truth
        (tmp_path / f"{turn}.db").unlink()
