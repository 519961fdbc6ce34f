"""Usual cures: one press tries one beside the plan, with parts that are still to be chosen."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import RedirectResponse, Response

from drybuild.build import BuildFaults
from drybuild.build.editing import EditRefused
from drybuild.examine.usual import Offer, add_parts, offers, usual_cures
from drybuild.show.usual_words import offer_title
from drybuild.web.drafts import begin, drafts
from drybuild.web.frame import Frame, framed
from drybuild.web.usual import is_of

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
