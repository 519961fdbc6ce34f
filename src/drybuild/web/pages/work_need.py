"""When the car is needed: a day added to build.toml or taken out, on screen."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from drybuild.build import Build, BuildFaults, Fault
from drybuild.build.editing import EditRefused, add_need, remove_need
from drybuild.build.folder import WantedUse
from drybuild.build.work_file import Use
from drybuild.web.edits import checked
from drybuild.web.frame import framed
from drybuild.work.times import read_needs, read_times

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the page of the work"},
    403: {"description": "not for this device"},
    409: {"description": "not written: the page says why"},
}

Day = Annotated[str, Form(max_length=10)]
Clock = Annotated[str, Form(max_length=5)]
Which = Annotated[Use, Form()]


@router.post("/work/need", status_code=303, responses=SAID)
def add(request: Request, use: Which, at: Clock, weekday: Day = "", date: Day = "") -> Response:
    """Add a day on which the car is needed. weekday: every one of them, without a date."""
    frame = framed(request, role="edit")
    build = frame.opened.build
    need = WantedUse(use=use, day=date or weekday, at=at)
    if need in build.needs:
        raise HTTPException(409, "not written: build.toml says so already")
    amiss = _amiss(build, need)
    if amiss:
        raise HTTPException(409, f"not written: {'; '.join(amiss)}")
    try:
        checked(frame.opened, "build.toml", lambda: add_need(build, need))
    except (BuildFaults, EditRefused) as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse("/work#planning", 303)


@router.post("/work/need/remove", status_code=303, responses=SAID)
def remove(
    request: Request, use: Which, day: Day, at: Clock, waive: Annotated[int, Form()] = 0
) -> Response:
    """Take a day on which the car is needed out of build.toml.

    waive: its rank, which tells it from another of the same use, day and time.
    """
    frame = framed(request, role="edit")
    build = frame.opened.build
    need = WantedUse(use=use, day=day, at=at, waive=waive)
    if need not in build.needs:
        raise HTTPException(409, "not written: build.toml has no such day any more")
    try:
        checked(frame.opened, "build.toml", lambda: remove_need(build, need))
    except (BuildFaults, EditRefused) as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse("/work#planning", 303)


def _amiss(build: Build, need: WantedUse) -> list[str]:
    """What stands against this day, in words."""
    if not need.day:
        return ["no day: choose a day of the week, or one date"]
    before: list[Fault] = []
    times = read_times(build, None, before)
    after: list[Fault] = []
    read_needs(replace(build, needs=(need,)), times, after)
    return [f"found {f.found}, expected {f.expected}" for f in after]
