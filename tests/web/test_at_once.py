"""Many at once, and what does not hold still: two pages over one logbook, clients side by side, a folder shut."""

import errno
import hashlib
import itertools
import json
import os
import re
import shutil
import threading
from contextlib import ExitStack, contextmanager
from datetime import timedelta

import pytest
from ownmark.records import open_logbook
from ownmark.records.day.happened import happened
from ownmark.records.store.backup import back_up
from ownmark.records.store.day_entries import entries_of
from ownmark.records.store.restore import restore
from ownmark.web.jobs import day as jobs
from ownmark.web.parts import OnFirstUse, Parts
from ownmark.web.session import Sessions

from tests.makers.class_days import NINE
from tests.records.day.class_day import DAY, ClassDay
from tests.records.store.test_restored import changed, rewritten
from tests.web.conftest import browser, here
from tests.web.served import serving
from tests.web.test_hostile import FORM, RECORDING, drop, everything_below

SCREEN = f"/day/{DAY}"
LISTED_AND_IN = 2
"""The number of the last entry of a day with one student on its list and one file."""


@pytest.fixture
def two(place, faults):
    """Two pages over one logbook, each with a browser."""
    with ExitStack() as ends:
        clients = []
        for _ in range(2):
            parts = here(Parts(place, OnFirstUse(lambda: open_logbook(place)), Sessions("en")))
            ends.callback(parts.close)
            client = browser(parts, faults.append)
            client.get(f"/start/{parts.sessions.new_link()}")
            clients.append(client)
        yield clients
    assert faults == []


@contextmanager
def together(monkeypatch, owner, name):
    """The two who come to a function wait there for each other."""
    real, meet, turns = getattr(owner, name), threading.Barrier(2, timeout=60), itertools.count()

    def both(*values, **more):
        found = real(*values, **more)
        if next(turns) < 2:
            meet.wait()
        return found

    with monkeypatch.context() as patch:
        patch.setattr(owner, name, both)
        yield


def at_once(*jobs):
    """Run jobs in threads of their own; what each gave."""
    found = [None] * len(jobs)

    def run(place, job):
        found[place] = job()

    threads = [threading.Thread(target=run, args=each) for each in enumerate(jobs)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return found


def ready(place):
    with open_logbook(place) as logbook:
        day = ClassDay(logbook, "TH-11")
        day.listed("TH-11", "S1")
        day.pressed("TH-11")
        day.recorded("S1.csv")


def told(client):
    """What the day's screen says of what was done; it says it once."""
    return client.get(SCREEN).text.partition('class="told')[2].partition("</div>")[0]


def test_a_row_that_two_pages_add_in_the_same_moment_is_one_trial_and_one_is_told_that_it_was_there(
    two, place, monkeypatch
):
    ready(place)
    with together(monkeypatch, jobs, "of_day"):
        answers = at_once(
            *(lambda each=each: each.post(f"{SCREEN}/add", data={"row": "TH-11 1", "number": "1"}) for each in two)
        )
    assert [each.status_code for each in answers] == [303, 303], [each.text[-900:] for each in answers]
    with open_logbook(place) as logbook:
        assert len(list(logbook.trials(with_sheets=False))) == 1
        test = happened(DAY, entries_of(logbook, DAY)).test("TH-11", 1)
    assert len(test.trials) == 1
    said = sorted((told(each) for each in two), key=lambda each: "meanwhile" in each)
    assert ["meanwhile" in each for each in said] == [False, True], said


def asked_of(client):
    """The fields of the first question of the day that has answers to choose from, as its form sends them."""
    form = re.search(rf'<form method="post" action="{SCREEN}/answer".*?</form>', client.get(SCREEN).text, re.DOTALL)[0]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form)), re.findall(
        r'name="place" value="(\d)"', form
    )


def test_of_two_answers_to_one_question_in_the_same_moment_one_counts_and_the_other_page_is_told(
    two, place, monkeypatch
):
    with open_logbook(place) as logbook:
        day = ClassDay(logbook, "TH-11")
        day.listed("TH-11", "S1")
        day.recorded("S1.csv", NINE - timedelta(days=7))
    fields, places = asked_of(two[0])
    assert len(places) > 1
    with together(monkeypatch, jobs, "of_day"):
        answers = at_once(
            *(
                lambda each=each, answer=answer: each.post(f"{SCREEN}/answer", data={**fields, "place": answer})
                for each, answer in zip(two, places, strict=False)
            )
        )
    assert [each.status_code for each in answers] == [303, 303]
    with open_logbook(place) as logbook:
        said = [each for each in entries_of(logbook, DAY) if each.number > LISTED_AND_IN]
    assert len(said) == 1
    assert sorted("meanwhile" in told(each) for each in two) == [False, True]


