"""``ownmark repeat``: how to set a test up again, as a checklist."""

import argparse
from typing import TYPE_CHECKING

from ..words.render import english_date
from .logbook import add_logbook_option, opened
from .parts import wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..records.checklist import Section

EXAMPLE = "ownmark repeat TH-11 --protocol slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--protocol", metavar="NAME", help="needed where the student has trials of several")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print the checklist of the student's last trial."""
    from ..records.checklist import checklist
    from ..records.judging import one_protocol

    with opened(args) as logbook:
        student = logbook.student(args.code)
        last = one_protocol(logbook, student.code, args.protocol)[-1]
        protocol = logbook.protocol(last.protocol, last.protocol_version)
        newest = logbook.protocol(last.protocol)
    sections = checklist(protocol, last)
    if args.json:
        page = [
            {
                "title": section.title,
                "items": [
                    {"label": item.label, "value": item.value, "known": item.known, "must_match": item.must}
                    for item in section.items
                ],
            }
            for section in sections
        ]
        say_json({"code": student.code, "protocol": protocol.name, "version": protocol.version, "sections": page})
        return 0
    version = f"{protocol.name}, version {protocol.version}"
    say(f"{student.code}: {protocol.title} ({version}), last done {english_date(last.on)}")
    if newest.version != protocol.version:
        say(f"The protocol was edited since: version {newest.version} differs. This is how it was done.")
    say("* must match, or no change can be scored")
    say("\n".join(checklist_lines(sections)))
    return 0


def checklist_lines(sections: "tuple[Section, ...]") -> list[str]:
    """The checklist for a person, a box to tick before each line."""
    lines = []
    for section in sections:
        lines += ["", section.title]
        for item in section.items:
            lines += wrapped(f"  [ ] {item.label}{'*' if item.must else ''}: {item.value}", 6)
    return lines
