"""The book and the sheets: what each would hold, what a reader will miss, and the files to take."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, Response

from drybuild.build import BuildProblem, UnknownName
from drybuild.examine.book import Book, imprint, make_book
from drybuild.examine.book.identity import CALLED, WORDS
from drybuild.examine.book.rules import NEVER_ASSESSED
from drybuild.examine.photographs import kept
from drybuild.examine.sheets import (
    CalibratorSheet,
    calibrator_form,
    calibrator_sheet,
    measuring_form,
    measuring_sheets,
    scrutineer_side,
)
from drybuild.findings import CORNERS, Verdict
from drybuild.show.book_page import book_page
from drybuild.show.book_paper import write_book
from drybuild.show.book_text import lacks
from drybuild.show.cards_paper import write as write_cards
from drybuild.show.cards_words import day_text, fingerprint_text
from drybuild.show.charts import PageExtraMissing
from drybuild.show.planning import NO_CARD
from drybuild.show.sheets import write_calibrator, write_measuring, write_scrutineer
from drybuild.show.since import UNAWARE, changed_words, marked
from drybuild.show.typeset import PaperExtraMissing, PaperRefused
from drybuild.web.frame import Frame, framed
from drybuild.web.remembered import remembered
from drybuild.web.workshop import workshop

router = APIRouter()

Revision = Annotated[str, Query(max_length=24)]
Corner = Literal["", "front.left", "front.right", "rear.left", "rear.right"]
State = Annotated[str, Query(max_length=60)]

PDF = {"content": {"application/pdf": {}}, "description": "the file"}
TEXT = {"content": {"text/plain": {}}, "description": "the file"}
NO_PLAN: dict[int | str, dict[str, Any]] = {
    404: {"description": "there is no plan, and so no card"},
    409: {"description": "it cannot be set: the text says why"},
}
SET: dict[int | str, dict[str, Any]] = {
    404: {"description": "no such state"}, 409: {"description": "it cannot be set: why"},
}  # fmt: skip

TIED_BY = (
    "chassis number, as stamped", "registration plate", "engine number, as stamped",
    "the car from the front left", "the car from the rear right",
)  # fmt: skip
"""What ties a book to a car, to be chosen from."""

ALONE = {
    "content-security-policy": (
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
    )
}
"""The book's page is one file: it has its own style and pictures inside it, and loads nothing."""


@router.get("/book", response_class=HTMLResponse)
def book(request: Request) -> HTMLResponse:
    """What the book would hold today, and every sheet that can be taken."""
    return book_page_of(framed(request))


