"""Measuring: what to measure next, how, type it in, and see the doubt shrink."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import StringConstraints

from drybuild.build import BuildFaults, ChangeRefused
from drybuild.build.declared import Declared, declaration, inner_model, is_word
from drybuild.build.editing import EditRefused, one_at_a_time
from drybuild.build.lists import is_list
from drybuild.build.model import Part
from drybuild.build.part_named import called
from drybuild.examine import Measurement
from drybuild.examine.lookup import about, search, takes
from drybuild.examine.measuring import LOOK_UP_FIRST, PAPERS, in_turn, way_for
from drybuild.examine.naming import car_name
from drybuild.examine.not_now import not_now, told_now
from drybuild.examine.noting import (
    IN_HAND,
    Noted,
    NoteRefused,
    Said,
    declared_at,
    each_place,
    note,
    planned_beside,
    present_words,
    taken_at,
    tools_to_choose,
    units_to_choose,
    words_to_choose,
)
from drybuild.examine.opened import OpenBuild
from drybuild.examine.wanting import read_at_places
from drybuild.findings import AXLES, SIDES, Verdict
from drybuild.journal import EntryRefused
from drybuild.show.answers import titles
from drybuild.show.doubt_band import draw_band, narrowed_words, slip_text, spread_at
from drybuild.show.record import back_text, gone_text
from drybuild.show.sentences import (
    in_hand_name,
    measured_name,
    measurement_text,
    refused_text,
    settled_text,
)
from drybuild.show.text import NOTHING_YET, SAY_WHAT, nothing_planned
from drybuild.show.went import went_text
from drybuild.show.where_measured import in_gaps, picture
from drybuild.values import ValueFault, with_point
from drybuild.web.edits import fact_at, write_fact
from drybuild.web.errors import EditClash
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import is_day
from drybuild.web.on_the_way import on_the_way
from drybuild.web.receipts import Receipt, findings_of, receipts
from drybuild.web.remembered import remember, remembered
from drybuild.web.titles_wanting import titles_wanting

router = APIRouter()

Address = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_]+(\.[A-Za-z0-9_-]+)+$", max_length=120)]
Short = Annotated[str, Form(max_length=60)]
Places = Annotated[list[Annotated[str, StringConstraints(max_length=120)]], Form(max_length=40)]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written down; to the page that shows it"},
    403: {"description": "not for this device"},
    404: {"description": "nothing of that name can be measured"},
    409: {"description": "not written down: the page says why"},
}

LOOKED: dict[int | str, dict[str, Any]] = {
    303: {"description": "no reading states it; to the page of its file"}, 404: SAID[404],
}  # fmt: skip

KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "−")
AS_BEFORE = "as it was before"
NOWHERE: list[str] = []
"""No place chosen; nobody adds to it."""
OFF_PAPER = frozenset({"maker", "catalogue", "document", "assumed"})
"""How a figure is known that nobody read on the car."""
MOST_TOOLS = 8
MOST_FOUND = 8
OFTEN = (
    "ride height", "tyre pressure", "camber", "toe", "disc thickness", "spring free length",
    "battery voltage", "odometer",
)  # fmt: skip
"""What is read off cars most often, offered to who has no words yet."""


@router.get("/measure", response_class=HTMLResponse, responses={404: {"description": "no state"}})
def measure(
    request: Request,
    state: str = "finished",
    words: Annotated[str, Query(max_length=120)] = "",
) -> HTMLResponse:
    """What to measure next; and anything else, by the words that one has for it."""
    frame = framed(request, state)
    examination = frame.examination()
    found = told_now(frame.desk.measure_next(examination), frame.opened.present.state)
    waiting = sum(
        f.armed and f.verdict in (Verdict.UNSURE, Verdict.UNMEASURED) for f in examination.findings
    )
    parts = frame.opened.build.parts
    turns = [
        (turn, [_row(m, titles(m.findings, examination), parts) for m in same])
        for turn, same in groupby(in_turn(found), key=lambda m: m.turn)
    ]
    return frame.page(
        "measure.html.j2", turns=turns, waiting=waiting, words=words.strip(), often=OFTEN,
        looked=_looked_up(frame, words.strip()), say_what=SAY_WHAT, on_the_way=on_the_way(frame),
        nothing_yet=NOTHING_YET if nothing_planned(examination) else "",
    )  # fmt: skip


@router.get("/measure/at/{address}", response_class=HTMLResponse, responses=LOOKED)
def at(
    request: Request,
    address: Address,
    receipt: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """One thing to measure: how, where, and the keys to type it in; a list is said in its file."""
    frame = framed(request)
    if is_list(_declared(frame.opened, address)):
        return RedirectResponse(_written_at(address), 303)
    kept = receipts(request).found(receipt)
    shown = kept if kept and kept.address == address else None
    return _page(frame, address, kept=shown, mark=receipt)


@router.post("/measure/at/{address}", status_code=303, responses=SAID)
def write(
    request: Request,
    address: Address,
    reading: Annotated[str, Form(max_length=200)] = "",
    unit: Short = "",
    tool: Short = "",
    instrument: Short = "",
    who: Short = "",
    day: Annotated[str, Form(max_length=20)] = "",
    seen: Annotated[str, Form(max_length=64)] = "",
    place: Places = NOWHERE,
    apart: Annotated[bool, Form()] = False,
    sure: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Write a reading down, as ``drybuild note`` does.

    place: of an address of several places, the address of each at which it was taken; seen: of a
    part in hand, the mark of what its file said: nobody writes over another's unseen; apart: it is
    said that it was read although the car did not stand so that it could be; sure: the reading that
    was asked about, far off all that was guessed: it is so.
    """
    frame = framed(request, role="cards")
    declared = _declared(frame.opened, address)
    typed = {
        "reading": reading, "unit": unit, "tool": tool, "instrument": instrument, "who": who,
        "day": day,
    }  # fmt: skip
    texts = readings(reading, unit if unit in _units(frame.opened, declared, address) else "")
    at, refused = _lacking(frame.opened, address, texts, who, place)
    refused = refused or _meanwhile(frame.opened, address, seen)
    if not refused and not apart and not day.strip() and tool not in OFF_PAPER:
        at, refused = "apart", _while_apart(frame.opened, address, declared)
    if not refused and sure != reading:
        at, refused = "sure", _far_off(frame.opened, _each(frame.opened, address, place), texts)
    if refused:
        return _page(
            frame, address, refused=refused, at=at, typed=typed, chosen=place, status=409
        )  # fmt: skip
    said = Said(texts, who.strip(), tool.strip(), instrument.strip(), day.strip())
    before = {one: spread_at(frame.opened, one) for one in _each(frame.opened, address, place)}
    examined = frame.desk.in_time("finished")
    findings = findings_of(examined) if examined is not None else {}
    was = fact_at(frame.opened, address) if address.startswith(IN_HAND) else None
    try:
        noted = _noted(frame, address, said, seen, place)
    except (NoteRefused, ChangeRefused, EntryRefused, EditRefused) as error:
        why = refused_text(error, address)
        at = "reading" if is_day(day, date.today()) else "day"
        at = "" if isinstance(error, EditRefused) else at
        return _page(frame, address, refused=why, at=at, typed=typed, chosen=place, status=409)
    made = Receipt(
        address, ", ".join(texts), who.strip(), noted, before, findings, was,
        _mark(frame.desk.opened(), address), opened=None if findings else frame.opened,
    )  # fmt: skip
    mark = receipts(request).keep(made)
    answer = RedirectResponse(f"/measure/at/{address}?receipt={mark}", 303)
    remember(answer, who)
    return answer


