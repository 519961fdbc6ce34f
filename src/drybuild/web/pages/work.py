"""The work: how the car stands now and after each session, and planning with its progress."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import Fault
from drybuild.build.folder import WantedUse
from drybuild.examine.book.records import still_open
from drybuild.examine.opened import OpenBuild
from drybuild.findings.words import uses
from drybuild.journal.now import open_jobs
from drybuild.show.cards_words import clock, day_text, need_line, needs_of, short_day
from drybuild.show.happened_words import NOTHING_MOVES, misfit_text
from drybuild.show.hours import NO_BREAKS
from drybuild.show.left_words import half_left_lines
from drybuild.show.since import changed_words
from drybuild.show.work_list import (
    aim_text,
    brief,
    briefest,
    idle_text,
    in_time_text,
    jobs_of,
    people_text,
    tasks_text,
    when_text,
)
from drybuild.show.work_supposed import (
    NOT_COVERED,
    RELEASES_NOTHING,
    bears_text,
    before_text,
    count_text,
    in_order,
    one_text,
    to_measure_text,
)
from drybuild.web.before_next import before_next
from drybuild.web.frame import Frame, framed, sentence
from drybuild.web.planner import Near, Planning, planner
from drybuild.web.workshop import Work, workshop
from drybuild.work.as_planned import former_holds, mark_of
from drybuild.work.at_hand import stands_now
from drybuild.work.errors import WorkFaults
from drybuild.work.fits import as_written, misfits
from drybuild.work.model import Plan, Session
from drybuild.work.plan_file import FORMER, PlanProblem, fingerprint, made, read, take_former
from drybuild.work.plan_file import former as plan_before
from drybuild.work.risk import Outlook
from drybuild.work.times import DAYS, coming

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "done as asked; to the page that shows it"},
    403: {"description": "not for this device"},
    404: {"description": "nothing of that name is planned"},
    409: {"description": "not done: the page says why"},
}


@dataclass(frozen=True)
class Found:
    """The kept plan, or why there is none to show, in words."""

    work: Work | None
    why: tuple[str, ...] = ()


def found_work(frame: Frame) -> Found:
    """The kept plan on the table."""
    try:
        return Found(workshop(frame.request).work(frame.opened))
    except WorkFaults as faults:
        return Found(None, tuple(str(fault) for fault in faults.faults))
    except PlanProblem as problem:
        return Found(None, tuple(str(problem).splitlines()))


def work_of(frame: Frame) -> Work:
    """The kept plan. Raises HTTPException to the page that says why there is none."""
    found = found_work(frame)
    if found.work is None:
        raise HTTPException(303, "there is no plan to show", {"location": "/work"})
    return found.work


@router.get("/work", response_class=HTMLResponse)
def work(
    request: Request, fold: Annotated[Literal["", "need"], Query()] = ""
) -> HTMLResponse:
    """How the car stands, session by session, and planning. fold: what is open at first."""
    frame = framed(request, "now")
    found = found_work(frame)
    return frame.page(
        "work.html.j2",
        why=found.why,
        fold=fold,
        planning=_planning(planner(request).now, frame.opened),
        misfits=_misfits(frame, found.work),
        when=_when(frame),
        taken_here=_taken_here(frame.opened),
        wanted=_wanted(frame),
        weekdays=DAYS,
        meanings=[(u.name, u.meaning) for u in uses()],
        no_breaks=NO_BREAKS,
        may_suppose=frame.opened.build.work.suppose,
        **_now(frame, found.work),
        **_planned(found.work, frame.opened, _outlook(request, found.work)),
    )


def _taken_here(opened: OpenBuild) -> list[tuple[str, str]]:
    """Id and title of each open job that puts parts on, of which no day says when they come."""
    return [(j.id, j.title or j.id) for j in still_open(opened) if j.fit and not j.arrives]


def _outlook(request: Request, work: Work | None) -> Outlook | None:
    """How the sessions of the plan fare in many draws; None where it has none."""
    return workshop(request).outlook(work) if work is not None and work.cards else None


@router.get("/work/planning", response_class=HTMLResponse, responses={403: SAID[403]})
def planning(request: Request) -> HTMLResponse:
    """Where planning stands, as the piece of the page that shows it."""
    frame = framed(request)
    now = _planning(planner(request).now, frame.opened)
    return HTMLResponse(frame.fragment("work_planning.html.j2", planning=now))


@router.post("/work/plan", status_code=303, responses=SAID)
def plan(
    request: Request,
    near: Annotated[Near, Form()] = "near",
    suppose_nothing: Annotated[bool, Form()] = False,
) -> Response:
    """Start the planner; who asks while it runs sees the one that runs."""
    framed(request, role="edit")
    planner(request).start(near, suppose=not suppose_nothing)
    return RedirectResponse("/work", 303)


@router.post("/work/plan/stop", status_code=303, responses=SAID)
def stop(request: Request) -> Response:
    """Stop the planner; the plan in the folder stays as it was."""
    framed(request, role="edit")
    planner(request).stop()
    return RedirectResponse("/work", 303)


@router.post("/work/plan/enough", status_code=303, responses=SAID)
def enough(request: Request) -> Response:
    """Keep the plan found so far, once it is examined."""
    framed(request, role="edit")
    planner(request).enough()
    return RedirectResponse("/work", 303)


@router.post("/work/plan/former", status_code=303, responses=SAID)
def former(request: Request) -> Response:
    """Take the plan before again; the one it takes the place of is then the plan before."""
    frame = framed(request, role="edit")
    if not planner(request).now.running:
        try:
            take_former(frame.opened)
        except PlanProblem as problem:
            raise HTTPException(409, str(problem)) from None
        planner(request).dismiss()
    return RedirectResponse("/work", 303)


@router.post("/work/plan/seen", status_code=303, responses=SAID)
def seen(request: Request) -> Response:
    """Put away what the last planning said."""
    framed(request, role="edit")
    planner(request).dismiss()
    return RedirectResponse("/work", 303)


def _now(frame: Frame, work: Work | None) -> dict[str, Any]:
    """How the car stands now, and whether there is something to plan.

    When no session lies ahead any more, from the plan and what was done of it; without a plan
    nothing is said.
    """
    now = frame.desk.examination("now", unknowns=False)
    try:
        hand = workshop(frame.request).hand(frame.opened)
    except WorkFaults as faults:
        open_ = [
            (j.id, j.title or j.id) for j in open_jobs(frame.opened.build, frame.opened.present)
        ]
        wanting = () if frame.opened.build.sessions else ("session",)
        said = {
            "faults": [_fault(f) for f in faults.faults if f.where not in wanting],
            "can_plan": False,
            "jobs_left": open_,
            "no_session": bool(wanting),
        }
        if work is None:
            return {"now": (), **said}
        car = stands_now(work.planned.hand, now, work.so_far.done)
        return {"now": brief(car, work.cards), **said}
    problem = hand.todo.problem
    cards = work.cards if work else ()
    return {
        "now": brief(stands_now(hand, now), cards),
        "faults": [],
        "can_plan": True,
        "jobs_left": [
            (j.id, j.title) for j in problem.jobs.values() if j.id not in problem.done
        ],
        "no_session": False,
    }


def _misfits(frame: Frame, work: Work | None) -> list[str]:
    """Where the kept plan no longer fits the sessions, in words."""
    try:
        problem = workshop(frame.request).hand(frame.opened).todo.problem
        kept = read(frame.opened, problem)
    except (WorkFaults, PlanProblem):
        return []
    if kept is None:
        return []
    done = work.so_far.done if work is not None else ()
    over = [replace(s, start=0, end=0) for s in done]
    left = [s for s in kept.plan.steps if replace(s, start=0, end=0) not in over]
    names = {session.id for session in frame.opened.build.sessions}
    problem = as_written(problem, frame.opened.build)
    found = misfits(problem, replace(kept.plan, steps=tuple(left)), sessions=names)
    return [misfit_text(problem, one) for one in found]


def _fault(fault: Fault) -> str:
    """What stands in the way of a plan, and where, in a sentence."""
    line = f":{fault.line}" if fault.line is not None else ""
    where = f" ({fault.file}{line} {fault.where})" if fault.where else f" ({fault.file}{line})"
    hint = f" {sentence(fault.hint)}." if fault.hint else ""
    return f"{sentence(fault.found)}; expected {fault.expected}{where}.{hint}"


def _wanted(frame: Frame) -> list[tuple[WantedUse, str, list[tuple[str, str, bool]]]]:
    """The days on which the build says that the car is needed, in words; of a day of every week
    the dates to come: as written, in words, whether left out."""
    found = []
    for one in frame.opened.build.needs:
        day = f"after {one.after}" if one.after else one.day
        every = "every " if day.strip().lower().removesuffix("s") in DAYS else ""
        words = f"{one.use}: {every}{day}, from {one.at}"
        if one.not_on:
            words += f", not on {', '.join(_short(day) for day in one.not_on)}"
        dates = [d.isoformat() for d in coming(frame.opened.build, one, datetime.now())]
        found.append((one, words, [(d, _short(d), d in one.not_on) for d in dates]))
    return found


def _short(day: str) -> str:
    """A date as it is said; one that is none, as it is written."""
    try:
        return short_day(datetime.fromisoformat(day))
    except ValueError:
        return day


def _when(frame: Frame) -> list[tuple[str, str]]:
    """The work sessions of the build, the first day first, each with its page."""
    return [
        (s.id, f"{s.title or s.id}: {s.date}, {s.start} to {s.end}, {', '.join(s.people)}")
        for s in sorted(frame.opened.build.sessions, key=lambda s: (s.date, s.start))
        if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", s.id)
    ]


def _planned(work: Work | None, opened: OpenBuild, outlook: Outlook | None) -> dict[str, Any]:
    if work is None:
        return {"planned": None}
    problem, following = work.sheets.todo.problem, work.next_session()
    card = work.next_card()
    chances = {one.session: 1 - one.overrun for one in outlook.sessions} if outlook else {}
    return {
        "planned": {
            "made": day_text(work.planned.kept.made),
            "left": work.left_now(),
            "aims": [aim_text(problem, aim) for aim in work.planned.plan.aims],
            "supposed": _supposed(work.planned.plan),
            "changed": changed_words(work.planned, work.so_far, opened),
            "overdue": [short_day(problem.at(s.start)) for s in work.overdue()],
            "next": _after(work, following) if following else None,
            "duties": ("", []) if work.so_far.back else before_next(work),
            "back": bool(work.so_far.back),
            "card": card,
            "idle": idle_text(problem, work.planned.plan),
            "sessions": [_session(work, session, chances) for session in work.sessions()],
        }
    }


def _supposed(plan: Plan) -> dict[str, Any] | None:
    """What the plan takes to turn out well though nobody knows yet; None for nothing."""
    if not plan.supposed:
        return None
    return {
        "count": count_text(plan.supposed),
        "before": before_text(plan.supposed),
        "measure": [
            {"at": m.note_as, "words": to_measure_text(m), "bears": bears_text(m)}
            for m in plan.measure
        ],
        "each": [{"uses": ", ".join(s.uses), "said": one_text(s)} for s in in_order(plan.supposed)],
        "not_covered": NOT_COVERED,
        "releases": RELEASES_NOTHING,
    }


def _after(work: Work, session: Session) -> dict[str, Any]:
    day = short_day(work.sheets.todo.problem.at(session.start))
    return {"day": day, "end": brief(work.sheets.ends[session.id], work.cards)}


def _session(work: Work, session: Session, chances: Mapping[str, float]) -> dict[str, Any]:
    problem, steps = work.sheets.todo.problem, work.planned.plan.of(session.id)
    done = sum(work.done(step) is not None for step in steps)
    return {
        "id": session.id,
        "title": session.title,
        "day": short_day(problem.at(session.start)),
        "when": when_text(problem, session),
        "people": people_text(session),
        "jobs": jobs_of(problem, steps),
        "tasks": tasks_text(done, len(steps)),
        "all_done": done == len(steps),
        "chance": in_time_text(problem, session, chances[session.id])
        if session.id in chances and not done else "",
        "half": half_left_lines(work.sheets, session.id),
        "needs": [need_line(work.sheets, need) for need in needs_of(problem, session.id)],
        "end": briefest(work.sheets.ends[session.id]),
    }


def _planning(now: Planning, opened: OpenBuild) -> dict[str, Any]:
    # another plan was kept since, elsewhere
    if now.mark is not None and now.mark != mark_of(opened):
        now = replace(now, ended="", moved=None)
    before = plan_before(opened)
    if before is None and former_holds(opened):
        again = made(opened, FORMER)
        before = again.made if again is not None else None
    return {
        "at": now,
        "answered": _answered(now, opened),
        "seconds": _length(now.seconds),
        "stage_seconds": round(now.stage_seconds),
        "nothing_moves": NOTHING_MOVES,
        "former": f"{day_text(before)}, {clock(before)}" if before is not None else "",
    }


def _answered(now: Planning, opened: OpenBuild) -> str:
    """When a refusal was given, and what came since; empty for another answer."""
    if now.ended != "no plan" or now.when is None:
        return ""
    said = f"Answered on {day_text(now.when)}, {clock(now.when)}"
    here = fingerprint(opened)
    if now.rests_on is None or now.rests_on == (here.files, here.journal):
        return f"{said}."
    newer = [
        *(["readings or other entries"] if now.rests_on[1] != here.journal else []),
        *(["changes to the build"] if now.rests_on[0] != here.files else []),
    ]
    return f"{said}, before {' and '.join(newer)} of since then: plan again to know."


def _length(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
