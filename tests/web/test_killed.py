"""The page is killed in the middle of an upload and started again: whole files are there, the half one is not."""

import os
import signal
from datetime import date

import pytest
from ownmark.records import open_logbook
from ownmark.records.day.happened import happened
from ownmark.records.store.day_entries import entries_of
from ownmark.records.store.received import received_at

from tests.web.served import connected, page, until
from tests.web.visiting import part, session_of

DAY = date(2026, 10, 6)
WHOLE = 12


def files_of(folder):
    return [path for path in folder.folder.rglob("*") if path.is_file()]


@pytest.mark.timeout(120)
def test_a_page_that_is_killed_in_an_upload_loses_the_half_file_alone(tmp_path):
    place = tmp_path / "logbook.db"
    with open_logbook(place) as logbook:
        folder = received_at(logbook.place)
    data = [f"time_s,heart_rate\n0,{100 + n}\n".encode() for n in range(WHOLE)]
    with page(place) as first:
        cookie = session_of(first)
        own = f"http://127.0.0.1:{first.port}"
        head = (
            f"POST /day/{DAY}/files HTTP/1.1\r\nHost: 127.0.0.1:{first.port}\r\nCookie: {cookie}\r\nOrigin: {own}\r\n"
            "Sec-Fetch-Site: same-origin\r\nContent-Type: multipart/form-data; boundary=line\r\n"
            "Content-Length: 10000000\r\n\r\n"
        )
        with connected(first.port) as line:
            line.sendall(head.encode())
            for n, each in enumerate(data):
                line.sendall(part(f"S{n}.csv", each))
            line.sendall(part("half.csv", b"x" * 500_000)[:-2])
            assert until(lambda: len(files_of(folder)) == WHOLE + 1)
            os.kill(first.program.pid, signal.SIGKILL)
    assert len(files_of(folder)) == WHOLE + 1
    with page(place), open_logbook(place) as logbook:
        assert until(lambda: len(happened(DAY, entries_of(logbook, DAY)).files) == WHOLE)
        assert until(lambda: len(files_of(folder)) == WHOLE)
        now = happened(DAY, entries_of(logbook, DAY))
    assert sorted(each.name for each in now.files) == sorted(f"S{n}.csv" for n in range(WHOLE))
    assert sorted(path.read_bytes() for path in files_of(folder)) == sorted(data)
