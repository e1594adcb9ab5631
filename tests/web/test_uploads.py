"""Files out of a form: whole ones are kept at once, what ends early leaves nothing of its last file."""

import asyncio
from collections.abc import AsyncIterator

import pytest
from ownmark.web.uploads import MOST_FIELD_BYTES, receive
from starlette.exceptions import HTTPException

KIND = "multipart/form-data; boundary=line"


class _File:
    def __init__(self, name, dropped):
        self.name, self.data, self.dropped = name, b"", dropped

    def write(self, data):
        self.data += data

    def done(self):
        return (self.name, self.data)

    def cancel(self):
        self.dropped.append(self.name)


def part(name, data, file_name=None):
    named = f'; filename="{file_name}"' if file_name is not None else ""
    head = f'--line\r\nContent-Disposition: form-data; name="{name}"{named}\r\n'
    head += "Content-Type: application/octet-stream\r\n" if file_name is not None else ""
    return head.encode() + b"\r\n" + data + b"\r\n"


async def _pieces(body, size) -> AsyncIterator[bytes]:
    for begin in range(0, len(body), size):
        yield body[begin : begin + size]


def got(body, size=7, kind=KIND):
    dropped = []
    try:
        return asyncio.run(receive(kind, _pieces(body, size), lambda name: _File(name, dropped))), dropped
    except HTTPException as refusal:
        return refusal.status_code, dropped


WHOLE = part("day", b"2026-11-18") + part("files", b"\r\n--lin\r\n\x00", "S1.fit") + part("files", b"", "empty.fit")
END = b"--line--\r\n"


@pytest.mark.parametrize("size", [1, 2, 7, 64, 4096])
def test_files_and_fields_are_what_was_sent_however_the_pieces_fall(size):
    sent, dropped = got(WHOLE + END, size)
    assert sent.files == [("S1.fit", b"\r\n--lin\r\n\x00"), ("empty.fit", b"")]
    assert sent.fields == {"day": "2026-11-18"}
    assert dropped == []


def test_nothing_chosen_is_a_file_of_no_name_and_no_bytes_and_is_passed_over():
    sent, _ = got(part("files", b"", "") + END)
    assert sent.files == []


def test_a_form_that_ends_early_keeps_nothing_of_its_last_file():
    status, dropped = got(part("files", b"whole", "a.fit") + part("files", b"half of it", "b.fit")[:-6])
    assert (status, dropped) == (400, ["b.fit"])


@pytest.mark.parametrize("kind", ["text/plain", "multipart/form-data", "application/x-www-form-urlencoded", ""])
def test_what_is_no_form_of_files_is_refused(kind):
    assert got(WHOLE + END, kind=kind) == (400, [])


def test_a_field_is_never_long():
    assert got(part("day", b"1" * (MOST_FIELD_BYTES + 1)) + END, 4096)[0] == 413


def test_a_name_with_quotes_and_signs_comes_as_it_was_sent():
    sent, _ = got(part("files", b"x", '../a\\"b;ü.fit') + END)
    assert sent.files == [('../a"b;ü.fit', b"x")]
