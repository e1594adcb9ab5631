"""The form of a day: next to the bag of straps it takes what makes sure later whose heart it was, and when."""

from collections.abc import Sequence

from ...records.plan.day_form import FormRow
from ..page import Page, Paragraph, Table
from ..words import Words

COLUMNS = (
    ("code", 19),
    ("protocol", 36),
    ("strap", 15),
    ("from", 18),
    ("until", 18),
    ("start", 19),
    ("work_begin", 19),
    ("work_end", 19),
    ("button", 22),
    ("notes", 54),
)
"""The form's columns, and the share of the width that a hand needs for each."""
SPARE = 3
"""Empty lines at the end: a guest, a strap that was changed."""
_DAY = ("day", "clock", "given_by")


def day_form(rows: Sequence[FormRow], words: Words) -> Page:
    """The form: what holds for the day, then a line for each student and strap."""
    head = tuple(words.get(f"day_form.{name}") for name, _ in COLUMNS)
    beyond = ("",) * (len(COLUMNS) - 3)
    lines = [(row.code, row.protocol, row.strap, *beyond) for row in rows]
    lines += [("", "", "", *beyond)] * SPARE
    count = len({row.code for row in rows})
    day = Table(
        words.get("day_form.of_day"), tuple(words.get(f"day_form.{each}") for each in _DAY), (("",) * 3,), by_hand=True
    )
    table = Table(
        words.get("day_form.table"),
        head,
        tuple(lines),
        shares=tuple(float(share) for _, share in COLUMNS),
        by_hand=True,
    )
    return Page(
        title=words.get("day_form.title"),
        language=words.language,
        subtitle=words.get("day_form.subtitle_one" if count == 1 else "day_form.subtitle", count=count),
        blocks=(Paragraph(words.get("day_form.lead")), day, table, Paragraph(words.get("day_form.after"), "small")),
        running=words.get("day_form.title"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )
