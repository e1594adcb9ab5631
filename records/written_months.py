"""A month of birth as people and spreadsheets write it.

A spreadsheet program makes a date of a month that is typed as 2014-03, and shows and saves it as ``Mar-14`` (``mar-14``
where it speaks Spanish), or in a workbook as the first of that month: each of these is that month.
"""

import re
from datetime import date

_MONTHS = (
    ("january", "enero"),
    ("february", "febrero"),
    ("march", "marzo"),
    ("april", "abril"),
    ("may", "mayo"),
    ("june", "junio"),
    ("july", "julio"),
    ("august", "agosto"),
    ("september", "septiembre", "setiembre"),
    ("october", "octubre"),
    ("november", "noviembre"),
    ("december", "diciembre"),
)
_BY_NAME = {
    short: number
    for number, names in enumerate(_MONTHS, start=1)
    for name in names
    for short in (name, name[:3], name[:4])
}
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})(?:[-/.]0?1(?:[t ]00:00(?::00)?)?)?", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{4})", re.ASCII)
_NAMED = re.compile(r"([a-z]{3,})\.?[ /.-]*(?:de )?(\d{4}|\d{2})", re.ASCII)
_DAY = re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}(?:[t ].*)?|\d{1,2}[-/. ]+(?:\d{1,2}|[a-z]{3,}\.?)[-/., ]+\d{2,4}")


def month_of(written: str, today: date) -> str | None:
    """The month that a text means, as YYYY-MM; None where it means none, or a day.

    today : of a year of two digits the last one that is not in the future is meant
    """
    text = " ".join(written.lower().split())
    found = _YEAR_FIRST.fullmatch(text)
    if found is not None:
        return _month(found[1], int(found[2]))
    found = _YEAR_LAST.fullmatch(text)
    if found is not None:
        return _month(found[2], int(found[1]))
    found = _NAMED.fullmatch(text)
    if found is None or found[1] not in _BY_NAME:
        return None
    month, year = _BY_NAME[found[1]], found[2]
    if len(year) == 2:
        year = f"20{year}" if f"20{year}-{month:02d}" <= f"{today:%Y-%m}" else f"19{year}"
    return _month(year, month)


def names_a_day(written: str) -> bool:
    """Whether a text that means no month has the shape of a day."""
    return _DAY.fullmatch(" ".join(written.lower().split())) is not None


def _month(year: str, month: int) -> str | None:
    return f"{year}-{month:02d}" if year[:2] in ("19", "20") and 1 <= month <= 12 else None
