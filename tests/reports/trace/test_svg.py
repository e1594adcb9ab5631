"""The drawing of a trace, read back as XML."""

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from ownmark.reports.pictures.series import Series
from ownmark.reports.trace.lines import empty, line
from ownmark.reports.trace.svg import left_scale, names_below, plot, right_names
from ownmark.reports.trace.trace import Flagged, Trace, View, flagged_of, view_of

from tests.reports.pictures.pictures_made import EN, ES, MOVING, made


def traced(movement=None, flags=None, free=(float("-inf"), float("inf")), **more):
    return Trace(series=made(**more), movement=movement or empty(), flagged=flags or flagged_of(None), free=free)


def drawn(trace, view=None, words=EN, **how):
    return ET.fromstring(plot(trace, view or view_of(trace.whole), words, "trace", **how))


def texts(found):
    return ["".join(each.itertext()) for each in found.iter("text")]


def spans(found, kind):
    (group,) = found.findall(f".//g[@data-spans='{kind}']")
    return [(each.get("x"), each.get("width")) for each in group.iter("rect")]


def shown(each):
    return each.get("display") != "none"


def test_a_gap_is_a_hatched_box_over_its_time_and_says_what_it_is():
    found = drawn(traced(gaps=((360, 720),)))
    assert spans(found, "gaps") == [("25.000%", "25.000%")]
    (group,) = found.findall(".//g[@data-spans='gaps']")
    assert group[0].get("fill") == "url(#trace-hatch)"
    assert found.findall(".//g[@data-names='gaps']/text")[0].text == "not measured"
    assert not drawn(traced(gaps=((360, 540),))).findall(".//g[@data-names='gaps']/text")


def test_a_view_shows_its_part_alone():
    found = drawn(traced(gaps=((360, 720),)), View(0, 720))
    assert spans(found, "gaps") == [("50.000%", "50.000%")]
    assert spans(drawn(traced(gaps=((360, 720),)), View(720, 1440)), "gaps") == []


def test_phases_have_brackets_and_names_and_one_that_is_not_stated_is_hidden():
    found = drawn(traced(phases={"work": (360.0, 720.0)}))
    groups = {each.get("data-phase"): each for each in found.findall(".//g[@class='phase']")}
    assert list(groups) == ["rest", "work", "recovery"]
    assert [shown(each) for each in groups.values()] == [False, True, False]
    bracket = groups["work"].find("line[@class='bracket']")
    assert (bracket.get("x1"), bracket.get("x2")) == ("25.000%", "50.000%")
    assert [each.get("x1") for each in groups["work"].findall("line[@class='end']")] == ["25.000%", "50.000%"]


def test_an_end_of_a_phase_outside_the_view_is_hidden():
    found = drawn(traced(phases={"work": (360.0, 720.0)}), View(500, 1000))
    (work,) = found.findall(".//g[@data-phase='work']")
    assert [shown(each) for each in work.findall("line[@class='end']")] == [False, True]
    assert not shown(drawn(traced(phases={"work": (360.0, 720.0)}), View(720, 1000)).find(".//g[@data-phase='work']"))


def test_a_recording_of_which_all_is_work_says_so():
    found = drawn(traced(phases={"work": (0.0, 1440.0)}, whole=True))
    assert "work: the whole recording" in texts(found)
    assert not shown(found.find(".//rect[@data-kept]"))


def test_what_is_not_kept_is_veiled_and_what_is_kept_has_a_bar():
    found = drawn(traced(phases={"work": (480.0, 600.0)}))
    before, behind = (found.find(f".//rect[@data-away='{each}']") for each in ("before", "behind"))
    assert before.get("width") == "25.000%"
    assert (behind.get("x"), behind.get("width")) == ("50.000%", "50.000%")
    bar = found.find(".//rect[@data-kept]")
    assert (bar.get("x"), bar.get("width")) == ("25.000%", "25.000%")


def test_classes_are_bands_from_edge_to_edge():
    found = drawn(traced(ceiling_bpm=None))
    bands = [each for each in found.iter("rect") if (each.get("class") or "").startswith("zone-")]
    assert [each.get("class") for each in bands] == ["zone-0", "zone-1", "zone-2", "zone-3"]
    tops = [float(each.get("y")) for each in bands]
    heights = [float(each.get("height")) for each in bands]
    assert tops == sorted(tops, reverse=True)
    assert sum(heights) == pytest.approx(230, abs=0.3)
    assert not [each for each in found.iter("line") if each.get("class") == "hair"]
    assert [each for each in drawn(traced(zones=None)).iter("line") if each.get("class") == "hair"]


