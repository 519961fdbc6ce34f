"""What happened to the plan: said at the car, written as ``drybuild done --happened`` writes it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.journal import EntryRefused, Journal, WorkEntry
from drybuild.show.happened_words import SITUATIONS, happened_text
from drybuild.show.lines import listed
from drybuild.show.work_list import when_text
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import hours_of
from drybuild.web.pages.work import SAID, work_of
from drybuild.web.planner import planner
from drybuild.web.remembered import remember, remembered
from drybuild.web.workshop import Work, workshop
from drybuild.work.as_planned import happened_since
from drybuild.work.doing import DoneRefused
from drybuild.work.errors import WorkFaults
from drybuild.work.happened import (
    Happening,
    HappeningRefused,
    after_happenings,
    refuse_past,
)
from drybuild.work.library import tool_words
from drybuild.work.model import Problem, ToDo

router = APIRouter()

Kind = Literal[
    "late", "away", "shortened", "extra", "longer", "tool_gone", "moved", "dropped"
]  # fmt: skip
Name = Annotated[str, Form(max_length=120)]
Words = Annotated[str, Form(max_length=200)]
Figure = Annotated[str, Form(max_length=20)]
Day = Annotated[str, Form(pattern=r"^(\d{4}-\d\d-\d\d)?$")]
Clock = Annotated[str, Form(pattern=r"^(\d\d:\d\d)?$")]

REFUSALS = (DoneRefused, HappeningRefused, EntryRefused)
NO_NAME = "say who you are"
MEANWHILE = "somebody else said something in the same moment: look at it, then write it once more"


@router.get("/work/happened", response_class=HTMLResponse, responses={303: SAID[303]})
def happened(
    request: Request,
    card: Annotated[int, Query(ge=0, le=10000)] = 0,
    written: Annotated[int, Query(ge=0, le=2**40)] = 0,
) -> HTMLResponse:
    """What can be said, and what was. card: at which one stands; written: the entry just made."""
    return _page(framed(request, "now"), card=card, written=written)


@router.post("/work/happened/undo", status_code=303, responses=SAID)
def undo(
    request: Request,
    entry: Annotated[int, Form(ge=1, le=2**40)],
    who: Name = "",
) -> Response:
    """Take back what was said, by a further entry; both stay readable."""
    frame = framed(request, "now", role="cards")
    name = who.strip() or remembered(request).strip()
    try:
        if not name:
            raise DoneRefused(NO_NAME, field="who")
        with frame.opened.journal.together() as journal:
            if entry not in _standing(journal):
                raise DoneRefused(f"entry {entry} does not stand as something that happened")
            journal.undo(entry, who=name, why="taken back on the page of the work")
    except REFUSALS as error:
        return _page(frame, refused=str(error), about="undo", status=409)
    answer = RedirectResponse("/work/happened", 303)
    remember(answer, name)
    return answer


@router.post("/work/happened/{kind}", status_code=303, responses=SAID)
def say(
    request: Request,
    kind: Kind,
    job: Name = "",
    person: Name = "",
    session: Name = "",
    tool: Name = "",
    task: Name = "",
    title: Name = "",
    until: Day = "",
    clock: Clock = "",
    hours: Figure = "",
    least: Figure = "",
    most: Figure = "",
    words: Words = "",
    who: Name = "",
) -> Response:
    """Write down what happened; the work is judged with it before it is written.

    until: a date; clock: a time of day; hours, least, most: how long, and between what.
    """
    frame = framed(request, "now", role="cards")
    typed = {
        "job": job, "person": person, "session": session, "tool": tool, "task": task,
        "title": title, "until": until, "clock": clock, "hours": hours, "least": least,
        "most": most, "words": words, "who": who,
    }  # fmt: skip
    name = who.strip() or remembered(request).strip()
    try:
        if not name:
            raise DoneRefused(NO_NAME, field="who")
        entry = _written(frame, kind, typed, name)
    except WorkFaults as faults:
        return _page(frame, refused=str(faults.faults[0]), about=kind, typed=typed, status=409)
    except REFUSALS as error:
        at = "" if isinstance(error, EntryRefused) else _field(kind, error.field)
        return _page(frame, refused=str(error), about=kind, at=at, typed=typed, status=409)
    answer = RedirectResponse(f"/work/happened?written={entry.id}", 303)
    remember(answer, name)
    return answer


def _written(frame: Frame, kind: Kind, typed: dict[str, str], who: str) -> Any:
    """The entry of it; the one that stands already when the same is said twice."""
    work = work_of(frame)
    judged_with = _standing(frame.opened.journal)
    problem = workshop(frame.request).hand(frame.opened).todo.problem
    with frame.opened.journal.together() as journal:
        since = [e for e in journal.work() if not e.of_task and e.id > work.planned.upto]
        same = next((e for e in since if _same(e, kind, typed, problem)), None)
        if same is not None:
            return same
        if _standing(journal) != judged_with:
            raise DoneRefused(MEANWHILE)
        body = _body(kind, typed, problem)
        after_happenings(problem, (Happening(kind, body),))
        refuse_past(Happening(kind, body), min(work.now, datetime.now()).date())
        return journal.happened(kind, body, who=who, words=typed["words"].strip())


def _standing(journal: Journal) -> set[int]:
    """Entries of what happened that were not taken back."""
    return {e.id for e in journal.work() if not e.of_task}


def _same(entry: WorkEntry, kind: Kind, typed: dict[str, str], problem: Problem) -> bool:
    if entry.what != kind:
        return False
    more = {key: value for key, value in entry.more.items() if key != "id"}
    body = {key: value for key, value in _body(kind, typed, problem).items() if key != "id"}
    return more == body


def _body(kind: Kind, typed: dict[str, str], problem: Problem) -> dict[str, Any]:
    """What is typed as the work takes it (``happened``), without what nobody typed."""
    keys = {
        "late": ("job", "until"), "away": ("person", "session"), "shortened": ("session",),
        "extra": ("title", "task", "until"), "longer": ("task",), "tool_gone": ("tool", "session"),
        "moved": ("job", "session"), "dropped": ("job",),
    }[kind]  # fmt: skip
    body: dict[str, Any] = {key: typed[key].strip() for key in keys if typed[key].strip()}
    if kind in ("away", "shortened") and typed["clock"]:
        body["until" if kind == "away" else "end"] = typed["clock"]
    if kind in ("extra", "longer"):
        body["hours"] = _three(typed)
    if kind == "extra":
        if "title" not in body:
            raise DoneRefused("say what there is to do", field="title")
        body = {"id": _free_id(body["title"], problem), **body}
    return body


def _three(typed: dict[str, str]) -> list[float]:
    """Least, likely and most hours; the likely ones alone are of no doubt."""
    likely = hours_of(typed["hours"])
    if likely is None:
        raise DoneRefused("say how many hours it takes", field="hours")
    low = hours_of(typed["least"], "least") or likely
    high = hours_of(typed["most"], "most") or likely
    if not low <= likely <= high:
        why = "at least, likely and at most: the hours must rise in this order"
        raise DoneRefused(why, field="hours")
    return [round(figure, 4) for figure in (low, likely, high)]


def _field(kind: Kind, name: str) -> str:
    """The field of the form that a refusal names; a time of day is typed into one of its own."""
    return "clock" if kind in ("away", "shortened") and name in ("until", "end") else name


def _free_id(title: str, problem: Problem) -> str:
    plain = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40] or "more"
    name, number = plain, 1
    while name in problem.jobs or name in problem.done:
        number += 1
        name = f"{plain}-{number}"
    return name


@dataclass(frozen=True)
class _Choices:
    """What the forms offer, each as (value, words)."""

    jobs: list[tuple[str, str]]
    people: list[tuple[str, str]]
    sessions: list[tuple[str, str]]
    tools: list[tuple[str, str]]
    tasks: list[tuple[str, list[tuple[str, str]]]]
    """By work session; one that recurs stands where it comes first, with all its cards."""


def _tasks(work: Work, problem: Problem) -> list[tuple[str, list[tuple[str, str]]]]:
    """Tasks that are not done, under the session in which each comes first; that of today or the
    next one before all others."""
    first: dict[str, tuple[str, str]] = {}
    cards: dict[str, list[int]] = {}
    for card in work.cards:
        for task in card.tasks:
            if work.done(task.step) is None and _known(problem, task.step.key):
                first.setdefault(task.step.key, (card.session, task.title))
                cards.setdefault(task.step.key, []).append(card.number)
    groups: dict[str, list[tuple[str, str]]] = {}
    for key, (session, title) in first.items():
        numbers = list(dict.fromkeys(cards[key]))
        where = f"card{'' if len(numbers) == 1 else 's'} {listed(map(str, numbers))}"
        groups.setdefault(session, []).append((key, f"{title} ({where})"))
    first_of_all = _today(work)
    here = [s for s in work.sessions() if s.id in groups]
    here.sort(key=lambda s: s.id != first_of_all)
    return [(when_text(problem, s), groups[s.id]) for s in here]


def _today(work: Work) -> str:
    """The session of today, else the next one, by the clock."""
    at, now = work.sheets.todo.problem.at, datetime.now()
    ahead = [s for s in work.sessions() if at(s.end).replace(tzinfo=None).date() >= now.date()]
    return ahead[0].id if ahead else ""


def _choices(work: Work, todo: ToDo) -> _Choices:
    problem = todo.problem
    people = sorted({p.name for s in problem.sessions for p in s.people})
    tools = sorted({tool for s in problem.sessions for tool in s.tools})
    return _Choices(
        [(j.id, j.title) for j in problem.jobs.values() if j.id not in problem.done],
        [(name, name) for name in people],
        [(s.id, when_text(problem, s)) for s in problem.sessions],
        [(tool, tool_words(tool)) for tool in tools],
        _tasks(work, problem),
    )


def _known(problem: Problem, key: str) -> bool:
    kind, _, what = key.partition(":")
    if kind == "job":
        return what in problem.jobs
    return what in (problem.effects if kind == "clear" else problem.components)


def _page(
    frame: Frame,
    *,
    card: int = 0,
    written: int = 0,
    refused: str = "",
    about: str = "",
    at: str = "",
    typed: dict[str, str] | None = None,
    status: int = 200,
) -> HTMLResponse:
    work = work_of(frame)
    try:
        todo, faults = workshop(frame.request).hand(frame.opened).todo, []
    except WorkFaults as error:
        todo, faults = work.planned.hand.todo, [str(f) for f in error.faults]
    since = _said(todo, happened_since(work.planned, frame.opened))
    new = {one["entry"] for one in since}
    every = _said(todo, (e for e in frame.opened.journal.work() if not e.of_task))
    return frame.page(
        "work_happened.html.j2",
        status,
        situations=SITUATIONS,
        choices=_choices(work, todo),
        faults=faults,
        since=since,
        known=[one for one in every if one["entry"] not in new],
        written=next((one for one in since if one["entry"] == written), None),
        planning=planner(frame.request).now,
        who=remembered(frame.request),
        refused=refused,
        about=about,
        amiss_at=at,
        typed={**_at_card(work, card), **(typed or {})},
        card=card,
    )


def _said(todo: ToDo, entries: Iterable[WorkEntry]) -> list[dict[str, Any]]:
    return [
        {"entry": e.id, "who": e.who, "day": e.at[:10], "words": e.words,
         "said": happened_text(todo, Happening(e.what, e.more))}
        for e in entries
    ]  # fmt: skip


def _at_card(work: Work, number: int) -> dict[str, str]:
    """What is chosen beforehand for somebody who comes from a card."""
    found = next((c for c in work.cards if c.number == number), None)
    if found is None:
        return {}
    left = work.left(found)
    job = next((s.what for s in found.steps if s.kind == "job"), "")
    return {"task": left[0].key if left else "", "job": job, "session": found.session}
