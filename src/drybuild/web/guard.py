"""What every request passes before a page sees it, and what every answer carries.

The app answers to its own names only (a page elsewhere must not reach it through the name of its
own host), takes changes only from its own pages, and lets no page run or load anything that is not
the app's own. Sources: OWASP cheat sheets on CSRF and DNS rebinding *from memory*; W3C Content
Security Policy Level 3.
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from drybuild.web.guests import Guest, Guests

COOKIE = "drybuild"
TOKEN_HEADER = "x-drybuild-token"
FREE = ("/static/", "/pair")
"""What a device sees before it was let in."""

BODY = 2_000_000
UPLOAD = 64_000_000
"""Bytes that a form may have, and one with a scan, a picture or a sheet."""

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}

LOOPBACK = ("127.0.0.1", "::1")


@dataclass
class Guard:
    """ASGI middleware. hosts: names with port that the app answers to; share: others may pair."""

    app: ASGIApp
    guests: Guests
    hosts: frozenset[str]
    share: bool = False
    uploads: tuple[str, ...] = field(default=("/upload",))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            return  # there are none; an upgrade is not answered
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        refusal = self._refused(request)
        if refusal is not None:
            await _with_headers(refusal)(scope, receive, send)
            return
        guest = self.guests.known(request.cookies.get(COOKIE))
        fresh = None
        if guest is None and _from_here(scope):
            guest = fresh = self.guests.here()
        if guest is None and not request.url.path.startswith(FREE):
            wanted = RedirectResponse("/pair", 303) if self.share else _no(403, "not paired")
            await _with_headers(wanted)(scope, receive, send)
            return
        scope["state"] = {**scope.get("state", {}), "guest": guest, "guests": self.guests}
        body = await self._body(request, receive)
        if isinstance(body, Response):
            await _with_headers(body)(scope, receive, send)
            return
        if _changes(request) and guest is not None and not self._own_form(request, body, guest):
            no = _no(403, "the form is not from this page: load it again and send it once more")
            await _with_headers(no)(scope, receive, send)
            return
        await self.app(scope, _replayed(body, receive), _dressed(send, fresh))

    def _refused(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if host not in self.hosts:
            return _no(421, "this app does not answer to that name")
        if not self.share and not _from_here(request.scope):
            return _no(403, "this app is for this machine only")
        if _changes(request):
            told = request.headers.get("origin") or request.headers.get("referer") or ""
            if told and urlsplit(told).netloc != host:
                return _no(403, "sent from another page")
            if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
                return _no(403, "sent from another page")
        return None

    async def _body(self, request: Request, receive: Receive) -> bytes | Response:
        if not _changes(request):
            return b""
        most = UPLOAD if request.url.path.startswith(self.uploads) else BODY
        told = request.headers.get("content-length", "0")
        if not told.isdigit() or int(told) > most:
            return _no(413, f"at most {most:,} bytes are taken here")
        chunks, size = [], 0
        while True:
            message = await receive()
            if message["type"] != "http.request":
                return _no(400, "the rest did not arrive")
            chunk = message.get("body", b"")
            size += len(chunk)
            if size > most:
                return _no(413, f"at most {most:,} bytes are taken here")
            chunks.append(chunk)
            if not message.get("more_body"):
                return b"".join(chunks)

    def _own_form(self, request: Request, body: bytes, guest: Guest) -> bool:
        wanted = self.guests.form_token(guest)
        told = request.headers.get(TOKEN_HEADER)
        if told is None and request.headers.get("content-type", "").startswith(
            ("application/x-www-form-urlencoded", "multipart/form-data")
        ):
            # The token is the first field of every form of ours, so that no form is parsed here.
            told = wanted if wanted.encode() in body[:4096] else ""
        return hmac.compare_digest((told or "").encode(), wanted.encode())


def _changes(request: Request) -> bool:
    return request.method not in ("GET", "HEAD", "OPTIONS")


def _from_here(scope: Scope) -> bool:
    client = scope.get("client")
    return client is not None and client[0] in LOOPBACK


def _no(status: int, words: str) -> PlainTextResponse:
    return PlainTextResponse(words + "\n", status)


def _with_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers[name] = value
    return response


def _replayed(body: bytes, receive: Receive) -> Receive:
    """The body that was read, once more for the page."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Message:
        return waiting.pop() if waiting else await receive()

    return again


def _dressed(send: Send, fresh: Guest | None) -> Callable[[Message], Awaitable[None]]:
    """Adds the headers to an answer, and the cookie of a browser that is new here."""

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            present: list[Any] = list(message.get("headers", []))
            names = {name.lower() for name, _ in present}
            present += [
                (k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in names
            ]
            if fresh is not None:
                present.append((b"set-cookie", cookie(fresh).encode()))
            message = {**message, "headers": present}
        await send(message)

    return dressed


def cookie(guest: Guest) -> str:
    """The header that gives a browser its session."""
    return f"{COOKIE}={guest.token}; Path=/; HttpOnly; SameSite=Strict"
