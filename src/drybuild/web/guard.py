"""What every request passes before a page sees it, and what every answer carries.

The app answers to its own names only (a page elsewhere must not reach it through the name of its
own host), takes changes only from its own pages, and lets no page run or load anything that is not
the app's own. Sources: OWASP cheat sheets on CSRF and DNS rebinding *from memory*; W3C Content
Security Policy Level 3; RFC 6265bis on cookies *from memory*.
"""

from __future__ import annotations

import asyncio
import hmac
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from drybuild.web.guests import Guest, Guests

COOKIE = "drybuild"
TOKEN_HEADER = "x-drybuild-token"

BODY = 1_000_000
"""Bytes that a form may have."""
PAIRING = 4_096
"""And the form of a device that nobody has let in yet."""
UPLOADS: Mapping[str, int] = MappingProxyType(
    {"/book/calibrator": 700_000, "/photographs": 12_100_000}
)
"""And one that brings a file, by its path; the file itself has a limit of its own."""

FORM_WITHIN = 20.0
"""Seconds in which a form must have arrived as a whole."""

SLOWEST = 100_000
"""Bytes a second that a file comes with at the least: a phone at the end of a garage."""

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
    uploads: Mapping[str, int] = field(default_factory=lambda: UPLOADS)
    form_within: float = field(default_factory=lambda: FORM_WITHIN)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})  # there are none
            return
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        refusal = self._refused(request)
        if refusal is not None:
            await _with_headers(refusal)(scope, receive, send)
            return
        brought = request.cookies.get(cookie_name(request), "")
        guest = self.guests.known(brought)
        fresh = None
        if guest is None and _from_here(scope):
            guest = fresh = self.guests.here(brought)
        refusal = self._not_let_in(request, guest)
        if refusal is not None:
            await _with_headers(refusal)(scope, receive, send)
            return
        scope["state"] = {**scope.get("state", {}), "guest": guest, "guests": self.guests}
        body = await self._body(request, receive, guest)
        if isinstance(body, Response):
            body.headers["connection"] = "close"  # the rest of it is not read
            await _with_headers(body)(scope, receive, send)
            return
        if guest is not None and not self.guests.stands(guest):  # taken back while it was sent
            await _with_headers(_no(403, "this device was taken out"))(scope, receive, send)
            return
        if _changes(request) and guest is not None and not self._own_form(request, body, guest):
            no = _no(403, "the form is not from this page: load it again and send it once more")
            await _with_headers(no)(scope, receive, send)
            return
        given = cookie(fresh, request) if fresh is not None else ""
        await self.app(scope, _replayed(body, receive), _dressed(send, given, _sealed(request)))

    def _refused(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if host not in self.hosts:
            return _no(421, "this app does not answer to that name")
        if not self.share and not _from_here(request.scope):
            return _no(403, "this app is for this machine only")
        site = request.headers.get("sec-fetch-site", "same-origin")
        if _changes(request):
            told = request.headers.get("origin") or request.headers.get("referer") or ""
            if told and _origin(told) != (request.url.scheme, host):
                return _no(403, "sent from another page")
            if site not in ("same-origin", "none"):
                return _no(403, "sent from another page")
        elif site not in ("same-origin", "none") and not _followed(request):
            return _no(403, "asked for by another page")
        return None

    def _not_let_in(self, request: Request, guest: Guest | None) -> Response | None:
        if guest is None and not _free(request.url.path):
            return RedirectResponse("/pair", 303) if self.share else _no(403, "not paired")
        if _changes(request) and guest is not None and request.url.path != "/pair":
            # Each page asks for the role that it needs; one that forgot is held here.
            return None if guest.may("cards") else _no(403, "this device may look, and no more")
        return None

    async def _body(
        self, request: Request, receive: Receive, guest: Guest | None
    ) -> bytes | Response:
        if not _changes(request):
            return b""
        path = request.url.path
        most = PAIRING if guest is None else self.uploads.get(path, BODY)
        told = request.headers.get("content-length", "0")
        if not (told.isascii() and told.isdigit() and int(told[:20]) <= most):
            return _no(413, f"at most {most:,} bytes are taken here")
        try:
            async with asyncio.timeout(self._within(path, int(told), guest)):
                return await _arrived(receive, most)
        except TimeoutError:
            return _no(408, "the form did not arrive in time: send it once more")

    def _within(self, path: str, size: int, guest: Guest | None) -> float:
        """Seconds for a form to arrive; a file has more, by its size."""
        brings_file = guest is not None and path in self.uploads
        return self.form_within + (size / SLOWEST if brings_file else 0.0)

    def _own_form(self, request: Request, body: bytes, guest: Guest) -> bool:
        wanted = self.guests.form_token(guest)
        told = request.headers.get(TOKEN_HEADER)
        if told is None and request.headers.get("content-type", "").startswith(
            ("application/x-www-form-urlencoded", "multipart/form-data")
        ):
            # The token is the first field of every form of ours, so that no form is parsed here.
            told = wanted if wanted.encode() in body[:4096] else ""
        return hmac.compare_digest((told or "").encode("utf-8", "replace"), wanted.encode())


async def _arrived(receive: Receive, most: int) -> bytes | Response:
    """The whole body, or why not."""
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


def _free(path: str) -> bool:
    """What a device sees before it was let in."""
    return path == "/pair" or path.startswith("/static/")


def _changes(request: Request) -> bool:
    return request.method not in ("GET", "HEAD", "OPTIONS")


def _followed(request: Request) -> bool:
    """Whether somebody followed a link here, rather than a page elsewhere loading it unseen."""
    mode, dest = (request.headers.get(f"sec-fetch-{part}", "") for part in ("mode", "dest"))
    return mode == "navigate" and dest in ("document", "")


def _origin(told: str) -> tuple[str, str]:
    try:
        parts = urlsplit(told)
    except ValueError:
        return "", ""
    return parts.scheme, parts.netloc


def _from_here(scope: Scope) -> bool:
    client = scope.get("client")
    return client is not None and client[0] in LOOPBACK


def _sealed(request: Request) -> bool:
    """Whether the link is encrypted."""
    return request.url.scheme == "https"


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


def _dressed(send: Send, given: str, sealed: bool) -> Callable[[Message], Awaitable[None]]:
    """Adds the headers to an answer, and the cookie of a browser that is new here."""

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            present: list[Any] = list(message.get("headers", []))
            names = {name.lower() for name, _ in present}
            present += [
                (k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in names
            ]
            if given:
                present.append((b"set-cookie", given.encode()))
            if sealed:
                present = [_secured(name, value) for name, value in present]
            message = {**message, "headers": present}
        await send(message)

    return dressed


def _secured(name: bytes, value: bytes) -> tuple[bytes, bytes]:
    """A header; a cookie that was given on an encrypted link never goes over another."""
    if name.lower() == b"set-cookie" and b"; secure" not in value.lower():
        return name, value + b"; Secure"
    return name, value


def cookie_name(request: Request) -> str:
    """Browsers tell ports of one machine apart for pages, and not for cookies: two builds that are
    served beside each other must not take each other's.
    """
    port = request.headers.get("host", "").rpartition(":")[2]
    name = f"{COOKIE}-{port}" if port.isdigit() else COOKIE
    return f"__Host-{name}" if _sealed(request) else name


def cookie(guest: Guest, request: Request) -> str:
    """The header that gives a browser its session."""
    flags = "Path=/; HttpOnly; SameSite=Strict" + ("; Secure" if _sealed(request) else "")
    return f"{cookie_name(request)}={guest.token}; {flags}"
