"""The page model, and colours that everyone can read."""

import dataclasses
import itertools

import pytest
from ownmark.reports import palette
from ownmark.reports.page import Heading, Page, Table

TEXT = (palette.INK, palette.QUIET, palette.PLUM)


def test_a_table_whose_rows_do_not_fit_its_header_cannot_be_made():
    with pytest.raises(ValueError, match="cells"):
        Table("Title", ("a", "b"), (("1", "2"), ("1",)))
    with pytest.raises(ValueError, match="cells"):
        Table("Title", ("a", "b"), (), units=("m",))


def test_units_stand_in_the_header_once():
    assert Table("Title", ("when", "how far"), (), units=("", "m")).heads() == ("when", "how far (m)")


def test_a_page_cannot_be_changed_after_it_was_made():
    page = Page("Title", "en", "", (Heading("a"),))
    with pytest.raises(dataclasses.FrozenInstanceError):
        page.title = "Other"


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    # Source: WCAG 2.2 (black on white is 21:1) and its Understanding text (#767676 is the lightest grey of 4.5:1).
    [("#000000", "#ffffff", 21.0), ("#767676", "#ffffff", 4.54), ("#ffffff", "#ffffff", 1.0)],
)
def test_contrast_is_that_of_the_standard(one, other, ratio):
    assert palette.contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("colour", TEXT)
@pytest.mark.parametrize("paper", [palette.PAPER, "#ffffff"])
def test_text_stands_out_from_the_paper_by_4_5_to_1(colour, paper):
    # WCAG 2.2, 1.4.3
    assert palette.contrast(colour, paper) >= 4.5


@pytest.mark.parametrize("paper", [palette.PAPER, "#ffffff"])
def test_boxes_and_lines_to_write_on_stand_out_by_3_to_1(paper):
    # WCAG 2.2, 1.4.11
    assert palette.contrast(palette.EDGE, paper) >= 3


def test_the_classes_of_effort_are_one_hue_that_only_gets_darker_and_text_is_read_on_all_but_the_fourth():
    steps = [palette.contrast(colour, "#ffffff") for colour in palette.RAMP]
    assert steps == sorted(steps)
    assert all(later / earlier >= 1.25 for earlier, later in itertools.pairwise(steps))
    assert all(palette.contrast(palette.INK, colour) >= 4.5 for colour in palette.RAMP[:3])
    assert palette.contrast(palette.PAPER, palette.RAMP[4]) >= 4.5
