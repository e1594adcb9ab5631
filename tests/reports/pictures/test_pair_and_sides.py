"""Baseline and re-test on one chart; left and right."""

import numpy as np
import pytest
from ownmark.records.change.sides import SideChange, SideGap
from ownmark.reports.pictures.board import Board
from ownmark.reports.pictures.line_labels import draw_names
from ownmark.reports.pictures.pair import LINES, NAMES, pair_figure, pair_picture
from ownmark.reports.pictures.series import from_work
from ownmark.reports.pictures.sides import sides_figure, sides_picture
from ownmark.reports.pictures.sizes import SIZES
from ownmark.reports.words import Words

from .pictures_made import CASES, EN, ES, boxes, made, patch, runs, shape, spans, texts, values

FIRST, LAST = made(), made(seed=2, work=(240, 1080), end=1300, peak=128.0, gaps=((300, 340),), on="2026-10-19")
PAIRS = {
    "usual": (FIRST, LAST),
    "alike": (made(gaps=()), made(gaps=(), seed=3)),
    "one unmeasured": (made(gaps=((0, 1440),)), LAST),
    "no classes": (made(zones=None), LAST),
    "one without heart rate": (CASES["only movement"], LAST),
    "neither": (CASES["only movement"], CASES["nothing"]),
    "one sample": (CASES["one sample"], LAST),
    "eight hours": (CASES["eight hours"], LAST),
}


def overlapping(figure) -> list[tuple[str, str]]:
    found = boxes(figure)
    return [
        (one[0], other[0])
        for place, one in enumerate(found)
        for other in found[place + 1 :]
        if min(one[3], other[3]) > max(one[1], other[1]) and min(one[4], other[4]) > max(one[2], other[2]) + 0.5
    ]


def beyond(figure) -> list[str]:
    wide, tall = (72 * each for each in figure.get_size_inches())
    return [
        text
        for text, left, bottom, right, top in boxes(figure)
        if left < -0.5 or bottom < -0.5 or right > wide + 0.5 or top > tall + 0.5
    ]


@pytest.mark.parametrize("case", PAIRS)
@pytest.mark.parametrize(("language", "width"), [("en", "paper"), ("en", "phone"), ("es", "phone")])
def test_no_words_of_a_pair_lie_over_each_other_or_beyond_the_edge(case, width, language):
    figure = pair_figure(*PAIRS[case], Words(language), width).figure
    assert overlapping(figure) == []
    assert beyond(figure) == []


def test_both_lines_begin_with_the_work_and_break_at_their_own_gaps():
    drawn = pair_figure(FIRST, LAST, EN)
    for name, series in zip(NAMES, (FIRST, LAST), strict=True):
        line = shape(drawn.figure, name)
        begin = series.phases["work"][0]
        assert line.vertices[0, 0] == pytest.approx(drawn.pulse.x(0.0))
        parts = runs(line)
        assert len(parts) == 2
        gap = next(iter(series.unmeasured))
        assert parts[0][-1, 0] == pytest.approx(drawn.pulse.x(gap[0] - begin))
        assert parts[1][0, 0] == pytest.approx(drawn.pulse.x(gap[1] - begin))
        shown = series.bpm[series.measured & (series.time_s >= begin)]
        assert values(line, drawn.pulse).max() == pytest.approx(shown.max())


def test_baseline_and_retest_differ_in_dash_and_weight_and_not_in_colour():
    figure = pair_figure(FIRST, LAST, EN).figure
    first, last = (patch(figure, name) for name in NAMES)
    assert first.get_edgecolor() == last.get_edgecolor()
    assert last.get_linewidth() > 1.5 * first.get_linewidth()
    assert LINES[0][1]
    assert not LINES[1][1]
    assert first.get_linestyle() != last.get_linestyle()


@pytest.mark.parametrize("width", ["paper", "phone"])
def test_each_line_bears_its_name_nearer_to_itself_than_to_the_other(width):
    drawn = pair_figure(FIRST, LAST, EN, width)
    sizes, both = SIZES[width], (from_work(FIRST), from_work(LAST))
    found = draw_names(Board(sizes.width, 400), drawn.pulse, both, ["baseline", "re-test"], sizes)
    assert len(found) == 2
    lines = [shape(drawn.figure, name).vertices for name in NAMES]
    for place, (left, bottom, right, top) in enumerate(found):
        away = []
        for points in lines:
            near = points[(points[:, 0] >= left) & (points[:, 0] <= right)]
            away.append(np.maximum(np.maximum(bottom - near[:, 1], near[:, 1] - top), 0).min() if len(near) else 99.0)
        assert 0 < away[place] < away[1 - place]