def book_page_of(
    frame: Frame, *, refused: str = "", at: str = "", typed: dict[str, str] | None = None,
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    """The page. refused: why a photograph was not kept, with what was typed; at: which field."""
    made = _book(frame, "")
    built = [p for p in made.parts if p.changed]
    found = [one.finding for one in made.limits]
    return frame.page(
        "book.html.j2",
        status,
        imprint={
            "revision": made.imprint.revision, "state": made.imprint.state,
            "made": day_text(made.imprint.made),
            "fingerprint": fingerprint_text(made.imprint.fingerprint),
        },
        holds=_holds(made, len(built)),
        counts=[(str(v), sum(f.verdict is v for f in found)) for v in Verdict],
        limits=len(found),
        lacks=lacks(made),
        unsaid=_unsaid(made),
        apart=[job.title or job.id for job in made.still_open],
        paper=_can_set(),
        corners=[(c, c.replace(".", " ")) for c in CORNERS],
        cards=_cards_words(frame),
        photographs=[k for k in kept(frame.opened) if not k.task],
        of_files=frame.opened.build.photographs,
        tied_by=TIED_BY,
        refused=refused,
        amiss_at=at,
        typed={"shows": "", "who": remembered(frame.request), **(typed or {})},
    )  # fmt: skip


def _unsaid(made: Book) -> list[tuple[str, str]]:
    """Where it is written down, and title, of what names the car and nobody stated."""
    stated = {fact.title for fact in made.identity if fact.value}
    read = [
        (f"/measure/at/identity.{name}", title)
        for name, title in WORDS.items() if title not in stated
    ]  # fmt: skip
    codes = [
        (f"/measure/at/{place}.date_code", f"tyre date code, {place.partition('.')[2]}")
        for one in made.parts for place, code in one.codes if not code
    ]  # fmt: skip
    said = [] if made.body_work is not None else [("/set?address=identity.body_work", "body work")]
    if CALLED not in stated:
        read.insert(0, ("/set?address=identity.called", f"{CALLED}, for the head of the book"))
    return [*read, *((where, title.replace(".", " ")) for where, title in codes), *said]


def _can_set() -> bool:
    """Whether the typesetter is installed."""
    try:
        return find_spec("typst") is not None
    except ValueError:  # a module that was put aside
        return False


def _holds(made: Book, built: int) -> list[tuple[str, str]]:
    """The parts of the book, and how much stands in each."""
    stated = [fact for fact in made.identity if fact.value and not fact.assumed]
    new = [one for one in made.documents if not one.standard]
    absent = sum(bool(one.absent) for one in new)
    held = [one for one in made.made if not one.void]
    left_out = len(NEVER_ASSESSED) + len(made.not_assessed)
    left_out += sum(len(one.rules.not_assessed) for one in made.rules)
    rows = [
        ("The car", f"{len(stated)} of {len(made.identity)} marks and numbers that name it, "
         f"{_count(len(made.photographs), 'photograph')}"),
        ("What is on it", f"{_count(built, 'part')} changed, {len(made.parts) - built} as found"),
        ("Limits and what was found", _count(len(made.limits), "limit")),
        ("Readings under these figures", _count(len(made.readings), "reading")),
        ("Rules it was read against", _count(len(made.rules), "rule set")),
        ("Not assessed", _count(left_out, "entry", "entries")),
        ("Documents behind wheels, brakes and structure",
         f"{_count(len(new), 'part')} changed, {absent} without a document; "
         f"{len(made.documents) - len(new)} as found"),
        ("What was done, and by whom",
         f"{_count(len(made.deeds), 'thing')} done, {_count(len(held), 'hand check')} made, "
         f"{len(made.owed)} owed"),
        ("Three signatures", "owner, workshop, engineer: each for its own part"),
        ("How sure", "the chances, in an appendix"),
    ]  # fmt: skip
    return rows


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _cards_words(frame: Frame) -> dict[str, Any]:
    """How many cards there are to print, or why there are none."""
    try:
        work = workshop(frame.request).work(frame.opened)
    except BuildProblem as error:
        return {"count": 0, "why": str(error)}
    if work is None:
        return {"count": 0, "why": "There is no plan yet, and so no card."}
    if not work.cards:
        return {"count": 0, "why": NO_CARD}
    return {"count": len(work.cards), "why": "", "sessions": len(work.sessions())}


def _book(frame: Frame, revision: str) -> Book:
    opened = frame.opened
    return make_book(opened, revision=revision.strip(), system=opened.build.head.units)


@router.get("/book/build-book.pdf", responses={200: PDF, **SET})
def as_pdf(request: Request, revision: Revision = "") -> Response:
    """The book to keep."""
    frame = framed(request)
    made = _book(frame, revision)
    system = frame.opened.build.head.units
    return _pdf(frame, "build-book", lambda path: write_book(path, made, system=system))


@router.get("/book/build-book.html", response_class=HTMLResponse, responses=SET)
def as_page(request: Request, revision: Revision = "", take: bool = False) -> Response:
    """The book as one page that needs nothing else. take: as a file, not to read here."""
    frame = framed(request)
    try:
        page = book_page(_book(frame, revision), system=frame.opened.build.head.units)
    except PageExtraMissing as error:
        raise HTTPException(409, str(error)) from None
    headers = {**ALONE, **(_named(frame, "build-book", "html") if take else {})}
    return HTMLResponse(page, headers=headers)


@router.get("/book/measuring.pdf", responses={200: PDF, **SET})
def measuring(request: Request, corner: Corner = "") -> Response:
    """The measuring sheets, of the whole car or of one corner."""
    frame = framed(request)
    opened = frame.opened
    sheets = measuring_sheets(
        opened, corners=(corner,) if corner else CORNERS, system=opened.build.head.units
    )
    printed = imprint(opened, datetime.now())
    name = f"measuring-{corner.replace('.', '-')}" if corner else "measuring"
    return _pdf(frame, name, lambda path: write_measuring(path, sheets, printed))


@router.get("/book/measuring.toml", responses={200: TEXT})
def measuring_as_text(request: Request) -> Response:
    """The same to fill in as text, for who types rather than writes."""
    frame = framed(request)
    opened, printed = frame.opened, imprint(frame.opened, datetime.now())
    sheets = measuring_sheets(opened, system=opened.build.head.units)
    text = measuring_form(
        sheets, build=printed.build, state=printed.state, fingerprint=printed.fingerprint
    )
    return _text(frame, "measuring", text)


@router.get("/book/calibrator.pdf", responses={200: PDF, **SET})
def calibrator(request: Request, state: State = "finished") -> Response:
    """What the map is written for, to read."""
    frame = framed(request, state)
    sheet = _for_the_calibrator(frame)
    system = frame.opened.build.head.units
    return _pdf(frame, "calibrator", lambda path: write_calibrator(path, sheet, system))


@router.get("/book/calibrator.toml", responses={200: TEXT, **SET})
def calibrator_as_text(request: Request, state: State = "finished") -> Response:
    """The form that the calibrator fills in and sends back."""
    frame = framed(request, state)
    return _text(frame, "calibrator", calibrator_form(_for_the_calibrator(frame)))


def _for_the_calibrator(frame: Frame) -> CalibratorSheet:
    try:
        return calibrator_sheet(frame.opened, state=frame.state)
    except UnknownName as error:  # a draft is none: no map is written for what is only tried
        raise HTTPException(404, str(error)) from None


@router.get("/book/scrutineer.pdf", responses={200: PDF, **SET})
def scrutineer(request: Request) -> Response:
    """The scrutineer's one side."""
    frame = framed(request)
    side, system = scrutineer_side(frame.opened), frame.opened.build.head.units
    return _pdf(frame, "scrutineer", lambda path: write_scrutineer(path, side, system))


@router.get("/book/cards.pdf", responses={200: PDF, **NO_PLAN})
def cards(
    request: Request, session: Annotated[str, Query(max_length=60)] = "", tags: bool = False
) -> Response:
    """Cards, day sheets and hold tags of the kept plan; tags: the hold tags alone."""
    frame = framed(request)
    try:
        work = workshop(frame.request).work(frame.opened)
    except BuildProblem as error:
        raise HTTPException(409, str(error)) from None
    if work is None:
        raise HTTPException(404, "there is no plan yet, and so no card")
    if not work.cards:
        raise HTTPException(404, NO_CARD)
    system = frame.opened.build.head.units
    changed = changed_words(work.planned, work.so_far, frame.opened)
    sheets = marked(work.sheets, f"{UNAWARE}: {'; '.join(changed)}" if changed else "")

    def write(path: Path) -> str:
        if tags:
            return write_cards(path, sheets, only=("tags",), session=session, system=system)
        return write_cards(path, sheets, session=session, system=system)

    return _pdf(frame, "tags" if tags else "cards", write)


def _pdf(frame: Frame, name: str, write: Callable[[Path], str]) -> Response:
    """A PDF, set aside and read back. One that is not of the kind to keep is named so."""
    with tempfile.TemporaryDirectory(prefix="drybuild-") as aside:
        path = Path(aside) / "made.pdf"
        try:
            note = write(path)
        except (PaperExtraMissing, PaperRefused) as error:
            raise HTTPException(409, str(error)) from None
        data = path.read_bytes()
    headers = _named(frame, f"{name}-plain" if note else name, "pdf")
    return Response(data, media_type="application/pdf", headers=headers)


def _text(frame: Frame, name: str, text: str) -> Response:
    headers = _named(frame, name, "toml")
    return Response(text, media_type="text/plain; charset=utf-8", headers=headers)


def _named(frame: Frame, name: str, form: str) -> dict[str, str]:
    folder = re.sub(r"[^A-Za-z0-9_-]+", "-", frame.folder).strip("-")[:40] or "build"
    return {"content-disposition": f'attachment; filename="{folder}-{name}.{form}"'}
