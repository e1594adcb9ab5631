"""Readable in black and white and by colour-blind readers: computed, for every pair that must be told apart."""

from itertools import pairwise

import numpy as np
import pytest
from ownmark.reports.palette import INK, PAPER, QUIET, RAMP, contrast
from ownmark.reports.pictures.board import STILL
from ownmark.reports.pictures.pulse_panel import HALO_PT, between

# Full severity, applied to linear RGB. Source: Machado, Oliveira & Fernandes (2009), IEEE TVCG 15(6).
VISIONS = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "grey": np.tile([0.2126, 0.7152, 0.0722], (3, 1)),
}
EVERY = pytest.mark.parametrize("vision", VISIONS)
TOLD_APART, SEEN = 1.2, 3.0
"""Neighbouring surfaces that also bear a line and a name; and lines, by WCAG 2.2, 1.4.11."""


def seen_by(colour: str, vision: str) -> str:
    parts = np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    linear = np.clip(VISIONS[vision] @ linear, 0, 1)
    back = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * each):02x}" for each in back)


def test_the_simulation_makes_red_and_green_alike_and_leaves_white():
    # Source: what the two conditions are; grey by relative luminance of WCAG 2.2
    for vision in VISIONS:
        assert seen_by("#ffffff", vision) == "#ffffff"
    assert contrast(seen_by("#ff0000", "deuteranopia"), seen_by("#008000", "deuteranopia")) < contrast(
        seen_by("#ff0000", "protanopia"), "#ffffff"
    )
    red = seen_by("#ff0000", "protanopia")
    assert int(red[1:3], 16) < 128  # red looks dark without the long-wave cones


@EVERY
def test_neighbouring_bands_are_told_apart_and_go_from_light_to_dark(vision):
    seen = [seen_by(each, vision) for each in RAMP]
    for light, dark in pairwise(seen):
        assert contrast(light, dark) >= TOLD_APART
        assert contrast(dark, PAPER) > contrast(light, PAPER)


@EVERY
def test_the_line_between_two_bands_is_seen_against_both(vision):
    for below, above in pairwise(RAMP):
        edge = seen_by(between(below, above), vision)
        assert min(contrast(edge, seen_by(each, vision)) for each in (below, above)) >= SEEN


@EVERY
def test_heart_rate_is_seen_on_every_band(vision):
    # on a light band by its ink, on a dark one by the paper on both of its sides
    ink, paper = seen_by(INK, vision), seen_by(PAPER, vision)
    assert contrast(ink, paper) >= SEEN
    for band in (*RAMP, STILL, PAPER):
        assert max(contrast(ink, seen_by(band, vision)), contrast(paper, seen_by(band, vision))) >= SEEN
    assert HALO_PT >= 1.0


@EVERY
def test_moving_still_and_hatching_are_told_apart(vision):
    ink, still, paper, hatch = (seen_by(each, vision) for each in (INK, STILL, PAPER, QUIET))
    assert contrast(ink, still) >= SEEN
    assert contrast(hatch, paper) >= 4.5
    assert contrast(hatch, still) >= SEEN


def test_words_have_the_contrast_of_small_print():
    for colour in (INK, QUIET):
        assert contrast(colour, PAPER) >= 4.5
        assert contrast(colour, "#ffffff") >= 4.5
