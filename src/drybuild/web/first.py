"""Before there is a build: every page leads to the first visit; nothing else reads the folder."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from drybuild.web.desk import Desk

OPEN = ("/start", "/static/", "/events", "/pair", "/openapi.json")
"""What there is without a build."""


class FirstVisit:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self.app, self.desk = app, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or self.desk.begun() or scope["path"].startswith(OPEN):
            await self.app(scope, receive, send)
            return
        answer: Response = RedirectResponse("/start", 303)
        if Request(scope).method not in ("GET", "HEAD"):
            answer = PlainTextResponse("there is no build here yet: begin at /start\n", 409)
        await answer(scope, receive, send)
