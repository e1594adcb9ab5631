"""``ownmark protocol``: how a test is given; each edit makes a new version, and trials keep theirs."""

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING

from ..errors import UsageError
from .history import show_history
from .inputs import add_confirm, whole_number
from .logbook import add_logbook_option, opened
from .parts import add_parts, many, wrapped
from .protocol_find import add_find_arguments, run_find
from .terminal import say, say_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ..records.catalogue import CatalogueEntry, Family
    from ..records.earlier_trials import Earlier
    from ..records.protocol import Protocol

EXAMPLE = "ownmark protocol copy power-chair-slalom slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    entries = parts.add_parser("catalogue", help="starting protocols to copy and adapt")
    entries.add_argument("name", nargs="?", metavar="NAME", help="show this one in full")
    add_find_arguments(parts.add_parser("find", help="tests that a student can do, changed as little as possible"))
    show = parts.add_parser("show", help="a protocol of the logbook in full")
    show.add_argument("name", metavar="NAME", help="the protocol")
    show.add_argument("--version", type=whole_number, metavar="N", help="an earlier version")
    listed = parts.add_parser("list", help="the protocols of the logbook")
    copied = parts.add_parser("copy", help="take one from the catalogue into the logbook under a name of your own")
    copied.add_argument("source", metavar="CATALOGUE-NAME", help="its name in the catalogue")
    copied.add_argument("name", metavar="NAME", help="its name in the logbook")
    edit = parts.add_parser("edit", help="set fields; the protocol gets a new version")
    edit.add_argument("name", metavar="NAME", help="the protocol")
    edit.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="FIELD=VALUE",
        dest="fields",
        help="can be given several times; an empty value means unknown",
    )
    edit.add_argument(
        "--also-earlier",
        action="store_true",
        help="earlier trials too, where nothing else was written down; what stands against it is listed and left",
    )
    edit.add_argument("--why", default="", metavar="TEXT", help="the reason, for the history; no name")
    show.add_argument("--history", action="store_true", help="what was changed for earlier trials too, when and why")
    add_confirm(edit)
    for part in (show, listed, copied, edit):
        add_logbook_option(part)
    for part in (entries, show, listed):
        part.add_argument("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Do what the sub-command says."""
    parts = {"catalogue": _catalogue, "find": run_find, "show": _show, "list": _list, "copy": _copy, "edit": _edit}
    return parts[args.part](args)


def _catalogue(args: argparse.Namespace) -> int:
    from ..records.catalogue import entries, entry, families

    if args.name is not None:
        return _print(entry(args.name), args)
    if args.json:
        say_json([_as_json(each.protocol) for each in entries().values()])
        return 0
    say("\n".join(_listed(entries().values(), families())))
    return 0


def _listed(found: "Iterable[CatalogueEntry]", known: "Mapping[str, Family]") -> "Iterator[str]":
    """Every test by component and family, the least changed first."""
    yield "Starting protocols. Copy one, adapt it to the student with the therapist, keep it."
    yield "Numbers are steps of a ladder, 1 the least changed. `ownmark protocol find` tells which fit a student."
    by_family: dict[str, list[CatalogueEntry]] = {name: [] for name in known}
    for each in found:
        by_family[each.family].append(each)
    component = ""
    for name, family in known.items():
        if family.component != component:
            component = family.component
            yield f"\n{component.capitalize()}"
        yield f"  {family.title}"
        yield from (
            f"    {each.step}  {each.name:<26} {each.protocol.title}"
            for each in sorted(by_family[name], key=lambda each: each.step)
        )


def _show(args: argparse.Namespace) -> int:
    if args.history:
        return show_history(args, "protocol", args.name)
    with opened(args) as logbook:
        return _print(logbook.protocol(args.name, args.version), args)


def _list(args: argparse.Namespace) -> int:
    with opened(args) as logbook:
        protocols = logbook.protocols()
    if args.json:
        say_json([each.model_dump(mode="json") for each in protocols])
        return 0
    rows = [f"{each.name:<28} version {each.version}: {each.title}" for each in protocols]
    say("\n".join(rows) or "No protocol is in the logbook yet. `ownmark protocol catalogue` shows some to copy.")
    return 0


def _copy(args: argparse.Namespace) -> int:
    from ..records.catalogue import copy

    protocol = copy(args.source, args.name)
    with opened(args, create=True) as logbook:
        logbook.add_protocol(protocol)
    say(
        f"{protocol.name} is in the logbook as version 1. Adapt it with "
        f"`ownmark protocol edit {protocol.name} --set FIELD=VALUE`; `protocol show` lists every field."
    )
    return 0


def _edit(args: argparse.Namespace) -> int:
    from ..records.protocol_editing import edit_protocol

    if not args.fields:
        raise UsageError("nothing to set was given.", mend="Write --set FIELD=VALUE.")
    with opened(args) as logbook:
        done = edit_protocol(
            logbook,
            args.name,
            fields_of(args.fields),
            why=args.why,
            answers=args.confirm,
            also_earlier=args.also_earlier,
        )
        used = sum(1 for _ in logbook.trials(protocol=args.name, with_sheets=False))
    if args.also_earlier:
        return _told_earlier(done.protocol, done.earlier)
    offer = _offer(done.earlier)
    if not done.changed:
        say(f"{done.before.name} already is as you want it: it stays at version {done.before.version}.{offer}")
        return 0
    kept = f" What was done so far ({many(used, 'trial')}) keeps its version.{offer}" if used else ""
    say(f"{done.protocol.name} is now at version {done.protocol.version}.{kept}")
    return 0


def _offer(found: "Earlier") -> str:
    """What can be given to earlier trials too."""
    if not found.given:
        return ""
    earlier = many(len(found.given), "earlier trial")
    return f" --also-earlier gives it to {earlier} too, where nothing was written down against it."


_WHY = {
    "other value": "that is how it was done",
    "agreed before": "what a change is judged by was agreed before",
    "other length": "the trial's own phase is of another length",
    "cannot be worked out": "its figures could not be worked out with it",
}


def _told_earlier(newest: "Protocol", found: "Earlier") -> int:
    """Which earlier trials were given what the edit sets, and which were left."""
    say(f"{newest.name} is at version {newest.version}. Given to {many(len(found.given), 'earlier trial')} too.")
    for each in found.given:
        say(f"  trial {each.trial} of {each.code}: {', '.join(each.fields)}")
    if found.left:
        say("Left as it was:")
    for each in found.left:
        there = f" ({shown(each.there)})" if each.there not in (None, "", ()) else ""
        for line in wrapped(f"  trial {each.trial} of {each.code}: {each.field}{there}: {_WHY[each.why]}", 4):
            say(line)
    return 0


def fields_of(pairs: list[str]) -> Mapping[str, str]:
    """``FIELD=VALUE`` pairs as a mapping."""
    found = {}
    for pair in pairs:
        field, equals, value = pair.partition("=")
        if not equals or not field.strip():
            raise UsageError(f"--set {pair} names no field.", mend="Write --set FIELD=VALUE.")
        found[field.strip()] = value
    return found


def _entry(protocol: "Protocol") -> "CatalogueEntry | None":
    """The test of the catalogue that a protocol is or was copied from."""
    from ..records.catalogue import entries, entry_of

    return entry_of(protocol) or next((each for each in entries().values() if each.protocol is protocol), None)


def _as_json(protocol: "Protocol") -> dict[str, object]:
    """A protocol as plain JSON values, with its place in the catalogue where it has one."""
    found, entry = protocol.model_dump(mode="json"), _entry(protocol)
    return found if entry is None else {**found, "catalogue": entry.model_dump(mode="json", exclude={"protocol"})}


def _of_the_catalogue(protocol: "Protocol") -> "Iterator[str]":
    """Where a test stands among its family's, what that gives up, and where its ways of measuring come from."""
    from ..records.catalogue import families

    entry = _entry(protocol)
    if entry is None:
        return
    facts = {"ladder": f"step {entry.step} of “{families()[entry.family].title}”", "gives_up": entry.gives_up}
    facts |= {f"basis of {name}": basis for name, basis in entry.bases.items()}
    for name, text in facts.items():
        yield from wrapped(f"  {name:<28} {text}", 31)


def _print(protocol: "Protocol", args: argparse.Namespace) -> int:
    """One protocol in full: what is fixed, and the fields that are not."""
    from ..records.protocol import FIELDS

    if args.json:
        say_json(_as_json(protocol))
        return 0
    origin = f", from the catalogue's {protocol.from_catalogue}" if protocol.from_catalogue else ""
    lines = [f"{protocol.name}, version {protocol.version}{origin}", ""]
    unknown = []
    for name, rule in FIELDS.items():
        value = getattr(protocol, name)
        if value is None or value == ():
            unknown.append(name)
            continue
        lines += wrapped(f"  {name:<28} {shown(value)}{f' {rule.unit}' if rule.unit else ''}", 31)
    lines += _of_the_catalogue(protocol)
    if unknown:
        lines += ["", "Not fixed (set what applies):"]
        lines += wrapped("  " + ", ".join(unknown), 2)
    say("\n".join(lines))
    return 0


def shown(value: object) -> str:
    """A field's value for a person."""
    if isinstance(value, tuple):
        return "; ".join(each if isinstance(each, str) else _measure(each) for each in value).replace("?; ", "? ")
    return f"{value:g}" if isinstance(value, float) else str(value)


def _measure(each: object) -> str:
    from ..records.checklist import measure_words
    from ..records.protocol import HandMeasure

    return measure_words(each) if isinstance(each, HandMeasure) else str(each)
