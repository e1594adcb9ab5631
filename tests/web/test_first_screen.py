"""What the first screen costs: it is there before anything heavy is loaded."""

import subprocess
import sys
import threading

import pytest
from ownmark.web.app import Once, build

from tests.web.asked import ask, begun
from tests.web.conftest import PORT

HEAVY = ("numpy", "pandas", "scipy", "matplotlib", "pyarrow", "heartpy", "typst", "alembic")

_CHILD = """
import sys
from ownmark.records.store.logbook import open_logbook
from ownmark.web.app import build
from ownmark.web.parts import OnFirstUse, Parts
from tests.web.asked import ask, begun
from tests.web.conftest import PORT
parts = Parts(sys.argv[1], OnFirstUse(lambda: open_logbook(sys.argv[1], create=False)))
app = build(parts, PORT)
app.app.state.after_first = lambda: None
answer = ask(app, cookie=begun(parts))
parts.close()
print(answer.status, "<h1>Today</h1>" in answer.text, "no students yet" in answer.text)
print(*(name for name in sys.argv[2:] if name in sys.modules))
"""


def test_the_first_screen_loads_nothing_heavy(place, parts):
    parts.logbook()  # made here, so that the child only opens it
    run = [sys.executable, "-c", _CHILD, place, *HEAVY]
    done = subprocess.run(run, capture_output=True, text=True, timeout=120, check=True)
    assert done.stdout.splitlines() == ["200 True True", ""]


def test_what_the_next_screens_need_is_fetched_once_after_the_first(parts):
    calls = []
    app = build(parts, PORT, after_first=lambda: calls.append(app.app.all_there.done))
    cookie = begun(parts)
    assert not app.app.all_there.done
    assert ask(app, cookie=cookie).status == 200
    assert app.app.all_there.done
    assert ask(app, cookie=cookie).status == 200
    assert calls == [True]


def test_a_screen_that_is_asked_for_first_is_there(parts):
    app = build(parts, PORT)
    assert ask(app, "/students", cookie=begun(parts)).status == 200
    assert ask(app, "/nothing", cookie=begun(parts)).status == 404


@pytest.mark.parametrize("fails", [False, True])
def test_work_that_is_done_once_is_waited_for_and_tried_again_where_it_failed(fails):
    begun, calls = threading.Event(), []

    def work():
        calls.append(1)
        begun.wait(5)
        if fails and len(calls) == 1:
            raise OSError

    once = Once(work)
    failures = []

    def run():
        try:
            once()
        except OSError:
            failures.append(1)

    threads = [threading.Thread(target=run) for _ in range(3)]
    for each in threads:
        each.start()
    begun.set()
    for each in threads:
        each.join(10)
    assert (len(calls), len(failures), once.done) == ((2, 1, True) if fails else (1, 0, True))