def test_a_row_that_another_page_added_from_begin_to_end_meanwhile_is_told_so(two, place, monkeypatch):
    """The received file is gone by then: nothing is said to be wrong with it."""
    ready(place)
    real, turns, planned, added = jobs.of_day, itertools.count(), threading.Event(), threading.Event()

    def slow(*values, **more):
        found = real(*values, **more)
        if next(turns) == 0:
            planned.set()
            added.wait(60)
        return found

    def quick():
        planned.wait(60)
        answer = two[1].post(f"{SCREEN}/add", data={"row": "TH-11 1", "number": "1"})
        added.set()
        return answer

    monkeypatch.setattr(jobs, "of_day", slow)
    answers = at_once(lambda: two[0].post(f"{SCREEN}/add", data={"row": "TH-11 1", "number": "1"}), quick)
    assert [each.status_code for each in answers] == [303, 303]
    with open_logbook(place) as logbook:
        assert len(list(logbook.trials(with_sheets=False))) == 1
    said = [told(each) for each in two]
    assert ["meanwhile" in each for each in said] == [True, False], said
    assert "not added" not in said[0]


def test_a_received_file_that_two_pages_take_away_at_once_is_gone_and_nobody_is_refused(parts, monkeypatch):
    ready(parts.place)
    (path,) = parts.received().paths(DAY).values()
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    real = shutil.rmtree

    def quicker(place, *values, **more):
        real(place)
        return real(place, *values, **more)

    monkeypatch.setattr(shutil, "rmtree", quicker)
    assert parts.received().remove(digest, DAY)
    assert parts.received().paths(DAY) == {}


def test_clients_that_upload_side_by_side_lose_and_double_nothing(parts, faults, place):
    with serving(parts, faults.append) as port:
        from tests.web.served import cookie_of, get

        cookies = [cookie_of(get(port, f"/start/{parts.sessions.new_link()}")[1]) for _ in range(6)]

        def send(number):
            mine = [RECORDING + b"%d,%d\n" % (60 + k, 60 + number) for k in range(5)]
            files = [("shared.csv", RECORDING), *((f"c{number}-{k}.csv", each) for k, each in enumerate(mine))]
            body = (
                b"".join(
                    b'--line\r\nContent-Disposition: form-data; name="files"; filename="'
                    + name.encode()
                    + b'"\r\n\r\n'
                    + data
                    + b"\r\n"
                    for name, data in files
                )
                + b"--line--\r\n"
            )
            head = (
                cookies[number],
                "Sec-Fetch-Site: same-origin",
                f"Origin: http://127.0.0.1:{port}",
                "Content-Type: multipart/form-data; boundary=line",
                f"Content-Length: {len(body)}",
            )
            return get_bytes(port, f"{SCREEN}/files", head, body)

        assert at_once(*(lambda n=n: send(n) for n in range(6))) == [303] * 6
    assert faults == []
    day = happened(DAY, entries_of(parts.logbook(), DAY))
    wanted = sorted(["shared.csv", *(f"c{n}-{k}.csv" for n in range(6) for k in range(5))])
    assert sorted(each.name for each in day.files) == wanted
    lying = parts.received().paths(DAY)
    assert sorted(each.name for each in lying.values()) == wanted
    assert not list((parts.received().folder / "incoming").iterdir())


def get_bytes(port, path, head, body):
    from tests.web.served import exchange

    lines = [f"POST {path} HTTP/1.1", f"Host: 127.0.0.1:{port}", "Connection: close", *head]
    return int(exchange(port, "\r\n".join(lines).encode() + b"\r\n\r\n" + body, 60).split(b" ")[1])


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS])
@pytest.mark.parametrize("where", ["open", "mkdir", "replace"])
def test_a_received_folder_that_was_made_read_only_is_told_and_all_goes_on_once_it_is_not(
    teacher, parts, monkeypatch, where, number
):
    drop(teacher, ("before.csv", RECORDING))
    folder = str(parts.received().folder)
    from pathlib import Path

    def shut(real, of):
        def call(path, *values, **more):
            if of(path, *values):
                raise OSError(number, os.strerror(number), str(path))
            return real(path, *values, **more)

        return call

    inside = lambda path, *_: str(path).startswith(folder)  # noqa: E731
    with monkeypatch.context() as patch:
        if where == "open":
            patch.setattr(os, "open", shut(os.open, lambda path, flags, *_: flags & os.O_CREAT and inside(path)))
        else:
            patch.setattr(Path, where, shut(getattr(Path, where), inside))
        body = (
            b'--line\r\nContent-Disposition: form-data; name="files"; filename="a.csv"\r\n\r\n'
            + RECORDING
            + b"1\r\n--line--\r\n"
        )
        answer = teacher.post(f"{SCREEN}/files", content=body, headers=FORM)
        assert answer.status_code == 422
        assert "read-only" in answer.text
        assert teacher.get(SCREEN).status_code == 200
    drop(teacher, ("after.csv", RECORDING + b"61,80\n"))
    names = {each.name for each in happened(DAY, entries_of(parts.logbook(), DAY)).files}
    assert names == {"before.csv", "after.csv"}


