"""Which tests stand beside a module: those that a mistake in it should turn red, without README's replay.

A module without a row has the tests of its own name.
"""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
AREAS = (
    *("metrics/**/*.py", "records/change/*.py", "records/pooling.py", "records/classmates.py"),
    *(
        "ingest/clean_*.py",
        "ingest/cleaning.py",
        "ingest/beat_*.py",
        "ingest/level_rate.py",
        "ingest/span.py",
        "ingest/limits.py",
        "ingest/second_run.py",
    ),
)

_FIGURES = (
    *("tests/test_effort.py", "tests/test_zones.py", "tests/test_impulse.py", "tests/test_bounds.py"),
    "tests/test_contested_moments.py",
)
_MOVEMENT = ("tests/test_effort_movement.py",)
_RHYTHM = ("tests/test_motion_rhythm.py", "tests/test_motion_main_rhythm.py", "tests/test_motion_real_rhythm.py")
_MOVING = ("tests/test_motion_moving.py", "tests/test_motion_bouts.py", "tests/test_motion_real_rhythm.py")
_CHANGE = ("tests/records_values/test_comparison.py", "tests/records_values/test_own_rhythm.py")

BESIDE = {
    "ingest/clean_motion.py": ("tests/test_clean_motion_edges.py", "tests/test_clean_motion.py"),
    "ingest/clean_rr.py": ("tests/test_clean_rr.py", "tests/test_beat_patterns.py", "tests/test_beat_levels.py"),
    "ingest/second_run.py": ("tests/test_contested_moments.py",),
    "ingest/cleaning.py": (
        "tests/test_level_rate.py",
        "tests/test_clean_heart_rate.py",
        "tests/test_clean_rr.py",
        "tests/test_clean_motion.py",
    ),
    "metrics/above_rest.py": ("tests/test_small_indices.py", "tests/test_effort.py"),
    "metrics/basis.py": ("tests/test_maximum.py", "tests/test_conditions.py", "tests/test_effort.py"),
    "metrics/bounds.py": ("tests/test_contested_moments.py", "tests/test_effort.py"),
    "metrics/cost.py": ("tests/test_small_indices.py", "tests/test_effort.py"),
    "metrics/effort.py": ("tests/test_effort.py", "tests/test_zones.py", *_MOVEMENT),
    "metrics/glossary.py": ("tests/test_effort.py", "tests/test_cli.py"),
    "metrics/means.py": ("tests/test_kinetics.py", "tests/test_effort.py"),
    "metrics/motion_figures.py": ("tests/test_motion_figures.py",),
    "metrics/placing.py": ("tests/test_placing.py", "tests/test_combine.py"),
    "metrics/pulse_figures.py": (*_FIGURES, "tests/test_small_indices.py"),
    "metrics/recovery.py": ("tests/test_small_indices.py", "tests/test_effort.py"),
    "metrics/sampling.py": ("tests/test_bounds_under_loss.py",),
    "metrics/timeline.py": (
        "tests/test_contested_moments.py",
        "tests/test_span.py",
        "tests/test_bounds.py",
    ),
    "metrics/motion/alignment.py": ("tests/test_placing.py",),
    "metrics/motion/calibrate.py": ("tests/test_motion_gravity.py",),
    "metrics/motion/halves.py": ("tests/test_motion_likeness.py",),
    "metrics/motion/moving.py": ("tests/test_motion_rule.py",),
    "metrics/motion/moving_words.py": (*_MOVING, *_MOVEMENT),
    "metrics/motion/onset.py": ("tests/test_motion_alignment.py",),
    "metrics/motion/rhythm.py": _RHYTHM,
    "metrics/motion/rhythm_words.py": (*_RHYTHM, *_MOVEMENT),
    "metrics/motion/states.py": ("tests/test_motion_doubt.py", "tests/test_motion_placements.py"),
    "records/change/borrowed.py": ("tests/records_values/test_verdict.py",),
    "records/change/comparison.py": _CHANGE,
    "records/change/detectable.py": (
        "tests/records_values/test_typical_error.py",
        "tests/records_values/test_verdict.py",
    ),
    "records/change/direction.py": ("tests/records_values/test_verdict.py", *_CHANGE),
    "records/change/differences.py": ("tests/records_values/test_work_length.py",),
    "records/change/notes.py": ("tests/records_values/test_differences.py", *_CHANGE),
    "records/change/occasions.py": ("tests/records_use/test_occasions.py", *_CHANGE),
    "records/change/results.py": (*_CHANGE, "tests/records_use/test_pooling.py"),
    "records/change/seen.py": (*_CHANGE, "tests/reports_exports/test_plan.py"),
    "records/change/sentence.py": (*_CHANGE, "tests/reports/test_builders.py"),
    "records/change/shape.py": (*_CHANGE, "tests/reports_pictures/test_pair_and_sides.py"),
    "records/change/sides.py": (*_CHANGE, "tests/reports_pictures/test_pair_and_sides.py"),
    "records/change/trend.py": ("tests/records_values/test_verdict.py",),
    "records/change/wording.py": ("tests/records_values/test_differences.py",),
    "records/change/yardstick.py": ("tests/records_values/test_verdict.py",),
}


def modules() -> list[str]:
    """The modules that are looked at, without the empty ones."""
    found = {each for area in AREAS for each in ROOT.glob(area) if each.name != "__init__.py"}
    return sorted(each.relative_to(ROOT).as_posix() for each in found)


def files_beside(module: str) -> list[str]:
    """The test files beside a module; those of its own name come first."""
    words = Path(module).with_suffix("").parts
    name = f"test_{'_'.join(words[1:]) if words[0] == 'metrics' else words[-1]}.py"
    found = (each.relative_to(ROOT) for each in (ROOT / "tests").rglob(name))
    own = sorted(each.as_posix() for each in found if "soak" not in each.parts)  # too slow to run for each change
    return list(dict.fromkeys([*own, *BESIDE.get(module, ())]))
