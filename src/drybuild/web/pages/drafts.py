"""Drafts: what is tried beside the real build, until it is kept or dropped."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import Change
from drybuild.build.editing import EditRefused
from drybuild.examine.catalogue.moved import moves
from drybuild.examine.naming import plain_name
from drybuild.examine.written import change_text
from drybuild.show.carried_words import PLACE, carried_lines
from drybuild.show.doubt_before import doubt_before
from drybuild.show.sentences import A_CHECK, free_text, joint_of, use_reason
from drybuild.show.tyre_grows import grows_text
from drybuild.show.what_fits import moved_lines
from drybuild.web.draft_kept import kept_words, write_into_build
from drybuild.web.drafts import MOST, Draft, drafts, drop, take_out
from drybuild.web.drafts import draft as one_draft
from drybuild.web.frame import Frame, framed
from drybuild.web.usual import tried_for

router = APIRouter()

Name = Annotated[str, InPath(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "to the page; of a draft that was kept, to its job"},
    403: {"description": "not for this device"},
    404: {"description": "no such draft"},
    409: {"description": "the build does not take it"},
}


@router.get("/drafts", response_class=HTMLResponse)
def all_drafts(request: Request) -> HTMLResponse:
    """Every draft of the build."""
    frame = framed(request)
    return frame.page("drafts.html.j2", all=drafts(frame.desk.folder))


@router.get("/drafts/{name}", response_class=HTMLResponse, responses={404: SAID[404]})
def show(request: Request, name: Name) -> HTMLResponse:
    """One draft: what it changes, what else moves, what the car may do then."""
    frame = framed(request)
    tried = _found(frame, name)
    before = frame.desk.examination("finished")
    after = frame.desk.examination(f"draft:{name}")
    units = frame.opened.build.head.units
    axles = [a for a in ("front", "rear") if any(f".{a}" in c.target for c in tried.changes)]
    moved = [moved_lines(moves(before, after, axle), units) for axle in axles or ["front"]]
    return frame.page(
        "draft.html.j2",
        draft=tried,
        changed=[_changed(frame, change) for change in tried.changes],
        doubt=(
            *dict.fromkeys(s for a in axles if (s := grows_text(before, after, a, units))),
            *doubt_before(frame.opened, before.state, tried.changes),
        ),
        kept=kept_words(frame.opened, tried.changes),
        cure=tried_for(frame, tried, before, after),
        moved=tuple(dict.fromkeys(line for lines in moved for line in lines)),
        carried=carried_lines({"with it": after, "as planned": before}, units)
        if any(c.target == PLACE for c in tried.changes) else (),
        uses=[(u, use_reason(u) or free_text(u)) for u in after.uses],
        a_check=A_CHECK,
        joint=joint_of(after),
        joint_before=joint_of(before),
    )


@router.post("/drafts/{name}/keep", status_code=303, responses=SAID)
def keep(request: Request, name: Name) -> Response:
    """Write the draft into build.toml, as a job or into those that fit its places already, and
    take its file away."""
    frame = framed(request, role="edit")
    tried = _found(frame, name)
    frame.opened.draft(name, tried.changes)  # refused before anything is written
    try:
        job = write_into_build(frame.desk.folder, frame.opened, tried)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    drop(frame.desk.folder, name)
    return RedirectResponse(f"/work/jobs/{job}?kept=true", 303)


@router.post("/drafts/{name}/take-out", status_code=303, responses=SAID)
def without(
    request: Request,
    name: Name,
    number: Annotated[int, Form(ge=0, le=MOST)],
    target: Annotated[str, Form(max_length=200)],
) -> Response:
    """Take one Change out of the draft."""
    frame = framed(request, role="edit")
    _found(frame, name)
    try:
        take_out(frame.desk.folder, name, number, target)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/drafts/{name}", 303)


@router.post("/drafts/{name}/drop", status_code=303, responses=SAID)
def throw_away(request: Request, name: Name) -> Response:
    """Take a draft away."""
    frame = framed(request, role="edit")
    _found(frame, name)
    drop(frame.desk.folder, name)
    return RedirectResponse("/drafts", 303)


def _changed(frame: Frame, change: Change) -> str:
    """A Change in words, with the part's own name."""
    names = frame.opened.build.part_names
    if change.kind == "fit":
        return f"{plain_name(change.target)}: {names.get(str(change.value), str(change.value))}"
    return change_text(change, names)


def _found(frame: Frame, name: str) -> Draft:
    found = one_draft(frame.desk.folder, name)
    if found is None:
        raise HTTPException(404, f"no draft {name!r}")
    return found
