"""What is drawn of one trial."""

import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.path import Path as Shape
from ownmark.reports.pictures.ribbon import cadence_runs
from ownmark.reports.pictures.series import tiled
from ownmark.reports.pictures.sizes import SIZES
from ownmark.reports.pictures.trial import trial_figure, trial_picture
from ownmark.reports.words import Words

from .pictures_made import CASES, EN, ES, MOVING, ONE_SAMPLE, boxes, made, patch, runs, shape, spans, texts, values

EVERY = pytest.mark.parametrize("case", CASES)
WIDTHS = pytest.mark.parametrize("width", ["paper", "phone"])


@EVERY
@pytest.mark.parametrize(("language", "width"), [("en", "paper"), ("en", "phone"), ("es", "phone")])
def test_no_words_lie_over_each_other_or_beyond_the_edge(case, width, language):
    figure = trial_figure(CASES[case], Words(language), width).figure
    found = boxes(figure)
    wide, tall = (72 * each for each in figure.get_size_inches())
    for text, left, bottom, right, top in found:
        assert left > -0.5, text
        assert right < wide + 0.5, text
        assert bottom > -0.5, text
        assert top < tall + 0.5, text
    for place, (text, left, bottom, right, top) in enumerate(found):
        for other, left2, bottom2, right2, top2 in found[place + 1 :]:
            apart = right <= left2 or right2 <= left or top <= bottom2 + 0.5 or top2 <= bottom + 0.5
            assert apart, (text, other)


@EVERY
def test_hatching_covers_exactly_what_was_not_measured(case):
    series = CASES[case]
    drawn = trial_figure(series, EN)
    for name, panel, gaps in (
        ("heart-rate-not-measured", drawn.pulse, series.unmeasured if series.has_pulse else ()),
        ("movement-not-measured", drawn.movement, series.movement_unmeasured if series.moving is not None else ()),
    ):
        found = spans(shape(drawn.figure, name), panel)
        assert len(found) == len(gaps)
        assert np.allclose(np.array(found).ravel(), np.array(gaps).ravel(), atol=1e-6)
        if gaps:
            assert patch(drawn.figure, name).get_hatch()


def test_the_line_breaks_at_every_gap_and_nowhere_else():
    series = CASES["many gaps"]
    drawn = trial_figure(series, EN)
    line = shape(drawn.figure, "heart-rate")
    assert line is not None
    assert len(runs(line)) == len(series.runs) == len(series.unmeasured) + 1
    gaps = [(drawn.pulse.x(a), drawn.pulse.x(b)) for a, b in series.unmeasured]
    for part in runs(line):
        middle = (part[:-1, 0] + part[1:, 0]) / 2
        assert not any(((middle > a + 1e-6) & (middle < b - 1e-6)).any() for a, b in gaps)


def test_eight_hours_keep_their_lowest_and_highest_beat_and_no_more_points_than_can_be_seen():
    series = CASES["eight hours"]
    drawn = trial_figure(series, EN)
    line = shape(drawn.figure, "heart-rate")
    shown = values(line, drawn.pulse)
    assert shown.min() == pytest.approx(series.lowest)
    assert shown.max() == pytest.approx(series.highest)
    assert len(shown) < 5 * (drawn.pulse.width / 0.5 + 4) < len(series.bpm)
    assert len(trial_picture(series, EN).svg) < 400_000
    assert "hours:minutes:seconds from the start" in texts(drawn.figure)


def test_bands_lie_at_the_edges_of_their_classes_and_bear_their_names():
    series = made()
    drawn = trial_figure(series, EN)
    for name, low, high in series.zones[:4]:
        across = values(shape(drawn.figure, f"zone-{name}"), drawn.pulse)
        assert across.min() == pytest.approx(max(low, drawn.pulse.low))
        assert across.max() == pytest.approx(min(high, drawn.pulse.high))
    placed = {text: (bottom + top) / 2 for text, _, bottom, _, top in boxes(drawn.figure)}
    for text, low, high in (("light", 107, 118), ("moderate", 118, 139), ("vigorous", 139, 172)):
        assert drawn.pulse.y(low) < placed[text] < drawn.pulse.y(min(high, drawn.pulse.high))
    assert "near-maximal" not in placed  # no part of it is to be seen


def test_a_band_too_low_for_its_name_goes_without_it():
    drawn = trial_figure(CASES["steep classes"], EN)
    shown = texts(drawn.figure)
    assert "very light" in shown
    assert "near-maximal" in shown
    assert not {"light", "moderate", "vigorous"} & set(shown)