@router.post("/measure/back", status_code=303, responses=SAID)
def back(
    request: Request, receipt: Annotated[str, Form(max_length=40)] = "", who: Short = ""
) -> Response:
    """Write what stood in a part's file again, unless somebody changed it since."""
    frame = framed(request, role="cards")
    kept = receipts(request).found(receipt)
    if kept is None or kept.was is None:
        raise HTTPException(404, "nothing is kept of that reading any more")
    was = kept.was
    try:
        write_fact(frame.desk, kept.address, was.raw, seen=kept.mark, comment=was.said or AS_BEFORE)
    except (EditClash, EditRefused, ChangeRefused, BuildFaults) as error:
        return _page(frame, kept.address, refused=refused_text(error, kept.address), status=409)
    mark = receipts(request).keep(replace(kept, taken_back=True))
    answer = RedirectResponse(f"/measure/at/{kept.address}?receipt={mark}", 303)
    remember(answer, who)
    return answer


def readings(typed: str, unit: str) -> tuple[str, ...]:
    """Readings as somebody types them: apart by a semicolon or a new line, the unit said once."""
    pieces = (with_point(piece.strip().replace("−", "-")) for piece in re.split(r"[;\n]", typed))
    plain = re.compile(r"^[-+]?[0-9.,/ ]+(\s*(±|\+/-)\s*[0-9.,]+)?$")
    return tuple(
        f"{piece} {unit}" if unit and plain.match(piece) else piece for piece in pieces if piece
    )


