"""The reading screens over a large logbook: how long each takes when it is looked at, and just after a write."""

import random
import statistics
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from ownmark.records import open_logbook
from ownmark.records.store.many_trials import add_trials
from ownmark.web.app import build
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.serve import rest_seldom
from starlette.testclient import TestClient

from tests.bench.logbook import _sheet
from tests.records.store.made import protocol, student, trial

TRIALS, EACH, PROTOCOLS = 20_000, 20, 3
PORT = 8417
LOOKS, WRITES = 40, 5


def main(trials: int = TRIALS) -> None:
    """Print the median and the 95th percentile of each screen."""
    print(f"Screens over {trials} trials of {trials // EACH} students, {PROTOCOLS} protocols, two years (ms)")
    rest_seldom()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "logbook.db"
        codes = _fill(place, trials)
        parts = Parts(str(place), OnFirstUse(lambda: open_logbook(place)))
        client = TestClient(build(parts, PORT), base_url=f"http://127.0.0.1:{PORT}", follow_redirects=False)
        client.headers["Sec-Fetch-Site"] = "same-origin"
        client.get(f"/start/{parts.sessions.new_link()}")
        for name, addresses in _screens(parts, codes):
            _measure(client, parts, name, addresses)
        parts.close()


def _fill(place: Path, count: int) -> list[str]:
    """A logbook of two school years, a test a week."""
    rng = random.Random(4)
    codes = [f"D-{number:05d}" for number in range(count // EACH)]
    names = [f"slalom-{number}" for number in range(PROTOCOLS)]
    weeks = [date(2024, 9, 9) + timedelta(weeks=week) for week in range(104)]
    with open_logbook(place) as logbook:
        for name in names:
            logbook.add_protocol(protocol(name))
        logbook.add_students([student(code) for code in codes])
        add_trials(
            logbook,
            (
                trial(code, day, names[(number + turn) % PROTOCOLS], sheet=_sheet(number, turn))
                for number, code in enumerate(codes)
                for turn, day in enumerate(sorted(rng.sample(weeks, EACH)))
            ),
        )
    return codes


def _screens(parts: Parts, codes: list[str]) -> list[tuple[str, list[str]]]:
    """Each screen with the addresses that are looked at one after the other."""
    ids = [parts.ids.of(code) for code in random.Random(5).sample(codes, LOOKS)]
    return [
        ("students", [f"/students?page={1 + n % 20}" for n in range(LOOKS)]),
        ("a student", [f"/student/{each}" for each in ids]),
        ("facts", [f"/student/{each}/facts" for each in ids]),
        ("card", [f"/student/{each}/card/slalom-1" for each in ids]),
        ("change", [f"/student/{each}/change/slalom-1" for each in ids]),
        ("caseload", ["/caseload"] * LOOKS),
        ("district", [f"/district?page={1 + n}" for n in range(LOOKS)]),
        ("district, one test", [f"/district?protocol=slalom-1&page={1 + n}" for n in range(LOOKS)]),
        ("sentences", [f"/district/plans?page={1 + n}" for n in range(LOOKS)]),
        ("find", ["/find"] * LOOKS),
    ]


def _measure(client: TestClient, parts: Parts, name: str, addresses: list[str]) -> None:
    """The first look, all others, and those just after somebody wrote."""
    first, *others = [_look(client, address) for address in addresses]
    after = []
    for number, address in enumerate(addresses[:WRITES]):
        with parts.logbook().within() as inside:
            inside.edit_student("D-00001", notes=f"write {number} before {name}")
        after.append(_look(client, address))
    ordered = sorted(others)
    print(
        f"  {name:20} the first {first:6.0f}, then {statistics.median(others):5.0f}, 95 in 100 below "
        f"{ordered[int(0.95 * len(ordered))]:5.0f}; just after a write {statistics.median(after):5.0f} "
        f"(at most {max(after):.0f})"
    )


def _look(client: TestClient, address: str) -> float:
    begin = time.perf_counter()
    answer = client.get(address)
    spent = (time.perf_counter() - begin) * 1000
    if answer.status_code != 200:
        raise AssertionError(f"{address}: {answer.status_code}")
    return spent


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else TRIALS)
