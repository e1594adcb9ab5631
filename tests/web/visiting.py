"""A browser's part without a browser: a session on a page that runs as a program, forms, and what comes back."""

import http.client

from tests.web.served import connected

LINE = "line"


def session_of(found):
    """The cookie of a new session."""
    with connected(found.port) as line:
        line.sendall(
            f"GET {found.start} HTTP/1.1\r\nHost: 127.0.0.1:{found.port}\r\nConnection: close\r\n\r\n".encode()
        )
        answer = b""
        while piece := line.recv(65536):
            answer += piece
    (cookie,) = [each for each in answer.split(b"\r\n") if each.lower().startswith(b"set-cookie:")]
    return cookie.split(b":", 1)[1].split(b";")[0].strip().decode()


def part(name, data):
    """A file of a form."""
    head = f'--{LINE}\r\nContent-Disposition: form-data; name="files"; filename="{name}"\r\n\r\n'
    return head.encode() + data + b"\r\n"


def headers(found, cookie):
    """What a browser sends with a form of files of the page itself."""
    return {
        "Cookie": cookie,
        "Origin": f"http://127.0.0.1:{found.port}",
        "Sec-Fetch-Site": "same-origin",
        "Content-Type": f"multipart/form-data; boundary={LINE}",
    }


def dropped(found, cookie, path, files):
    """Send files (name to bytes) to an address; the answer's status and where it leads."""
    body = b"".join(part(name, data) for name, data in files.items()) + f"--{LINE}--\r\n".encode()
    line = http.client.HTTPConnection("127.0.0.1", found.port, timeout=120)
    line.request("POST", path, body, headers(found, cookie))
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer.status, answer.getheader("Location")


def looked_at(found, cookie, path):
    """The whole of a screen."""
    line = http.client.HTTPConnection("127.0.0.1", found.port, timeout=120)
    line.request("GET", path, headers={"Cookie": cookie, "Sec-Fetch-Site": "same-origin"})
    answer = line.getresponse()
    text = answer.read().decode()
    line.close()
    if answer.status != 200:
        raise AssertionError(f"{path}: {answer.status}")
    return text
