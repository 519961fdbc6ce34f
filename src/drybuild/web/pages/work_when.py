"""When there is work: adding a work session to build.toml, from the page of the work."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from drybuild.build import Build, BuildFaults, Fault
from drybuild.build.editing import EditRefused, add_session
from drybuild.build.folder import Session
from drybuild.web.edits import checked
from drybuild.web.frame import framed
from drybuild.work.times import read_times

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the page of the work"},
    403: {"description": "not for this device"},
    409: {"description": "not written: the page says why"},
}


@router.post("/work/when", status_code=303, responses=SAID)
def add(
    request: Request,
    day: Annotated[str, Form(max_length=10)],
    start: Annotated[str, Form(max_length=5)],
    end: Annotated[str, Form(max_length=5)],
    people: Annotated[str, Form(max_length=200)],
) -> Response:
    """Add a work session: a day, from and to, and who is there, apart by commas."""
    frame = framed(request, role="edit")
    build = frame.opened.build
    try:
        named = _free_id(build, date.fromisoformat(day))
    except ValueError:
        raise HTTPException(409, f"not written: {day!r} is no date; expected one") from None
    names = tuple(" ".join(name.split()) for name in people.split(",") if name.strip())
    made = Session(id=named, date=day, start=start, end=end, people=names)
    amiss = _amiss(build, made)
    if amiss:
        raise HTTPException(409, f"not written: {'; '.join(amiss)}")
    try:
        checked(frame.opened, "build.toml", lambda: add_session(build, made))
    except BuildFaults as error:
        raise HTTPException(409, "; ".join(str(f) for f in error.faults)) from None
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse("/work#planning", 303)


def _amiss(build: Build, made: Session) -> list[str]:
    """What stands against it among the sessions that there are, in words."""
    if not made.people:
        return ["nobody is there: name at least one"]
    before: list[Fault] = []
    after: list[Fault] = []
    read_times(build, None, before)
    read_times(replace(build, sessions=(*build.sessions, made)), None, after)
    known = {(f.where, f.found) for f in before}
    return [
        f"found {f.found}, expected {f.expected}" for f in after if (f.where, f.found) not in known
    ]


def _free_id(build: Build, day: date) -> str:
    taken, number, word = {s.id for s in build.sessions}, 1, f"{day:%a}".lower()
    while f"{word}-{number}" in taken:
        number += 1
    return f"{word}-{number}"
