"""Answers to forms that were refused, kept so that a browser can show them again.

No answer of the app may be stored by a browser, and what came upon a form cannot be asked for a
second time: going back to it, or loading it anew, would end on a page of the browser's own, and
what somebody typed would be gone. A refused form is therefore sent on to the page that it came
from, with the mark of the answer that is kept here; that page holds the form as it was filled.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlencode, urlsplit

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MARK = "refused"
"""What the address of a kept answer has after its question mark."""
MOST = 60
"""Answers that are kept at once; a further one takes the place of the oldest."""
LARGEST = 400_000
"""Bytes that an answer may have to be kept."""

TYPED = "application/x-www-form-urlencoded"
"""What a form is sent as that brings no file."""
MOST_TYPED = 65_536
"""Bytes of such a form that are held while it is answered; of a longer one none are."""

NOT_TYPED = ("token", "mark", "seen", "state")
"""Fields that every form carries by itself."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One refused form's page. whose: the token of the guest who sent it."""

    whose: str
    status: int
    page: bytes


class Kept:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._lock = threading.Lock()
        self._answers: OrderedDict[str, Answer] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        if request.method == "POST":
            await self._form(request, receive, send)
            return
        found = self._found(request)
        if found is None:
            await self.app(scope, receive, send)
            return
        await HTMLResponse(found.page, found.status)(scope, receive, send)

    def _found(self, request: Request) -> Answer | None:
        mark = request.query_params.get(MARK, "") if request.method == "GET" else ""
        with self._lock:
            found = self._answers.get(mark)
        return found if found is not None and found.whose == _whose(request) else None

    async def _form(self, request: Request, receive: Receive, send: Send) -> None:
        """Pass a form on; where it is refused with a page, keep that, and lead to it."""
        back = came_from(request)
        if not back:
            await self.app(request.scope, receive, send)
            return
        held: list[Message] = []
        heard = _heard(request, receive)

        async def look(message: Message) -> None:
            """What is refused is held until it is whole; everything else goes its way."""
            if (message["type"] == "http.response.start" and _refuses(message)) or held:
                held.append(message)
            else:
                await send(message)

        await self.app(request.scope, heard, look)
        if not held:
            return
        page = b"".join(m.get("body", b"") for m in held[1:])
        if len(page) > LARGEST:
            for message in held:
                await send(message)
            return
        mark = self._keep(Answer(_whose(request), held[0]["status"], page))
        there = f"{back}{'&' if '?' in back else '?'}{urlencode({MARK: mark})}"
        await RedirectResponse(there, 303)(request.scope, receive, send)

    def _keep(self, answer: Answer) -> str:
        mark = secrets.token_urlsafe(12)
        with self._lock:
            self._answers[mark] = answer
            while len(self._answers) > MOST:
                self._answers.popitem(last=False)
        return mark


def _heard(request: Request, receive: Receive) -> Receive:
    """The form, as it comes: a page that refuses it says what was typed.

    A file that is brought in, or a long form, is not held a second time."""
    if not _is_typed(request):
        return receive
    sent = request.scope["state"]["sent"] = bytearray()
    whole = True

    async def heard() -> Message:
        nonlocal whole
        message = await receive()
        body = message.get("body", b"")
        whole = whole and len(sent) + len(body) <= MOST_TYPED
        if whole:
            sent.extend(body)
        else:
            sent.clear()
        return message

    return heard


def _is_typed(request: Request) -> bool:
    return request.headers.get("content-type", "").startswith(TYPED)


def came_from(request: Request) -> str:
    """The page of this app that a browser sent its form from, as an address on it; else empty."""
    told = request.headers.get("referer", "")[:4000]
    if "text/html" not in request.headers.get("accept", ""):
        return ""
    try:
        parts = urlsplit(told)
    except ValueError:
        return ""
    own = (request.url.scheme, request.headers.get("host", ""))
    if (parts.scheme, parts.netloc) != own or not parts.path or parts.path.startswith("//"):
        return ""
    asked = [(k, v) for k, v in parse_qsl(parts.query, keep_blank_values=True) if k != MARK]
    return parts.path + (f"?{urlencode(asked)}" if asked else "")


def typed(request: Request) -> list[tuple[str, str]]:
    """What somebody typed into the form that is being refused, field by field."""
    sent = bytes(getattr(request.state, "sent", b""))
    pairs = parse_qsl(sent.decode("utf-8", "replace"), max_num_fields=200) if sent else []
    return [
        (name.replace("_", " ").replace("-", " "), value)
        for name, value in pairs
        if name not in NOT_TYPED and value.strip()
    ]


def _refuses(start: Message) -> bool:
    kind = next((v for k, v in start.get("headers", []) if k.lower() == b"content-type"), b"")
    return 400 <= start["status"] < 500 and kind.startswith(b"text/html")


def _whose(request: Request) -> str:
    guest = getattr(request.state, "guest", None)
    return guest.token if guest is not None else ""
