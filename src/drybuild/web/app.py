"""The app itself: pages, static files, the guard before them, and errors in plain words."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable
from importlib.resources import files
from pathlib import Path

from fastapi import FastAPI, HTTPException, Request
from fastapi.responses import PlainTextResponse, RedirectResponse, StreamingResponse
from fastapi.staticfiles import StaticFiles
from starlette.datastructures import State
from starlette.types import ASGIApp

from drybuild.show.lines import listed
from drybuild.web.desk import Desk
from drybuild.web.first import FirstVisit
from drybuild.web.guard import Guard
from drybuild.web.guests import Guests
from drybuild.web.kept import Kept
from drybuild.web.later import Later
from drybuild.web.pages import FIRST, NAMES, pages
from drybuild.web.refusals import add_refusals
from drybuild.web.written import Written

LOOK_EVERY = 0.7
"""Seconds between two looks at the folder for what others changed."""
MOST_NAMED = 3
"""Files that a page names as changed."""


def make_app(
    folder: Path | str | Desk,
    *,
    hosts: frozenset[str],
    share: bool = False,
    away: str = "",
    fingerprint: str = "",
) -> ASGIApp:
    """The app of a build folder, behind its guard. hosts: names with port that it answers to.

    away: where phones find it; fingerprint: of the certificate that they meet there, if any.
    """
    desk = folder if isinstance(folder, Desk) else Desk(folder)
    guests = Guests()
    shared = State()
    shared.desk, shared.guests, shared.share = desk, guests, share
    shared.away, shared.fingerprint = away, fingerprint

    def whole() -> FastAPI:
        made = _app(NAMES, shared)
        desk.after_the_first_page()
        return made

    app = Later(_app(FIRST, shared), whole)
    return Guard(Kept(FirstVisit(Written(app, desk), desk)), guests, hosts, share)


def _app(names: tuple[str, ...], shared: State) -> FastAPI:
    app = FastAPI(title="Drybuild", docs_url=None, redoc_url=None, openapi_url="/openapi.json")
    app.state = shared
    for page in pages(names):
        # A route that says nothing else sends on to a page, and has nothing to read itself.
        app.include_router(page.router, default_response_class=RedirectResponse)
    app.add_api_route("/token", token, methods=["GET"], response_class=PlainTextResponse)
    app.add_api_route("/events", events, methods=["GET"], response_class=StreamingResponse)
    static = files("drybuild.web") / "static"
    app.mount("/static", StaticFiles(directory=str(static)), name="static")
    add_refusals(app)
    return app


async def token(request: Request) -> PlainTextResponse:
    """What the forms of this browser bring back; another one once the app was started anew."""
    guests: Guests = request.app.state.guests
    return PlainTextResponse(guests.form_token(request.state.guest))


async def events(request: Request) -> StreamingResponse:
    """Tells a page when the folder has changed, so that two browsers stay in step."""
    if not request.state.guest.may("look"):
        raise HTTPException(403)
    return StreamingResponse(_changes(request), media_type="text/event-stream")


def changed_text(names: Iterable[str]) -> str:
    """``build.toml and the record``; beyond a few how many more."""
    said = list(dict.fromkeys(names))
    if len(said) > MOST_NAMED:
        said = [*said[:MOST_NAMED], f"{len(said) - MOST_NAMED} more"]
    return listed(said)


async def _changes(request: Request) -> AsyncIterator[str]:
    desk: Desk = request.app.state.desk
    last, before = "", await asyncio.to_thread(desk.written)
    # A device whose session was taken back learns nothing more.
    while request.state.guests.stands(request.state.guest) and not await request.is_disconnected():
        mark = await asyncio.to_thread(desk.stamp)
        if mark != last:
            written = await asyncio.to_thread(desk.written)
            changed = sorted(name for name, _ in before.items() ^ written.items())
            before = written
            if changed:
                yield f"event: changed\ndata: {changed_text(changed)}\n\n"
            yield f"event: stands\ndata: {mark}\n\n"
            last = mark
        else:
            yield ": still here\n\n"
        await asyncio.sleep(LOOK_EVERY)
