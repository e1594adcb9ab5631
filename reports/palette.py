"""The few colours of a page: one ink, warm paper, one plum hue from light to dark. Meaning never hangs on them alone.

A test computes their contrast by the formula of WCAG 2.2.
"""

PAPER = "#fbf8f3"
INK = "#1d2733"
QUIET = "#55606c"
"""Small print and units."""
HAIRLINE = "#b9b2a6"
"""Rules between rows: decoration; rows are told apart without them."""
EDGE = "#7b7469"
"""Boxes to tick and lines to write on: they must be seen."""
PLUM = "#5f3a5b"
"""Titles of verdicts and the rule beside them."""
RAMP = ("#f3ecf2", "#e0cfdf", "#c3a3c1", "#96698f", "#5f3a5b")
"""The five classes of effort, light to dark."""


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21. Source: WCAG 2.2, contrast ratio and relative luminance."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
