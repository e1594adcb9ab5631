"""``ownmark demo``: the effort sheets of an invented school's test day, each with the command that made it."""

import argparse
import json

EXAMPLE = "ownmark demo"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Nothing to declare."""


def run(args: argparse.Namespace) -> int:  # noqa: ARG001 every command has the same shape
    """Print every sheet; refusals are part of the show, so the answer is 0 unless a sheet could not be made."""
    from ..sample_streams import FOLDER
    from . import effort

    scenario = json.loads((FOLDER / "scenario.json").read_text(encoding="utf-8"))
    print(f"{scenario['school']}: effort sheets of one test day. Nobody here is real.")
    parser = argparse.ArgumentParser()
    effort.add_arguments(parser)
    for trial in scenario["trials"]:
        words = [*(str(FOLDER / name) for name in trial["files"]), *trial["options"]]
        said = " ".join([*trial["files"], *trial["options"]])
        print(f"\n{'=' * 100}\n{trial['story']}\n$ ownmark effort {said}\n")
        effort.run(parser.parse_args(words))
    return 0
