"""Parts: what is fitted and in hand, adding one, comparing two in sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build import BuildFaults, ChangeRefused, Fault, State, UnknownName, part_named
from drybuild.build.declared import HEAD_FIELDS, Declared, declared_addresses, inner_model
from drybuild.build.editing import EditRefused
from drybuild.build.fixings import of_the_other
from drybuild.build.kinds import places, room_of
from drybuild.build.model import Place
from drybuild.examine.begun_alike import alike, guesses
from drybuild.examine.far_off import far_off
from drybuild.examine.held_by import said_form
from drybuild.examine.lookup import Entry, Present
from drybuild.examine.map_points import MapRefused, flow_as_scaled
from drybuild.findings import AXLES
from drybuild.show.carried_words import PLACE, carried_lines
from drybuild.show.compare import (
    compared,
    fitted_at,
    is_bolted,
    kinds_by_place,
    meant_for,
    rooms_of_kinds,
    with_part,
)
from drybuild.values import show
from drybuild.web.drafts import begin, drafts, put_in
from drybuild.web.drafts import draft as one_draft
from drybuild.web.frame import Frame, framed
from drybuild.web.new_part import (
    HEAD,
    SENSELESS,
    Seller,
    add_map,
    add_part,
    as_sold,
    asked_of,
    faults_of,
    free_id,
    hows,
    known_kind,
    points_asked,
    table_of,
    through_points,
    with_a_map,
)
from drybuild.work.money import with_currency
from drybuild.work.reading import purse_of

router = APIRouter()

Id = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_-]{1,80}$")]
KindWord = r"^[a-z_]{1,40}$"
PlaceWord = r"^[a-z_]{1,40}(\.(front|rear))?$"
IdWord = r"^[A-Za-z0-9_-]{1,80}$"
Fields = Annotated[list[Annotated[str, Form(max_length=400)]], Form(max_length=200)]

OF_THE_MAP = frozenset({"map", "flow_scale", "efficiency_scale"})
"""Facts of a turbocharger that go with its map."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed into the form of a part, for it to be shown again."""

    given: Mapping[str, str]
    by: str
    like: str
    points: str


GROUPS = {
    "ride": "springs, dampers, arms",
    "corners": "wheels and tyres",
    "fastening": "wheels and tyres",
    "breathing": "air, boost, exhaust",
    "electrics": "wiring and battery",
    "calibration": "map and sensors",
    "law": "equipment",
}
"""What the places of a room are called where the room's name says something else."""

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "written; to the page that shows it"},
    403: {"description": "not for this device"},
    404: {"description": "no such part, place or state"},
    409: {"description": "not written: the page says all that is amiss"},
}


@router.get("/parts", response_class=HTMLResponse)
def parts(request: Request) -> HTMLResponse:
    """Every place, what is fitted there now and when all is done, and what else would go there."""
    frame = framed(request)
    now, planned = frame.opened.present.state, frame.desk.state("finished")
    found = frame.desk.state("as found")
    rows = [
        row
        for place in places().values()
        for target in _targets(place)
        if (row := _row(frame, place, target, found, now, planned)) is not None
    ]
    return frame.page(
        "parts.html.j2",
        planned=_grouped([row for row in rows if row["planned"]]),
        done=_grouped([row for row in rows if row["found"] and not row["planned"]]),
        rest=_grouped([row for row in rows if not row["found"] and not row["planned"]]),
    )


