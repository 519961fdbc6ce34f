"""One fact of the files: its value, its doubt, how it is known, where it stands; and editing it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import BuildFaults, ChangeRefused, State, UnknownName
from drybuild.build.declared import inner_model, is_word
from drybuild.build.editing import EditRefused
from drybuild.build.lists import is_list, list_typed
from drybuild.examine import Examination
from drybuild.examine.aimed import GIVEN
from drybuild.examine.curve_points import (
    Axes,
    CurveRefused,
    axes_of,
    doubt_of,
    read_rows,
    rows_of,
    through,
)
from drybuild.examine.lookup import Present, about, takes
from drybuild.examine.naming import OWNERS_WORD, plain_name
from drybuild.examine.noting import (
    IN_HAND,
    declared_at,
    each_place,
    present_words,
    tool_meant,
    tools_to_choose,
    words_to_choose,
)
from drybuild.examine.opened import OpenBuild
from drybuild.examine.wanting import read_at_places, resting
from drybuild.examine.written import written_text
from drybuild.findings import Finding, Verdict
from drybuild.show.sentences import headline, margin_text, refused_text
from drybuild.values import ValueFault, methods_for, typed_number, typed_whole
from drybuild.web.edits import FactAt, fact_at, noted_at, write_fact
from drybuild.web.errors import EditClash
from drybuild.web.frame import Frame, framed
from drybuild.web.new_part import hows

router = APIRouter()

PATTERN = r"^[A-Za-z0-9_]+(\.[A-Za-z0-9_-]+)+$"
Address = Annotated[str, Query(pattern=PATTERN, max_length=120)]
Posted = Annotated[str, Form(pattern=PATTERN, max_length=120)]
StateName = Annotated[str, Form(max_length=60)]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written into the file; to the page that shows it"},
    403: {"description": "not for this device"},
    404: {"description": "nothing is stated there"},
    409: {"description": "not written: changed meanwhile, or not what the key takes"},
}

MOST_FINDINGS = 12
GUESSED = re.compile(r"from memory\b|a guess\b")
"""How what stands beside a figure begins that nobody had stated."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A curve in its form: the points, their doubt, and the one point that it is to go through."""

    axes: Axes
    points: str
    doubt: str
    at: str = ""
    value: str = ""


@router.get("/set", response_class=HTMLResponse, responses={404: SAID[404]})
def look(
    request: Request,
    address: Address,
    state: str = "now",
    written: Annotated[bool, Query()] = False,
) -> HTMLResponse:
    """A fact as it stands, and the form that changes it; of several places, each of them."""
    frame = framed(request, state)
    each = each_place(frame.opened, address)
    return _places(frame, address, each) if each else _page(frame, address, done=written)


@router.post("/set/curve", status_code=303, responses=SAID)
def curve(
    request: Request,
    address: Posted,
    seen: Annotated[str, Form(max_length=64)] = "",
    points: Annotated[str, Form(max_length=10_000)] = "",
    doubt: Annotated[str, Form(max_length=40)] = "",
    at: Annotated[str, Form(max_length=80)] = "",
    value: Annotated[str, Form(max_length=80)] = "",
    by: Annotated[str, Form(pattern=r"^([a-z ]{1,40})?$")] = "",
    state: StateName = "now",
) -> Response:
    """Write a curve: by its points, a row a point; or in the shape that is there, through one."""
    frame = framed(request, state, role="edit")
    found = _fact(frame, address)
    axes = axes_of(found.declared, found.raw)
    if axes is None:
        raise HTTPException(404, f"{address} is no curve")
    one, comment = bool(at.strip() or value.strip()), ""
    drawn = Drawn(axes, points, doubt, at, value)
    try:
        if one:
            raw, laid = through(found.declared, found.raw, at, value, by=by, known="catalogue")
            comment = f"{laid}, as before"
        else:
            raw = read_rows(axes, points, doubt, by)
        write_fact(frame.desk, address, raw, seen=seen, state=state, comment=comment)
    except EditClash as clash:
        return _page(framed(request, state), address, clash=clash, drawn=drawn, status=409)
    except CurveRefused as error:
        return _page(frame, address, refused=str(error), drawn=drawn, status=409)
    except (ChangeRefused, BuildFaults, EditRefused) as error:
        said = refused_text(error, address)
        return _page(frame, address, refused=said, drawn=drawn, status=409)
    return RedirectResponse(f"/set?address={address}&state={state}&written=true", 303)


