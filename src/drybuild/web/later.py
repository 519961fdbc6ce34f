"""The first page without waiting for the others: the rest of the app is read after it, or for it.

Reading every page, with all that the work and the book need, takes as long as working out what the
first page says. So it is answered by an app of its own; whoever asks for anything else meanwhile
waits until the whole is there, and is answered by that.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable

from starlette.types import ASGIApp, Receive, Scope, Send

AFTER = 0.4
"""Seconds after the first page in which a browser takes what belongs to it."""

FIRST = ("/", "/token", "/events")
"""What the first app answers, beside the files that pages load."""


class Later:
    """ASGI: the first app, and the whole one as soon as it is there."""

    def __init__(self, first: ASGIApp, whole: Callable[[], ASGIApp]) -> None:
        self._first, self._make = first, whole
        self._whole: ASGIApp | None = None
        self._making = threading.Lock()
        self._begun = False

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        app = self._whole
        if app is not None:
            await app(scope, receive, send)
        elif scope["type"] != "http" or self._is_first(scope):
            await self._first(scope, receive, send)
            if scope["type"] == "http":
                self._begin()
        else:
            app = await asyncio.to_thread(self.whole)
            await app(scope, receive, send)

    def whole(self) -> ASGIApp:
        """The whole app."""
        with self._making:
            if self._whole is None:
                self._whole = self._make()
            return self._whole

    def _begin(self) -> None:
        if not self._begun:
            self._begun = True
            waiting = threading.Timer(AFTER, self.whole)
            waiting.daemon = True
            waiting.start()

    def _is_first(self, scope: Scope) -> bool:
        path: str = scope["path"]
        return scope["method"] in ("GET", "HEAD") and (path in FIRST or path.startswith("/static/"))
