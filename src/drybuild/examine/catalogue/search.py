"""``what-fits``: lists or families of wheels and tyres, ranked under all of the car's checks."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from pathlib import Path
from typing import Any, Literal

import numpy as np

from drybuild.build import State
from drybuild.build.errors import ChangeRefused
from drybuild.build.proposed import Proposed
from drybuild.build.tyre_marking import parse_marking
from drybuild.examine.catalogue import families
from drybuild.examine.catalogue.candidates import (
    Candidate,
    Field,
    camber_of,
    make_field,
    marking_of,
    on_axle,
)
from drybuild.examine.catalogue.lists import read_list
from drybuild.examine.catalogue.moved import Moves, moves
from drybuild.examine.catalogue.screen import Scope, Screened, axle_scope, screen
from drybuild.examine.catalogue.slow import Slow
from drybuild.examine.catalogue.window import Window, fit_window
from drybuild.examine.examination import DRAWS, SEED, Examination, evaluate, examine_state, joint
from drybuild.findings import AXLES, SIDES, Finding, Registry, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED
from drybuild.systems.corners.results import design_diameter

OFFERED = 6
PER_TYRE = 2
"""Of one tyre at most so many are offered, so that the list shows more than one size."""

HOPELESS = 0.005
"""Below this nothing is offered, but the best one where there is no other."""

NEAR = 0.02
"""Offsets whose joint chance is within this of the best do as well."""

AROUND_WIDTH = 2
AROUND_OFFSET = 15
"""Half inches and millimetres to either side of the planned wheel, where nothing was asked."""

First = Literal["roomiest", "widest"]


@dataclass(frozen=True)
class Wanted:
    """What is asked: lists (files), families (texts), or neither for a family around the plan."""

    axle: str = "rear"
    rims: Path | str | None = None
    tyres: Path | str | None = None
    widths: str | None = None
    offsets: str | None = None
    sizes: str | None = None
    camber: str | None = None
    spacer: str | None = None
    offer: int = OFFERED
    first: First = "roomiest"


@dataclass(frozen=True)
class Offer:
    """A candidate, examined whole.

    joint: share of draws in which every armed check that it bears on is enough at once, measured
    ones alone; clears: the same over the checks of the corners that stand for its fit.
    binds: the finding with the least chance. open: findings it bears on that are not enough.
    short: those of them that are short, and whatever else of the car is short with it and was not
    as planned. guessed: those that only a guess keeps open, where someone can be hurt.
    unmeasured: what nobody stated. offsets: least and greatest offset of its row that do as well.
    beside: diameter code of the other axle's wheels, where it is another.
    """

    candidate: Candidate
    examination: Examination
    bearing: tuple[Finding, ...]
    joint: float
    clears: float
    screened: float
    room: float
    binds: Finding | None
    open: tuple[Finding, ...]
    short: tuple[Finding, ...]
    guessed: tuple[Finding, ...]
    unmeasured: tuple[str, ...]
    offsets: tuple[float, float]
    moves: Moves
    beside: int | None


@dataclass(frozen=True)
class WhatFits:
    """The answer: the offers, best first, the window, and what was looked through.

    planned: the state that the candidates were put into, examined as it is. as_planned, as_found:
    its own wheel and tyre and those that they replace, where they are among the candidates; what is
    replaced is no offer.
    """

    wanted: Wanted
    planned: Examination
    field: Field
    screened: Screened
    offers: tuple[Offer, ...]
    window: Window | None
    as_planned: Offer | None = None
    as_found: Offer | None = None


def what_fits(
    start: State,
    registry: Registry,
    wanted: Wanted,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
) -> WhatFits:
    """Rank what fits on an axle of a state. Raises BuildFaults, ChangeRefused."""
    if wanted.axle not in AXLES:
        raise ChangeRefused(f"no axle {wanted.axle!r}: front or rear")
    field = gather(start, registry, wanted, seed)
    if not field.candidates:
        raise ChangeRefused(_nothing_left(field))
    scope = axle_scope(registry, start.build.blends, wanted.axle, _also(wanted))
    states = [field.state(c) for c in field.candidates]
    screened = screen(states, registry, scope, proposed=field.proposed, seed=seed)
    planned = examine_state(start, registry, draws=draws, seed=seed, unknowns=False)
    slow = Slow(field, registry, scope, screened, seed)

    def offer(rows: Sequence[int]) -> Offer:
        return offer_of(field, rows, slow, scope, planned, registry, draws=draws, seed=seed)

    mine, old = (on_axle(field, fitted) for fitted in (start.fitted, start.base_fitted))
    replaced = [old] if old is not None and old != mine else []
    code = None if _named(wanted) else _code(fitted_part(start, f"wheel.{wanted.axle}"))
    rows = best_rows(field.candidates, screened, wanted, slow, without=replaced, code=code)
    offers = [offer(row) for row in rows]
    offers.sort(key=lambda o: _rank(o, wanted.first))
    worth = [o for o in offers if o.joint >= HOPELESS]
    offers = (worth or offers)[: wanted.offer if worth else 1]
    around = offers[0].candidate
    window = fit_window(field, around, registry, scope, seed=seed)
    def beside(index: int | None) -> Offer | None:
        """One that is an offer already, or is examined for the comparison alone."""
        if index is None:
            return None
        there = (one for one in offers if one.candidate == field.candidates[index])
        return next(there, None) or offer([index])

    return WhatFits(
        wanted, planned, field, screened, tuple(offers), window, beside(mine),
        beside(next(iter(replaced), None)),
    )  # fmt: skip


def _nothing_left(field: Field) -> str:
    if field.apart:
        return f"no tyre has the diameter code of a rim ({field.apart} pairs looked at)"
    return "no rim with width, offset and diameter code, or no tyre with a marking, is in the lists"


def _named(wanted: Wanted) -> bool:
    """Whether lists or families are asked for; else the search is around what is planned."""
    return any((wanted.rims, wanted.tyres, wanted.widths, wanted.offsets, wanted.sizes))


def _code(wheel: Proposed) -> int | None:
    return getattr(wheel.part, "diameter_code", None)


def _also(wanted: Wanted) -> list[str]:
    return [f"arm.{wanted.axle}.camber_change"] if wanted.camber else []


def fitted_part(start: State, place: str) -> Proposed:
    """The part at a place of an axle, left side first. Raises ChangeRefused when there is none."""
    for side in SIDES:
        name = start.fitted.get(f"{place}.{side}")
        if name is not None:
            return _of_folder(start, name)
    raise ChangeRefused(f"nothing is fitted at {place}: the search starts from what is planned")


def _of_folder(start: State, name: str) -> Proposed:
    build = start.build
    return Proposed(name, build.parts[name], build.part_known[name], build.part_files[name])


def gather(start: State, registry: Registry, wanted: Wanted, seed: int = SEED) -> Field:
    """The candidates of a request."""
    axle = wanted.axle
    like_wheel = fitted_part(start, f"wheel.{axle}")
    like_tyre = fitted_part(start, f"tyre.{axle}")
    bare = not _named(wanted)
    cambers: Sequence[float] = ()
    now: dict[str, float] = {}
    if wanted.camber:
        step = float(np.radians(0.25))
        cambers = families.read_spread(wanted.camber, "angle", step, what="camber").values
        now = camber_today(start, registry, axle, seed)
    spacers: Sequence[float] = ()
    if wanted.spacer:
        spacers = families.read_spread(wanted.spacer, "length", families.MM, what="spacer").values
    wheels = _wheels(start, wanted, like_wheel, bare)
    tyres = _tyres(start, wanted, like_tyre, wheels, bare)
    return make_field(
        start, registry, axle, wheels, tyres, spacers=spacers, cambers=cambers, camber_now=now
    )


def camber_today(start: State, registry: Registry, axle: str, seed: int) -> dict[str, float]:
    """Camber at ride height by corner, where it is known."""
    evaluation = evaluate(start, registry, 64, seed)
    found: dict[str, Any] = {}
    for side in SIDES:
        outcome = evaluation.get(f"ride.camber.{axle}.{side}")
        found[f"{axle}.{side}"] = outcome.value if outcome.known else None
    return camber_of(found)


def _wheels(start: State, wanted: Wanted, like: Proposed, bare: bool) -> list[Proposed]:
    found: list[Proposed] = []
    if wanted.rims:
        found += [families.with_mass(w, like) for w in read_list(wanted.rims, "wheel")]
    if wanted.widths or wanted.offsets or bare:
        found += _wheel_family(wanted, like)
    if not wanted.rims and (bare or not (wanted.widths or wanted.offsets)):
        found += _own(start, "wheel")
    return found


def _wheel_family(wanted: Wanted, like: Proposed) -> list[Proposed]:
    part: Any = like.part
    if part.rim_width is None or part.offset is None or part.diameter_code is None:
        raise ChangeRefused(
            f"{part.name or like.id}: its rim width, offset and diameter code must be stated, for "
            "the family starts from it"
        )
    width, offset = round(part.rim_width.median / families.HALF_INCH), part.offset.median
    middle = width * families.HALF_INCH
    if wanted.widths:
        widths: Sequence[float] = families.read_spread(
            wanted.widths, "length", families.HALF_INCH, what="rim widths"
        ).values
    elif wanted.offsets:
        widths = [middle]
    else:
        widths = [middle + i * families.HALF_INCH for i in range(-AROUND_WIDTH, AROUND_WIDTH + 1)]
    if wanted.offsets:
        offsets: Sequence[float] = families.read_spread(
            wanted.offsets, "length", families.MM, what="offsets"
        ).values
    else:
        whole = round(offset / families.MM)
        steps = range(whole - AROUND_OFFSET, whole + AROUND_OFFSET + 1)
        offsets = [step * families.MM for step in steps]
    codes = {int(part.diameter_code)}
    if wanted.sizes and wanted.sizes != "all":
        codes = {int(m.rim_code) for m in families.read_sizes(wanted.sizes)}
    return families.generated_wheels(like, codes=sorted(codes), widths=widths, offsets=offsets)


def _tyres(
    start: State, wanted: Wanted, like: Proposed, wheels: list[Proposed], bare: bool
) -> list[Proposed]:
    found: list[Proposed] = []
    if wanted.tyres:
        found += [families.with_mass(t, like) for t in read_list(wanted.tyres, "tyre")]
    if wanted.sizes and wanted.sizes != "all":
        found += [families.generated_tyre(m, like) for m in families.read_sizes(wanted.sizes)]
    if not (wanted.tyres or wanted.sizes) or bare:
        found += _own(start, "tyre")
    if wanted.sizes == "all" or bare:
        found += _standard(start, wanted.axle, like, wheels)
    return found


def _standard(
    start: State, axle: str, like: Proposed, wheels: list[Proposed]
) -> list[Proposed]:
    """Standard sizes near the diameter of the tyre as found, for the rims there are."""
    name = start.base_fitted.get(f"tyre.{axle}.left") or like.id
    marking = parse_marking(getattr(start.build.parts[name], "marking"))  # noqa: B009
    diameter = float(design_diameter(marking))
    by_code: dict[int, set[float]] = {}
    for wheel in wheels:
        part: Any = wheel.part
        if part.diameter_code is not None and part.rim_width is not None:
            by_code.setdefault(part.diameter_code, set()).add(part.rim_width.median)
    return [
        families.generated_tyre(m, like)
        for code, widths in sorted(by_code.items())
        for m in families.standard_sizes(
            rim_code=code, diameter=diameter, rim_widths=sorted(widths)
        )
    ]


def _own(start: State, kind: str) -> list[Proposed]:
    """The parts of that kind in the folder."""
    return [
        _of_folder(start, name)
        for name, part in start.build.parts.items()
        if getattr(part, "kind", "") == kind
    ]


def _order(
    chance: float, unmeasured: int, room: float, candidate: Candidate, first: First
) -> tuple[float, ...]:
    """Sort key: the joint chance, then what is not known, then the least room."""
    tight = -min(room, 3.0)
    if first == "widest":
        fits = 0 if chance >= 0.9 else 1 if chance >= 0.5 else 2
        return fits, -candidate.nominal_width, -candidate.rim_width, -round(chance, 2), tight
    return -round(chance, 2), unmeasured, tight


def _rank(offer: Offer, first: First) -> tuple[float, ...]:
    """Sort key of what was examined whole: nothing short before anything short; wheels of the other
    axle's diameter before others; the joint chance; what is not known, guesses too; the room."""
    unknown = len(offer.unmeasured) + len(offer.guessed)
    rest = _order(offer.joint, unknown, offer.room, offer.candidate, first)
    return bool(offer.short), offer.beside is not None, *rest


