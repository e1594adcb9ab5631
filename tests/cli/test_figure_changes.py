"""Figures that changed are told by their titles and with their units, never by the names that programs use."""

from ownmark.cli.figure_changes import said
from ownmark.records.recompute import FigureChange
from ownmark.words.vocabulary import FIGURES


def test_a_length_of_time_and_a_rate_are_written_as_on_the_sheet():
    above = said(FigureChange("time_above_ceiling", 0.0, 420.0))
    assert above == "time above the ceiling 0 s → 7:00 min (420 s)"
    assert said(FigureChange("heart_rate_mean", 137.6, 137.4), colon=":") == "mean heart rate: 138 /min → 137 /min"


def test_what_is_not_given_says_so_and_what_reads_alike_has_other_bounds():
    assert said(FigureChange("reserve_mean", None, 57.14)) == "mean share of the reserve not given → 57.1 %"
    assert said(FigureChange("heart_rate_mean", 137.6, 137.61)) == "mean heart rate 138 /min, with other bounds"


def test_no_figure_is_told_by_its_program_name():
    assert [name for name in FIGURES if "_" in said(FigureChange(name, 1.0, None))] == []


def test_a_figure_of_a_newer_list_is_told_as_it_is_written():
    assert said(FigureChange("some_new_one", 1.0, 2.5)) == "some new one 1 → 2.5"
