"""What somebody reads where a page cannot be shown: words on a page of ours, or data for a program.

A browser says that it wants a page; whoever does not gets JSON or plain text.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exception_handlers import (
    http_exception_handler,
    request_validation_exception_handler,
)
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.exceptions import HTTPException

from drybuild.build import BuildFaults, ChangeRefused
from drybuild.build.worded import in_one_line
from drybuild.journal import JournalProblem
from drybuild.web.errors import EditClash
from drybuild.web.frame import environment
from drybuild.web.kept import came_from, typed
from drybuild.web.navigation import IN_SIGHT, MORE, links

HEADS = {
    403: "Not for this device", 404: "There is no such page here", 405: "That cannot be done here",
    409: "Not done", 422: "That was not understood", 500: "The build cannot be shown",
}  # fmt: skip
OTHER = "That did not work"
BROKEN = "This page cannot be shown"
OURS = (
    "Drybuild met something that it does not know how to deal with ({kind}). The fault is in "
    "Drybuild, not in what you did. What was written down before stays written down. The terminal "
    "in which it was started says more; the other pages go on."
)
UNREADABLE = "the form that was sent cannot be read: it is cut off, or has too many fields"
NOT_TAKEN = "It was not taken"
NOT_KNOWN = "Whether it was taken is not known: the records show what is written down"
PLAIN = {"Not Found": "", "Method Not Allowed": ""}
"""What the libraries say of themselves, in our words: nothing beyond the heading."""


def add_refusals(app: FastAPI) -> None:
    """Answer every error of the pages in words."""
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _not_understood)
    for kind, status in (
        (BuildFaults, 500), (JournalProblem, 500), (ChangeRefused, 409), (EditClash, 409),
    ):  # fmt: skip
        app.add_exception_handler(kind, _in_words(status))
    app.add_exception_handler(Exception, _broken)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 400:
        return await _unreadable(request, error)
    leads_elsewhere = 300 <= error.status_code < 400
    if leads_elsewhere or not _wants_page(request):
        return await http_exception_handler(request, error)
    said = str(error.detail)
    return _page(request, error.status_code, PLAIN.get(said, said))


async def _unreadable(request: Request, error: Exception) -> Response:
    """A form that is no form: like one with fields that are not understood, and in our words."""
    assert isinstance(error, HTTPException)
    if not _wants_page(request):
        fault = {"type": "value_error", "loc": ["body"], "msg": UNREADABLE, "input": None}
        return JSONResponse({"detail": [fault]}, 422)
    return _page(request, 422, UNREADABLE)


async def _not_understood(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    if not _wants_page(request):
        told = [{**one, "msg": _said_of(one)} for one in error.errors()]
        return await request_validation_exception_handler(request, RequestValidationError(told))
    lines = [_amiss(one) for one in error.errors()]
    return _page(request, 422, "\n".join(lines[:20]))


def _amiss(fault: dict[str, Any]) -> str:
    """What is wrong with one field, in words of ours."""
    name = str(fault["loc"][-1]).replace("_", " ").replace("-", " ")
    return f"{name}: {_said_of(fault)}"


def _said_of(fault: dict[str, Any]) -> str:
    asked = fault.get("ctx") or {}
    said = {
        "missing": "not said",
        "string_too_long": f"too long, {asked.get('max_length')} letters at the most",
        "string_too_short": f"too short, {asked.get('min_length')} letters at the least",
        "string_pattern_mismatch": "no name that there is here",
        "int_parsing": "no whole number",
        "int_from_float": "no whole number",
    }.get(fault["type"])
    return said or in_one_line({**fault, "loc": ()})


async def _broken(request: Request, error: Exception) -> Response:
    """What nobody foresaw: a page like the others, and the whole of it in the terminal."""
    said = OURS.format(kind=type(error).__name__)
    if not _wants_page(request):
        return PlainTextResponse(f"{said}\n", 500)
    leads = (("/records#journal", "What is written down"),)
    return _page(request, 500, said, head=BROKEN, taken=NOT_KNOWN, leads=leads)


def _in_words(status: int) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, error: Exception) -> Response:
        if _wants_page(request):
            return _page(request, status, str(error))
        return PlainTextResponse(f"{error}\n", status)

    return answer


def _wants_page(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "")


def _page(
    request: Request, status: int, said: str, *, head: str = "", taken: str = NOT_TAKEN,
    leads: tuple[tuple[str, str], ...] = (),
) -> HTMLResponse:  # fmt: skip
    """taken: what is said of what was typed; leads: where else it goes on, with words."""
    page = environment().get_template("refused.html.j2").render(
        head=head or HEADS.get(status, OTHER), lines=said.splitlines(), typed=_typed(request),
        back=came_from(request) if request.method == "POST" else "", taken=taken, leads=leads,
        navigation=links(IN_SIGHT, request.url.path), more=links(MORE, request.url.path),
    )  # fmt: skip
    return HTMLResponse(page, status)


def _typed(request: Request) -> list[tuple[str, str]]:
    """What was typed, where it can be read: a form that cannot be is refused for that."""
    try:
        return typed(request)
    except ValueError:
        return []