@router.post("/set", status_code=303, responses=SAID)
def change(
    request: Request,
    address: Posted,
    seen: Annotated[str, Form(max_length=64)] = "",
    value: Annotated[str, Form(max_length=1000)] = "",
    by: Annotated[str, Form(max_length=60)] = "",
    state: StateName = "now",
    out: Annotated[bool, Form()] = False,
    none: Annotated[bool, Form()] = False,
) -> Response:
    """Write one key of a file, if it says what the form saw; comments and the rest stay.

    none: of a list, that there is nothing to name.
    """
    frame = framed(request, state, role="edit")
    each = each_place(frame.opened, address)
    if each:
        return _places(frame, address, each, status=409)
    found = _fact(frame, address)
    if not _editable(found):
        return _page(frame, address, refused="It is changed in its file.", status=409)
    if none and value.strip():
        said = "Found both a list and that there is none; expected one of the two."
        return _page(frame, address, refused=said, typed=value, status=409)
    raw = None if out else raw_of(found, value.strip(), by.strip(), none=none)
    if raw is None and not out:
        return _page(frame, address, refused="Type what it is, or take it out.", status=409)
    try:
        other = _same_as(found)
        was = f"was the same as {other}" if other and not out else ""
        if not out and found.path[0] in OWNERS_WORD and found.said.startswith(GIVEN):
            was = "as its owner says"  # no longer what a new folder was given
        known = by.strip() not in ("", "assumed")
        if not out and not was and known and GUESSED.match(found.said):
            was = f"as stated, {date.today().isoformat()}"  # no guess any more
        write_fact(frame.desk, address, raw, seen=seen, state=state, comment=was)
    except EditClash as clash:
        return _page(framed(request, state), address, clash=clash, typed=value, status=409)
    except (ChangeRefused, BuildFaults, EditRefused) as error:
        said = refused_text(error, address)
        return _page(frame, address, refused=said, typed=value, status=409)
    query = f"address={address}&state={state}&written=true"
    return RedirectResponse(f"/set?{query}", 303)


def raw_of(found: FactAt, value: str, by: str, *, none: bool = False) -> Any:
    """What is typed in the shape that the file has it in; None for nothing.

    A number stays a number, a table keeps its other keys. none: an empty list, of what is a list.
    """
    if is_list(found.declared):
        return list_typed(found.declared, value) if value or none else None
    if not value:
        return None
    by = tool_meant(found.declared, by) if by else by
    old, new = found.raw, _plain(found, value)
    if isinstance(old, dict) and "is" in old:
        kept = {k: v for k, v in old.items() if k not in ("is", "by", "plus_minus")}
        return {"is": new, **({"by": by} if by else {}), **kept}
    return {"is": new, "by": by} if by else new


def _plain(found: FactAt, value: str) -> Any:
    plain = value.replace("−", "-")
    pieces = [piece.strip() for piece in plain.split(";") if piece.strip()]
    if is_word(found.declared):
        if plain in ("yes", "no") and words_to_choose(found.declared) == ("yes", "no"):
            return plain == "yes"
        return int(plain) if plain.lstrip("-").isdigit() and plain.isascii() else value
    if len(pieces) > 1:
        return pieces
    if isinstance(found.raw, int | float) and not isinstance(found.raw, bool):
        try:
            return typed_number(plain) if re.search(r"[.,e]", plain, re.I) else typed_whole(plain)
        except ValueFault:
            return plain
    return plain


def _state(frame: Frame) -> State:
    try:
        return frame.desk.state(frame.state)
    except (UnknownName, ChangeRefused) as error:
        raise HTTPException(404, str(error)) from None


def _fact(frame: Frame, address: str) -> FactAt:
    found = fact_at(frame.opened, address, _state(frame))
    if found is None:
        raise HTTPException(404, f"nothing is stated at {address!r}, or no part is fitted there")
    return found


def _places(
    frame: Frame, address: str, each: list[tuple[str, str]], *, status: int = 200
) -> HTMLResponse:
    """What is at several places is stated at each by itself: the one meant is chosen first."""
    declared = declared_at(frame.opened, address)
    return frame.page(
        "set_where.html.j2", status, named=plain_name(address), each=each,
        doc=declared.doc if declared is not None else "",
    )  # fmt: skip