FORGED = {
    "a script as a file's name": (
        "file",
        {"sha256": "a" * 64, "name": "<script>alert(1)</script>.csv", "size": 1},
        None,
    ),
    "a path as a file's name": ("file", {"sha256": "a" * 64, "name": "../../../out.csv", "size": 1}, None),
    "a script as a strap": ("listed", {"protocol": "slalom", "strap": "<script>alert(1)</script>"}, "TH-11"),
    "an unknown protocol": ("listed", {"protocol": "../../x"}, "TH-11"),
    "another student's trial": ("stored", {"trial": 2, "files": ["b" * 64]}, "TH-11"),
    "no trial": ("stored", {"trial": 2**40}, "TH-11"),
    "a row of no file": ("row", {"files": ["c" * 64], "texts": {"protocol": "slalom"}}, "TH-11"),
    "a row of wrong columns": ("row", {"texts": {"<script>": "x", "code": "BF-07", "work": "1-2"}}, "TH-11"),
    "a row of another day and another student": ("row", {"texts": {"on": "1999-01-01", "code": "BF-07"}}, "TH-11"),
    "a row of strange texts": ("row", {"texts": {"work": "nan-inf", "margin_s": "1e999", "exertion": "[]"}}, "TH-11"),
    "shifts beyond all clocks": ("row", {"shifts": {"a" * 64: 1e300}}, "TH-11"),
    "answers to nothing": ("row", {"answers": ["<script>"], "checked": ["x" * 50]}, "TH-11"),
    "undone that is not there": ("undone", {"entry": 2**40}, "TH-11"),
    "undone by itself": ("undone", {"entry": 1}, None),
    "a press of a ninth test": ("press", {"what": "work_ends", "turn": 9}, "TH-11"),
    "an exertion beyond numbers": ("exertion", {"value": float("nan"), "scale": "0-10"}, "TH-11"),
    "a clock of a script": ("clock_check", {"strap": "<script>", "how": "shown", "shown_s": 1}, None),
    "put away what is not there": ("put_away", {"sha256": "d" * 64}, None),
}


@pytest.mark.parametrize("forged", FORGED.values(), ids=FORGED)
def test_forged_entries_in_a_backup_are_refused_or_harm_nothing(teacher, parts, tmp_path, forged):
    from ownmark.errors import BackupDamaged

    from tests.records.store import made

    kind, value, code = forged
    with open_logbook(tmp_path / "whole.db") as whole:
        day = ClassDay(whole, "TH-11", "BF-07")
        day.listed("TH-11", "S1")
        whole.add_trial(made.trial("TH-11", protocol="slalom", sheet=made.sheet(), notes="mine"))
        whole.add_trial(made.trial("BF-07", protocol="slalom", sheet=made.sheet(1), notes="secret"))
        back_up(whole, tmp_path / "all.zip")
    forge = changed("day_entries", lambda row: [row[0], row[1], code, kind, row[4], row[5], json.dumps(value)])
    rewritten(tmp_path / "all.zip", forge)
    try:
        restore(parts.logbook(), tmp_path / "all.zip")
    except BackupDamaged:
        return
    before = everything_below(tmp_path)
    one = parts.ids.of("TH-11")
    for path in (
        SCREEN,
        f"{SCREEN}/now",
        f"{SCREEN}/class",
        f"{SCREEN}/clocks",
        f"{SCREEN}/row/{one}/1",
        f"/student/{one}",
        "/",
    ):
        answer = teacher.get(path)
        assert answer.status_code in (200, 404), path
        assert "<script>" not in answer.text
        if path.startswith((f"{SCREEN}/row", "/student")):
            assert "BF-07" not in answer.text
            assert 'href="/trial/2"' not in answer.text
    for what in ({"row": "TH-11 1"}, {"all": "1"}):
        assert teacher.post(f"{SCREEN}/add", data=what).status_code == 303
    teacher.get(SCREEN)
    for file in ("a" * 64, "d" * 64):
        teacher.post(f"{SCREEN}/delete", data={"file": file})
    after = [each for each in everything_below(tmp_path) if not each.endswith(("-wal", "-shm"))]
    assert set(after) <= set(before)
    assert not (tmp_path.parent / "out.csv").exists()
    trials = list(parts.logbook().trials(with_sheets=False))
    assert [(each.code, each.id) for each in trials] == [("TH-11", 1), ("BF-07", 2)]
