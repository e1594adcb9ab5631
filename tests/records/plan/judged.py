"""A made class day through the plan, and what is sure and wrong in it."""

from dataclasses import dataclass

from ownmark.records.plan.day import Plan, plan_day
from ownmark.records.plan.known import with_roster
from ownmark.records.plan.seen import see
from ownmark.records.plan.sources import Listed, Sources
from ownmark.records.plan.worn_times import seconds_of
from ownmark.records.wearing import Worn

from tests.makers.class_days import RECOVERY_S, REST_S, WORK_S, ZONE
from tests.records.store import made

WITHIN_S = 60.0
"""Where the work was written down to the minute and the recording shows it there, it is right to this [s]."""


@dataclass(frozen=True)
class Judged:
    """The plan of a made day.

    wrong : what is sure and not true; each a sentence for whoever reads the failure
    told : codes of what is to look at, by file
    sure : files of sure rows
    """

    plan: Plan
    wrong: tuple[str, ...]
    told: dict[str, frozenset[str]]
    sure: frozenset[str]


def codes_of(checks):
    """Codes of messages, those inside others too."""
    found = set()
    for each in checks:
        found.add(each.code)
        inner = dict(each.values).get("what")
        if inner is not None:
            found |= codes_of([inner])
    return frozenset(found)


def sources_of_day(day, zone=ZONE):
    """What is known of a made day beforehand; the logbook has its students and its protocol."""
    roster = tuple(Listed(*each) for each in day.roster)
    return Sources(
        roster=roster,
        worn=with_roster(tuple(Worn(*each) for each in day.straps), roster),
        starts={code: seconds_of(text) for code, text in day.starts.items()},
        zone=zone,
        known=frozenset(code for code, _ in day.roster),
        protocols={"slalom": made.protocol("slalom", rest_s=REST_S, work_s=WORK_S, recovery_s=RECOVERY_S)},
    )


def judged(day, folder, zone=ZONE):
    """Write the files, plan the day, and hold it against the truth."""
    folder.mkdir(parents=True)
    for name, data in day.files.items():
        (folder / name).write_bytes(data)
    paths = sorted(folder.iterdir())
    plan = plan_day(list(see(paths, zone, lambda _: ())), sources_of_day(day, zone))
    wrong, told, sure = [], {}, set()
    for row in plan.rows:
        for path in row.files:
            told[path.name] = told.get(path.name, frozenset()) | codes_of(row.checks)
        if row.sure:
            sure |= {path.name for path in row.files}
            wrong += mistakes(row, day)
    return Judged(plan, tuple(wrong), told, frozenset(sure))


def mistakes(row, day):
    """What is not true in a row that is said to be sure."""
    for path in row.files:
        truth, name = day.truth[path.name], path.name
        if truth.codes != {row.code}:
            yield f"{name} is of {sorted(truth.codes)}, and {row.code} is sure"
        elif truth.on != str(row.on):
            yield f"{name} is of {truth.on}, and {row.on} is sure"
        else:
            found = [seconds_of(part) for part in row.phases.work.split("-")]
            if any(abs(a - b) > WITHIN_S for a, b in zip(found, truth.work, strict=True)):
                yield f"{name}: work {row.phases.work} is sure, and it was {truth.work}"
