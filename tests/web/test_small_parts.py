"""Identifiers, static files, the file that leads a browser on, and the ways between screens."""

import hashlib
import hmac
import re
import stat

import pytest
from ownmark.reports import palette
from ownmark.reports.palette import contrast
from ownmark.web import opening
from ownmark.web.static_files import FOLDER, address, assets
from ownmark.web.tokens import DIGITS, StudentIds, student_id

SECRET = b"k" * 32


def test_an_identifier_is_the_beginning_of_the_code_s_hmac():
    # RFC 4231, test case 2: key "Jefe", data "what do ya want for nothing?".
    assert student_id(b"Jefe", "what do ya want for nothing?") == "5bdcc146bf60754e6a042426089575c7"[:DIGITS]
    assert student_id(SECRET, "TH-11") == hmac.digest(SECRET, b"TH-11", hashlib.sha256).hex()[:16]


def test_the_way_back_knows_students_who_came_and_went():
    codes = ["TH-11"]
    ids = StudentIds(lambda: list(codes), SECRET)
    assert ids.code(ids.of("TH-11")) == "TH-11"
    assert ids.code(ids.of("BF-07")) is None
    codes.append("BF-07")
    assert ids.code(ids.of("BF-07")) == "BF-07"
    assert ids.code("TH-11") is None


def test_each_run_has_identifiers_of_its_own():
    assert StudentIds(list).of("TH-11") != StudentIds(list).of("TH-11")


def test_an_asset_s_address_changes_with_what_it_holds():
    for found in assets().values():
        assert found.mark == hashlib.sha256(found.content).hexdigest()[:16]
        assert found.path == address(found.name) == f"/static/{found.mark}/{found.name}"
    with pytest.raises(KeyError):
        address("nothing.css")


def test_static_files_may_be_kept_and_everything_else_not(stranger):
    answer = stranger.get(address("page.css"))
    assert answer.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert answer.headers["content-type"] == "text/css; charset=utf-8"
    wrong = stranger.get("/static/0000000000000000/page.css")
    assert (wrong.status_code, wrong.headers["cache-control"]) == (404, "no-store")


def test_the_style_sheet_has_the_sheets_colors_and_asks_for_nothing_from_elsewhere():
    style = assets()["page.css"].content.decode()
    assert palette.PLUM in style
    assert "$" not in style
    for path in FOLDER.glob("*.css"):
        assert not re.search(r"url\(|@import|https?:", path.read_text(encoding="utf-8")), path.name


def colors(style, scheme):
    """The named colors of a scheme."""
    light, _, rest = style.partition("@media (prefers-color-scheme: dark)")
    found = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", light))
    return (
        found if scheme == "light" else found | dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", rest.partition("}")[0]))
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_and_edges_are_told_from_their_ground(scheme):
    # WCAG 2.2, 1.4.3 (4.5 for text) and 1.4.11 (3 for what must be seen to use something).
    known = colors(assets()["page.css"].content.decode(), scheme)
    for text in ("ink", "quiet", "plum"):
        for ground in ("paper", "field", "tint"):
            assert contrast(known[text], known[ground]) >= 4.5, (text, ground)
    assert contrast(known["on-plum"], known["plum"]) >= 4.5
    for ground in ("paper", "field"):
        assert contrast(known["edge"], known[ground]) >= 3


def test_the_file_that_leads_on_is_this_account_s_alone(tmp_path):
    file = opening.leading_to('http://127.0.0.1:1/start/a"b', tmp_path)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    text = file.read_text(encoding="utf-8")
    assert text.count("http://127.0.0.1:1/start/a&quot;b") == 2


def test_a_browser_gets_the_file_and_never_the_link(tmp_path, monkeypatch):
    given = []
    monkeypatch.setattr(opening.webbrowser, "open", lambda address: given.append(address) or True)
    monkeypatch.setenv("DISPLAY", ":0")
    file = opening.leading_to("http://127.0.0.1:1/start/secret", tmp_path)
    assert opening.open_browser(file)
    assert given == [f"file://{file}"]


def test_without_a_screen_no_browser_takes_the_terminal(tmp_path, monkeypatch):
    monkeypatch.setattr(opening.sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr(opening.webbrowser, "open", lambda _: pytest.fail("opened"))
    assert not opening.open_browser(tmp_path / "x.html")
