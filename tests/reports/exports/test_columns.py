"""The columns of the exported tables."""

from ownmark.reports.exports.columns import figure_columns
from ownmark.words.vocabulary import FIGURES, digits


def test_a_spreadsheet_shows_one_decimal_place_more_than_a_page_for_a_value_and_its_bounds():
    shown = {column.name: column.decimals for column in figure_columns()}
    assert shown["heart_rate_mean"] == 1
    assert shown["reserve_mean_low"] == 2
    for name, entry in FIGURES.items():
        places = digits(name, entry.unit) + 1
        assert [shown[name], shown[f"{name}_low"], shown[f"{name}_high"]] == [places] * 3
