"""After class: files are dropped, each student's row says what was found, questions are answered by a press."""

import re
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import IngestError, OwnmarkError
from ...ingest.refusal_told import told as told_of
from ...records.day.from_table import entries_of_list, is_class_list
from ...records.day.happened import File, Happened, happened
from ...records.day_entry import FileIn, PutAway, Undone, entry
from ...records.store.day_entries import append, entries_of
from ...records.store.received import Arrived, Batch
from ...records.store.recent import student_codes
from ...records.store.settings import zone_of
from ...words.message import Message, Quoted
from ..body_limits import takes_up_to
from ..day_view import FileLine, file_line, row_lines
from ..days import day_of, wall
from ..forms import Form, anchor, posted, whole
from ..messages import (
    WEB_DAY_NO_DAY,
    WEB_DAY_NOT_ASKED,
    WEB_DAY_NOTHING_CHOSEN,
    WEB_DAY_UNFINISHED,
    web_day_added,
    web_day_arrived,
    web_day_deleted,
    web_day_left_out,
    web_day_list,
    web_day_stays,
    web_day_there,
    web_now_not_known,
)
from ..rendering import parts_of, screen, see, streamed, words_of
from ..uploads import Sent, receive

MOST_BYTES = 2**31
"""Of one upload: what a class's straps hold is a hundredth of it."""


def day(request: Request) -> Response:
    """The day: what came, and a row for each student."""
    on, parts, words = day_of(request), parts_of(request), words_of(request)
    found = found_of(request, on)
    here = at_hand(found, paths_of(request, on))
    known = all(each.sha256 in parts.looked for each in here)
    values: dict[str, Any] = {
        "day": on.isoformat(),
        "date": words.date(on),
        "pending": not known,
        "count": len(here),
        "files": lambda: file_lines(request, here),
        "rows": lambda: row_lines(rows_of(request, on), found, request, words),
    }
    return (screen if known else streamed)(request, "day.html", **values)


def another(request: Request) -> Response:
    """To the day that was chosen."""
    try:
        on = date.fromisoformat(request.query_params.get("on", ""))
    except ValueError:
        return see(request, "/", WEB_DAY_NO_DAY, kind="attention")
    return see(request, f"/day/{on}")


@takes_up_to(MOST_BYTES)
async def upload(request: Request) -> Response:
    """Take files as they come; each whole one is kept at once."""
    on = day_of(request)
    batch = parts_of(request).received().batch(on)
    try:
        sent = await receive(request.headers.get("content-type", ""), request.stream(), batch.begin)
    except IngestError as reason:  # what came before it is kept
        await run_in_threadpool(_enter, request, on, batch.arrived)
        return see(request, f"/day/{on}", web_day_left_out(told_of(reason)), kind="attention")
    except HTTPException:
        await run_in_threadpool(_enter, request, on, batch.arrived)
        if not batch.arrived:
            raise
        return see(request, f"/day/{on}", WEB_DAY_UNFINISHED, kind="attention")
    except Exception:  # the line was cut, the disk is full: what came whole is on the day's screen all the same
        await run_in_threadpool(_enter, request, on, batch.arrived)
        raise
    return await run_in_threadpool(_arrived, request, on, batch, sent)


def _arrived(request: Request, on: date, batch: Batch, sent: Sent) -> Response:
    """Enter what came, and say what it was; the logbook may have to be waited for, and nobody else waits with it."""
    lists = _lists(batch.arrived)
    files = [each for each in batch.arrived if each not in lists]
    fresh, again = _enter(request, on, files)
    if not batch.arrived and not batch.refused and not sent.refused:
        return see(request, f"/day/{on}", WEB_DAY_NOTHING_CHOSEN, kind="attention")
    refused = [*(reason for _, reason in batch.refused), *sent.refused]
    if sent.fields.get("one_of_many"):  # the screen counts; only what is odd is said of each
        told = [web_day_there(Quoted(each.name)) for each in files[:again]]
    else:
        told = [web_day_arrived(fresh, again)] if fresh or again else []
    for each in lists:
        told += _taken(request, on, each, refused)
    told += [web_day_left_out(told_of(reason)) for reason in refused]
    return see(request, f"/day/{on}", *told, kind="attention" if refused else "done")


def _lists(arrived: list[Arrived]) -> list[Arrived]:
    """Which of the files are lists of the class."""
    return [each for each in arrived if is_class_list(each.path)]


