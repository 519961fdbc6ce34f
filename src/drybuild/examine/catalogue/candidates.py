"""Candidates: wheel, tyre, spacer and camber of one axle, each a list of Changes to a state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.build import Change, State
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.errors import ChangeRefused
from drybuild.build.proposed import Proposed, make_part, with_proposed
from drybuild.build.tyre_marking import TyreMarking, parse_marking
from drybuild.findings import SIDES, Registry
from drybuild.systems.corners.checks import FIT_PLAY
from drybuild.values import HowKnown, Value, written

MOST = 100_000
"""More candidates than this are refused: narrow the lists."""

DRAFT = "draft:what fits"


@dataclass(frozen=True)
class Candidate:
    """One way to shoe an axle. spacer (m) and camber (rad) are None where they stay as planned."""

    axle: str
    wheel: Proposed
    tyre: Proposed
    spacer: float | None
    camber: float | None
    changes: tuple[Change, ...]
    extras: tuple[str, ...] = ()
    """What has to be bought beside it, in words."""

    @property
    def rim_width(self) -> float:
        """Nominal rim width, m."""
        return _figure(self.wheel, "rim_width")

    @property
    def offset(self) -> float:
        """Offset, m."""
        return _figure(self.wheel, "offset")

    @property
    def nominal_width(self) -> float:
        """Nominal section width of the tyre, m."""
        return float(marking_of(self.tyre).section_width_mm) * 1e-3

    @property
    def size(self) -> str:
        """Size of the tyre."""
        return marking_of(self.tyre).size


def _figure(proposed: Proposed, name: str) -> float:
    value = getattr(proposed.part, name)
    return float(value.median) if isinstance(value, Value) else float("nan")


def marking_of(tyre: Proposed) -> TyreMarking:
    """The marking of a proposed tyre, read."""
    return parse_marking(getattr(tyre.part, "marking"))  # noqa: B009


@dataclass(frozen=True)
class Field:
    """All candidates of a search: the state that knows their parts, and what was left out.

    apart: pairs of wheel and tyre left out, for their diameter codes differ.
    """

    start: State
    axle: str
    candidates: tuple[Candidate, ...]
    proposed: frozenset[str]
    apart: int

    def state(self, candidate: Candidate) -> State:
        """The car with this candidate on it, as a draft."""
        return self.start.after(candidate.changes, DRAFT)


def on_axle(field: Field, fitted: Mapping[str, str | None]) -> int | None:
    """The candidate that is on the axle, left side first; None where none of them is."""
    there = tuple(
        next(filter(None, (fitted.get(f"{kind}.{field.axle}.{side}") for side in SIDES)), None)
        for kind in ("wheel", "tyre")
    )
    return next(
        (i for i, one in enumerate(field.candidates)
         if (one.wheel.id, one.tyre.id) == there and one.spacer is None and one.camber is None),
        None,
    )  # fmt: skip


def make_field(
    start: State,
    registry: Registry,
    axle: str,
    wheels: Sequence[Proposed],
    tyres: Sequence[Proposed],
    *,
    spacers: Sequence[float] = (),
    cambers: Sequence[float] = (),
    camber_now: dict[str, float] | None = None,
) -> Field:
    """Every wheel with every tyre of its diameter code, spacer and camber. Raises ChangeRefused.

    camber_now: camber in the start state by corner (rad), needed where cambers are given.
    """
    wheels = [w for w in wheels if _states(w, ("rim_width", "offset", "diameter_code"))]
    tyres = [t for t in tyres if _states(t, ("marking",))]
    count = len(wheels) * len(tyres) * max(1, len(spacers)) * max(1, len(cambers))
    if count > MOST:
        raise ChangeRefused(f"{count:,} candidates, at most {MOST:,}: narrow the lists")
    extra: dict[str, Proposed] = {}
    by_spacer: list[tuple[float | None, tuple[Change, ...]]] = [
        (thickness, _spacer_changes(start, axle, thickness, extra)) for thickness in spacers
    ] or [(None, ())]
    by_camber: list[tuple[float | None, tuple[Change, ...]]] = [
        (camber, camber_changes(start, axle, camber, camber_now or {})) for camber in cambers
    ] or [(None, ())]
    found: list[Candidate] = []
    apart = 0
    for wheel in wheels:
        rings, bought = _ring_changes(start, axle, wheel, extra)
        on = (Change("fit", f"wheel.{axle}", wheel.id), *rings)
        code = getattr(wheel.part, "diameter_code")  # noqa: B009
        for tyre in tyres:
            if marking_of(tyre).rim_code != code:
                apart += 1
                continue
            shod = (*on, Change("fit", f"tyre.{axle}", tyre.id))
            for thickness, spaced in by_spacer:
                for camber, leaning in by_camber:
                    changes = (*shod, *spaced, *leaning)
                    found.append(
                        Candidate(axle, wheel, tyre, thickness, camber, changes, bought)
                    )
    named = {p.id: p for p in (*wheels, *tyres, *extra.values())}
    new = [p for p in named.values() if p.id not in start.build.parts]
    # Parts of the folder share the columns as well, so that all are compared alike.
    shared = frozenset(p.id for p in (*wheels, *tyres))
    return Field(with_proposed(start, new), axle, tuple(found), shared, apart)


def _states(proposed: Proposed, names: Iterable[str]) -> bool:
    return all(getattr(proposed.part, name, None) is not None for name in names)


def camber_changes(
    start: State, axle: str, target: float, camber_now: dict[str, float]
) -> tuple[Change, ...]:
    """What the arms' adjusters are set to for a camber at ride height (rad), side by side."""
    changes = []
    for side in SIDES:
        corner = f"{axle}.{side}"
        if corner not in camber_now:
            raise ChangeRefused(f"camber: nobody has measured it at the {axle} {side} wheel")
        address = f"arm.{corner}.camber_change"
        today = _stated_figure(start, address) or 0.0
        setting = today + target - camber_now[corner]
        changes.append(Change("set", address, written("angle", setting)))
    return tuple(changes)


