"""What comes back: a sheet that was filled in, or a journal as text; shown before it is noted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build.editing import EditRefused, one_at_a_time
from drybuild.examine.naming import plain_name
from drybuild.examine.noting import IN_HAND, present_words
from drybuild.examine.sheets import FormRefused, take_in
from drybuild.examine.written import written_text
from drybuild.journal import EntryRefused, TextRefused
from drybuild.journal.plain import is_text
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import is_day
from drybuild.web.pages.records import receipt_of
from drybuild.web.remembered import remember, remembered
from drybuild.web.uploads import (
    MOST_BYTES,
    Busy,
    Came,
    UploadRefused,
    Waiting,
    in_worker,
    label,
    plain_text,
)

router = APIRouter()

Short = Annotated[str, Form(max_length=60)]
Day = Annotated[str, Form(max_length=20)]

EXPECTED = "a sheet or a journal as Drybuild wrote it out, filled in, as text"

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the journal that says so"},
    403: {"description": "not for this device"},
    409: {"description": "not taken: the page says all that is amiss"},
    413: {"description": "more than a sheet has"},
    503: {"description": "other files are being read"},
}
SHOWN = {code: said for code, said in SAID.items() if code != 303}


@router.get("/book/calibrator", response_class=HTMLResponse, responses={403: SAID[403]})
def ask(request: Request) -> HTMLResponse:
    """Where a sheet that came back is brought in."""
    return _page(framed(request))


@router.post("/book/calibrator", response_class=HTMLResponse, responses=SHOWN)
def bring(
    request: Request, file: Annotated[UploadFile, File()], who: Short = "", day: Day = ""
) -> HTMLResponse:
    """Read a file apart and show what it would write; nothing is written by this."""
    frame = framed(request, role="edit")
    name, typed = label(file.filename or ""), {"who": who.strip(), "day": day.strip()}
    try:
        text = plain_text(file.file.read(MOST_BYTES + 1), expected=EXPECTED)
        found = _read(frame, text, name, **typed)
    except UploadRefused as error:
        return _page(frame, refused=_named(name, error), typed=typed, status=409)
    except Busy as error:
        return _page(frame, refused=str(error), typed=typed, status=503)
    came = Came(text, name, typed["who"], typed["day"], frame.guest.token, found)
    return _page(frame, came=came, mark=waiting(request).keep(came), typed=typed)


@router.post("/book/calibrator/note", status_code=303, responses=SAID)
def note(request: Request, mark: Annotated[str, Form(max_length=64)]) -> Response:
    """Write what was shown, all of it or none."""
    frame = framed(request, role="edit")
    came = waiting(request).take(mark, frame.guest.token)
    if came is None:
        return _page(
            frame, refused="The file is not here any more: bring it once more.", status=409
        )
    try:
        entry = _noted(frame, came)
    except (FormRefused, TextRefused, EntryRefused, EditRefused) as error:
        return _page(frame, refused=_named(came.name, error), status=409)
    except OSError as error:
        said = f"{came.name}: the folder does not take it: {error.strerror}"
        return _page(frame, refused=said, status=409)
    to = receipt_of(entry, came.found.get("part") or "") if entry else "/records"
    answer = RedirectResponse(to, 303)
    if came.who:
        remember(answer, came.who)
    return answer


def _named(name: str, error: Exception) -> str:
    """What is amiss, with the file's name once."""
    said = str(error)
    return said if said.startswith(name) else f"{name}: {said}"


def ahead_text(at: str) -> str:
    """What is asked of a sheet whose day has not come yet; empty of any other."""
    day = at[:10]
    if not day or is_day(day, date.today()):
        return ""
    return (
        f"It says {day}, and today is {date.today()}. Is the day right? If not, leave it, put the "
        "day right in the file and bring it again: it is written down as it stands."
    )


def waiting(request: Request) -> Waiting:
    """The files that wait in the app that a request came to."""
    state = request.app.state
    if not hasattr(state, "waiting"):
        state.waiting = Waiting()
    kept: Waiting = state.waiting
    return kept


def _read(frame: Frame, text: str, name: str, *, who: str, day: str) -> Mapping[str, Any]:
    if is_text(text):
        found: Mapping[str, Any] = in_worker("drybuild.web.upload_jobs:record", text.encode(), {})
        return found
    about = {"folder": str(frame.desk.folder), "name": name, "who": who, "at": day}
    found = in_worker("drybuild.web.upload_jobs:sheet", text.encode(), about)
    return found


def _noted(frame: Frame, came: Came) -> int:
    """Write it; the number of the entry that says so. The very text was read apart before."""
    with one_at_a_time:
        opened = frame.desk.opened()
        if came.found["kind"] == "journal":
            opened.journal.take_in(came.text)
            return opened.journal.head().entries
        return take_in(opened, came.text, name=came.name, who=came.who, at=came.at).remark


def _page(
    frame: Frame,
    *,
    came: Came | None = None,
    mark: str = "",
    refused: str = "",
    typed: Mapping[str, str] | None = None,
    status: int = 200,
) -> HTMLResponse:
    usual = {"who": remembered(frame.request), "day": ""}
    return frame.page(
        "taking_in.html.j2",
        status,
        came=came,
        mark=mark,
        refused=refused,
        typed={**usual, **(typed or {})},
        ahead=ahead_text(came.found.get("at") or "") if came is not None else "",
        most=f"{MOST_BYTES // 1000} kB",
        **(_shown(frame, came) if came is not None else {"rows": [], "map_rows": [], "news": 0}),
    )


def _shown(frame: Frame, came: Came) -> dict[str, Any]:
    """What the file would write, in rows of name, what it says, what stands."""
    found = came.found
    if found["kind"] == "journal":
        here = len(frame.opened.journal.entries())
        return {"rows": [], "map_rows": [], "news": max(0, found["entries"] - here)}
    said = {**found["readings"], **found["facts"]}
    rows = [
        (plain_name(a.removeprefix(IN_HAND)), written_text(raw), present_words(frame.opened, a))
        for a, raw in said.items()
    ]
    map_rows = [(key.replace("_", " "), written_text(raw)) for key, raw in found["map"].items()]
    return {"rows": rows, "map_rows": map_rows, "news": 0}