def _lacking(
    opened: OpenBuild, address: str, texts: tuple[str, ...], who: str, place: list[str]
) -> tuple[str, str]:
    """The field that says too little, and what is said of it; two empty texts where none does."""
    each = [where for where, _ in each_place(opened, address)]
    if each and not set(place) & set(each):
        return "place", "Choose where you took the reading."
    if not texts:
        return "reading", "Type what you read."
    return ("", "") if who.strip() else ("who", "Say who took the reading.")


def _noted(
    frame: Frame, address: str, said: Said, seen: str, place: list[str]
) -> tuple[Noted, ...]:
    """Write it. A part's file is looked at once more, when nobody else of the app writes it."""
    if not address.startswith(IN_HAND):
        return note(frame.opened, address, said, place)
    with one_at_a_time:
        opened = frame.desk.opened()
        refused = _meanwhile(opened, address, seen)
        if refused:
            raise NoteRefused(refused)
        return note(opened, address, said)


def _while_apart(opened: OpenBuild, address: str, declared: Declared) -> str:
    """The one question, where it could not be read on the car as it stands; else nothing."""
    where = declared.address if not address.startswith(IN_HAND) else ""
    why = not_now(where, opened.present.state) if where else ""
    return f"As the car stands it cannot be read: {why}. Was it read all the same?" if why else ""


def _far_off(opened: OpenBuild, each: tuple[str, ...], texts: tuple[str, ...]) -> str:
    """What is asked once of readings far off all that was guessed; empty of any other, and of what
    cannot be read."""
    system = opened.build.head.units
    try:
        asked = (slip_text(spread_at(opened, e), text, system) for e in each for text in texts)
        return next(filter(None, asked), "")
    except ValueFault:
        return ""


def _meanwhile(opened: OpenBuild, address: str, seen: str) -> str:
    """What is said where the file of a part in hand says another thing than the form saw."""
    if not seen or seen == _mark(opened, address):
        return ""
    return (
        f"It was changed meanwhile: the file says {_filed(opened, address) or 'nothing'} now. "
        "Look at it, and write yours down once more if it is the right one."
    )


def _mark(opened: OpenBuild, address: str) -> str:
    found = fact_at(opened, address) if address.startswith(IN_HAND) else None
    return found.mark if found is not None else ""


def _each(opened: OpenBuild, address: str, place: list[str]) -> tuple[str, ...]:
    """What is written: each place that was chosen, where the address is of several."""
    return (address,) if address.startswith(IN_HAND) else taken_at(opened, address, place)


