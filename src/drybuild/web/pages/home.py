"""Home: what the car may do now, why not more, the next physical action."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import BuildFaults, ChangeRefused
from drybuild.build.editing import EditRefused, change_job, one_at_a_time
from drybuild.examine import Examination
from drybuild.examine.book.records import still_open
from drybuild.examine.fixes import curable
from drybuild.examine.not_now import told_now
from drybuild.examine.opened import OpenBuild
from drybuild.examine.wanting import wanting
from drybuild.findings.words import uses as all_uses
from drybuild.show.cards_words import place_text, short_day
from drybuild.show.front_page import FrontPage, front_page, plan_first
from drybuild.show.home_car import draw_narrow, draw_wide, labels
from drybuild.show.sentences import apart_text, free_text, joint_of, outside_text, use_reason
from drybuild.show.since import back_text
from drybuild.show.text import (
    NOTHING_YET,
    SAY_WHAT,
    counts_text,
    nothing_planned,
    records_owed,
    state_words,
)
from drybuild.web.before_next import before_next
from drybuild.web.edits import checked
from drybuild.web.frame import Frame, framed
from drybuild.web.on_the_way import on_the_way
from drybuild.web.usual import offered

router = APIRouter()

_OF_THE_PLAN = ("open", "left")
"""Kinds of holds that work leaves behind: a plan says when each is closed."""


@router.get("/", response_class=HTMLResponse, responses={404: {"description": "no such state"}})
def home(request: Request, state: str = "finished") -> HTMLResponse:
    """The first page of a build."""
    frame: Frame = framed(request, state)
    examination = frame.examination()
    now = frame.desk.examination("now", unknowns=False)
    opened = frame.opened
    jobs = [job.title or job.id for job in still_open(opened)]
    here = opened.present.state
    found_next = told_now(frame.desk.measure_next(examination), here)
    page = front_page(examination, found_next, opened.build.head.units)
    # What to do next is of the plan, also while one looks at the car as it stands.
    goal = frame.desk.examination("finished") if examination.is_present else examination
    to_goal = told_now(frame.desk.measure_next(goal), here)
    ahead = front_page(goal, to_goal, opened.build.head.units)
    by_plan = _by_plan(frame)
    found = labels(examination, "" if state == "finished" else state)
    return frame.page(
        "home.html.j2",
        when=state_words(examination.state.name),
        today=_uses(now),
        uses=_uses(examination),
        same=examination.is_present,
        joint=None if nothing_planned(examination) else joint_of(examination),
        nothing_yet=NOTHING_YET,
        counts=counts_text(examination),
        page=page,
        ahead=ahead,
        meanings={u.name: u.meaning for u in all_uses()},
        now_next=_next(now, planned=by_plan is not None),
        by_plan=by_plan,
        plan_first=plan_first(jobs) if jobs else "",
        owed=records_owed(examination),
        say_what=SAY_WHAT,
        labels=found,
        wide=draw_wide(found, opened.build.outline),
        narrow=draw_narrow(found, opened.build.outline),
        usual=offered(frame, examination),
        curable={
            (f.check, f.subject) for f in examination.findings
            if examination.state.name == "finished" and curable(opened.build, f)
        },
        wants=_wants(examination, page),
        notes=opened.notes(aims=False),
        aims=[(one, _aligning(opened)) for one in opened.aims_apart()],
        on_the_way=on_the_way(frame),
    )


def _wants(
    examination: Examination, page: FrontPage
) -> dict[tuple[str, str], list[tuple[str, str]]]:
    """(check, subject) of a stop that is unmeasured → what is wanted at all of its places."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for stop in (*((page.stops,) if page.stops else ()), *page.others):
        if not examination.finding(stop.check, stop.subject).missing:
            continue
        same = (f for f in examination.findings if f.check == stop.check and f.stopping)
        wants = (one for f in same if f.missing for one in wanting(examination, f))
        found[stop.check, stop.subject] = [(words, at) for at, words in {
            at: words for words, at in wants}.items()]  # fmt: skip
    return found


def _uses(examination: Examination) -> dict[str, Any]:
    """Uses that nothing recorded stops, those that are stopped with their reason, and what rules
    about either the car is outside of as found; how it stands where it is apart."""
    free = [u for u in examination.uses if u.allowed and not u.outside]
    return {
        "apart": apart_text(examination),
        "free": [(u.use, u.only) for u in free],
        "outside": [
            (u.use, free_text(u) if u.allowed else f"{use_reason(u)}; {outside_text(u)}",
             [(f, f"{f.place}: {f.title}" if f.subject != "car" else f.title) for f in u.outside],
             u.allowed)
            for u in examination.uses if u.outside
        ],
        "stopped": [(u.use, use_reason(u)) for u in examination.uses
                    if not u.allowed and not u.outside],
    }  # fmt: skip


def _by_plan(frame: Frame) -> dict[str, object] | None:
    """The next card of the kept plan; without one while the cards are still being made."""
    if not frame.desk.planned():
        return None
    work = frame.desk.workshop.ready(frame.opened)
    card = work.next_card() if work is not None else None
    if work is not None and card is None:
        return None
    if work is None or card is None:
        return {"card": None, "again": ""}
    if work.so_far.back:
        return {"card": None, "again": back_text(frame.opened, work.so_far.back)}
    return {
        "card": card, "place": place_text(card), "day": short_day(card.start),
        "duties": before_next(work),
    }  # fmt: skip


def _next(now: Examination, *, planned: bool) -> dict[str, object] | None:
    """What lifts the first thing that stops the car today; None where nothing does.

    planned: a plan says when what stands open is closed, so that is not said here.
    """
    for use in now.uses:
        for hold in use.holds:
            if not hold.through and hold.do and not (planned and hold.kind in _OF_THE_PLAN):
                record = hold.kind == "record"
                return {"use": use.use, "why": hold.why, "do": hold.do, "record": record}
    return None


def _aligning(opened: OpenBuild) -> list[tuple[str, str]]:
    """Id and title of each open job that is an alignment of the work library."""
    return [(job.id, job.title or job.id) for job in still_open(opened)
            if job.like.startswith("alignment")]  # fmt: skip


@router.post("/aims", status_code=303, responses={
    303: {"description": "written; to the first page"},
    403: {"description": "not for this device"},
    409: {"description": "not written: the page says why"},
})  # fmt: skip
def let_it_set(
    request: Request,
    axle: Annotated[str, Form(pattern="^(front|rear)$")],
    job: Annotated[str, Form(pattern=r"^[A-Za-z0-9_-]{1,80}$")],
) -> Response:
    """Let a job that aligns set the camber that is aimed at: the finished car stands so then."""
    frame: Frame = framed(request, role="edit")
    with one_at_a_time:
        opened = frame.desk.opened()
        wanted = next((one for one in opened.aims_apart() if one.axle == axle), None)
        found = next((j for j in opened.build.jobs if j.id == job), None)
        if wanted is None or found is None or job not in dict(_aligning(opened)):
            raise HTTPException(409, "It is said already, or the job is done or gone.")
        build, said = opened.build, [wanted.setting]
        try:
            checked(opened, "build.toml", lambda: change_job(build, job, found.fit, said))
        except (BuildFaults, EditRefused, ChangeRefused) as error:
            raise HTTPException(409, f"Not written. {error}") from None
    return RedirectResponse("/", 303)
