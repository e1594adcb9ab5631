"""Numbers as people read them: one rounding, half up, and one way to write a length of time."""

import re
import unicodedata
from decimal import ROUND_HALF_UP, Decimal

_MOST_DIGITS = 4


def rounded(value: float, digits: int) -> str:
    """Round half up what the number's shortest decimal form says; never minus zero."""
    step = Decimal(1).scaleb(-digits)
    found = Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_UP)
    return str(abs(found) if found == 0 else found)


def nearest(value: float) -> str:
    """Round half up to a whole number."""
    return rounded(value, 0)


def below(value: float, limit: float) -> str:
    """A number that stays below a limit as it is shown: whole, or with the decimals that it takes (79.6 of 80)."""
    found = (rounded(value, digits) for digits in range(_MOST_DIGITS))
    return next((text for text in found if value >= limit or float(text) < limit), shortest(value))


def shortest(value: float) -> str:
    """A number in its shortest decimal form: 12, 0.5, never 12.0 and never with an exponent."""
    text = format(Decimal(repr(float(value))), "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def clock(seconds: float) -> str:
    """Seconds, rounded to whole ones, as M:SS or H:MM:SS."""
    whole = int(rounded(abs(seconds), 0))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    text = f"{hours}:{minutes:02d}:{left:02d}" if hours else f"{minutes}:{left:02d}"
    return f"−{text}" if seconds < 0 and whole else text


def on_the_clock(seconds: float) -> str:
    """Seconds after midnight, rounded to whole ones, as HH:MM:SS; the day before and the day after count on."""
    whole = int(rounded(seconds, 0)) % 86_400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


_TYPED = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+", re.ASCII)


def typed_number(text: str) -> float:
    """A number as people type it: with a point or a decimal comma, and a minus of any keyboard.

    Raises
    ------
    ValueError
        If it is none, or infinite; and for a comma before three digits, as in 1,234: to one reader these are thousands
        and to another one a decimal comma, and one of them would be wrong by a factor of a thousand.
    """
    plain = unicodedata.normalize("NFKC", text).strip().replace("−", "-")
    if _TYPED.fullmatch(plain) is None or _THOUSANDS.fullmatch(plain):
        raise ValueError(text)
    found = float(plain.replace(",", "."))
    if found in (float("inf"), float("-inf")):
        raise ValueError(text)
    return found


def two_readings(text: str) -> bool:
    """Whether a number can be read in two ways: 1,234."""
    return _THOUSANDS.fullmatch(unicodedata.normalize("NFKC", text).strip().replace("−", "-")) is not None
