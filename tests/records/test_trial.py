"""A trial is written down as it was done."""

import subprocess
import sys

import pytest
from ownmark.errors import NotACode, NotATrial
from ownmark.records.trial import HandResult, KeptFile, Stop, Trial

from tests.records.store import made

LEAST = {"code": "th-11", "protocol": "crank", "protocol_version": 1, "on": "2025-09-01"}


def test_a_trial_comes_back_from_json_as_it_was():
    trial = Trial(
        **LEAST,
        time_of_day="9:30",
        files=(KeptFile(path="strap.fit", sha256="0" * 64, size=3),),
        stops=(Stop(at="09:14", why="tired"),),
        hand_results=(HandResult(name="laps", value=3),),
        sheet=made.sheet(),
        columns={"time": "t"},
    )
    assert Trial.model_validate_json(trial.model_dump_json(by_alias=True)) == trial
    assert (trial.code, trial.time_of_day) == ("TH-11", "09:30")


def test_what_was_not_written_down_is_unknown():
    trial = Trial(**LEAST)
    for name in ("temperature_c", "assistance_given", "practice_trials", "exertion", "battery_start_percent", "id"):
        assert getattr(trial, name) is None
    assert trial.medicines == ""


@pytest.mark.parametrize("path", ["class-3/Maria/strap.fit", r"C:\Users\maria\strap.fit"])
def test_only_the_bare_name_of_a_file_is_kept_since_folders_can_carry_names(path):
    assert KeptFile(path=path, sha256="0" * 64, size=3).path == "strap.fit"


def test_perceived_exertion_means_nothing_without_its_scale():
    # Trade tables 2.5: there are two different 0-10 scales and a 6-20 one.
    assert Trial(**LEAST, exertion=13, exertion_scale="6-20").exertion == 13
    with pytest.raises(NotATrial, match="needs its scale"):
        Trial(**LEAST, exertion=13)
    for exertion, scale in ((5, "6-20"), (13, "0-10"), (11, "pictures 0-10")):
        with pytest.raises(NotATrial, match="is not on the scale"):
            Trial(**LEAST, exertion=exertion, exertion_scale=scale)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("on", "01.09.2025"),
        ("time_of_day", "24:00"),
        ("time_of_day", "morning"),
        ("battery_start_percent", 101),
        ("temperature_c", 400),
        ("tested_by", "Anna Jones"),
        ("assistance_given", "much"),
        ("prompts_per_min", -1),
        ("hand_results", ({"name": "a", "value": 1}, {"name": "a", "value": 2})),
        ("hand_results", ({"name": "a", "value": float("inf")},)),
        ("hand_results", ({"name": "a", "value": 1, "side": "middle"},)),
        ("files", ({"path": "a", "sha256": "XYZ", "size": 1},)),
        ("weather", "fine"),
    ],
)
def test_a_value_that_does_not_fit_is_told_in_a_sentence(field, value):
    with pytest.raises(NotATrial) as refused:
        Trial(**{**LEAST, field: value})
    assert str(refused.value).endswith(".")


def test_a_trial_belongs_to_a_code_and_never_to_a_name():
    with pytest.raises(NotACode):
        Trial(**{**LEAST, "code": "Maria"})


@pytest.mark.parametrize("module", ["records.trial", "records.safety", "records.store.rows", "words.vocabulary"])
def test_the_shapes_load_no_numerical_library(module):
    code = f"import sys, ownmark.{module}; sys.exit(bool({{'numpy', 'scipy', 'pandas'}} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
