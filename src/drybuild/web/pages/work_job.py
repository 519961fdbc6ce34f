"""A job of the build on screen: what it puts on, what it is called, from when all is there."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import Build, BuildFaults, Change, job_changes
from drybuild.build.editing import EditRefused, change_job, remove_job, set_job
from drybuild.build.folder import Job
from drybuild.examine.naming import plain_name
from drybuild.examine.written import change_text
from drybuild.web.edits import checked
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import is_day
from drybuild.web.seen import mark_of, why_refused

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the page of the work"},
    403: {"description": "not for this device"},
    404: {"description": "no job of that name"},
    409: {"description": "not written: the page says why"},
}

Mark = Annotated[str, Form(pattern=r"^[0-9a-f]{16}$")]
Id = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_-]+$", max_length=80)]
NAMED = ("fit", "remove", "set")
"""Kinds of Change that a job's page names; what it opens and closes is the plan's."""


@router.get(
    "/work/jobs/{job}", response_class=HTMLResponse, responses={403: SAID[403], 404: SAID[404]}
)
def look(request: Request, job: Id, kept: bool = False) -> HTMLResponse:
    """A job as it stands, and the forms that change it and take it out. kept: a draft just was."""
    return _page(framed(request, "now", role="edit"), job, kept=kept)


@router.post("/work/jobs/{job}", status_code=303, responses=SAID)
def change(
    request: Request,
    job: Id,
    seen: Mark,
    title: Annotated[str, Form(max_length=120)] = "",
    arrives: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Change what a job is called and from when all its parts are there."""
    frame = framed(request, "now", role="edit")
    before = _found(frame, job)
    made = before.model_copy(update={"title": " ".join(title.split()), "arrives": arrives.strip()})
    try:
        _as_seen(before, seen)
        if not made.title:
            raise EditRefused("a job has a title: found nothing")
        if not is_day(made.arrives):
            raise EditRefused(f"found {made.arrives!r}, expected a date, yyyy-mm-dd")
        checked(frame.opened, "build.toml", lambda: set_job(frame.opened.build, made))
    except (BuildFaults, EditRefused) as error:
        return _page(frame, job, refused=why_refused(error), typed=made, status=409)
    return RedirectResponse("/work", 303)


@router.post("/work/jobs/{job}/without", status_code=303, responses=SAID)
def without(
    request: Request, job: Id, seen: Mark, place: Annotated[str, Form(max_length=120)]
) -> Response:
    """Take one of its parts out of a job; the part stays in parts/."""
    frame = framed(request, "now", role="edit")
    before = _found(frame, job)
    left = {where: part for where, part in before.fit.items() if where != place}
    try:
        _as_seen(before, seen)
        if place not in before.fit:
            raise EditRefused(f"found {place!r}, expected one of: {', '.join(before.fit)}")
        if not left and not before.set and not before.remove:
            raise EditRefused("it is all that the job does: take the job out instead")
        checked(frame.opened, "build.toml", lambda: change_job(frame.opened.build, job, left))
    except (BuildFaults, EditRefused) as error:
        return _page(frame, job, refused=why_refused(error), status=409)
    return RedirectResponse(f"/work/jobs/{job}", 303)


@router.post("/work/jobs/{job}/remove", status_code=303, responses=SAID)
def remove(request: Request, job: Id, seen: Mark) -> Response:
    """Take a job out of build.toml, when it is as the form showed it."""
    frame = framed(request, "now", role="edit")
    before = _found(frame, job)
    build = frame.opened.build
    try:
        _as_seen(before, seen)
        named = _naming(build, job)
        if named:
            raise EditRefused(f"other jobs come after it: {', '.join(named)}")
        checked(frame.opened, "build.toml", lambda: remove_job(build, job))
    except (BuildFaults, EditRefused) as error:
        return _page(frame, job, refused=why_refused(error), status=409)
    return RedirectResponse("/work", 303)


def _page(
    frame: Frame, job: str, *, refused: str = "", typed: Job | None = None, kept: bool = False,
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    found = _found(frame, job)
    return frame.page(
        "work_job.html.j2",
        status,
        job=found,
        shown=typed or found,
        puts=[_put(frame, c) for c in job_changes(found) if c.kind in NAMED],
        done=found.id in frame.opened.present.done,
        seen=mark_of(found),
        refused=refused,
        kept=kept,
    )


def _put(frame: Frame, change: Change) -> tuple[str, str, str, str]:
    """Place, part's id and name, and the place's address; else what is done, in words alone."""
    names = frame.opened.build.part_names
    if change.kind != "fit":
        return change_text(change, names), "", "", ""
    part = str(change.value)
    return plain_name(change.target), part, names.get(part, part), change.target


def _found(frame: Frame, job: str) -> Job:
    for one in frame.opened.build.jobs:
        if one.id == job:
            return one
    raise HTTPException(404, f"build.toml has no job {job!r}")


def _naming(build: Build, job: str) -> list[str]:
    """Other jobs that name this one, and would name nothing without it."""
    return [one.title or one.id for one in build.jobs if job in one.after]


def _as_seen(job: Job, seen: str) -> None:
    if mark_of(job) != seen:
        raise EditRefused("somebody changed it meanwhile; it says now what stands above")