def test_the_ceiling_is_a_named_line_and_each_crossing_is_marked():
    series = made(ceiling_bpm=135.0)
    drawn = trial_figure(series, EN)
    assert values(shape(drawn.figure, "ceiling"), drawn.pulse) == pytest.approx([135.0, 135.0])
    assert "ceiling 135" in texts(drawn.figure)
    assert "above the ceiling" in texts(drawn.figure)
    bars = runs(shape(drawn.figure, "crossings"))
    assert 0 < len(bars) <= len(series.crossings)
    middles = [drawn.pulse.x((begin + end) / 2) for begin, end in series.crossings]
    assert all(any(bar[0, 0] <= middle <= bar[-1, 0] for bar in bars) for middle in middles)
    between = zip(series.crossings, series.crossings[1:], strict=False)
    apart = [drawn.pulse.x((end + begin) / 2) for (_, end), (begin, _) in between if begin - end > 5]
    assert apart
    assert not any(bar[0, 0] <= middle <= bar[-1, 0] for bar in bars for middle in apart)


def test_a_possible_crossing_is_a_striped_bar_with_a_name_of_its_own():
    series = made(ceiling_bpm=160.0, crossings=(), possible=((560.0, 620.0),))
    drawn = trial_figure(series, EN)
    (bar,) = runs(shape(drawn.figure, "possible-crossings"))
    assert [bar[0, 0], bar[-1, 0]] == pytest.approx([drawn.pulse.x(560), drawn.pulse.x(620)])
    assert bar[0, 1] < drawn.pulse.top
    striped, whole = patch(drawn.figure, "possible-crossings"), patch(trial_figure(made(), EN).figure, "crossings")
    assert striped.get_linestyle() != whole.get_linestyle()
    assert striped.get_linewidth() == whole.get_linewidth()
    assert shape(drawn.figure, "crossings") is None
    assert "possibly above it" in texts(drawn.figure)
    assert "above the ceiling" not in texts(drawn.figure)
    assert shape(trial_figure(made(), EN).figure, "possible-crossings") is None


def test_a_possible_crossing_is_shown_where_the_ceiling_lies_far_above_every_value_or_nothing_was_measured():
    far = trial_figure(made(ceiling_bpm=210.0, crossings=(), possible=((560.0, 620.0),)), EN)
    nothing = trial_figure(made(gaps=((0, 1440),), crossings=(), possible=((560.0, 620.0),)), EN)
    for drawn in (far, nothing):
        assert len(runs(shape(drawn.figure, "possible-crossings"))) == 1
        assert shape(drawn.figure, "ceiling") is None


@pytest.mark.parametrize(("ceiling", "sign"), [(210.0, "↑"), (30.0, "↓")])
def test_a_ceiling_far_from_the_data_is_told_and_does_not_press_the_line_flat(ceiling, sign):
    drawn = trial_figure(made(ceiling_bpm=ceiling, crossings=()), EN)
    assert f"ceiling {ceiling:.0f} {sign}" in texts(drawn.figure)
    assert shape(drawn.figure, "ceiling") is None
    assert drawn.pulse.high - drawn.pulse.low <= 110


def test_phases_are_named_and_stand_over_their_time():
    drawn = trial_figure(made(), EN)
    placed = {text: (left + right) / 2 for text, left, _, right, _ in boxes(drawn.figure)}
    for name, middle in (("rest", 120), ("work", 660), ("recovery", 1230)):
        assert placed[name] == pytest.approx(drawn.pulse.x(middle), abs=0.6)
    stated = trial_figure(replace(made(), whole=True, phases={"work": (0.0, 1440.0)}), EN)
    assert "work: the whole recording" in texts(stated.figure)


def test_the_ribbon_shows_the_moving_time_dark_and_says_whose_it_is():
    series = CASES["frame"]
    drawn = trial_figure(series, EN)
    found = spans(shape(drawn.figure, "moving"), drawn.movement)
    assert np.allclose(found, series.moving)
    assert np.allclose(spans(shape(drawn.figure, "assisted"), drawn.movement), series.assisted)
    assert {"The chair moving", "chair moving", "chair still"} <= set(texts(drawn.figure))
    wrist = texts(trial_figure(CASES["dropout"], EN).figure)
    assert {"Movement", "moving", "still", "moved by someone else"} <= set(wrist)
    assert not any("chair" in each for each in wrist)


def test_cadence_is_not_joined_over_a_gap():
    drawn = trial_figure(CASES["dropout"], EN)
    assert len(cadence_runs(CASES["dropout"])) == 2
    line = runs(shape(drawn.figure, "cadence"))
    assert len(line) == 2
    assert line[0][-1, 0] == pytest.approx(drawn.cadence.x(600))
    assert line[1][0, 0] == pytest.approx(drawn.cadence.x(640))


def test_times_run_from_the_start_and_the_clock_stands_below():
    shown = texts(trial_figure(CASES["dropout"], EN).figure)
    assert shown[shown.index("5:00") :].index("10:00") == 1
    assert "09:36:17" in shown  # 09:31:17 and five minutes
    assert not any("clock" in each for each in texts(trial_figure(made(), EN).figure))
    utc = texts(trial_figure(made(start="2026-05-12T09:30:00+00:00"), EN).figure)
    assert "09:35" in utc
    assert "minutes:seconds from the start; below: clock time (UTC)" in utc


