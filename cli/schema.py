"""``ownmark schema``: the JSON Schema of what ``ownmark effort --json`` prints."""

import argparse

from .terminal import say_json

EXAMPLE = "ownmark schema > effort-sheet.schema.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Nothing to declare."""


def run(args: argparse.Namespace) -> int:  # noqa: ARG001 every command has the same shape
    """Print the schema that the models themselves make."""
    from ..metrics.figure import EffortSheet

    schema = EffortSheet.model_json_schema(mode="serialization", by_alias=True)
    say_json(schema)
    return 0
