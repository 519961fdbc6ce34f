"""One work session: a row per person, the cards, and the car as it is left."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, HTTPException, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse

from drybuild.show.cards_words import clock, hands_text, work_text
from drybuild.show.duties import duty_lines
from drybuild.show.hours import NO_BREAKS
from drybuild.show.left_words import left_lines
from drybuild.show.opened_car import opened_narrow_svg, opened_svg
from drybuild.show.planning import NO_CARD
from drybuild.show.to_set import axle_lines
from drybuild.show.work_list import ahead_text, brief, people_text, when_text
from drybuild.show.work_sheet import sheet_svg
from drybuild.show.work_supposed import first_session_line
from drybuild.web.frame import framed
from drybuild.web.pages.work import SAID, work_of
from drybuild.web.workshop import Work
from drybuild.work.model import Session

router = APIRouter()

Name = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_-]+$", max_length=60)]


@router.get("/work/session/{session}", response_class=HTMLResponse, responses={404: SAID[404]})
def day(request: Request, session: Name) -> HTMLResponse:
    """The sheet of a session."""
    frame = framed(request, "now")
    work = work_of(frame)
    known = {s.id: s for s in work.sessions()}
    if not known:
        raise HTTPException(404, NO_CARD)
    if session not in known:
        raise HTTPException(404, f"nothing is planned for {session!r}; for: {', '.join(known)}")
    days, sheets = list(known), work.sheets
    at = days.index(session)
    problem, units = sheets.todo.problem, frame.opened.build.head.units
    return frame.page(
        "work_session.html.j2",
        title=known[session].title,
        when=when_text(problem, known[session]),
        people=people_text(known[session]),
        ahead=_ahead(work, session),
        no_breaks=NO_BREAKS,
        duties=duty_lines(sheets, session, work.so_far.done),
        supposed=first_session_line(work.planned.plan, session),
        sheet=sheet_svg(sheets, session, system=units),
        to_set=axle_lines((c for c in work.cards if c.session == session), units),
        opened_car=opened_svg(sheets, session),
        opened_narrow=opened_narrow_svg(sheets, session),
        left=left_lines(sheets, session),
        end=brief(sheets.ends[session], work.cards, most=6),
        rows=_rows(work, known[session]),
        cards=_cards(work, session),
        before=days[at - 1] if at else "",
        after=days[at + 1] if at + 1 < len(days) else "",
    )


def _ahead(work: Work, session: str) -> str:
    card = next((c for c in work.cards if c.session == session and work.left(c)), None)
    return ahead_text(card.start, work.days_ahead(card)) if card is not None else ""


def _cards(work: Work, session: str) -> list[dict[str, object]]:
    return [
        {
            "number": card.number, "title": card.title, "at": clock(card.start),
            "hands": hands_text(card), "hours": work_text(card),
            "done": not work.left(card),
        }
        for card in work.cards
        if card.session == session
    ]  # fmt: skip


def _rows(work: Work, session: Session) -> list[tuple[str, list[tuple[str, int, str, bool]]]]:
    """Person by person what the sheet shows, as text: time, card, task, whether it is done."""
    titles = {t.step: (c.number, t.title) for c in work.cards for t in c.tasks}
    at = work.sheets.todo.problem.at
    rows = []
    for person in session.people:
        mine = [s for s in work.planned.plan.of(session.id) if person.name in s.who]
        rows.append((
            person.name,
            [(clock(at(s.start)), *titles[s], work.done(s) is not None) for s in mine],
        ))  # fmt: skip
    return rows
