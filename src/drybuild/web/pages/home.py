"""Home: what may the car do, why not more, the next physical action."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from drybuild.show.sentences import joint_text, use_reason
from drybuild.show.text import CAUTION, counts_text, first_items, state_words, today_text
from drybuild.web.frame import Frame, framed

router = APIRouter()


@router.get("/", response_class=HTMLResponse)
def home(request: Request, state: str = "finished") -> HTMLResponse:
    """The first page of a build."""
    frame: Frame = framed(request, state)
    examination = frame.examination()
    now = frame.desk.examination("now", unknowns=False)
    system = frame.opened.build.head.units
    items = first_items(examination, frame.desk.measure_next(examination), system, frame.folder)
    return frame.page(
        "home.html.j2",
        when=state_words(examination.state.name),
        uses=[(u, use_reason(u)) for u in examination.uses],
        today="" if examination.is_present else today_text(now),
        joint=joint_text(examination.joint_chance),
        counts=counts_text(examination),
        first=items,
        notes=frame.opened.notes(),
        caution=CAUTION,
    )