def _grouped(rows: list[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Places by what they belong to, in the order in which these are first met."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        room = room_of()[row["target"].partition(".")[0]]
        found.setdefault(GROUPS.get(room, room.replace("_", " ")), []).append(row)
    return list(found.items())


@router.get("/parts/add", response_class=HTMLResponse, responses={404: SAID[404]})
def form(request: Request, kind: Annotated[str, Query(pattern=KindWord)] = "") -> HTMLResponse:
    """The form of a new part, by its kind."""
    return _form(framed(request), kind)


@router.post("/parts/add", status_code=303, responses=SAID)
def add(
    request: Request,
    kind: Annotated[str, Form(pattern=KindWord)],
    fact: Fields,
    value: Fields,
    by: Annotated[str, Form(max_length=40)] = "",
    like: Annotated[str, Form(pattern=r"^[A-Za-z0-9_-]{0,80}$")] = "",
    points: Annotated[str, Form(max_length=20_000)] = "",
) -> Response:
    """Write a new part. fact, value: names and texts of its facts, one after the other; like: the
    part as which what is left empty begins, as a guess; points: of a turbocharger's map."""
    frame = framed(request, role="edit")
    if not known_kind(kind):
        raise HTTPException(404, f"no kind of part {kind!r}")
    given = dict(zip(fact, value, strict=False))
    how = by if by in hows() else ""
    table, comments = table_of(kind, given, how), dict[str, str]()
    taken = guesses(frame.opened, like, table) if like in alike(frame.opened, kind) else {}
    if points.strip():  # its own map, and not another's made larger
        taken = {k: v for k, v in taken.items() if k not in OF_THE_MAP}
    named = frame.opened.build.part_names.get(like, like)
    comments |= dict.fromkeys(taken, f"a guess, as {named}: to be replaced")
    table |= taken
    drawn, faults = through_points(frame.opened, like, table, given, how)
    comments |= drawn
    if kind == "turbo":
        seller = Seller(points, *(given.get(f, "") for f in ("largest_flow", "as_sold",
                                                             "flow_scale")))  # fmt: skip
        comments |= with_a_map(frame.opened, table, seller)
        said, amiss = as_sold(table, seller)
        comments, faults = comments | said, faults + amiss
    faults += faults_of(free_id(frame.opened, table), table)
    if not table.get("name"):
        faults.insert(0, Fault("the form", None, "name", "nothing", "what is written on the box"))
    typed = Typed(given, by, like, points)
    if faults:
        return _form(frame, kind, typed, faults=tuple(faults), status=409)
    try:
        part = add_part(frame.desk, table, comments)
    except BuildFaults as error:
        return _form(frame, kind, typed, faults=error.faults, status=409)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/parts/{part}", 303)


@router.get("/parts/compare", response_class=HTMLResponse, responses={404: SAID[404]})
def compare(
    request: Request,
    place: Annotated[str, Query(pattern=PlaceWord)],
    part: Annotated[str, Query(pattern=IdWord)],
    against: Annotated[str, Query(pattern=r"^[A-Za-z0-9_-]{0,80}$")] = "",
    state: str = "finished",
) -> HTMLResponse:
    """A part at a place against what is there, or against another: what else moves."""
    frame = framed(request, state)
    start = _state(frame)
    try:
        there = against or fitted_at(start, place)
        first = start.after(with_part(start, place, against)) if against else start
        changes = with_part(start, place, part)
    except ChangeRefused as error:
        raise HTTPException(404, str(error)) from None
    second = start.after(changes, "draft:tried")
    before = frame.desk.examination(first, unknowns=False)
    after = frame.desk.examination(second, unknowns=False)
    units = frame.opened.build.head.units
    names = frame.opened.build.part_names
    return frame.page(
        "parts_compare.html.j2",
        place=place,
        place_words=place.replace("_", " ").replace(".", ", "),
        part=part,
        part_name=names[part],
        against=there,
        against_name=names.get(there, "what is there"),
        others=[(i, words) for i, words in _others(frame, place, (part,))
                if not _elsewhere(frame, place, i)],
        meant_for=_elsewhere(frame, place, part),
        bolted=is_bolted(place),
        made=compared(frame.opened, place, first, second, before, after, units),
        far_off=far_off(frame.opened.build, part, units),
        carried=carried_lines({names[part]: after, names.get(there, "what is there"): before},
                              units) if place == PLACE else (),
        same=not changes and not against,
        already=not changes,
        drafts=drafts(frame.desk.folder),
    )  # fmt: skip


@router.post("/parts/map", status_code=303, responses=SAID)
def compressor_map(
    request: Request,
    part: Annotated[str, Form(pattern=IdWord)],
    points: Annotated[str, Form(max_length=20_000)] = "",
) -> Response:
    """Write a compressor's map, point by point, into a turbocharger that has none."""
    frame = framed(request, role="edit")
    found = frame.opened.build.parts.get(part)
    if found is None or getattr(found, "kind", "") != "turbo":
        raise HTTPException(404, f"no turbocharger {part!r}")
    try:
        add_map(frame.desk, part, points)
    except (MapRefused, EditRefused, BuildFaults) as error:
        raise HTTPException(409, f"Not written. {error}") from None
    return RedirectResponse(f"/parts/{part}", 303)


@router.post("/parts/draft", status_code=303, responses=SAID)
def draft(
    request: Request,
    place: Annotated[str, Form(pattern=PlaceWord)],
    part: Annotated[str, Form(pattern=IdWord)],
    title: Annotated[str, Form(max_length=60)] = "",
    into: Annotated[str, Form(pattern=r"^([a-z0-9][a-z0-9-]{0,39})?$")] = "",
) -> Response:
    """Keep the part at the place in a draft beside the real build: a new one, or ``into``."""
    frame = framed(request, role="edit")
    try:
        changes = with_part(_kept_in(frame, into), place, part)
    except ChangeRefused as error:
        raise HTTPException(404, str(error)) from None
    if not changes:
        raise HTTPException(409, f"{part} is there already")
    words = title.strip() or frame.opened.build.part_names[part][:60]
    try:
        if into:
            put_in(frame.desk.folder, into, changes)
        else:
            into = begin(frame.desk.folder, words, changes)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/drafts/{into}", 303)


def _kept_in(frame: Frame, into: str) -> State:
    if into and one_draft(frame.desk.folder, into) is None:
        raise HTTPException(409, f"there is no draft {into!r} any more")
    return frame.desk.state(f"draft:{into}" if into else "finished")


@router.get("/parts/{part}", response_class=HTMLResponse, responses={404: SAID[404]})
def one(request: Request, part: Id) -> HTMLResponse:
    """One part: what is stated of it, and where it is or may be fitted."""
    frame = framed(request)
    found = frame.opened.build.parts.get(part)
    if found is None:
        raise HTTPException(404, f"no part {part!r}")
    kind = getattr(found, "kind", "")
    now, planned = frame.opened.present.state, frame.desk.state("finished")
    stated, unstated = _facts(frame, part, kind)
    targets = [t for p in places().values() if p.kind == kind for t in _targets(p)]
    return frame.page(
        "part.html.j2",
        id=part,
        part=found,
        called=part_named.named(part, found),
        kind=kind.replace("_", " "),
        kind_id=kind,
        price=with_currency(found.price, purse_of(frame.opened.build).currency),
        file=frame.opened.build.part_files[part],
        now=[p for p in now.fitted if now.fitted[p] == part],
        planned=[p for p in planned.fitted if planned.fitted[p] == part],
        elsewhere=[(t, t.replace("_", " ").replace(".", ", ")) for t in targets
                   if fitted_at(planned, t) != part and not _elsewhere(frame, t, part)],
        stated=stated,
        unstated=unstated,
        mapless=kind == "turbo" and getattr(found, "map", None) is None,
        far_off=far_off(frame.opened.build, part, frame.opened.build.head.units),
        largest=_largest(frame, part) if kind == "turbo" else "",
    )  # fmt: skip


def _largest(frame: Frame, part: str) -> str:
    """The largest flow of a turbocharger in words; empty where it has no map."""
    flow, units = flow_as_scaled(frame.opened.build, part), frame.opened.build.head.units
    return show("flow_mass", *flow, system=units) if flow is not None else ""


def _targets(place: Place) -> list[str]:
    """A place of the car, or one an axle."""
    return [place.root] if place.per == "car" else [f"{place.root}.{axle}" for axle in AXLES]


def _row(
    frame: Frame, place: Place, target: str, found: State, now: State, planned: State
) -> dict[str, Any] | None:
    """A place with its parts; None where nobody spoke of it and no part would go there.

    found: what was there before it was changed.
    """
    first, here, then = _at(found, target), _at(now, target), _at(planned, target)
    there = {p for p in (*here, *then) if p}
    others = _loose(frame, target, there, now)
    if not there and not others:
        return None
    names = frame.opened.build.part_names

    def named(parts: list[str | None]) -> list[tuple[str, str]]:
        return [(p, names[p]) if p else ("", "nothing") for p in parts]

    return {
        "target": target,
        "words": _called(place, target),
        "now": named(here),
        "found": named(first) if first != here else [],
        "planned": named(then) if then != here else [],
        "others": others,
    }


def _called(place: Place, target: str) -> str:
    """A place by one name: its title where it has one, and its axle."""
    root, _, axle = target.partition(".")
    name = place.title or root.replace("_", " ")
    return f"{name}, {axle}" if axle else name


def _at(state: State, target: str) -> list[str | None]:
    """Parts at the instances of a place, each once."""
    instances = [i for i in state.fitted if i == target or i.startswith(f"{target}.")]
    return list(dict.fromkeys(state.fitted[i] for i in instances))


def _others(frame: Frame, target: str, but: Any) -> list[tuple[str, str]]:
    """Parts of the kind, but for those that are at another place of the same kind: a dump pipe is
    no exhaust behind the catalyst."""
    root = target.partition(".")[0]
    kind = places()[root].kind if root in places() else ""
    at: dict[str, set[str]] = {}
    for state in _states(frame):
        for place, name in state.fitted.items():
            at.setdefault(name or "", set()).add(place.partition(".")[0])
    return [
        (i, frame.opened.build.part_names[i])
        for i, part in frame.opened.build.parts.items()
        if getattr(part, "kind", "") == kind and i not in but and root in at.get(i, {root})
    ]


def _loose(frame: Frame, target: str, but: Any, now: State) -> list[tuple[str, str]]:
    """What would go there, but for standard parts that are at their own place."""
    known, on = frame.opened.build.parts, set(now.fitted.values())
    found = _others(frame, target, but)
    return [
        (i, words) for i, words in found
        if not (known[i].standard and i in on) and not _elsewhere(frame, target, i)
    ]  # fmt: skip


def _elsewhere(frame: Frame, target: str, part: str) -> str:
    """The other axle, where a part is made for that one."""
    return meant_for(_states(frame), target, part)


def _states(frame: Frame) -> list[State]:
    return [frame.desk.state("as found"), frame.opened.present.state, frame.desk.state("finished")]


def _facts(
    frame: Frame, part: str, kind: str
) -> tuple[list[tuple[str, str, str, str]], list[tuple[str, str, str]]]:
    """(name, meaning, what stands there, address) of what is stated, and of what is not."""
    place = next(p for p in places().values() if p.kind == kind)
    present = Present(frame.opened, frame.opened.build.head.units)
    stated, unstated = [], []
    form = said_form(frame.opened.build, part)
    for declared in declared_addresses().values():
        if declared.owner != place.instances[0] or _skipped(declared):
            continue
        if declared.path[0] in SENSELESS.get(kind, ()):
            continue
        if of_the_other(place.root, declared.path[0], form):
            continue
        address = ".".join(("part", part, *declared.path))
        name = declared.plain
        said = present.said(Entry(address, declared, part=part))
        if said == "not stated":
            unstated.append((name, declared.doc, address))
        else:
            stated.append((name, declared.doc, said, address))
    return stated, unstated


def _skipped(declared: Declared) -> bool:
    head = len(declared.path) == 1 and declared.path[0] in HEAD_FIELDS
    return head or inner_model(declared.field.annotation) is not None


def _form(
    frame: Frame,
    kind: str,
    typed: Typed | None = None,
    *,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> HTMLResponse:
    if kind and not known_kind(kind):
        raise HTTPException(404, f"no kind of part {kind!r}")
    amiss: dict[str, list[Fault]] = {}
    for fault in faults:
        amiss.setdefault(fault.where.removeprefix("part.").partition(".")[2] or fault.where,
                         []).append(fault)  # fmt: skip
    return frame.page(
        "parts_add.html.j2",
        status,
        kind=kind,
        kinds=kinds_by_place(),
        rooms=[(room, [(k, kinds_by_place()[k]) for k in kinds]) for room, kinds in
               _kinds_by_room()],
        head=HEAD,
        asked=asked_of(kind) if kind else (),
        one_points=points_asked(kind),
        hows=hows(),
        given=typed.given if typed else {},
        by=typed.by if typed else "assumed",
        alike=list(alike(frame.opened, kind).items()) if kind else [],
        like=typed.like if typed else None,
        points=typed.points if typed else "",
        refusals=_refusals(faults),
        amiss={name.partition(".")[0]: found for name, found in amiss.items()},
        faults=faults,
    )  # fmt: skip


def _refusals(faults: tuple[Fault, ...]) -> list[tuple[list[tuple[str, str]], str, str]]:
    """Each refusal once: what it is about with what was found, what is expected, the hint."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for fault in faults:
        path = fault.where.split(".")
        name = (path[2:3] or [fault.where])[0].replace("_", " ")
        found.setdefault((fault.expected, fault.hint), []).append((name, fault.found))
    return [(said, expected, hint) for (expected, hint), said in found.items()]


def _kinds_by_room() -> list[tuple[str, list[str]]]:
    """Kinds under the words that the page Parts has for their rooms."""
    found: dict[str, list[str]] = {}
    for room, kinds in rooms_of_kinds().items():
        words = GROUPS.get(room, room.replace("_", " ")) or "other"
        found.setdefault(words, []).extend(kinds)
    return [(words, sorted(kinds)) for words, kinds in found.items()]


def _state(frame: Frame) -> State:
    try:
        return frame.desk.state(frame.state)
    except (UnknownName, ChangeRefused) as error:
        raise HTTPException(404, str(error)) from None
