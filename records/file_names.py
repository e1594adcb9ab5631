"""Names for a trial's files that say nothing of a person: what kind, when it starts, which strap.

A file is often named for the student. The name as given stays beside the file's hash, for ``trial show``; the sheet,
and with it every page, picture, export and disclosure, holds names like ``fit-0914-strap-4``.
"""

import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime

from ..metrics.figure import EffortSheet
from ..words.message import Json
from .trial import KeptFile, Trial

UNREAD = "file"
"""What a file is called whose kind is not known."""
_STRAP = re.compile(r"(?<![a-z0-9])(?:strap|belt|sensor|s)[-_ ]?0*(\d{1,3})(?![a-z0-9])", re.IGNORECASE)
"""How schools number their straps in file names: strap-4, S4, belt 04."""
_NAMED, _TOLD = frozenset({"path", "file"}), frozenset({"note", "notes", "reason"})
"""Where a sheet names a file, and where it tells of one, in a sentence or in the values of a message."""
_LEAST = 3
"""A shorter name, or one without a letter, is replaced only where it is all of a text: else it would take numbers."""


def neutral_name(kind: str, start: datetime | None, clock_s: float | None, given: str) -> str:
    """The name of a recording: kind, time of day at its start, number of the strap, as far as they are known."""
    parts = [re.sub(r"[^a-z0-9]+", "-", kind.lower()).strip("-") or UNREAD]
    if start is not None:
        parts.append(f"{start:%H%M}")
    elif clock_s is not None:
        parts.append(f"{int(clock_s) // 3600 % 24:02d}{int(clock_s) // 60 % 60:02d}")
    strap = _STRAP.search(given)
    return "-".join([*parts, *([f"strap-{int(strap[1])}"] if strap else [])])


def free(name: str, taken: Mapping[str, object]) -> str:
    """The name, with a number behind it where another file has it."""
    if name not in taken:
        return name
    return next(each for n in range(2, len(taken) + 3) if (each := f"{name}-{n}") not in taken)


def names_of(trial: Trial) -> dict[str, str]:
    """Neutral names of a trial's kept files by their hashes: as its sheet has them, else of no kind."""
    read = () if trial.sheet is None else trial.sheet.provenance.files
    by_hash = {each.sha256: each.path for each in read} | {each.content_sha256: each.path for each in read}
    found: dict[str, str] = {}
    for file in trial.files:
        name = by_hash.get(file.recording) or by_hash.get(file.sha256) or neutral_name(UNREAD, None, None, file.path)
        found[file.sha256] = free(name, dict.fromkeys(found.values()))
    return found


def without_names(sheet: EffortSheet, files: Sequence[KeptFile]) -> EffortSheet:
    """A sheet of before names were neutral, with neutral ones in every text; any other sheet as it is."""
    found = _neutral_of(sheet, files)
    if not found:
        return sheet
    long = [name for name in found if len(name) >= _LEAST and any(map(str.isalpha, name))]
    stated = json.loads(sheet.model_dump_json(by_alias=True, exclude_unset=True))  # what it does not say stays unsaid
    return EffortSheet.from_page(_replaced(stated, "", re.compile("|".join(map(_pattern, long)) or "(?!)"), found))


def _neutral_of(sheet: EffortSheet, files: Sequence[KeptFile]) -> dict[str, str]:
    """Neutral names by those that stand in the sheet, the longest first; empty where it holds none as given."""
    read, start = sheet.provenance.files, sheet.provenance.start
    at = datetime.fromisoformat(start) if start and len(read) == 1 else None
    found: dict[str, str] = {}
    taken: dict[str, object] = {}
    for each in read:
        given = next((file.path for file in files if each.path.partition("/")[0] == file.path), None)
        if given is not None:
            found[each.path] = free(neutral_name(each.format, at, None, given), taken)
            taken[found[each.path]] = given
    for place, file in enumerate(files, start=1):
        if found and file.path not in found:  # an archive: its name stands before those of its files
            found[file.path] = free(f"{UNREAD}-{place}", taken)
            taken[found[file.path]] = file.path
    return dict(sorted(found.items(), key=lambda item: -len(item[0])))


def _pattern(name: str) -> str:
    return rf"(?<![\w./-]){re.escape(name)}(?![\w/-])"


def _replaced(value: Json, key: str, pattern: re.Pattern[str], names: Mapping[str, str]) -> Json:
    """The value with every name replaced, where files are named and where it is told of them."""
    if isinstance(value, str):
        if key in _NAMED:
            return names.get(value) or pattern.sub(lambda found: names[found[0]], value)
        return pattern.sub(lambda found: names[found[0]], value) if key in _TOLD else value
    if isinstance(value, dict):
        inner = {name: key if key in _TOLD and name != "code" else name for name in value}
        return {name: _replaced(each, inner[name], pattern, names) for name, each in value.items()}
    if isinstance(value, list):
        return [_replaced(each, key, pattern, names) for each in value]
    return value
