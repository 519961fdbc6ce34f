"""A corner: its section, its travel, and sliders that answer while they move."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BeforeValidator

from drybuild.build import Change, State, UnknownName
from drybuild.build.editing import EditRefused
from drybuild.examine import Examination
from drybuild.examine.catalogue.moved import moves
from drybuild.examine.partly import examine_corner
from drybuild.examine.written import change_text
from drybuild.show.doubt_before import doubt_before
from drybuild.show.section import Section, corner_section, frame_of, gap_words, growth_words
from drybuild.show.section_drawing import draw_section
from drybuild.show.sentences import headline, margin_text
from drybuild.show.travel import corner_travel, draw_travel
from drybuild.show.tyre_grows import grows_text
from drybuild.show.what_fits import moved_sentence
from drybuild.values import with_minus
from drybuild.web.drafts import begin
from drybuild.web.figures import plain_figure
from drybuild.web.frame import Frame, framed, sentence
from drybuild.web.tried import Slider, changes, draft_title, sliders

router = APIRouter()

Axle = Literal["front", "rear"]
Side = Literal["left", "right"]
Figure = Annotated[float | None, BeforeValidator(plain_figure), Query(ge=-1000, le=1000)]
Typed = Annotated[float | None, BeforeValidator(plain_figure), Form(ge=-1000, le=1000)]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "to the draft"},
    403: {"description": "not for this device"},
    404: {"description": "no such state"},
    409: {"description": "nothing was changed, or the car does not take it"},
}

NOT_COVERED = (
    "At rest and through travel, straight ahead. Full lock is not covered, and what lies between "
    "the measured points is not known."
)


def _asked(
    offset: Figure = None,
    rim: Figure = None,
    tyre: Figure = None,
    camber: Figure = None,
    drop: Figure = None,
) -> dict[str, float | None]:
    return {"offset": offset, "rim": rim, "tyre": tyre, "camber": camber, "drop": drop}


Asked = Annotated[dict[str, float | None], Depends(_asked)]
"""What the sliders say, each by its name; None: it has not been moved."""


@router.get("/corner/{axle}/{side}", response_class=HTMLResponse, responses={404: SAID[404]})
def corner(request: Request, axle: Axle, side: Side, state: str = "finished") -> HTMLResponse:
    """One corner as it is in a state."""
    frame = framed(request, state)
    where = f"{axle}.{side}"
    start = _state(frame)
    examination = frame.desk.corner(start, where)
    content = _content(frame, start, where, ())
    return frame.page(
        "corner.html.j2",
        axle=axle,
        side=side,
        sliders=sliders(examination, where),
        others=[(a, s) for a in ("front", "rear") for s in ("left", "right")],
        not_covered=NOT_COVERED,
        **content,
    )


@router.get("/corner/{axle}/{side}/tried", response_class=HTMLResponse, responses={404: SAID[404]})
def tried(
    request: Request,
    axle: Axle,
    side: Side,
    asked: Asked,
    state: str = "finished",
) -> HTMLResponse:
    """The picture and the gaps with these figures, while a slider moves."""
    frame = framed(request, state)
    start, where = _state(frame), f"{axle}.{side}"
    made = changes(_sliders(frame, start, where), asked)
    content = _content(frame, start, where, made)
    return HTMLResponse(frame.fragment("corner_tried.html.j2", **content))


@router.get("/corner/{axle}/{side}/moves", response_class=HTMLResponse, responses={404: SAID[404]})
def what_moves(
    request: Request,
    axle: Axle,
    side: Side,
    asked: Asked,
    state: str = "finished",
) -> HTMLResponse:
    """What else these figures move in the whole car, when a slider has come to rest."""
    frame = framed(request, state)
    start, where = _state(frame), f"{axle}.{side}"
    made = changes(_sliders(frame, start, where), asked)
    said = _moved(frame, start, axle, made) if made else "nothing was moved"
    return HTMLResponse(frame.fragment("corner_moves.html.j2", said=said))


@router.post("/corner/{axle}/{side}/draft", status_code=303, responses=SAID)
def keep_as_draft(
    request: Request,
    axle: Axle,
    side: Side,
    state: Annotated[str, Form(max_length=60)] = "finished",
    title: Annotated[str, Form(max_length=60)] = "",
    offset: Typed = None,
    rim: Typed = None,
    tyre: Typed = None,
    camber: Typed = None,
    drop: Typed = None,
) -> Response:
    """Write what the sliders say down as a draft, beside the real build."""
    frame = framed(request, state, role="edit")
    start, where = _state(frame), f"{axle}.{side}"
    asked = {"offset": offset, "rim": rim, "tyre": tyre, "camber": camber, "drop": drop}
    made = changes(_sliders(frame, start, where), asked)
    if not made:
        raise HTTPException(409, "nothing was moved: there is nothing to keep")
    words = draft_title(title.strip(), made)
    try:
        name = begin(frame.desk.folder, words, made)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/drafts/{name}", 303)


def _state(frame: Frame) -> State:
    try:
        return frame.desk.state(frame.state)
    except UnknownName as error:
        raise HTTPException(404, str(error)) from None


def _sliders(frame: Frame, start: State, where: str) -> tuple[Slider, ...]:
    return sliders(frame.desk.corner(start, where), where)


def _content(
    frame: Frame, start: State, where: str, made: tuple[Change, ...]
) -> dict[str, Any]:
    """What is drawn and said of a corner with these Changes."""
    units = frame.opened.build.head.units
    before = frame.desk.corner(start, where)
    after = before
    if made:
        after = examine_corner(start.after(made, "draft:tried"), frame.opened.registry, where)
    section, was = corner_section(after, where), corner_section(before, where)
    travel = corner_travel(after, where)
    shown = [s for s in (section, was) if s is not None]
    other = [f for f in after.findings if f.stopping and f.subject == where]
    return {
        "where": where.replace(".", " "),
        "section": draw_section(section, units, frame_of(shown)) if section else "",
        "title": f"{section.title}{_tried(before, where, made)}" if section
        else "wheel or tyre are not known",
        "gaps": _rows(section, was, frame) if section else [],
        "growth": growth_words(after, where, units) if section else "",
        "travel": draw_travel(travel, units) if travel else "",
        "stopping": [(headline(f), margin_text(f, units), str(f.verdict)) for f in other],
        "made": [change_text(change) for change in made],
    }


def _tried(before: Examination, where: str, made: tuple[Change, ...]) -> str:
    """What is tried of it, where something is: the marking of its tyre says nothing of that."""
    words = {s.target: s.words.partition(",")[0] for s in sliders(before, where)}
    said = [f"{words.get(c.target, c.target)} {with_minus(str(c.value))}" for c in made]
    return f"; tried: {', '.join(said)}" if said else ""


def _rows(
    section: Section, was: Section | None, frame: Frame
) -> list[tuple[str, str, str, str, str]]:
    """Letter, name, gap, verdict and what it was, a row a gap."""
    units = frame.opened.build.head.units
    before = {g.name: g for g in was.gaps} if was is not None else {}
    rows = []
    for gap in section.gaps:
        old = before.get(gap.name)
        said, now = gap_words(gap, units), ""
        if old is not None and gap_words(old, units) != said:
            now = f"was {gap_words(old, units).partition(';')[0]}"
        rows.append((gap.letter, gap.name, said, str(gap.finding.verdict), now))
    return rows


def _moved(frame: Frame, start: State, axle: str, made: tuple[Change, ...]) -> str:
    before = frame.desk.examination(start, unknowns=False)
    tried_on = start.after(made, "draft:tried")
    after = frame.desk.examination(tried_on, unknowns=False)
    units = frame.opened.build.head.units
    said = moved_sentence(moves(before, after, axle), units)
    if not said:
        return "nothing else that is watched"
    grows = sentence(grows_text(before, after, axle, units))
    return ". ".join([said, *filter(None, [grows]), *doubt_before(frame.opened, start, made)])