def _taken(request: Request, on: date, arrived: Arrived, refused: list[OwnmarkError]) -> Iterator[Message]:
    """Enter what a list of the class says; the file itself is not kept."""
    logbook = parts_of(request).logbook()
    protocols = {each.name: each for each in logbook.protocols()}
    try:
        entries = entries_of_list(arrived.path, on, wall(request), protocols)
        known = student_codes(logbook)
        strange = sorted({each.code or "" for each in entries} - known)
        append(logbook, *(each for each in entries if each.code in known))
        yield web_day_list(len({each.code for each in entries} & known))
        if strange:
            yield web_now_not_known(tuple(map(Quoted, strange)))
    except OwnmarkError as reason:
        refused.append(reason)
    finally:
        parts_of(request).received().remove(arrived.sha256, on)


def _enter(request: Request, on: date, arrived: list[Arrived]) -> tuple[int, int]:
    """Enter the files that came, and give how many are new and how many were there."""
    at = wall(request)
    found = found_of(request, on)
    there = {each.sha256 for each in found.files if each.put_away is None}
    append(
        parts_of(request).logbook(),
        *(entry(on, at, FileIn(sha256=each.sha256, name=each.name, size=each.size)) for each in arrived),
    )
    fresh = {each.sha256 for each in arrived} - there
    return len(fresh), len(arrived) - len(fresh)


@posted
def answer(request: Request, form: Form) -> Response:
    """An answer to what is asked of a row; a row of which nothing more is asked stays, to be looked at and added."""
    on, row = day_of(request), form.text("row")
    now = wall(request).isoformat()
    if form.text("word"):
        done = ask_worker(request, on, "confirm", row=row, word=form.text("word"), at=now)
        parts_of(request).asked.pop((on, row), None)
        return added(request, form, on, [row]) if done else _gone(request, on)
    place = whole(form.text("place"))
    if place is None:
        raise HTTPException(400)
    done = ask_worker(request, on, "answer", row=row, mark=form.text("mark"), place=place, at=now)
    return see(request, _back(request, form, on)) if done else _gone(request, on)


@posted
def add(request: Request, form: Form) -> Response:
    """Put rows into the logbook: one, or all that are ready."""
    on = day_of(request)
    if form.text("all"):
        rows = [each["key"] for each in rows_of(request, on)["rows"] if each["state"] == "ready"]
    else:
        rows = [form.text("row")]
    return added(request, form, on, rows)


@posted
def accept(request: Request, form: Form) -> Response:
    """All that is asked of a row is right as it stands: it goes in, unless something more is asked then."""
    on, row, now = day_of(request), form.text("row"), wall(request).isoformat()
    ask_worker(request, on, "accept", row=row, marks=list(form.all("mark")), at=now)
    return added(request, form, on, [row])


@posted
def put_away(request: Request, form: Form) -> Response:
    """A file that nobody needs, or needs after all."""
    on, sha256 = day_of(request), form.text("file")
    file = found_of(request, on).file(sha256)
    if file is None:
        raise HTTPException(404)
    what = PutAway(sha256=sha256) if file.put_away is None else Undone(entry=file.put_away)
    append(parts_of(request).logbook(), entry(on, wall(request), what))
    return see(request, f"/day/{on}#files")


def added(request: Request, form: Form, on: date, rows: list[str]) -> Response:
    """Add rows one by one; what is asked of one stops no other."""
    parts, count, again, told = parts_of(request), 0, 0, list[Message]()
    done: Mapping[str, Any] = ask_worker(request, on, "store", rows=rows, at=wall(request).isoformat())
    for row, found in done.items():
        parts.asked.pop((on, row), None)
        if found["trial"] is not None:
            again, count = again + found["there"], count + (not found["there"])
        elif found["asked"]:
            parts.asked[on, row] = found["asked"]
        else:
            told.append(web_day_stays(Quoted(row.rpartition(" ")[0]), Quoted(found["sentence"])))
    _take_away(request, on)
    if not count and not told and not any((on, row) in parts.asked for row in rows):
        return _gone(request, on)
    if again:
        told.append(WEB_DAY_NOT_ASKED)
    told = [*([web_day_added(count)] if count else []), *told]
    place = f"/day/{on}{_anchor(form)}" if count else _back(request, form, on)
    return see(request, place, *told, kind="done" if count else "attention")


