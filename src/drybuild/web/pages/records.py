"""The records: what each use still needs, the journal with undo and corrections, the export."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from pydantic import Field

from drybuild.build import ChangeRefused
from drybuild.build.state import read_setting
from drybuild.examine import Owed, UseState
from drybuild.examine.naming import plain_name
from drybuild.examine.noting import Said, as_written, declared_at
from drybuild.examine.recording import RecordIncomplete, verification
from drybuild.examine.written import written_text
from drybuild.journal import EntryRefused
from drybuild.show.cards_words import EARLY, resting_text
from drybuild.show.record import EntryRow, chain_text, entry_rows, ticked_text
from drybuild.show.sentences import free_text, hold_texts, use_reason
from drybuild.show.text import records_owed
from drybuild.web.frame import Frame, framed
from drybuild.web.remembered import remember, remembered
from drybuild.web.workshop import workshop
from drybuild.work.cards import number_of
from drybuild.work.ticked import ticked
from drybuild.work.titles import task_titles

router = APIRouter()

Numbers = Annotated[
    list[Annotated[int, Field(ge=1, le=2**40)]], Form(min_length=1, max_length=40)
]  # fmt: skip
Short = Annotated[str, Form(max_length=60)]
Long = Annotated[str, Form(max_length=400)]
Back = Annotated[
    str,
    Form(
        max_length=160,
        pattern=r"^/(records|book|work/cards/[0-9]{1,5}|measure/at/[A-Za-z0-9_.-]+"
        r"(\?receipt=[0-9a-f]{1,40})?)$",
    ),
]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written down; to the page"},
    403: {"description": "not for this device"},
    404: {"description": "no such state or record"},
    409: {"description": "not written down: the page says why"},
}


@router.get("/records", response_class=HTMLResponse, responses={404: SAID[404]})
def records(
    request: Request,
    state: str = "now",
    written: Annotated[int | None, Query(ge=1, le=2**40)] = None,
) -> HTMLResponse:
    """What each use still needs, and the journal. written: the entry that was written just now."""
    return _page(framed(request, state), written=written)


@router.get(
    "/records/journal.txt",
    response_class=PlainTextResponse,
    responses={403: SAID[403]},
)
def export(request: Request) -> PlainTextResponse:
    """The whole journal as text, that another copy of the build can take in."""
    frame = framed(request)
    named = f'attachment; filename="journal-{date.today().isoformat()}.txt"'
    return PlainTextResponse(frame.opened.journal.export(), headers={"content-disposition": named})


@router.post("/records/verify", status_code=303, responses=SAID)
def verify(
    request: Request,
    record: Annotated[str, Form(max_length=80)],
    value: Long = "",
    tool: Short = "",
    who: Short = "",
    second: Short = "",
    ahead: Annotated[bool, Form()] = False,
) -> Response:
    """Write a hand check down: value, tool and name, and who else saw it where two must. ahead:
    whoever sends it was told that what its work rests on is open."""
    frame = framed(request, "now", role="cards")
    spec = frame.opened.registry.records.get(record)
    if spec is None:
        raise HTTPException(404, f"no hand check {record!r}")
    typed = {"value": value, "tool": tool, "who": who, "second": second}
    try:
        change = verification(spec, name=who, value=value, tool=tool, second=second)
        frame.opened.present.state.after([change])
        work = workshop(request).ready(frame.opened)
        resting = work.open_for_any(record) if work is not None and not ahead else ()
        if work is not None and resting:
            said = f"{resting_text(resting, work.cards)}. {EARLY}. If it is so all the same"
            return _page(
                frame, refused=f"{said}, press once more", about=record, typed=typed, asked=True,
                status=409,
            )  # fmt: skip
        entry = frame.opened.journal.did([change], who=who.strip())
    except (RecordIncomplete, ChangeRefused, EntryRefused) as error:
        lacks = (*error.lacking, "second")[0] if isinstance(error, RecordIncomplete) else "value"
        return _page(frame, refused=str(error), about=record, at=lacks, typed=typed, status=409)
    return _receipt(entry.id, who)


@router.post("/records/undo", status_code=303, responses=SAID)
def undo(
    request: Request, entry: Numbers, who: Short = "", why: Long = "", back: Back = "/records"
) -> Response:
    """Take entries back, each by a further one that names it; they stay readable."""
    frame = framed(request, "now", role="cards")
    try:
        undone = frame.opened.journal.undo_each(entry, who=who.strip(), why=why.strip())
    except EntryRefused as error:
        return _page(frame, refused=str(error), about=f"entry-{entry[0]}", status=409)
    return _receipt(undone[-1].id, who, back)


@router.post("/records/correct", status_code=303, responses=SAID)
def correct(
    request: Request,
    entry: Numbers,
    who: Short = "",
    why: Long = "",
    reading: Long = "",
    day: Annotated[str, Form(max_length=20)] = "",
    by: Short = "",
) -> Response:
    """Write what an entry should have said, and what was written with it: its reading, its date,
    its name."""
    frame = framed(request, "now", role="cards")
    try:
        with frame.opened.journal.together() as journal:
            corrected = [
                journal.correct(
                    one, _corrected(frame, one, reading.strip()), who=who.strip(),
                    why=why.strip(), dated=day.strip(), by=by.strip(),
                )
                for one in entry
            ]  # fmt: skip
    except (EntryRefused, ChangeRefused) as error:
        return _page(frame, refused=str(error), about=f"entry-{entry[0]}", status=409)
    return _receipt(corrected[-1].id, who)


@router.post("/records/remark", status_code=303, responses=SAID)
def remark(request: Request, words: Long = "", who: Short = "") -> Response:
    """Write something worth remembering."""
    frame = framed(request, "now", role="cards")
    try:
        entry = frame.opened.journal.remark(words.strip(), who=who.strip())
    except EntryRefused as error:
        return _page(frame, refused=str(error), about="remark", status=409)
    return _receipt(entry.id, who)


def receipt_of(entry: int, map_part: str = "") -> str:
    """The page of the records, with what was written there last at its head; map_part: the map
    that came with it."""
    came = f"&map={map_part}" if map_part else ""
    return f"/records?written={entry}{came}#written"


def _receipt(entry: int, who: str, back: str = "/records") -> Response:
    answer = RedirectResponse(receipt_of(entry) if back == "/records" else back, 303)
    remember(answer, who)
    return answer


def _corrected(frame: Frame, entry: int, reading: str) -> dict[str, Any]:
    """The new reading as the journal has it, with the tool that was said at first."""
    if not reading:
        return {}
    wrong = next((e for e in frame.opened.journal.entries() if e.id == entry), None)
    if wrong is None or wrong.kind != "reading":
        raise EntryRefused(f"entry {entry} is no reading")
    address = str(wrong.body["address"])
    said = wrong.body["raw"] if isinstance(wrong.body["raw"], dict) else {}
    tool, instrument = str(said.get("by", "")), str(said.get("tool", ""))
    texts = tuple(piece.strip() for piece in reading.split(";") if piece.strip())
    declared = declared_at(frame.opened, address)
    raw = as_written(declared, Said(texts, wrong.who, tool, instrument))
    if isinstance(raw, dict) and not said:
        raw = raw["is"]
    read_setting(address, raw)
    return {"raw": raw}


def _page(
    frame: Frame,
    *,
    refused: str = "",
    about: str = "",
    at: str = "",
    typed: dict[str, str] | None = None,
    written: int | None = None,
    asked: bool = False,
    status: int = 200,
) -> HTMLResponse:
    examination = frame.examination()
    journal = frame.opened.journal
    entries, chain = journal.entries(), journal.verify()
    titles = task_titles(frame.opened.build, journal.work())
    rows = entry_rows(entries, {e.id for e in journal.standing()}, titles,
                      frame.opened.build.part_names)  # fmt: skip
    now = frame.desk.examination("now", unknowns=False)
    due = {o.record for u in now.uses for o in u.records_owed}
    owed = records_owed(examination)
    standing = {f"entry-{n}" for row in rows if row.stands for n in row.numbers}
    about = about if about in due | standing | {"remark"} else ""
    usual = {"value": "", "tool": "", "second": "", "who": remembered(frame.request)}
    return frame.page(
        "records.html.j2",
        status,
        uses=[_use(u) for u in examination.uses],
        owed=[(o, ", ".join(map(plain_name, o.places[:4]))) for o in owed],
        due=due,
        rows=list(reversed(rows)),
        chain=chain_text(chain),
        broken=chain.fault is not None,
        receipt=_written(frame, rows, written),
        refused=refused,
        about=about,
        amiss_at=at,
        asked=asked,
        typed={**usual, **(typed or {})},
        written=written_text,
        ticked=_ticked(frame, [o for o in owed if o.record in due]),
    )


def _ticked(frame: Frame, owed: list[Owed]) -> dict[str, dict[str, str]]:
    """By record: what its card's task says of it, and what that fills into the form."""
    work = workshop(frame.request).ready(frame.opened)
    done = {e.id: step for step, e in work.so_far.done.items()} if work is not None else {}
    titles = task_titles(frame.opened.build)
    found = {}
    for record, one in ticked(frame.opened, owed).items():
        spec = frame.opened.registry.records[record]
        number = number_of(work.cards, done.get(one.work.id)) if work is not None else None
        found[record] = {
            "said": ticked_text(one, titles, number, spec.evidence, two=spec.second_person),
            "value": one.value, "tool": one.tool, "who": one.who, "second": one.second,
        }  # fmt: skip
    return found


