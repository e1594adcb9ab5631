"""The tables of README and docs/, written from the code: figures, conditions, rules, formats, columns, options.

``<!-- NAME -->`` above a table's header says which rows stand below it; the options of every command stand between
``<!-- options -->`` and ``<!-- end of options -->``.
"""

import argparse
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from importlib import import_module

from ownmark.cli.main import COMMANDS, MODULES
from ownmark.ingest.flags import RULES
from ownmark.ingest.formats import FORMATS
from ownmark.metrics.conditions import CONDITIONS
from ownmark.metrics.maximum import EQUATIONS, SET_APART, Equation
from ownmark.records.abilities import IMPLIED, MOVEMENTS, NEEDS
from ownmark.records.catalogue import CatalogueEntry, entries, families
from ownmark.reports.exports.columns import ABOUT, BASIS, CHANGE, HAND, Column
from ownmark.words.render import texts
from ownmark.words.vocabulary import FIGURES

_OPTIONS = re.compile(r"(<!-- options -->\n).*?(<!-- end of options -->)", re.DOTALL)
_SHARED = 4
"""An option that so many commands have, with the same words, stands in a table of its own."""

_TYPED_OFTEN = {"?": ("[", "]"), "+": ("", " …"), "*": ("[", " …]")}


def tables(page: str) -> str:
    """The page with its tables written from the code."""
    for name, lines in rows().items():
        mark = re.compile(rf"(<!-- {name} -->\n\|[^\n]*\n\|[^\n]*\n)(?:\|[^\n]*\n)*")
        page = mark.sub(lambda found, lines=lines: found[1] + "\n".join(lines) + "\n", page)
    return _OPTIONS.sub(lambda found: found[1] + options() + found[2], page)


def rows() -> dict[str, list[str]]:
    """The rows of each table, by its name."""
    return {
        "figures": [row(f"`{name}`", each.unit, each.meaning, each.source) for name, each in FIGURES.items()],
        "conditions": [row(f"`{each.name}`", each.title, _effect(each.name)) for each in CONDITIONS.values()],
        "equations": [_equation(each) for each in EQUATIONS.values()],
        "rules": [
            row(texts("en")[f"rule_name.{rule}"], texts("en")[f"rule_finds.{rule}"])
            for rule in RULES
            if rule != "unchecked"
        ],
        "formats": [row(each.name, each.holds) for each in FORMATS],
        "movements": [
            row(
                f"`{each}`",
                texts("en")[f"movement.{each}"],
                ", ".join(f"`{one}`" for one in sorted(IMPLIED.get(each, ()))),
            )
            for each in MOVEMENTS
        ],
        "needs": [row(f"`{each}`", texts("en")[f"need.{each}"]) for each in NEEDS],
        "families": [row(each.title, each.component, each.unadapted, each.about) for each in families().values()],
        **{
            f"tests of {component}": [
                _test(each) for each in entries().values() if each.protocol.component == component
            ]
            for component in ("aerobic", "strength", "trunk", "flexibility")
        },
        "bases": [
            row(f"`{each.name}`", texts("en")[f"hand.{one.name}"], one.unit, each.bases[one.name])
            for each in entries().values()
            for one in each.protocol.hand_measures
        ],
        "commands": [row(f"`ownmark {name}`", summary) for name, summary in COMMANDS.items()],
        **{
            f"columns of {name}": [_column(each) for each in columns]
            for name, columns in (("trials", (*ABOUT, *BASIS)), ("change", CHANGE), ("hand results", HAND))
        },
    }


def row(*cells: str) -> str:
    """A row of a table."""
    return f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"


def _test(each: CatalogueEntry) -> str:
    """A test's row: where it stands on its ladder, what it takes, what the step gives up."""
    takes = [*(f"`{one}`" for one in each.moves_all), " or ".join(f"`{one}`" for one in each.moves_any)]
    takes += ["both"] if each.both_sides else []
    takes += ["transfer"] if each.transfer else []
    place = f"{families()[each.family].title}, {each.step}"
    return row(f"`{each.name}`", place, ", ".join(filter(None, takes)), each.gives_up)


def _column(each: Column) -> str:
    return row(f"`{each.name}`", each.unit, each.kind, each.meaning)


def _effect(name: str) -> str:
    """What a condition forbids, in a word."""
    condition = CONDITIONS[name]
    if condition.blocks_reserve:
        return "no figure of the reserve"
    if condition.blocks_in_arms:
        return "no predicted maximum in work of the arms or in a power chair"
    if name in SET_APART:
        return "only the equation made from people with it"
    return "no predicted maximum" if condition.blocks_prediction else "cautions"


def _equation(equation: Equation) -> str:
    """An equation's row: what it is, and for whom it is given."""
    youngest, oldest = equation.ages
    work = " who walk or run on their own feet" if equation.walking else ""
    return row(
        f"`{equation.name}`",
        equation.formula,
        f"{texts('en')[f'people.{equation.people}']}{work}",
        f"{youngest:g}–{oldest:g}",
        equation.source,
    )


def options() -> str:
    """The options of every command and its parts; those that many share stand first."""
    parsers = dict(_parsers())
    found = {name: [_option(each) for each in parser._actions if _counts(each)] for name, parser in parsers.items()}
    shared = [
        each for each, count in Counter(each for own in found.values() for each in own).items() if count >= _SHARED
    ]
    parts = [_table("Options of several commands", "", shared)]
    for name, each in found.items():
        own = [option for option in each if option not in shared]
        usage = [f"`{option[0].strip('`').split()[0]}`" for option in each if option in shared]
        also = f"Also {', '.join(usage)}, as above." if usage else ""
        parts.append(_table(f"`ownmark {name}`", also, own))
    return "\n".join(parts)


def _parsers() -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Each command that takes options, and each part of one, with its parser."""
    for name in COMMANDS:
        parser = argparse.ArgumentParser()
        import_module(f"ownmark.cli.{MODULES.get(name, name)}").add_arguments(parser)
        parts = [each for each in parser._actions if isinstance(each, argparse._SubParsersAction)]
        if parts:
            yield from ((f"{name} {part}", each) for part, each in parts[0].choices.items())
        elif any(_counts(each) for each in parser._actions):
            yield name, parser


def _counts(action: argparse.Action) -> bool:
    return not isinstance(action, argparse._HelpAction)


def _option(action: argparse.Action) -> tuple[str, str]:
    """An option as it is typed, and what it is for."""
    value = action.metavar or (f"{{{','.join(map(str, action.choices))}}}" if action.choices else action.dest.upper())
    if not action.option_strings:
        before, behind = _TYPED_OFTEN.get(str(action.nargs), ("", ""))
        return f"`{before}{value}{behind}`", action.help or ""
    typed = action.option_strings[-1]
    return (f"`{typed}`" if action.nargs == 0 else f"`{typed} {value}`"), (action.help or "").replace("%%", "%")


def _table(title: str, also: str, lines: Sequence[tuple[str, str]]) -> str:
    head = ["", row("option", "what it is for"), "| --- | --- |"] if lines else []
    return "\n".join([f"### {title}", *head, *(row(*each) for each in lines), *(["", also] if also else []), ""])