def _filed(opened: OpenBuild, address: str) -> str | None:
    """What the part's file said, as text for the form that takes a reading back."""
    if not address.startswith(IN_HAND):
        return None
    found = fact_at(opened, address)
    return found.text if found is not None else None


def _declared(opened: OpenBuild, address: str) -> Declared:
    declared = declared_at(opened, address)
    if declared is None or inner_model(declared.field.annotation) is not None:
        raise HTTPException(404, f"nothing is measured at {address!r}")
    if takes(declared).startswith("a curve"):
        raise HTTPException(404, f"{address!r} is a curve: it is written in its file")
    return declared


def _row(m: Measurement, bears_on: str, parts: Mapping[str, Part]) -> dict[str, str]:
    return {
        "name": measured_name(m, parts), "line": measurement_text(m, parts),
        "how": m.how, "doc": m.doc, "not_now": m.not_now,
        "settles": settled_text(m), "bears_on": bears_on, "at": m.note_as,
    }  # fmt: skip


def _looked_up(frame: Frame, words: str) -> list[dict[str, str]]:
    """What the words may mean, the likeliest first."""
    if not words:
        return []
    rows = []
    for found in search(frame.opened, words)[:MOST_FOUND]:
        declared = found.entry.declared
        if takes(declared).startswith("a curve"):
            continue
        meaning = "; ".join(said for said in (about(declared), declared.doc) if said)
        address = found.entry.address
        rows.append({
            "name": _named(frame.opened, declared, address), "doc": meaning,
            "now": present_words(frame.opened, address),
            "at": _written_at(address) if is_list(declared) else f"/measure/at/{address}",
        })  # fmt: skip
    return rows


def _written_at(address: str) -> str:
    """The page that says it in the file, of what no reading states."""
    return f"/set?address={address}"


def _page(
    frame: Frame,
    address: str,
    *,
    kept: Receipt | None = None,
    mark: str = "",
    refused: str = "",
    at: str = "",
    typed: dict[str, str] | None = None,
    chosen: list[str] = NOWHERE,
    status: int = 200,
) -> HTMLResponse:
    """The page. at: the field that the refusal is about, or empty; chosen: the places ticked."""
    opened = frame.opened
    declared = _declared(opened, address)
    system = opened.build.head.units
    units, each = _units(opened, declared, address), each_place(opened, address)
    way = way_for(declared, address, opened.present.state.fitted.values())
    tools = tools_to_choose(declared)
    if way is LOOK_UP_FIRST or (way is not None and way.tool == PAPERS):
        first = PAPERS if PAPERS in tools else "maker"  # what papers say was measured with nothing
        tools = (first, *(tool for tool in tools if tool != first))
    seen = frame.desk.in_time("finished" if address.startswith(IN_HAND) else "now", unknowns=False)
    title, svg, growth = "", "", ""
    letters: tuple[tuple[str, str], ...] = ()
    if seen is not None:
        others = [declaration(one) for one, _ in each[1:]]
        title, svg = picture(
            seen, declared, *(one for one in others if one is not None),
            outline=opened.build.outline, system=system,
        )  # fmt: skip
        if not each:
            letters, growth = in_gaps(seen, declared, system)
    usual = {"unit": units[0] if units else "", "tool": tools[0], "who": remembered(frame.request)}
    return frame.page(
        "measure_at.html.j2",
        status,
        address=address,
        named=_named(opened, declared, address),
        doc="; ".join(said for said in (about(declared), declared.doc) if said),
        how=way.how if way is not None and declared.measure else "",
        minutes=way.minutes if way is not None and declared.measure else 0,
        takes=takes(declared),
        present=present_words(opened, address), read_there=read_at_places(opened, address),
        picture_title=title,
        picture=svg,
        letters=letters,
        growth=growth,
        units=units,
        tools=tools[:MOST_TOOLS],
        other_tools=tools[MOST_TOOLS:],
        choices=words_to_choose(declared) if is_word(declared) else (),
        word=is_word(declared),
        keys=KEYS,
        not_now="" if address.startswith(IN_HAND)
        else not_now(declared.address, opened.present.state),
        places=_places(address) or each,
        each=[(one, words, one in chosen) for one, words in each],
        refused=refused,
        amiss_at=at,
        seen=_mark(opened, address),
        typed={"reading": "", "instrument": "", "day": "", **usual, **(typed or {})},
        written=_written(frame, kept, mark) if kept is not None else None,
        stamped=declared.stamped,
    )


