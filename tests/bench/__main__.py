"""``python -m tests.bench``: every benchmark, one after the other."""

from tests.bench import (
    beats,
    bounds_held,
    change_rates,
    class_plan,
    commands,
    exports,
    gap_bounds,
    hand_over_accuracy,
    lock_accuracy,
    logbook,
    motion_accuracy,
    movement,
    pages,
    phase_accuracy,
    readers,
    rhythm_accuracy,
    rhythm_cases,
    trace,
)

for measure in (
    readers.fit,
    readers.xml,
    readers.linear,
    commands.cold,
    movement.tables,
    movement.long_days,
    movement.waves,
    motion_accuracy.main,
    rhythm_accuracy.accuracy,
    rhythm_cases.main,
    lock_accuracy.locks,
    beats.accuracy,
    bounds_held.main,
    gap_bounds.main,
    phase_accuracy.main,
    hand_over_accuracy.main,
    class_plan.main,
    change_rates.rates,
    logbook.district,
    exports.district,
    pages.main,
    trace.main,
):
    measure()
    print()
