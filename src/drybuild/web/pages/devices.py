"""Devices: let a phone in with a one-time code, and take its session back."""

from __future__ import annotations

from typing import Annotated, Any

import segno
from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.web.frame import environment, framed
from drybuild.web.guard import cookie
from drybuild.web.guests import CODE_LASTS, Guests, Role

router = APIRouter()

ROLES: tuple[tuple[Role, str], ...] = (
    ("look", "look: read everything, change nothing"),
    ("cards", "work: go through cards, write readings, what was done and what happened"),
    ("edit", "edit: change the build and plan again as well"),
)
WORDS = {role: words.partition(":")[0] for role, words in ROLES}

MOST_TYPED = 24
"""Of a code, with the gaps that one may put between its figures."""

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "to the page"},
    403: {"description": "not for this device, or the code does not work"},
    409: {"description": "the app was started without --share"},
}
MADE = {code: said for code, said in SAID.items() if code != 303}


@router.get("/devices", response_class=HTMLResponse, responses={403: SAID[403]})
def devices(request: Request) -> HTMLResponse:
    """Who is let in, and how to let a phone in."""
    return _page(request)


@router.post("/devices/code", response_class=HTMLResponse, responses=MADE)
def offer(request: Request, role: Annotated[Role, Form()]) -> HTMLResponse:
    """Make a code that lets one device in, once."""
    frame = framed(request, role="edit")
    _only_here(request)
    if not request.app.state.share:
        raise HTTPException(409, "start the app with --share to let phones in")
    code = frame.guests.offer(role)
    where = f"{request.app.state.away}/pair?code={code.digits}"
    picture = segno.make(where, error="m").svg_data_uri(scale=6, border=4, light="white")
    return _page(request, code=code.digits, where=where, picture=picture, role=WORDS[code.role])


@router.post("/devices/out", status_code=303, responses=SAID)
def out(request: Request, mark: Annotated[str, Form(max_length=20)]) -> Response:
    """End a device's session."""
    frame = framed(request, role="edit")
    _only_here(request)
    frame.guests.revoke(mark)
    return RedirectResponse("/devices", 303)


@router.get("/pair", response_class=HTMLResponse)
def ask(request: Request, code: str = "") -> HTMLResponse:
    """Where a new device types its code."""
    return _asked(request, code[:MOST_TYPED])


@router.post("/pair", status_code=303, responses=SAID)
def pair(
    request: Request,
    code: Annotated[str, Form(max_length=MOST_TYPED)],
    name: Annotated[str, Form(max_length=60)] = "",
) -> Response:
    """Let the device in whose code is right."""
    guests: Guests = request.app.state.guests
    guest = guests.pair(code, name)
    if guest is None:
        return _asked(
            request, "", "That code does not work: it is wrong, was used, or is too old.", 403
        )
    answer = RedirectResponse("/", 303)
    answer.headers["set-cookie"] = cookie(guest, request)
    return answer


def _asked(request: Request, code: str, said: str = "", status: int = 200) -> HTMLResponse:
    sealed = request.url.scheme == "https"
    page = environment().get_template("pair.html.j2")
    text = page.render(code=code, said=said, sealed=sealed)
    return HTMLResponse(text, status)


def _page(request: Request, **made: str) -> HTMLResponse:
    frame = framed(request)
    _only_here(request)
    shown = {"code": "", "where": "", "picture": "", "role": "", **made}
    return frame.page(
        "devices.html.j2",
        share=request.app.state.share,
        sealed_by=_lines(request.app.state.fingerprint),
        devices=frame.guests.all(),
        roles=ROLES,
        words=WORDS,
        minutes=CODE_LASTS.seconds // 60,
        made=shown,
    )


def _only_here(request: Request) -> None:
    if not request.state.guest.local:
        raise HTTPException(403, "only the machine itself lets devices in")


def _lines(fingerprint: str) -> list[str]:
    """A fingerprint in lines of eight pairs, as one compares it."""
    pairs = fingerprint.split()
    return [" ".join(pairs[i : i + 8]) for i in range(0, len(pairs), 8)]