def test_a_gap_is_named_where_there_is_room_and_in_the_key():
    wide = texts(trial_figure(made(gaps=((300, 1000),)), EN).figure)
    narrow = texts(trial_figure(made(gaps=((540, 548),)), EN).figure)
    assert wide.count("not measured") == 2
    assert narrow.count("not measured") == 1
    assert "not measured" not in texts(trial_figure(made(gaps=()), EN).figure)


def test_a_picture_without_classes_says_why_and_one_without_heart_rate_says_so():
    shown = " ".join(texts(trial_figure(CASES["no maximum"], EN).figure))
    assert "No classes of effort are drawn: no maximum is known." in shown
    assert "There is no heart rate in the recording." in texts(trial_figure(CASES["only movement"], EN).figure)


def test_one_sample_is_seen():
    drawn = trial_figure(ONE_SAMPLE, EN)
    assert values(shape(drawn.figure, "heart-rate"), drawn.pulse) == pytest.approx([88.0, 88.0])
    dot = runs(shape(trial_figure(made(cadence=((400.0, 50.0),)), EN).figure, "cadence"))[0]
    assert len(dot) == 2


def test_on_a_phone_type_is_larger_and_times_are_fewer():
    paper, phone = (trial_figure(made(end=1200), EN, width).figure for width in ("paper", "phone"))
    assert paper.get_size_inches()[0] * 25.4 == pytest.approx(170)
    assert phone.get_size_inches()[0] * 96 == pytest.approx(360)
    assert min(each.get_fontsize() for each in phone.texts) * 96 / 72 >= 12
    assert min(each.get_fontsize() for each in paper.texts) >= 7.5
    times = [sum(bool(re.fullmatch(r"\d+:\d\d", each)) for each in texts(figure)) for figure in (paper, phone)]
    assert times[1] < times[0]
    assert SIZES["phone"].type > SIZES["paper"].type


@pytest.mark.parametrize("case", ["dropout", "only movement", "one sample", "all unmeasured", "many gaps", "nothing"])
@WIDTHS
def test_the_same_trial_gives_the_same_bytes_without_date_or_double_names(case, width):
    first, second = (trial_picture(CASES[case], EN, width) for _ in range(2))
    assert first.svg == second.svg
    text = first.svg.decode()
    names = re.findall(r'\bid="([^"]+)"', text)
    assert len(names) == len(set(names))
    assert "<dc:date>" not in text
    assert "nan" not in re.sub(r"<!--.*?-->", "", text).lower()
    assert "<text" not in text  # letters are shapes


def test_png_is_as_large_as_its_dots_say():
    drawn = trial_picture(made(), EN)
    head = drawn.png(100)
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(head[16:20]) == pytest.approx(170 / 25.4 * 100, abs=1)
    assert drawn.png(100) == head


def test_a_compiler_and_a_reader_of_xml_take_the_picture():
    from xml.etree import ElementTree as ET

    import typst

    svg = trial_picture(CASES["dropout"], ES).svg
    ET.fromstring(svg)
    source = '#set document(title: "t")\n#image(bytes(sys.inputs.svg), format: "svg", alt: "a")'
    pdf = typst.compile(source.encode(), format="pdf", pdf_standards=["ua-1"], sys_inputs={"svg": svg.decode()})
    assert pdf.startswith(b"%PDF")
    page = source.replace("#image", "#set page(width: auto, height: auto, margin: 0pt)\n#image")
    shown = typst.compile(page.encode(), format="png", ppi=72, sys_inputs={"svg": svg.decode()})
    bare = typst.compile(
        page.encode(), format="png", ppi=72, sys_inputs={"svg": re.sub(r"url\(#h\w+\)", "none", svg.decode())}
    )
    assert shown != bare  # the hatching is there


def test_no_gap_is_bridged_when_rows_are_tiled():
    time, until, bpm = tiled([5.0, 6.0, 10.0], [1.0, 1.0, 1.0], [80, 81, 90], from_s=0.0, until_s=12.0)
    assert time.tolist() == [0, 5, 6, 7, 10, 11]
    assert until.tolist() == [5, 6, 7, 10, 11, 12]
    assert np.isnan(bpm[[0, 3, 5]]).all()
    assert bpm[[1, 2, 4]].tolist() == [80, 81, 90]


def test_shapes_begin_a_new_part_at_each_run():
    line = shape(trial_figure(made(gaps=((540, 720),)), EN).figure, "heart-rate")
    assert int((line.codes == Shape.MOVETO).sum()) == 2


def test_a_recording_that_starts_before_zero_shows_all_of_it():
    series = replace(ONE_SAMPLE, begin_s=-60.0, end_s=60.0, **{key: MOVING[key] for key in ("start",)})
    drawn = trial_figure(series, EN)
    assert drawn.pulse.x(-60.0) == pytest.approx(drawn.pulse.left)
    assert any(each.startswith("−") for each in texts(drawn.figure))
