"""When the car is needed: a day added to build.toml or taken out, on screen."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from drybuild.build import Build, BuildFaults, Fault
from drybuild.build.editing import EditRefused, add_need, remove_need, set_need
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
    if _same(build, need) is not None:
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
    need = _there(build, WantedUse(use=use, day=day, at=at, waive=waive))
    try:
        checked(frame.opened, "build.toml", lambda: remove_need(build, need))
    except (BuildFaults, EditRefused) as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse("/work#planning", 303)


@router.post("/work/need/not", status_code=303, responses=SAID)
def leave_out(
    request: Request, use: Which, day: Day, at: Clock, date: Day,
    waive: Annotated[int, Form()] = 0, back: Annotated[bool, Form()] = False,
) -> Response:  # fmt: skip
    """Leave one date out of a day of every week. back: it is needed then after all."""
    frame = framed(request, role="edit")
    build = frame.opened.build
    need = _there(build, WantedUse(use=use, day=day, at=at, waive=waive))
    left = {*need.not_on} - {date} if back else {*need.not_on, date}
    meant = need.model_copy(update={"not_on": tuple(sorted(left))})
    amiss = _amiss(build, meant)
    if amiss:
        raise HTTPException(409, f"not written: {'; '.join(amiss)}")
    try:
        checked(frame.opened, "build.toml", lambda: set_need(build, need, meant.not_on))
    except (BuildFaults, EditRefused) as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse("/work?fold=need#need", 303)


def _same(build: Build, need: WantedUse) -> WantedUse | None:
    """The day of the build that is this one, whatever dates are left out of it."""
    keys = ("use", "day", "at", "waive")
    meant = [getattr(need, key) for key in keys]
    return next((n for n in build.needs if [getattr(n, key) for key in keys] == meant), None)


def _there(build: Build, need: WantedUse) -> WantedUse:
    found = _same(build, need)
    if found is None:
        raise HTTPException(409, "not written: build.toml has no such day any more")
    return found


def _amiss(build: Build, need: WantedUse) -> list[str]:
    """What stands against this day, in words."""
    if not need.day:
        return ["no day: choose a day of the week, or one date"]
    before: list[Fault] = []
    times = read_times(build, None, before)
    after: list[Fault] = []
    read_needs(replace(build, needs=(need,)), times, after)
    return [f"found {f.found}, expected {f.expected}" for f in after]
