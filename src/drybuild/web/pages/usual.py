"""Usual cures: one press tries one beside the plan, with parts that are still to be chosen."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import RedirectResponse, Response

from drybuild.build import BuildFaults
from drybuild.build.editing import EditRefused
from drybuild.examine import Examination
from drybuild.examine.usual import Offer, add_parts, offers, usual_cures
from drybuild.show.usual_words import asked_of, offer_title, turned, wanted_of
from drybuild.web.drafts import Draft, begin, drafts
from drybuild.web.frame import Frame, framed

router = APIRouter()

Name = Annotated[str, InPath(pattern=r"^[a-z][a-z-]{0,39}$")]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "tried beside the plan; to the draft"},
    403: {"description": "not for this device"},
    404: {"description": "no usual cure of that name"},
    409: {"description": "nothing that stops the car asks for it, or it cannot be written"},
}


@router.post("/usual/{name}", status_code=303, responses=SAID)
def try_it(request: Request, name: Name) -> Response:
    """Write the cure's parts as still to be chosen, and begin a draft that fits them."""
    frame = framed(request, role="edit")
    if name not in usual_cures():
        raise HTTPException(404, f"no usual cure {name!r}")
    found = {offer.usual.name: offer for offer in offers(frame.desk.examination("finished"))}
    if name not in found:
        title = usual_cures()[name].title
        raise HTTPException(409, f"{title}: nothing that stops the car as planned asks for it now")
    offer = found[name]
    tried = next((d for d in drafts(frame.desk.folder) if is_of(d, offer)), None)
    try:
        add_parts(frame.opened.build, offer)
        draft = tried.name if tried else _begin(frame, offer)
    except (BuildFaults, EditRefused) as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/drafts/{draft}", 303)


def _begin(frame: Frame, offer: Offer) -> str:
    return begin(frame.desk.folder, offer_title(offer), offer.changes, like=offer.usual.name)


def is_of(draft: Draft, offer: Offer) -> bool:
    """Whether a draft is that cure, tried."""
    return set(draft.changes) == set(offer.changes)


def offered(frame: Frame, examination: Examination) -> dict[str, dict[str, Any]]:
    """Check → the usual cure for it, in words; none for a state that is not the plan's end."""
    if examination.state.name != "finished":
        return {}
    units = frame.opened.build.head.units
    found: dict[str, dict[str, Any]] = {}
    for offer in offers(examination):
        made = {
            "name": offer.usual.name, "title": offer_title(offer), "say": offer.usual.say,
            "wanted": wanted_of(offer, examination, units),
        }  # fmt: skip
        found |= {f.check: made for f in offer.findings if f.check not in found}
    return found


def tried_for(
    frame: Frame, draft: Draft, before: Examination, after: Examination
) -> dict[str, Any] | None:
    """What a draft of a usual cure is tried for, what comes of it, what to ask of the parts."""
    offer = next((o for o in _of_plan(before) if is_of(draft, o)), None)
    if offer is None:
        return None
    units = frame.opened.build.head.units
    return {
        "rows": turned(offer.findings, after, units), "say": offer.usual.say,
        "wanted": wanted_of(offer, before, units), "asked": asked_of(offer, after.state.build),
        "guessed": bool(offer.usual.facts),
    }  # fmt: skip


def _of_plan(before: Examination) -> Iterable[Offer]:
    return offers(before) if before.state.name == "finished" else ()