def test_strips_show_the_work_and_hatch_what_was_not_measured():
    drawn = pair_figure(FIRST, LAST, EN)
    hatched = [each.get_path() for each in drawn.figure.artists + drawn.figure.patches if each.get_hatch()]
    assert spans(hatched[0], drawn.strips[0])[0] == pytest.approx((240.0, 420.0))
    assert spans(hatched[1], drawn.strips[1])[0] == pytest.approx((60.0, 100.0))
    assert "Classes of effort by the baseline's rest and maximum." in texts(drawn.figure)


def test_a_pair_gives_the_same_bytes_each_time():
    assert pair_picture(FIRST, LAST, ES, "phone").svg == pair_picture(FIRST, LAST, ES, "phone").svg


def sides(*changes, gaps=(), unit="cm", figure="forward_reach"):
    """A comparison's sides: all that the picture looks at."""
    found = tuple(
        SideChange(
            figure=figure,
            side=side,
            baseline=before,
            retest=after,
            change=after - before,
            detectable_change=detectable,
            typical_error=None,
            degrees_of_freedom=None,
            percent=97.5,
            verdict="cannot be told from day-to-day variation",
        )
        for side, before, after, detectable in changes
    )
    from ownmark.records.change.shapes import Comparison

    return Comparison.model_construct(sides=found, side_gaps=gaps, unit=unit, primary_figure=figure)


SIDES = {
    "usual": sides(("left", 22.0, 31.5, 4.0), ("right", 24.5, 20.0, 4.0)),
    "equal": sides(("left", 24.5, 24.5, None), ("right", 24.5, 24.5, None)),
    "noughts": sides(("left", 0.0, 0.0, None), ("right", 0.0, 12.0, None), unit="s"),
    "close": sides(("left", 22.0, 22.1, None), ("right", 10.0, 40.0, 60.0)),
    "one side": sides(("right", -3.0, 5.0, None)),
    "none": sides(),
}


@pytest.mark.parametrize("case", SIDES)
@pytest.mark.parametrize("width", ["paper", "phone"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_no_words_of_the_sides_lie_over_each_other_or_beyond_the_edge(case, width, language):
    figure = sides_figure(SIDES[case], Words(language), width).figure
    assert overlapping(figure) == []
    assert beyond(figure) == []


def test_every_value_of_a_side_is_written_over_its_mark():
    drawn = sides_figure(SIDES["usual"], EN)
    panel = drawn.panels[0]
    placed = {text: (left + right) / 2 for text, left, _, right, _ in boxes(drawn.figure)}
    for text in ("22.0", "31.5", "24.5", "20.0"):
        assert placed[text] == pytest.approx(panel.x(float(text)), abs=0.6)
    assert {"left", "right", "baseline", "re-test", "Forward reach, cm"} <= placed.keys()
    band = spans(shape(drawn.figure, "within-forward_reach-left"), panel)
    assert band[0] == pytest.approx((18.0, 26.0))


def test_the_sides_are_told_in_sentences():
    gap = SideGap(figure="forward_reach", baseline=-2.5, retest=11.5, change=14.0)
    found = sides(("left", 22.0, 31.5, 4.0), ("right", 24.5, 20.0, 4.0), gaps=(gap,))
    text = sides_picture(found, EN).alt
    assert "Left: 22.0 cm, then 31.5 cm. Right: 24.5 cm, then 20.0 cm." in text
    assert "left minus right, was −2.5 cm, then 11.5 cm." in text
    assert "Izquierda: 22,0 cm, luego 31,5 cm." in sides_picture(found, ES).alt
    assert sides_picture(SIDES["none"], EN).alt.startswith("There are no values")


def test_equal_values_are_written_once():
    shown = texts(sides_figure(SIDES["equal"], EN).figure)
    assert shown.count("both 24.5") == 2
    assert "24.5" not in shown
