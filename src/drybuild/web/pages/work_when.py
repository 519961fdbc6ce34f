"""When there is work: a work session added to build.toml, changed or taken out, on screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import Build, BuildFaults, Fault
from drybuild.build.editing import EditRefused, add_session, remove_session, set_session
from drybuild.build.folder import Session
from drybuild.show.cards_words import short_day
from drybuild.show.work_list import tasks_text
from drybuild.web.edits import checked
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import is_day
from drybuild.web.pages.work import found_work
from drybuild.web.seen import mark_of, why_refused
from drybuild.work.times import read_times

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the page of the work"},
    403: {"description": "not for this device"},
    404: {"description": "no work session of that name"},
    409: {"description": "not written: the page says why"},
}


Day = Annotated[str, Form(max_length=10)]
Clock = Annotated[str, Form(max_length=5)]
People = Annotated[str, Form(max_length=200)]
Mark = Annotated[str, Form(pattern=r"^[0-9a-f]{16}$")]
Id = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_-]+$", max_length=60)]

REFUSALS = (BuildFaults, EditRefused)


@router.post("/work/when", status_code=303, responses=SAID)
def add(request: Request, day: Day, start: Clock, end: Clock, people: People) -> Response:
    """Add a work session: a day, from and to, and who is there, apart by commas."""
    frame = framed(request, role="edit")
    build = frame.opened.build
    try:
        named = _free_id(build, date.fromisoformat(day))
    except ValueError:
        raise HTTPException(409, f"not written: {day!r} is no date; expected one") from None
    made = Session(id=named, date=day, start=start, end=end, people=_names(people))
    amiss = _gone(made) or _amiss(build, (*build.sessions, made), made)
    if amiss:
        raise HTTPException(409, f"not written: {'; '.join(amiss)}")
    try:
        checked(frame.opened, "build.toml", lambda: add_session(build, made))
    except REFUSALS as error:
        raise HTTPException(409, why_refused(error)) from None
    return RedirectResponse("/work#planning", 303)


@router.get(
    "/work/when/{session}", response_class=HTMLResponse, responses={403: SAID[403], 404: SAID[404]}
)
def look(request: Request, session: Id) -> HTMLResponse:
    """A work session as it stands, and the forms that change it and take it out."""
    return _page(framed(request, "now", role="edit"), session)


@router.post("/work/when/{session}", status_code=303, responses=SAID)
def change(
    request: Request,
    session: Id,
    day: Day,
    start: Clock,
    end: Clock,
    people: People,
    seen: Mark,
) -> Response:
    """Change when a work session is and who is there. seen: the mark of what the form showed."""
    frame = framed(request, "now", role="edit")
    before = _found(frame, session)
    typed = {"date": day, "start": start, "end": end}
    made = before.model_copy(update={**typed, "people": _names(people)})
    build = frame.opened.build
    after = tuple(made if one.id == session else one for one in build.sessions)
    try:
        _as_seen(before, seen)
        amiss = _gone(made) if made.date != before.date else []
        amiss = amiss or _amiss(build, after, made)
        if amiss:
            raise EditRefused("; ".join(amiss))
        checked(frame.opened, "build.toml", lambda: set_session(build, made))
    except REFUSALS as error:
        return _page(frame, session, refused=why_refused(error), typed=made, status=409)
    return RedirectResponse("/work", 303)


@router.post("/work/when/{session}/remove", status_code=303, responses=SAID)
def remove(request: Request, session: Id, seen: Mark) -> Response:
    """Take a work session out of build.toml, when it is as the form showed it."""
    frame = framed(request, "now", role="edit")
    before = _found(frame, session)
    build = frame.opened.build
    try:
        _as_seen(before, seen)
        named = _naming(build, session)
        if named:
            raise EditRefused(f"it is booked: build.toml names it in {', '.join(named)}")
        checked(frame.opened, "build.toml", lambda: remove_session(build, session))
    except REFUSALS as error:
        return _page(frame, session, refused=why_refused(error), status=409)
    return RedirectResponse("/work", 303)


def _page(
    frame: Frame,
    session: str,
    *,
    refused: str = "",
    typed: Session | None = None,
    status: int = 200,
) -> HTMLResponse:
    found = _found(frame, session)
    work = found_work(frame).work
    planned = work.planned.plan.of(session) if work is not None else ()
    left = [s for s in planned if work is not None and work.done(s) is None]
    return frame.page(
        "work_when.html.j2",
        status,
        session=found,
        shown=typed or found,
        people=", ".join((typed or found).people),
        title=found.title or short_day(datetime.fromisoformat(found.date)),
        seen=mark_of(found),
        left=tasks_text(0, len(left)) if left else "",
        refused=refused,
    )


def _found(frame: Frame, session: str) -> Session:
    for one in frame.opened.build.sessions:
        if one.id == session:
            return one
    raise HTTPException(404, f"build.toml has no work session {session!r}")


def _naming(build: Build, session: str) -> list[str]:
    """What else in build.toml names a session, and would name nothing without it."""
    jobs = (job.id for job in build.jobs if session in (job.session, *job.booked))
    needs = (need.use for need in build.needs if need.after == session)
    lent = (one.tool for one in build.lent if session in one.sessions)
    return [
        *(f"the job {name}" for name in jobs),
        *(f"the use {name} that is needed after it" for name in needs),
        *(f"the tool {name} that is lent for it" for name in lent),
    ]


def _as_seen(session: Session, seen: str) -> None:
    if mark_of(session) != seen:
        stands = f"{session.date}, {session.start} to {session.end}, {', '.join(session.people)}"
        raise EditRefused(f"somebody changed it meanwhile; it says now: {stands}")


def _names(people: str) -> tuple[str, ...]:
    return tuple(" ".join(name.split()) for name in people.split(",") if name.strip())


def _gone(made: Session) -> list[str]:
    """That its day is past, in words: nobody plans work for it any more."""
    if not is_day(made.date) or made.date >= date.today().isoformat():
        return []
    return [f"found {made.date}, which is past, expected today or a day ahead"]


def _amiss(build: Build, sessions: tuple[Session, ...], made: Session) -> list[str]:
    """What stands against these sessions that did not before, in words."""
    if not made.people:
        return ["nobody is there: name at least one"]
    before: list[Fault] = []
    after: list[Fault] = []
    read_times(build, None, before)
    read_times(replace(build, sessions=sessions), None, after)
    known = {(f.where, f.found) for f in before}
    return [
        f"found {f.found}, expected {f.expected}" for f in after if (f.where, f.found) not in known
    ]


def _free_id(build: Build, day: date) -> str:
    taken, number, word = {s.id for s in build.sessions}, 1, f"{day:%a}".lower()
    while f"{word}-{number}" in taken:
        number += 1
    return f"{word}-{number}"