def _page(
    frame: Frame,
    address: str,
    *,
    refused: str = "",
    clash: EditClash | None = None,
    typed: str = "",
    drawn: Drawn | None = None,
    done: bool = False,
    status: int = 200,
) -> HTMLResponse:
    found = _fact(frame, address)
    opened = frame.opened
    seen = _seen_in(frame, address)
    return frame.page(
        "set.html.j2",
        status,
        address=address,
        named=plain_name(address.removeprefix(IN_HAND)),
        noted_at=noted_at(opened, found),
        fact=found,
        keys=".".join(found.path),
        doc="; ".join(s for s in (about(found.declared), found.declared.doc) if s),
        takes=takes(found.declared),
        present=_stands(frame, address),
        over=_over(opened, found, address, frame),
        value=typed or _value_text(found.raw, lists=is_list(found.declared)),
        by=found.raw.get("by", "") if isinstance(found.raw, dict) else "",
        tools=tools_to_choose(found.declared),
        choices=words_to_choose(found.declared) if is_word(found.declared) else (),
        editable=_editable(found),
        drawn=drawn or _drawn(found),
        ways=ways_of(axes) if (axes := axes_of(found.declared)) else (),
        same_as=plain_name(_same_as(found)) if _same_as(found) else "",
        wished=found.path[0] in OWNERS_WORD,
        lists=is_list(found.declared),
        a_word=is_word(found.declared),
        empty=found.raw == [],
        refused=refused,
        clash=clash,
        done=done,
        seen=seen,
        findings=_findings(frame, address, seen),
    )


def _stands(frame: Frame, address: str) -> str:
    if address.startswith(IN_HAND):
        return present_words(frame.opened, address)
    present = Present(frame.opened, frame.opened.build.head.units)
    declared = declared_at(frame.opened, address)
    where = declared.address if declared is not None else address
    return present.at(where, _state(frame))


def _value_text(raw: Any, *, lists: bool = False) -> str:
    if raw is None:
        return ""
    if isinstance(raw, dict):
        doubt = f" ± {raw['plus_minus']}" if "plus_minus" in raw else ""
        return f"{_value_text(raw['is'])}{doubt}" if "is" in raw else ""
    if isinstance(raw, list):
        return "\n".join(map(str, raw)) if lists else "; ".join(map(str, raw))
    return written_text(raw)


def _editable(found: FactAt) -> bool:
    """Curves have a form of their own, and tables are written in the file."""
    table = inner_model(found.declared.field.annotation) is not None
    if table or takes(found.declared).startswith("a curve"):
        return False
    return not isinstance(found.raw, dict) or "is" in found.raw or bool(_same_as(found))


def ways_of(axes: Axes) -> tuple[str, ...]:
    """How the points of a curve may be known, those that a seller is asked for first."""
    return tuple(dict.fromkeys((*hows(), *methods_for(axes.y_kind))))


def _drawn(found: FactAt) -> Drawn | None:
    """The curve that stands there, to be changed point by point; None of what is no curve."""
    axes = axes_of(found.declared, found.raw)
    return Drawn(axes, rows_of(axes, found.raw), doubt_of(found.raw)) if axes else None


def _same_as(found: FactAt) -> str:
    """The address that it takes its figure from; empty where it has one of its own."""
    return str(found.raw.get("same_as", "")) if isinstance(found.raw, dict) else ""


def _over(opened: OpenBuild, found: FactAt, address: str, frame: Frame) -> str:
    """What stands over the file's figure, in words."""
    if address.startswith(IN_HAND):
        read = read_at_places(opened, address)
        return f"Read on the car: {read}; that stands over the file." if read else ""
    state = _state(frame)
    where = found.declared.address
    readings = [r for r in opened.journal.readings() if r.address == where]
    if where in state.readings and readings:
        return f"A reading stands over it: entry {readings[-1].id} of the journal."
    if where in state.settings:
        return "A job, or what was done, sets it to another figure than the file."
    return ""


def _seen_in(frame: Frame, address: str) -> str:
    """The state whose findings rest on it: the finished one of a part that is only planned, and of
    what holds a use back for want of a figure only when all is done."""
    if frame.state != "now":
        return frame.state
    if address.startswith(IN_HAND):
        part = address.split(".")[1]
        planned = frame.desk.state("finished").fitted.values()
        if part not in _state(frame).fitted.values() and part in planned:
            return "finished"
    now, done = frame.in_time(), frame.desk.in_time()
    if now is None or done is None or _stopped_for_want(now, address):
        return frame.state
    return "finished" if _stopped_for_want(done, address) else frame.state


def _stopped_for_want(examination: Examination, address: str) -> bool:
    """Whether a use is stopped by a check that asks for it and cannot be worked out."""
    return any(
        f.stopping and f.verdict is Verdict.UNMEASURED for f in resting(examination, address)
    )


def _findings(frame: Frame, address: str, seen: str) -> list[tuple[Finding, str, str]]:
    """The findings that rest on it in that state or lack it, the heaviest first."""
    examination = frame.in_time() if seen == frame.state else frame.desk.in_time()
    if examination is None:  # the page says that it waits
        return []
    units = frame.opened.build.head.units
    chosen = resting(examination, address)[:MOST_FINDINGS]
    return [(f, headline(f), margin_text(f, units)) for f in chosen]