def _stated_figure(state: State, address: str) -> float | None:
    declared = declaration(address)
    found = stated(state, declared) if declared is not None else None
    value = found.value if found is not None else None
    return value.median if isinstance(value, Value) and not value.same_as else None


def _spacer_changes(
    start: State, axle: str, thickness: float, extra: dict[str, Proposed]
) -> tuple[Change, ...]:
    if thickness < 0:
        raise ChangeRefused(f"a spacer of {written('length', thickness)} cannot be")
    place = f"spacer.{axle}"
    if thickness == 0:
        fitted = any(start.fitted.get(f"{place}.{side}") for side in SIDES)
        return (Change("remove", place),) if fitted else ()
    text = written("length", thickness)
    name = f"spacer {text}"
    part = make_part("spacer", {"name": name, "thickness": text})
    extra[name] = Proposed(name, part, HowKnown.CATALOGUE, "generated")
    return (Change("fit", place, name),)


def _ring_changes(
    start: State, axle: str, wheel: Proposed, extra: dict[str, Proposed]
) -> tuple[tuple[Change, ...], tuple[str, ...]]:
    """The centring ring that the wheel's bore wants: none, the planned one, or another."""
    place = f"centring_ring.{axle}"
    bore = getattr(wheel.part, "hub_bore", None)
    spigot = _stated_figure(start, f"corner.{axle}.left.hub_spigot")
    if bore is None or spigot is None:
        return (), ()
    fitted = {start.fitted.get(f"{place}.{side}") for side in SIDES}
    if bore.median - spigot <= FIT_PLAY:
        return ((Change("remove", place),) if fitted - {None} else ()), ()
    if len(fitted) == 1 and (name := next(iter(fitted))) is not None:
        outer = getattr(start.build.parts[name], "outer_diameter", None)
        if outer is not None and abs(bore.median - outer.median) <= FIT_PLAY:
            return (), ()
    play = 0.04e-3
    inner, outer_text = written("length", spigot + play), written("length", bore.median - play)
    name = f"ring {bore.median * 1e3:.1f} to {spigot * 1e3:.1f}"
    if name not in extra:
        facts = {"name": f"centring {name}", "inner_diameter": inner, "outer_diameter": outer_text}
        part = make_part("centring_ring", facts)
        extra[name] = Proposed(name, part, HowKnown.CATALOGUE, "generated")
    return (Change("fit", place, name),), (f"centring {name} mm",)


def camber_of(values: dict[str, Any]) -> dict[str, float]:
    """Medians of drawn cambers by corner; corners that nobody measured are left out."""
    return {corner: float(np.nanmedian(v)) for corner, v in values.items() if v is not None}
