"""The page as a program: its address, its end, and what strangers do to its socket."""

import os
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

import pytest
from ownmark.web import connections, serve

from tests.web.served import all_of, connected, cookie_of, exchange, get, page, serving, until


@pytest.fixture
def port(parts, faults):
    with serving(parts, faults.append) as found:
        yield found


@pytest.fixture
def cookie(port, parts):
    """The header of a session's cookie."""
    status, head, _ = get(port, f"/start/{parts.sessions.new_link()}")
    assert status == 200
    return cookie_of(head)


def test_the_first_line_is_the_address_and_enter_shows_another(place):
    with page(place) as found:
        status, head, _ = get(found.port, found.start)
        assert status == 200
        assert get(found.port, "/", cookie_of(head))[0] == 200
        assert get(found.port, found.start)[0] == 403
        assert "Enter" in found.program.stdout.readline()
        found.program.stdin.write("\n")
        found.program.stdin.flush()
        fresh = found.program.stdout.readline().strip()
        assert get(found.port, fresh[fresh.index("/start/") :])[0] == 200


@pytest.mark.parametrize("ends", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_it_with_a_word_and_nothing_else(place, ends):
    with page(place) as found:
        assert get(found.port, "/")[0] == 403
        found.program.send_signal(ends)
        code, out, err = found.program.wait(30), *found.program.communicate()
        assert (code, out.splitlines()[-1], err) == (0, "The page has ended.", "")


def test_it_ends_soon_also_while_somebody_hangs_on(place):
    with page(place) as found, connected(found.port) as line:
        assert get(found.port, "/")[0] == 403
        line.sendall(f"POST /lock HTTP/1.1\r\nHost: 127.0.0.1:{found.port}\r\n".encode())
        time.sleep(0.2)
        begun = time.monotonic()
        found.program.terminate()
        assert found.program.wait(30) == 0
        assert time.monotonic() - begun < connections.HEAD_S - 1  # when the half request would be cut off


def test_it_goes_on_where_nobody_can_type(place):
    with page(place) as found:
        found.program.stdin.close()
        found.program.stdin = None
        time.sleep(0.3)
        assert get(found.port, "/")[0] == 403


def command(*words):
    run = [sys.executable, "-m", "ownmark.cli", "page", "--no-browser", *words]
    return subprocess.run(run, capture_output=True, text=True, timeout=60, check=False, stdin=subprocess.DEVNULL)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.5", "school.example", "127.0.0.2", ""])
def test_other_computers_are_never_listened_to(place, host):
    done = command("--host", host, "--logbook", place)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("--host: the page is for this computer alone")


def test_a_port_that_is_taken_is_told_and_the_usual_one_makes_way(place):
    with socket.create_server(("127.0.0.1", 0)) as other:
        done = command("--port", str(other.getsockname()[1]), "--logbook", place)
    assert (done.returncode, done.stdout) == (2, "")
    assert "another program uses this port" in done.stderr
    assert "cannot be used" in command("--port", "70000", "--logbook", place).stderr


def test_another_port_is_taken_where_another_page_has_the_usual_one(monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as other:
        taken = other.getsockname()[1]
        monkeypatch.setattr(serve, "USUAL_PORT", taken)
        with serve.bind() as found:
            assert serve.port_of(found) not in (0, taken)


def test_it_listens_on_this_computer_alone(port):
    for family, address in ((socket.AF_INET, _own_address()), (socket.AF_INET6, "::1")):
        if address is None:
            continue
        with socket.socket(family) as line:
            line.settimeout(1)
            assert line.connect_ex((address, port)) != 0


def _own_address():
    """This computer's address on a network, if it has one. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as line:
        try:
            line.connect(("192.0.2.1", 9))
        except OSError:
            return None
        found = line.getsockname()[0]
        return None if found.startswith("127.") else found


def test_nothing_that_was_asked_is_printed(place):
    with page(place, env={"OWNMARK_TRACEBACK": "1"}) as found:
        _, head, _ = get(found.port, found.start)
        for path in ("/student/TH-11", "/nothing?code=TH-11", "/start/TH-11", "/%54H-11"):
            get(found.port, path, cookie_of(head))
        exchange(found.port, b"TH-11\r\n\r\n")
        code, out, err = found.end()
    assert code == 0
    assert "TH-11" not in out + err
    assert found.start not in out + err


@pytest.mark.parametrize(
    "path",
    [
        "/static/x/../../../etc/passwd",
        "/static/x/..%2f..%2fguard.py",
        "/static/%2e%2e/guard.py",
        "/static/x/%2fetc%2fpasswd",
        "/../../etc/passwd",
        "//etc/passwd",
        "/static/x/page.css%00.js",
        "/start/..%2f",
        "/%c0%ae%c0%ae/",
    ],
)
def test_no_address_leads_out_of_the_page(port, cookie, path):
    status, _, content = get(port, path, cookie)
    assert status in (403, 404)
    assert "root:" not in content
    assert "import" not in content


@pytest.mark.parametrize(
    "path",
    ["/start/x%0d%0aSet-Cookie:%20a=b", "/x%0d%0a%0d%0a<script>", "/language%0aX: y", "/static/x/%0d%0aA: b"],
)
def test_an_address_adds_no_header(port, cookie, path):
    _, head, content = get(port, path.replace(" ", "%20"), cookie)
    names = {line.partition(":")[0].lower() for line in head.split("\r\n")[1:]}
    assert not names & {"a", "x", "set-cookie"}
    assert "<script>" not in content


@pytest.mark.parametrize(
    "request_line",
    [
        b"GET /\xff\xfe HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"\0" * 100 + b"\r\n\r\n",
        b"GET http://127.0.0.1/ HTTP/1.1\r\nHost : x\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\n b\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nhello!",
        b"POST / HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n\r\n",
        b"A" * 100_000,
    ],
)
def test_what_is_no_request_ends_the_connection_and_nothing_else(port, cookie, faults, request_line):
    answer = exchange(port, request_line)
    assert not answer.startswith(b"HTTP/1.1 200")
    assert get(port, "/", cookie)[0] == 200
    assert faults == []


@pytest.mark.parametrize("head", ["Content-Length: 5000000000", "Transfer-Encoding: chunked"])
@pytest.mark.parametrize("who", ["teacher", "stranger"])
def test_five_gigabytes_are_not_read(port, cookie, head, who):
    lines = ["POST /language HTTP/1.1", f"Host: 127.0.0.1:{port}", "Sec-Fetch-Site: same-origin", head]
    lines += [cookie] if who == "teacher" else []
    lines += ["Content-Type: application/x-www-form-urlencoded"]
    piece = b"x" * 65536
    piece = f"{len(piece):x}\r\n".encode() + piece + b"\r\n" if "chunked" in head else piece
    sent = 0
    with connected(port) as line:
        line.settimeout(5)
        line.sendall("\r\n".join(lines).encode() + b"\r\n\r\n")
        try:
            while sent < 5_000_000_000:
                line.sendall(piece)
                sent += len(piece)
        except (ConnectionError, TimeoutError):
            pass
    assert sent < 16 * 1024 * 1024  # what lies in the system's own buffers
    assert get(port, "/", cookie)[0] == 200


@pytest.fixture
def hasty(monkeypatch):
    monkeypatch.setattr(connections.Connection, "head_s", 0.4)
    return 0.4


@pytest.mark.parametrize("before", [b"", b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"])
def test_a_head_that_comes_a_letter_at_a_time_is_not_waited_for(hasty, port, before):
    begun = time.monotonic()
    with connected(port) as line:
        line.sendall(before)
        with suppress(ConnectionError):
            for letter in b"GET / HTTP/1.1\r\nX: " + b"y" * 1000:
                line.sendall(bytes([letter]))
                time.sleep(0.05)
        assert hasty <= time.monotonic() - begun < connections.HEAD_S


def test_a_connection_that_says_nothing_is_not_kept(hasty, port):
    begun = time.monotonic()
    with connected(port) as line:
        assert all_of(line) == b""
        assert hasty <= time.monotonic() - begun < connections.HEAD_S


def test_an_answer_that_takes_long_to_make_is_not_cut(hasty, port, cookie, monkeypatch):
    from ownmark.web.routes import home

    monkeypatch.setattr(home, "standing", lambda *_: time.sleep(1.2) or home.Standing())
    status, _, content = get(port, "/", cookie)
    assert (status, content.rstrip().endswith("0")) == (200, True)  # the last piece of a streamed answer


def test_there_are_never_more_connections_than_a_browser_needs(port, cookie, monkeypatch):
    monkeypatch.setattr(connections.Connection, "most", 5)
    lines = [connected(port) for _ in range(12)]

    def closed():
        """How many have ended: nothing else ever comes."""
        return len(select.select(lines, [], [], 0)[0])

    assert until(lambda: closed() == 7)
    time.sleep(0.2)
    assert closed() == 7
    for line in lines:
        line.close()
    asked = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{cookie}\r\n\r\n".encode()
    assert until(lambda: exchange(port, asked).startswith(b"HTTP/1.1 200"))


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="processes are told of otherwise")
def test_it_ends_soon_also_while_a_request_waits_for_a_worker_that_does_nothing(place):
    with page(place) as found:
        _, head, _ = get(found.port, found.start)
        own = cookie_of(head)
        day = "/day/2026-10-06"
        assert get(found.port, day, own)[0] == 200  # its rows come from the worker
        (worker,) = workers_of(found.program.pid)
        os.kill(worker, signal.SIGSTOP)
        assert until(lambda: Path(f"/proc/{worker}/stat").read_text().rsplit(")", 1)[1].split()[0] == "T")
        sent = ["Sec-Fetch-Site: same-origin", "Content-Type: application/x-www-form-urlencoded", "Content-Length: 5"]
        asking = threading.Thread(
            target=get, args=(found.port, f"{day}/add", own, *sent), kwargs={"method": "POST", "body": b"all=1"}
        )
        asking.start()
        time.sleep(0.5)
        begun = time.monotonic()
        found.program.terminate()
        try:
            code = found.program.wait(20)
        except subprocess.TimeoutExpired:
            code = None
            os.kill(worker, signal.SIGKILL)
        asking.join(30)
        assert code == 0
        assert time.monotonic() - begun < 15
        assert not Path(f"/proc/{worker}/stat").exists()


def workers_of(program):
    """The processes that a program started and that run still (read where Linux tells of them)."""
    tasks = Path(f"/proc/{program}/task").iterdir()
    return sorted({int(each) for task in tasks for each in (task / "children").read_text().split()})
