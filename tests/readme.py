"""The README's examples, run: ``python -m tests.readme`` writes their output anew; a test compares it."""

import contextlib
import io
import os
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

from ownmark.cli.main import main
from ownmark.ingest.flags import RULES
from ownmark.metrics.conditions import CONDITIONS
from ownmark.metrics.glossary import FIGURES
from ownmark.sample_streams import FOLDER

README = Path(__file__).resolve().parents[1] / "README.md"
_BLOCK = re.compile(r"```\n\$ (ownmark [^\n]*)\n(.*?)```\n", re.DOTALL)
_CUT = "  …\n"


def output(command: str) -> str:
    """What a command prints when it is called in the folder of the demo's files."""
    page, here = io.StringIO(), Path.cwd()
    os.chdir(FOLDER)
    try:
        with contextlib.redirect_stdout(page):
            main(shlex.split(command)[1:])
    finally:
        os.chdir(here)
    return page.getvalue()


def shown(command: str, old: str) -> str:
    """A command's output, cut before the sources where the README cuts it."""
    whole = output(command)
    return whole[: whole.index("\nSources of the formulas")] + _CUT if old.endswith(_CUT) else whole


def examples(page: str) -> Iterator[tuple[str, str]]:
    """Every example of a page as (command, output)."""
    yield from ((found[1], found[2]) for found in _BLOCK.finditer(page))


def tables(page: str) -> str:
    """The page with its tables of figures, conditions and rules written from the code."""
    rows = {
        "figures": [f"| `{name}` | {each.unit} | {each.meaning} | {each.source} |" for name, each in FIGURES.items()],
        "conditions": [f"| `{each.name}` | {each.title} | {_effect(each.name)} |" for each in CONDITIONS.values()],
        "rules": [f"| {rule.replace('_', ' ')} | {finds} |" for rule, finds in RULES.items() if rule != "unchecked"],
    }
    for name, lines in rows.items():
        mark = re.compile(rf"(<!-- {name} -->\n\|[^\n]*\n\|[^\n]*\n)(?:\|[^\n]*\n)*")
        page = mark.sub(lambda found, lines=lines: found[1] + "\n".join(lines) + "\n", page)
    return page


def _effect(name: str) -> str:
    """What a condition forbids, in a word."""
    condition = CONDITIONS[name]
    if condition.blocks_reserve:
        return "no figure of the reserve"
    return "no predicted maximum" if condition.blocks_prediction else "cautions"


def written(page: str) -> str:
    """The page as it should read."""
    return _BLOCK.sub(lambda found: f"```\n$ {found[1]}\n{shown(found[1], found[2])}```\n", tables(page))


if __name__ == "__main__":
    README.write_text(written(README.read_text(encoding="utf-8")), encoding="utf-8")