def _take_away(request: Request, on: date) -> None:
    """Take files away of which every row is in the logbook: it keeps the original, or what is of the trial."""
    found = found_of(request, on)
    needed = set(rows_of(request, on)["needed"])
    stored = {sha256 for test in found.tests for sha256 in test.files}
    for sha256 in stored - needed:
        parts_of(request).received().remove(sha256, on)


def found_of(request: Request, on: date) -> Happened:
    """What was entered of a day."""
    return happened(on, entries_of(parts_of(request).logbook(), on))


def paths_of(request: Request, on: date) -> dict[str, Path]:
    """Where the received files of a day lie that are not put away, by their SHA-256."""
    lying = parts_of(request).received().paths(on)
    found = found_of(request, on)
    return {each.sha256: lying[each.sha256[:32]] for each in found.files if each.sha256[:32] in lying}


def rows_of(request: Request, on: date) -> Mapping[str, Any]:
    """The rows of a day, as ``jobs.rows`` gives them."""
    return ask_worker(request, on, "rows")


def ask_worker(request: Request, on: date, job: str, **values: object) -> Any:  # noqa: ANN401 the job's plain JSON
    """An answer of the worker to a job about a day."""
    parts = parts_of(request)
    found = found_of(request, on)
    lying = paths_of(request, on)
    paths = {each.sha256: str(lying[each.sha256]) for each in at_hand(found, lying) if each.put_away is None}
    today, zone = parts.now().date().isoformat(), zone_of(parts.logbook())
    return parts.measuring.ask(job, day=on.isoformat(), paths=paths, zone=zone, today=today, **values)


def at_hand(found: Happened, lying: Mapping[str, Path]) -> list[File]:
    """The files of the day that are at hand, by their names: in whatever order they arrived, a strap is found again."""
    return sorted((each for each in found.files if each.sha256 in lying), key=lambda each: _as_counted(each.name))


def _as_counted(name: str) -> list[tuple[int, str]]:
    """By which names stand as people count: S9 before S10."""
    return [(int(part) if part.isdecimal() else -1, part.casefold()) for part in re.split(r"(\d+)", name)]


def file_lines(request: Request, here: list[File]) -> Iterator[FileLine]:
    """A line a file, each as soon as it was looked at."""
    parts, words = parts_of(request), words_of(request)
    zone = zone_of(parts.logbook())
    lying = paths_of(request, day_of(request))
    for each in here:
        looked = parts.looked.get(each.sha256)
        if looked is None:
            try:
                looked = parts.measuring.ask("see", path=str(lying[each.sha256]), zone=zone)
            except OwnmarkError as reason:
                looked = {"usable": False, "lost": True, "told": told_of(reason).to_json()}
            parts.looked[each.sha256] = looked
        yield file_line(each, looked, words)


def _gone(request: Request, on: date) -> Response:
    return see(request, f"/day/{on}", WEB_DAY_NOT_ASKED, kind="attention")


def place_of(request: Request, on: date, code: str, turn: int) -> str:
    """The address of the screen on which a row is looked at closer."""
    return f"/day/{on}/row/{parts_of(request).ids.of(code)}/{turn}"


def _back(request: Request, form: Form, on: date) -> str:
    """To the screen of the row where it was asked there, else to the row on the day."""
    code, _, text = form.text("row").rpartition(" ")
    turn = whole(text)
    if form.text("back") and code and turn is not None:
        return place_of(request, on, code, turn)
    return f"/day/{on}{_anchor(form)}"


def _anchor(form: Form) -> str:
    return anchor("row", form.text("number"))


@posted
def delete(request: Request, form: Form) -> Response:
    """A file that was put away goes for good; one that is still needed stays."""
    on, sha256 = day_of(request), form.text("file")
    file = found_of(request, on).file(sha256)
    if file is None or file.put_away is None:
        raise HTTPException(404)
    parts_of(request).received().remove(sha256, on)
    return see(request, f"/day/{on}#files", web_day_deleted(Quoted(file.name)))


ROUTES = [
    Route("/day", another),
    Route("/day/{date}", day),
    Route("/day/{date}/files", upload, methods=["POST"]),
    Route("/day/{date}/answer", answer, methods=["POST"]),
    Route("/day/{date}/add", add, methods=["POST"]),
    Route("/day/{date}/accept", accept, methods=["POST"]),
    Route("/day/{date}/file", put_away, methods=["POST"]),
    Route("/day/{date}/delete", delete, methods=["POST"]),
]
