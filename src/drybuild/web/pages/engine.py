"""Breathing and fuel: the link that gives out first, the map, the way of the fuel, which fuel."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse

from drybuild.examine import Examination
from drybuild.examine.chain import chain
from drybuild.examine.naming import plain_name, wanted
from drybuild.examine.wanting import wanting
from drybuild.findings import Finding
from drybuild.show.charts import Chart, PageExtraMissing
from drybuild.show.engine_words import fuel_figures, fuels
from drybuild.show.fuel_network import fuel_network
from drybuild.show.sentences import headline, margin_text
from drybuild.web.desk import key_of
from drybuild.web.frame import Frame, framed
from drybuild.web.pictures import HEADERS, Pictures, as_file, slug

router = APIRouter()

Name = Annotated[str, InPath(pattern=r"^[a-z0-9-]{1,80}$")]

SAID: dict[int | str, dict[str, Any]] = {
    403: {"description": "not for this device"},
    404: {"description": "no such state or chart"},
}


@router.get("/engine", response_class=HTMLResponse, responses=SAID)
def engine(request: Request, state: str = "finished", fuel: str = "") -> HTMLResponse:
    """What the engine breathes and burns in a state, and what of it gives out first."""
    frame = framed(request, state)
    examination = frame.examination()
    units = frame.opened.build.head.units
    blends = fuels(examination)
    chosen = fuel if fuel in blends else (blends[-1] if blends else "")
    try:
        drawn, missing = _charts(frame), ""
    except PageExtraMissing as error:
        drawn, missing = (), str(error)
    links = chain(examination)
    return frame.page(
        "engine.html.j2",
        links=[(link, headline(link.finding), margin_text(link.finding, units)) for link in links],
        unknown=[(f, headline(f), margin_text(f, units), _typed_at(examination, f))
                 for link in links for f in link.unknown],
        charts=[(chart, slug(chart.title)) for chart in drawn],
        missing=missing,
        blends=blends,
        fuel=chosen,
        network=fuel_network(examination, chosen, units) if chosen else None,
        figures=fuel_figures(examination, units),
        has={(f.check, f.subject) for f in examination.findings},
    )  # fmt: skip


def _typed_at(examination: Examination, finding: Finding) -> list[tuple[str, str]]:
    """(what is missing, where it is typed): a fact at its own box, a map or curve with its part."""
    found = [(words, f"/measure/at/{at}") for words, at in wanting(examination, finding)]
    if found:
        return found
    fitted = examination.state.fitted
    for missing in wanted(finding.missing):
        for one in missing.split("|"):
            owner = one.removeprefix("base:").rpartition(".")[0]
            if fitted.get(owner):
                said = plain_name(one.removeprefix("base:"))
                found.append((said, f"/parts/{fitted[owner]}"))
                break
    return found


@router.get("/chart/{name}.svg", response_class=Response, responses={
    200: {"content": {"image/svg+xml": {}}, "description": "the chart"}, **SAID,
})  # fmt: skip
def chart(request: Request, name: Name, state: str = "finished") -> Response:
    """One chart of the page, as a picture."""
    frame = framed(request, state)
    try:
        drawn = _charts(frame)
    except PageExtraMissing as error:
        raise HTTPException(404, str(error)) from None
    found = next((c for c in drawn if slug(c.title) == name), None)
    if found is None:
        raise HTTPException(404, f"no chart {name!r} of this car")
    return Response(as_file(found), media_type="image/svg+xml", headers=HEADERS)


def _charts(frame: Frame) -> tuple[Chart, ...]:
    examination = frame.examination()
    state = frame.request.app.state
    if not hasattr(state, "pictures"):
        state.pictures = Pictures()
    kept: Pictures = state.pictures
    return kept.of(examination, key_of(examination.state), frame.opened.build.head.units)
