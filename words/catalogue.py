"""A catalogue file to its texts, by their full keys.

The files are TOML. Every line of them is a section, a remark, or a key with a text in double quotes, and reading these
few forms takes a fifth of the time of a whole TOML reader, for which every command would wait. A file that holds any
other form is left to that reader.
"""

import json
import re
from collections.abc import Mapping
from typing import cast

_SECTION = re.compile(r"\[([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*)\]")
_TEXT = re.compile(r'([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*|"[^"\\.]+") = "([^"\\]*(?:\\["\\nt][^"\\]*)*)"')


def catalogue(text: str) -> dict[str, str]:
    """Every text of a file by its full key, as ``section.key``.

    Raises
    ------
    tomllib.TOMLDecodeError
        If it is no TOML.
    """
    found: dict[str, str] = {}
    section, sections = "", {""}
    for line in text.split("\n"):
        if not line or line[0] == "#":
            continue
        entry = _TEXT.fullmatch(line)
        if entry is not None:
            key, value = section + entry[1].strip('"'), entry[2]
            if key in found or "\t" in value:
                return _whole(text)
            found[key] = json.loads(f'"{value}"') if "\\" in value else value
            continue
        head = _SECTION.fullmatch(line)
        if head is None or f"{head[1]}." in sections:
            return _whole(text)
        section = f"{head[1]}."
        sections.add(section)
    return found


def _whole(text: str) -> dict[str, str]:
    """The same by the reader of all of TOML."""
    import tomllib

    return _flat(tomllib.loads(text))


def _flat(table: Mapping[str, object], before: str = "") -> dict[str, str]:
    found: dict[str, str] = {}
    for name, value in table.items():
        if isinstance(value, Mapping):
            found |= _flat(cast("Mapping[str, object]", value), f"{before}{name}.")
        else:
            found[f"{before}{name}"] = str(value)
    return found