def _written(frame: Frame, rows: list[EntryRow], entry: int | None) -> dict[str, Any] | None:
    """What was written just now; of a hand check also what it held, and what still does."""
    row = next((r for r in rows if entry in r.numbers), None)
    if row is None:
        return None
    body = row.entry.body
    changes = body["changes"] if row.entry.kind == "deed" else ()
    specs = frame.opened.registry.records
    checks = [specs[c["target"]] for c in changes if c["kind"] == "verify" and c["target"] in specs]
    held = list(dict.fromkeys(use for spec in checks for use in spec.stops))
    return {"entry": entry, "text": row.text, "releases": held, **_map_next(frame)}


def _map_next(frame: Frame) -> dict[str, str]:
    """The map that came with what was written, and the job that fits one; empty where none did."""
    build, part = frame.opened.build, frame.request.query_params.get("map", "")
    if getattr(build.parts.get(part), "kind", "") != "map":
        return {"map": "", "map_job": ""}
    return {"map": part, "map_job": next((j.id for j in build.jobs if "map" in j.fit), "")}


def _use(use: UseState) -> dict[str, Any]:
    return {
        "use": use.use,
        "reason": use_reason(use),
        "free": free_text(use),
        "holds": hold_texts(h for h in use.holds if not h.through),
        "owed": [o.title for o in use.records_owed],
    }
