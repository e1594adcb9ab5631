"""Opening the page in the browser without showing the link to anybody else.

What a program is started with can be read by every account of the computer, and the link would be in it. So the browser
is given a small file that only this account can read, and that leads on to the link.
"""

import html
import os
import sys
import tempfile
import webbrowser
from pathlib import Path
from urllib.parse import quote


def leading_to(address: str, folder: Path | None = None) -> Path:
    """A file that leads to the address, readable by this account alone."""
    handle, name = tempfile.mkstemp(prefix="ownmark-", suffix=".html", dir=folder)  # made with 0600
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        link = html.escape(address, quote=True)
        file.write(
            f'<!DOCTYPE html><meta charset="utf-8"><meta name="referrer" content="no-referrer"><title>ownmark</title>'
            f'<meta http-equiv="refresh" content="0; url={link}"><a href="{link}">ownmark</a>\n'
        )
    return Path(name)


def open_browser(file: Path) -> bool:
    """Whether a browser was found and given the file. One that draws into the terminal is no browser here."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False
    try:
        return webbrowser.open(f"file://{quote(str(file))}")
    except (webbrowser.Error, OSError):
        return False