def _named(opened: OpenBuild, declared: Declared, address: str) -> str:
    """What is measured, as the list of what to measure has it."""
    if not address.startswith(IN_HAND):
        return car_name(address, opened.build.parts)
    part = opened.build.parts[address.split(".")[1]]
    return in_hand_name(declared.address, address, called(part))


def _units(opened: OpenBuild, declared: Declared, address: str) -> tuple[str, ...]:
    """Units that are offered, by how large it may be."""
    now = spread_at(opened, address)
    return units_to_choose(opened, declared, max(abs(now.low), abs(now.high)) if now else 0.0)


def _places(address: str) -> list[tuple[str, str]]:
    """The same at the other side, or at each where the address is of several."""
    words = address.split(".")
    if words[0] == "part":
        return []
    others = []
    for index, word in enumerate(words[1:3], 1):
        if word in SIDES:
            for side in SIDES:
                others.append((".".join([*words[:index], side, *words[index + 1 :]]), side))
    axle = next((w for w in words[1:3] if w in AXLES), "")
    return [(where, f"{axle} {side}".strip()) for where, side in others]


def _written(frame: Frame, kept: Receipt, mark: str) -> dict[str, Any]:
    """What the page says of the readings that were just written."""
    opened, system = frame.opened, frame.opened.build.head.units
    rows = []
    for one in kept.noted:
        before, after = kept.spreads.get(one.address), spread_at(opened, one.address)
        rows.append({
            "named": _named(opened, _declared(opened, one.address), one.address),
            "before": one.before, "after": one.after,
            "band": draw_band(before, after, system) if after is not None else "",
            "narrowed": narrowed_words(before, after),
        })  # fmt: skip
    return {
        "rows": rows, "said": kept.said, "file": next((n.file for n in kept.noted if n.file), ""),
        "settled": _settled(frame, kept), "planned": planned_beside(opened, kept.noted),
        "was": (kept.was.text if kept.was else "") or "nothing", "who": kept.who, "mark": mark,
        "wanted": titles_wanting(frame, kept),
        **_taken_back(opened, kept),
    }  # fmt: skip


def _taken_back(opened: OpenBuild, kept: Receipt) -> dict[str, Any]:
    """Entries of what was typed that one button takes back, and those that are taken back."""
    standing = {e.id for e in opened.journal.standing()}
    entries = [one.entry for one in kept.noted if one.entry]
    gone = [e for e in entries if e not in standing]
    kept_still = [e for e in entries if e in standing]
    return {
        "entries": kept_still, "back": back_text(kept_still), "gone": gone_text(gone),
        "all_gone": kept.taken_back or bool(gone and not kept_still),
    }  # fmt: skip


def _settled(frame: Frame, kept: Receipt) -> list[str] | None:
    """How far findings of the finished car went by it, in words.

    None while the latest is not examined: others were writing at the same time. Then the page loads
    again by itself; what was before is examined after it, where that was not done by then.
    """
    examined = frame.desk.in_time("finished")
    if examined is None:
        return None
    before = kept.findings
    if kept.opened is not None:
        before = findings_of(frame.desk.examine(kept.opened, "finished", unknowns=False))
    return went_text(before, examined, frame.opened.build.head.units)
