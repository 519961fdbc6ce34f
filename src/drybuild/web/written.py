"""When a form is answered, the desk is told: what its browser wrote is in the build by then."""

from __future__ import annotations

from starlette.types import ASGIApp, Receive, Scope, Send

from drybuild.web.desk import Desk


class Written:
    """ASGI middleware, within the guard, which says whose form it is."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self.app, self.desk = app, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await self.app(scope, receive, send)
        finally:
            guest = scope.get("state", {}).get("guest")
            if guest is not None and scope.get("method") not in ("GET", "HEAD"):
                self.desk.wrote(guest.token)