def _row_of(candidate: Candidate) -> tuple[Any, ...]:
    """Candidates that differ by their offset alone share a row."""
    made = candidate.wheel.origin.startswith("generated")
    name = "generated" if made else candidate.wheel.part.name
    return (candidate.tyre.id, name, round(candidate.rim_width, 5), candidate.spacer,
            candidate.camber)  # fmt: skip


def best_rows(
    candidates: Sequence[Candidate],
    screened: Screened,
    wanted: Wanted,
    slow: Slow,
    *,
    without: Collection[int] = (),
    code: int | None = None,
) -> list[list[int]]:
    """The rows to be offered: indices of each, the best candidate first; without: no offers.

    code: wheels of this diameter code that fit at all go before others, whatever the others' room:
    who has chosen a size does not ask for the rims that come off.

    A check that was not run yet can only take chance away. So the candidate that leads is run
    whole until one leads that has been: no other can be better.
    """

    def key(i: int) -> tuple[float, ...]:
        unmeasured, joint = len(screened.unmeasured[i]), slow.joint(i)
        other = code is not None and (_code(candidates[i].wheel) != code or joint < HOPELESS)
        return other, *_order(joint, unmeasured, slow.room(i), candidates[i], wanted.first)

    queue = [(key(i), i) for i in range(len(candidates)) if i not in without]
    heapify(queue)
    rows: dict[tuple[Any, ...], list[int]] = {}
    of_tyre: dict[str, int] = {}
    rest: list[int] = []
    while queue and len(rows) < wanted.offer:
        _, i = heappop(queue)
        row, tyre = _row_of(candidates[i]), candidates[i].tyre.id
        if row in rows or of_tyre.get(tyre, 0) >= PER_TYRE:
            rest.append(i)
        elif not slow.known(i) and slow.look(i):
            heappush(queue, (key(i), i))
        else:
            rows[row] = [i]
            of_tyre[tyre] = of_tyre.get(tyre, 0) + 1
    for i in [*rest, *(i for _, i in queue)]:
        if (row := _row_of(candidates[i])) in rows:
            rows[row].append(i)
    return list(rows.values())


