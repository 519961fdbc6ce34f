"""Home: what the car may do now, why not more, the next physical action."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from drybuild.examine import Examination
from drybuild.examine.book.records import still_open
from drybuild.show.answers import titles
from drybuild.show.front_page import front_page
from drybuild.show.home_car import draw_narrow, draw_wide, labels
from drybuild.show.sentences import joint_text, use_reason
from drybuild.show.text import counts_text, records_owed, state_words
from drybuild.web.frame import Frame, framed

router = APIRouter()


@router.get("/", response_class=HTMLResponse, responses={404: {"description": "no such state"}})
def home(request: Request, state: str = "finished") -> HTMLResponse:
    """The first page of a build."""
    frame: Frame = framed(request, state)
    examination = frame.examination()
    now = frame.desk.examination("now", unknowns=False)
    opened = frame.opened
    measurements = frame.desk.measure_next(examination)
    page = front_page(examination, measurements, opened.build.head.units)
    # What to do next is of the plan, also while one looks at the car as it stands.
    goal = frame.desk.examination("finished") if examination.is_present else examination
    ahead = front_page(goal, frame.desk.measure_next(goal), opened.build.head.units)
    found = labels(examination, "" if state == "finished" else state)
    return frame.page(
        "home.html.j2",
        when=state_words(examination.state.name),
        today=_uses(now),
        uses=_uses(examination),
        same=examination.is_present,
        joint=joint_text(examination.joint_chance),
        counts=counts_text(examination),
        page=page,
        ahead=ahead,
        bears_on=titles(measurements[0].findings, examination) if measurements else "",
        now_next=_next(now),
        open_job=next((job.title or job.id for job in still_open(opened)), ""),
        owed=records_owed(examination),
        labels=found,
        wide=draw_wide(found, opened.build.outline),
        narrow=draw_narrow(found, opened.build.outline),
        notes=opened.notes(),
    )


def _uses(examination: Examination) -> dict[str, list[tuple[str, str]]]:
    """Uses that nothing recorded stops, and those that are stopped with their reason."""
    rows = [(u.use, use_reason(u), u.allowed) for u in examination.uses]
    return {
        "free": [(use, "") for use, _, allowed in rows if allowed],
        "stopped": [(use, why) for use, why, allowed in rows if not allowed],
    }


def _next(now: Examination) -> dict[str, object] | None:
    """What lifts the first thing that stops the car today; None where nothing does."""
    for use in now.uses:
        for hold in use.holds:
            if not hold.through and hold.do:
                record = hold.kind == "record"
                return {"use": use.use, "why": hold.why, "do": hold.do, "record": record}
    return None
