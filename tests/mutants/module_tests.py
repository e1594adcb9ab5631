"""Which tests stand beside a module: those that a mistake in it should turn red, without the replay of README and docs.

A module without a row has the tests of its own name.
"""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
AREAS = (
    *(
        "metrics/**/*.py",
        "records/change/*.py",
        "records/catalogue/*.py",
        "records/pooling.py",
        "records/classmates.py",
        "cli/abilities.py",
        "records/plan/*.py",
    ),
    *(
        "ingest/cleaning/*.py",
        "ingest/beat_*.py",
        "ingest/level_rate.py",
        "ingest/span.py",
        "ingest/limits.py",
        "ingest/second_run.py",
    ),
)

_FIGURES = (
    *(
        "tests/metrics/test_effort_sheet.py",
        "tests/metrics/test_zones.py",
        "tests/metrics/test_impulse.py",
        "tests/metrics/test_bounds.py",
    ),
    "tests/metrics/test_contested_moments.py",
)
_MOVEMENT = ("tests/metrics/test_effort_movement.py",)
_RHYTHM = (
    "tests/metrics/motion/test_rhythm.py",
    "tests/metrics/motion/test_main_rhythm.py",
    "tests/metrics/motion/test_real_rhythm.py",
)
_MOVING = (
    "tests/metrics/motion/test_moving.py",
    "tests/metrics/motion/test_bouts.py",
    "tests/metrics/motion/test_real_rhythm.py",
)
_CHANGE = ("tests/records/change/test_comparison.py", "tests/records/change/test_own_rhythm.py")

BESIDE = {
    "metrics/message_codes.py": ("tests/metrics/test_older_sheets.py",),
    "cli/abilities.py": ("tests/cli/test_protocol_find.py",),
    "records/catalogue/messages.py": ("tests/words/test_catalogues.py",),
    **dict.fromkeys(
        ("records/catalogue/entry.py", "records/catalogue/loading.py"),
        ("tests/records/catalogue/test_whole_catalogue.py", "tests/records/test_catalogue.py"),
    ),
    "records/catalogue/editing.py": ("tests/records/test_catalogue.py",),
    "ingest/level_rate.py": ("tests/metrics/test_level_rate.py",),
    **dict.fromkeys(
        (
            *("metrics/messages/heart_rate.py", "metrics/messages/movement.py", "metrics/messages/trial.py"),
            "metrics/messages/phase_finding.py",
            *("records/change/messages.py", "records/change/quantities.py", "records/plan/messages.py"),
        ),
        ("tests/words/test_catalogues.py",),
    ),
    "records/plan/row.py": ("tests/records/plan/test_row_flags.py",),
    "records/plan/sources.py": ("tests/records/plan/test_known.py", "tests/records/plan/test_written_work.py"),
    "records/plan/written.py": ("tests/records/plan/test_written_work.py",),
    "ingest/cleaning/motion.py": ("tests/ingest/cleaning/test_motion_edges.py", "tests/ingest/cleaning/test_motion.py"),
    "ingest/cleaning/rr_interval.py": (
        "tests/ingest/cleaning/test_rr_interval.py",
        "tests/ingest/cleaning/test_beat_patterns.py",
        "tests/ingest/cleaning/test_beat_levels.py",
    ),
    "ingest/second_run.py": ("tests/metrics/test_contested_moments.py",),
    "ingest/cleaning/judge.py": (
        "tests/metrics/test_level_rate.py",
        "tests/ingest/cleaning/test_heart_rate.py",
        "tests/ingest/cleaning/test_rr_interval.py",
        "tests/ingest/cleaning/test_motion.py",
    ),
    "metrics/above_rest.py": ("tests/metrics/test_small_indices.py", "tests/metrics/test_effort_sheet.py"),
    "metrics/basis.py": (
        "tests/metrics/test_maximum.py",
        "tests/metrics/test_conditions.py",
        "tests/metrics/test_effort_sheet.py",
    ),
    "metrics/bounds.py": ("tests/metrics/test_contested_moments.py", "tests/metrics/test_effort_sheet.py"),
    "metrics/cost.py": ("tests/metrics/test_small_indices.py", "tests/metrics/test_effort_sheet.py"),
    "metrics/effort_sheet.py": ("tests/metrics/test_effort_sheet.py", "tests/metrics/test_zones.py", *_MOVEMENT),
    "metrics/means.py": ("tests/metrics/test_kinetics.py", "tests/metrics/test_effort_sheet.py"),
    "metrics/motion_figures.py": ("tests/metrics/test_motion_figures.py",),
    "metrics/clock_alignment.py": ("tests/metrics/test_clock_alignment.py", "tests/ingest/test_combine.py"),
    "metrics/phase_finding/found.py": ("tests/metrics/phase_finding/test_find.py",),
    "metrics/pulse_figures.py": (*_FIGURES, "tests/metrics/test_small_indices.py"),
    "metrics/recovery.py": ("tests/metrics/test_small_indices.py", "tests/metrics/test_effort_sheet.py"),
    "metrics/sampling.py": ("tests/metrics/test_bounds_under_loss.py",),
    "metrics/timeline.py": (
        "tests/metrics/test_contested_moments.py",
        "tests/ingest/test_span.py",
        "tests/metrics/test_bounds.py",
    ),
    "metrics/motion/alignment.py": ("tests/metrics/test_clock_alignment.py",),
    "metrics/motion/moving.py": ("tests/metrics/motion/test_rule.py",),
    "metrics/motion/moving_notes.py": (*_MOVING, *_MOVEMENT),
    "metrics/motion/rhythm.py": _RHYTHM,
    "metrics/motion/rhythm_notes.py": (*_RHYTHM, *_MOVEMENT),
    "metrics/motion/states.py": ("tests/metrics/motion/test_doubt.py", "tests/metrics/motion/test_placements.py"),
    "records/change/borrowed.py": ("tests/records/change/test_verdict.py",),
    "records/change/comparison.py": _CHANGE,
    "records/change/detectable.py": (
        "tests/records/change/test_typical_error.py",
        "tests/records/change/test_verdict.py",
    ),
    "records/change/differences.py": ("tests/records/change/test_work_length.py",),
    "records/change/notes.py": ("tests/records/change/test_differences.py", *_CHANGE),
    "records/change/occasions.py": ("tests/records/change/test_occasions.py", *_CHANGE),
    "records/change/results.py": (*_CHANGE, "tests/records/test_pooling.py"),
    "records/change/observation.py": (*_CHANGE, "tests/reports/exports/test_plan_sentence.py"),
    "records/change/sentence.py": (*_CHANGE, "tests/reports/sheets/test_builders.py"),
    "records/change/trend.py": ("tests/records/change/test_verdict.py",),
    "records/change/near_duplicates.py": ("tests/records/change/test_differences.py",),
    "records/change/yardstick.py": ("tests/records/change/test_verdict.py",),
}


def modules() -> list[str]:
    """The modules that are looked at, without the empty ones."""
    found = {each for area in AREAS for each in ROOT.glob(area) if each.name != "__init__.py"}
    return sorted(each.relative_to(ROOT).as_posix() for each in found)


def files_beside(module: str) -> list[str]:
    """The test files beside a module; the one that mirrors its place comes first."""
    path = Path(module)
    own = Path("tests") / path.parent / f"test_{path.name}"
    found = [own.as_posix()] if (ROOT / own).is_file() else []
    return list(dict.fromkeys([*found, *BESIDE.get(module, ())]))