def test_a_ceiling_and_what_is_above_it():
    found = drawn(traced(crossings=((360.0, 720.0),), possible=((720.0, 1080.0),)))
    assert len([each for each in found.iter("line") if each.get("class") == "ceiling"]) == 1
    assert spans(found, "crossings") == [("25.000%", "25.000%")]
    assert spans(found, "possible") == [("50.000%", "25.000%")]
    far = drawn(traced(ceiling_bpm=300.0))
    assert not [each for each in far.iter("line") if each.get("class") == "ceiling"]
    assert "ceiling" not in " ".join(texts(far))  # its name stands beside the picture, or below


def test_names_stand_below_as_beside_and_from_the_top_down():
    found = names_below(traced(), EN)
    assert [kind for kind, _ in found] == ["ceiling", "zone-3", "zone-2", "zone-1", "zone-0"]
    assert [name for _, name in found[1:]] == ["vigorous", "moderate", "light", "very light"]
    for bpm, told in ((300.0, "ceiling 300 ↑"), (20.0, "ceiling 20 ↓"), (150.0, "ceiling 150")):
        trace = traced(ceiling_bpm=bpm)
        assert names_below(trace, EN)[0] == ("ceiling", told)
        assert told in right_names(trace, EN)
    assert [kind for kind, _ in names_below(traced(ceiling_bpm=None, zones=None), EN)] == []


def test_flagged_samples_are_crosses_and_rings_at_the_edge_where_they_are_beyond_it():
    marks = Flagged(
        np.array([0, 360, 720, 1080]),
        np.array([250.0, np.nan, 20.0, 100.0]),
        np.array([2, 1, 2, 12]),
        np.array([False, False, False, True]),
    )
    (group,) = drawn(traced(flags=marks), flags=True).findall(".//g[@data-flags]")
    found = [(each.get("class"), each.get("x"), each.get("y"), each.text) for each in group]
    assert found == [
        ("cross", "0%", "52", "×"),
        ("cross", "50%", "282", "×"),
        ("ring", "75%", found[2][2], "○"),
    ]
    assert shown(group)
    (group,) = drawn(traced(flags=marks)).findall(".//g[@data-flags]")
    assert not shown(group)
    assert len(group) == 0


def test_movement_has_its_ribbon_and_its_line():
    found = drawn(traced(line([0, 720, 1440], [1, 2, 1]), **MOVING))
    assert [each.get("data-line") for each in found.iter("svg") if each.get("data-line")] == [
        "pulse",
        "movement",
        "cadence",
    ]
    assert len(spans(found, "moving")) == 3
    assert len(spans(found, "assisted")) == len(spans(found, "movement-gaps")) == 1
    assert {"Movement", "Strength of movement, g", "Cadence, times a minute"} <= set(texts(found))


def test_times_from_the_start_and_the_clock_below():
    (group,) = drawn(traced(start="2026-05-12T09:30:00")).findall(".//g[@data-ticks]")
    assert [each.text for each in group.iter("text")] == [
        "0:00",
        "09:30",
        "5:00",
        "09:35",
        "10:00",
        "09:40",
        "15:00",
        "09:45",
        "20:00",
        "09:50",
    ]
    (group,) = drawn(traced(start="2026-05-12T09:30:07"), View(0, 300)).findall(".//g[@data-ticks]")
    assert [each.text for each in group.iter("text")][-2:] == ["5:00", "09:35:07"]
    (group,) = drawn(traced()).findall(".//g[@data-ticks]")
    assert [each.text for each in group.iter("text")] == ["0:00", "5:00", "10:00", "15:00", "20:00"]


def test_numbers_stand_left_and_names_right():
    assert texts(ET.fromstring(left_scale(traced()))) == ["60", "80", "100", "120", "140", "160"]
    names = texts(ET.fromstring(right_names(traced(), EN)))
    assert names == ["ceiling 140", "very light", "light", "moderate", "vigorous"]
    assert right_names(traced(zones=None, ceiling_bpm=None), EN) == ""


def test_no_style_and_no_script_of_its_own():
    for words in (EN, ES):
        found = drawn(traced(line([0, 1], [1, 2]), **MOVING), words=words, flags=True)
        assert not list(found.iter("style")) + list(found.iter("script"))
        assert not [name for each in found.iter() for name in each.attrib if name == "style" or name.startswith("on")]


def test_a_recording_of_nothing_is_drawn():
    none = np.empty(0)
    series = Series(time_s=none, until_s=none, bpm=none, end_s=60.0)
    found = drawn(Trace(series=series, movement=empty(), flagged=flagged_of(None)))
    assert "Nothing to draw" in texts(found)
