"""A page as pictures, one for each sheet of paper, by the same compiler as the PDF."""

from ..page import Page
from .pdf import to_pngs

PPI = 144.0
"""Twice the usual 72: sharp on a screen, about 300 kB a sheet."""


def to_png(page: Page, *, ppi: float = PPI) -> tuple[bytes, ...]:
    """The sheets in order. The text equivalent of a page as a picture is the HTML or PDF page."""
    return to_pngs(page, ppi)