def offer_of(
    field: Field,
    rows: Sequence[int],
    slow: Slow,
    scope: Scope,
    planned: Examination,
    registry: Registry,
    *,
    draws: int,
    seed: int,
) -> Offer:
    """The best candidate of a row, examined with all draws."""
    best = rows[0]
    candidate = field.candidates[best]
    state = field.state(candidate)
    after = examine_state(state, registry, draws=draws, seed=seed, unknowns=False)
    bearing = tuple(f for f in after.findings if scope.bears_on(f))
    moved = moves(planned, after, field.axle)
    made = {(t.check, at) for t in moved.turned for at in t.subjects}
    measured = [f for f in bearing if f.chance is not None]
    least = slow.joint(best) - NEAR
    near = [best, *(i for i in rows if slow.known(i) and slow.joint(i) >= least)]
    offsets = [field.candidates[i].offset for i in near]
    lacking = tuple(sorted({a for f in bearing if f.chance is None for a in f.missing}))
    return Offer(
        candidate=candidate,
        examination=after,
        bearing=bearing,
        joint=joint_of(after, measured),
        clears=joint_of(after, [f for f in measured if f.system == "corners"]),
        screened=slow.joint(best),
        room=min((room_of(f) for f in measured), default=float("inf")),
        binds=min(measured, key=lambda f: (f.chance, room_of(f)), default=None),
        open=tuple(f for f in bearing if f.verdict is not Verdict.ENOUGH),
        short=tuple(
            f for f in after.findings if f.verdict is Verdict.SHORT
            and (scope.bears_on(f) or (f.check, f.subject) in made)
        ),
        guessed=tuple(f for f in bearing if f.why == RESTS_ON_ASSUMED),
        unmeasured=lacking,
        offsets=(min(offsets), max(offsets)),
        moves=moved,
        beside=_beside(field, candidate),
    )


def _beside(field: Field, candidate: Candidate) -> int | None:
    """Diameter code of the wheels at the other axle, where these are of another."""
    there, build = {"front": "rear", "rear": "front"}[field.axle], field.start.build
    name = field.start.fitted.get(f"wheel.{there}.left")
    other = getattr(build.parts.get(name or ""), "diameter_code", None)
    mine = getattr(candidate.wheel.part, "diameter_code", None)
    return other if other is not None and other != mine else None


def joint_of(examination: Examination, findings: Iterable[Finding]) -> float:
    """Share of draws in which these findings are enough at once."""
    keys = {(f.check, f.subject) for f in findings}
    chosen = [(f.check, f.subject) in keys for f in examination.findings]
    share = joint(examination.margins, chosen)
    return 1.0 if share is None else share


def room_of(finding: Finding) -> float:
    """Median margin over its half-width; unbounded where there is room and no doubt."""
    m = finding.margin
    if m is None or np.isnan(m.median):
        return float("-inf")
    half = (m.high - m.low) / 2.0
    if half <= 1e-12:
        return float("inf") if m.median >= 0 else float("-inf")
    return m.median / half


def size_of(tyre: Proposed) -> str:
    """Size on a proposed tyre's sidewall."""
    return marking_of(tyre).size
