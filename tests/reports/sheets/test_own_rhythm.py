"""The narrower bounds of a mean stand beside the wide ones, with what they hang on."""

import numpy as np
import pytest
from ownmark.metrics import Figure, Phases, choose_basis, effort
from ownmark.reports.render.text import to_text
from ownmark.reports.sheets.effort_sheet import effort_of_files
from ownmark.reports.sheets.figure_text import own_rhythm_text
from ownmark.reports.words import Words

from tests.makers.recordings import every_second, recording
from tests.metrics.test_kinetics import with_gap

MEAN = Figure(name="heart_rate_mean", value=100.2, low=96.6, high=106.4, unit="/min", source="a mean")


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (97.6, 102.6, "own rhythm: 98 to 103 /min"),
        (99.6, 100.4, "own rhythm: 100 /min"),
        (96.5, 106.4, ""),  # 97 to 106 both
        (None, None, ""),
        (97.6, None, ""),
    ],
)
def test_narrower_bounds_are_told_where_they_differ_as_shown(low, high, told):
    figure = MEAN.model_copy(update={"own_rhythm_low": low, "own_rhythm_high": high})
    assert own_rhythm_text("heart_rate_mean", figure, Words("en")) == told


def test_a_family_reads_them_in_spanish():
    figure = MEAN.model_copy(update={"own_rhythm_low": 97.6, "own_rhythm_high": 102.6})
    told = own_rhythm_text("heart_rate_mean", figure, Words("es"), family=True)
    assert told == "ritmo propio: de 98 a 103 latidos por minuto"


def printed(sheet):
    return " ".join(to_text(effort_of_files(sheet, Words("en", terminal=True))).split())


def test_the_page_shows_both_and_explains_them_once():
    stream = with_gap(100.0, 100.0, 10, left_s=100, right_s=90)
    told = printed(effort(recording(stream), choose_basis(rest_bpm=70), Phases(work=(0.0, 200.0))))
    assert "Mean heart rate 100 /min 97 to 107 /min own rhythm: 97 to 103 /min" in told
    assert told.count("“Own rhythm” gives the least and the most of a mean if the heart kept its own rhythm") == 1


def test_the_page_explains_nothing_that_it_does_not_show():
    whole = effort(every_second(np.full(200, 100.0)), choose_basis(rest_bpm=70))
    assert "rhythm" not in printed(whole)
