"""What is kept of a student is added, corrected and taken away here, each with a reason for the history."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Literal

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import OwnmarkError
from ...words.message import Message, Quoted
from ...words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from ..asked import asked, day_of, student_asked
from ..forms import Form, posted
from ..rendering import parts_of, screen, see, text_of, words_of

if TYPE_CHECKING:
    from datetime import date

    from ...records.guards import Question
    from ...records.student import Student
    from ...records.student_mending import StudentMended

Changes = Callable[["Student"], dict[str, object]]
BACK = {"caseload": "/caseload"}
"""Screens that lead here, and to which a saved form leads back."""


def facts(request: Request) -> Response:
    """All that is kept, with a form for each kind."""
    return _shown(request, student_asked(request), Form())


def _shown(
    request: Request, who: "Student", form: Form, section: str = "", questions: "Sequence[Question]" = ()
) -> Response:
    from ...metrics.conditions import CONDITIONS
    from ...records.abilities import MOVEMENTS, NEEDS, SENSES
    from ...records.store.history import history_of
    from ...records.student_lists import mark_of
    from ...reports.sheets.student_facts import LISTS, facts_of

    words, today = words_of(request), parts_of(request).now().date()
    told = [(each, _mark(who, LISTS.get(each.kind), each.place, mark_of)) for each in facts_of(who, words)]
    answer = who.answer
    return screen(
        request,
        "student_facts.html",
        422 if form.errors or questions else 200,
        who=who,
        form=form,
        section=section or asked(request).text("open"),
        back=form.text("back") or asked(request).text("back"),
        questions=questions,
        facts=told,
        lists_of=LISTS,
        today=today.isoformat(),
        roles=_roles(who, words.known),
        conditions=[each for each in CONDITIONS if each not in who.conditions],
        movements=MOVEMENTS,
        senses=SENSES,
        needs=NEEDS,
        can=form.all("can") if section == "abilities" else answer.can if answer else (),
        needed=form.all("needs") if section == "abilities" else answer.needs if answer else (),
        history=history_of(parts_of(request).logbook(), "student", who.code)[::-1],
    )


def _mark(who: "Student", name: str | None, place: int | None, mark_of: Callable[[object], str]) -> str:
    return "" if name is None or place is None else mark_of(getattr(who, name)[place])


ROLES = (
    *("therapist", "physical therapist", "occupational therapist", "school therapist", "physician", "doctor"),
    *("cardiologist", "cardiology team", "nurse", "school nurse", "teacher"),
)


def _roles(who: "Student", known: Callable[[str], bool]) -> list[tuple[str, str]]:
    """Roles to choose from, each with the key of its word: those of the catalogue, and any that was used before."""
    used = dict.fromkeys((*ROLES, *(each.set_by for each in who.ceilings)))
    return [(role, key if known(key := f"role.{role.replace(' ', '_')}") else "") for role in used]


@posted
def ceiling(request: Request, form: Form) -> Response:
    """A ceiling from a day on, and the role that set it."""
    from ...records.student import Ceiling
    from ...records.student_entries import with_entry

    who = student_asked(request)
    bpm, on = _rate(form, "ceiling"), _day(request, form, "ceiling")
    role = form.text("ceiling_by")
    if not role:
        form.refuse("ceiling_by", Message("web_student.role_missing"))
    if on is None and any(each.set_on for each in who.ceilings) and not form.error("ceiling_on"):
        form.refuse("ceiling_on", Message("web_student.day_missing"))

    def changes(kept: "Student") -> dict[str, object]:
        return {"ceilings": with_entry(kept.ceilings, Ceiling(bpm=bpm or 0.0, set_by=role, set_on=on))}

    return _save(request, who, form, "ceiling", changes, {})


@posted
def rest(request: Request, form: Form) -> Response:
    """A resting heart rate that was measured."""
    return _measured(request, form, "rest", "rests", "posture", asked_as="rest_posture")


@posted
def maximum(request: Request, form: Form) -> Response:
    """A highest heart rate that was measured."""
    return _measured(request, form, "maximum", "maxima", "exercise", asked_as="movement")


@posted
def condition(request: Request, form: Form) -> Response:
    """A condition."""
    from ...metrics.conditions import CONDITIONS

    who, name = student_asked(request), form.text("condition")
    if name not in CONDITIONS:
        form.refuse("condition", Message("web_student.condition_missing"))
    return _save(request, who, form, "condition", lambda kept: {"conditions": (*kept.conditions, name)}, {})


@posted
def abilities(request: Request, form: Form) -> Response:
    """What the student can do and needs, from a day on."""
    who = student_asked(request)
    on = _day(request, form, "abilities")
    if on is None and any(each.on for each in who.answers) and not form.error("abilities_on"):
        form.refuse("abilities_on", Message("web_student.day_missing"))
    if not form.all("can") and not form.all("needs"):
        form.refuse("can", Message("web_student.can_missing"))
    return _save(request, who, form, "abilities", answered(form.all("can"), form.all("needs"), on), {})


def answered(can: Sequence[str], needs: Sequence[str], on: "date | None") -> Changes:
    """The change that keeps what a student can do and needs."""
    from ...records.student import Answers
    from ...records.student_entries import with_entry

    said = {"can": tuple(can), "needs": tuple(needs), "on": on}
    return lambda kept: {"answers": with_entry(kept.answers, Answers.model_validate(said))}


@posted
def about(request: Request, form: Form) -> Response:
    """Month of birth, sex, and a note."""
    who = student_asked(request)
    sex, notes = form.text("sex"), form.text("notes")
    new: dict[str, object] = {"born": form.text("born") or None, "sex": sex or None, "notes": notes}
    return _save(request, who, form, "about", lambda _: new, {"notes": notes if notes != who.notes else ""})


@posted
def withdraw(request: Request, form: Form) -> Response:
    """Take one entry away; the history keeps it."""
    from ...records.student_lists import taken_away

    name, mark = form.text("list"), form.text("mark")
    return _save(request, student_asked(request), form, "withdraw", lambda kept: taken_away(kept, name, mark), {})


def _measured(
    request: Request, form: Form, kind: str, kept_in: Literal["rests", "maxima"], beside: str, *, asked_as: str
) -> Response:
    """Add a measured heart rate; ``beside``: the field that says how it was measured, asked about as ``asked_as``."""
    from ...records.student import MeasuredRate
    from ...records.student_entries import with_entry

    who = student_asked(request)
    bpm, on, text = _rate(form, kind), _day(request, form, kind), form.text(f"{kind}_{beside}")

    def changes(kept: "Student") -> dict[str, object]:
        rate = MeasuredRate.model_validate({"bpm": bpm or 0.0, "on": on, beside: text or None})
        return {kept_in: with_entry(kept.rests if kept_in == "rests" else kept.maxima, rate)}

    return _save(request, who, form, kind, changes, {asked_as: text})


def _rate(form: Form, kind: str) -> float | None:
    """A heart rate that has to be there [/min]."""
    bpm = form.number(f"{kind}_bpm", low=LOWEST_BPM, high=HIGHEST_BPM)
    if bpm is None and not form.error(f"{kind}_bpm"):
        form.refuse(f"{kind}_bpm", Message("web_student.rate_missing"))
    return bpm


def _day(request: Request, form: Form, kind: str) -> "date | None":
    return day_of(form, f"{kind}_on", latest=parts_of(request).now().date())


def _save(
    request: Request, who: "Student", form: Form, section: str, changes: Changes, texts: dict[str, str]
) -> Response:
    """Keep it, work out what rests on it, and say so; or show the form again with what is asked."""
    from ...records.student_mending import edit_student
    from ...records.text_guards import KEEP, of_texts

    why = form.text("why")
    given = {name: text for name, text in {**texts, "history_why": why}.items() if text}
    questions = () if form.text("confirm") == KEEP else of_texts(given)
    if form.errors or questions:
        return _shown(request, who, form, section, questions)
    try:
        mended = edit_student(parts_of(request).logbook(), who.code, changes, why=why)
    except OwnmarkError as refusal:
        form.refuse("", text_of(words_of(request), refusal.what))
        return _shown(request, who, form, section)
    place = BACK.get(form.text("back"), f"/student/{parts_of(request).ids.of(who.code)}/facts")
    return see(request, place, *_told(mended))


def _told(mended: "StudentMended") -> Sequence[Message]:
    """What became of it, and of the trials whose figures rest on it."""
    code = Quoted(mended.student.code)
    if not mended.fields:
        return (Message.of("web_student.nothing_new", code=code),)
    told = [Message.of("web_student.saved", code=code)]
    changed = tuple(each.trial_id for each in mended.trials if each.changed)
    if mended.trials:
        told.append(Message.of("web_student.worked_out", count=len(mended.trials), changed=len(changed)))
    refused = tuple(each.trial_id for each in mended.trials if each.refused is not None)
    if refused:
        told.append(Message.of("web_student.not_worked_out", numbers=refused))
    return tuple(told)


_FORMS = {
    "ceiling": ceiling,
    "rest": rest,
    "maximum": maximum,
    "condition": condition,
    "abilities": abilities,
    "about": about,
    "withdraw": withdraw,
}
ROUTES = [
    Route("/student/{student}/facts", facts),
    *(Route(f"/student/{{student}}/facts/{name}", each, methods=["POST"]) for name, each in _FORMS.items()),
]
