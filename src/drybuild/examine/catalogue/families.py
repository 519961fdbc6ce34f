"""Generated families: rim widths by half inches, offsets by millimetres, standard tyre sizes.

A generated wheel is a known wheel in another width, offset or diameter. What one orders (bolt
pattern, bore, seat) is as that wheel's. What its maker alone can say (spokes, barrel, rating,
mass) is carried over and counts as assumed: no check that someone can be hurt by is enough on it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from drybuild.build.errors import ChangeRefused
from drybuild.build.proposed import Proposed, make_part
from drybuild.build.tyre_marking import MarkingError, TyreMarking, parse_marking
from drybuild.systems.corners import formulas as size
from drybuild.values import HowKnown, Value, ValueFault, parse_value, written

INCH = 0.0254
HALF_INCH = INCH / 2
MM = 1e-3
SPOKES_DOUBT = 6e-3
"""Doubt of where the spokes of another width stand, when they keep their place to the outer lip."""

BARREL_DOUBT = 4e-3
MASS_DOUBT = "12 %"
DIAMETER_BAND = 0.04
"""Standard sizes whose design diameter differs more from the present tyre's are left out."""

NOMINAL_WIDTHS = range(145, 336, 10)
ASPECTS = range(30, 81, 5)
MOST = 5000
"""More settings of one family, or wheels of all together, than these are refused."""


@dataclass(frozen=True)
class Spread:
    """A family of settings in SI, with how it was written."""

    values: tuple[float, ...]
    text: str


def read_spread(text: str, kind: str, step: float, *, what: str) -> Spread:
    """``"25 to 45 mm"``, ``"7.5 to 9 in"``, ``"0, 5, 10 mm"``, ``"-2.5 to -1 deg by 0.25 deg"``.

    step: between the ends of a range, SI, where the text names none. Raises ChangeRefused.
    """
    body, _, by = text.partition(" by ")
    ends = re.split(r"\s+to\s+", body.strip())
    unit = _unit_of(ends[-1])
    try:
        if by:
            step = _one(by, kind, unit)
        if step <= 0:
            raise ChangeRefused(f"{what}: the step {by!r} must be above 0")
        if len(ends) == 2:
            low, high = sorted(_one(end, kind, unit) for end in ends)
            count = int(np.floor((high - low) / step + 1e-6)) + 1
            if count > MOST:
                raise ChangeRefused(f"{what}: {text!r} holds {count} settings, at most {MOST}")
            return Spread(tuple(low + step * i for i in range(count)), text)
        pieces = [piece for piece in body.split(",") if piece.strip()] or [""]
        unit = _unit_of(pieces[-1])
        return Spread(tuple(dict.fromkeys(_one(p, kind, unit) for p in pieces)), text)
    except ValueFault as fault:
        raise ChangeRefused(
            f"{what}: found {fault.found}, expected a range such as {_example(kind)} or a list "
            f"with commas. {fault.hint}".strip()
        ) from None


def _example(kind: str) -> str:
    return "'-2.5 to -1 deg'" if kind == "angle" else "'25 to 45 mm'"


def _unit_of(text: str) -> str:
    return re.sub(r"^[\s+\-−\d./½¼¾]+", "", text).strip()


def _one(text: str, kind: str, unit: str) -> float:
    text = text.strip()
    return parse_value(text if _unit_of(text) else f"{text} {unit}".strip(), kind).median


def generated_wheels(
    like: Proposed, *, codes: Iterable[int], widths: Iterable[float], offsets: Iterable[float]
) -> list[Proposed]:
    """Wheels like a known one, in other rim diameters, widths and offsets (m)."""
    asked = list(product(codes, widths, offsets))
    if len(asked) > MOST:
        raise ChangeRefused(f"{len(asked):,} wheels, at most {MOST:,}: narrow widths and offsets")
    return [_wheel(like, code, width, offset) for code, width, offset in asked]


def _wheel(like: Proposed, code: int, width: float, offset: float) -> Proposed:
    """One wheel like another; its spokes keep their place to the outer lip."""
    old: Any = like.part
    inches = f"{width / INCH:.4g} in"
    facts: dict[str, Any] = {
        "name": f"{code}x{width / INCH:.3g} offset {offset / MM:.4g} mm",
        "diameter_code": code,
        "rim_width": inches,
        "offset": f"{offset / MM:.6g} mm",
    }
    for name in ("hub_bore", "bolt_count", "bolt_circle", "seat", "seat_depth", "valve"):
        if getattr(old, name) is not None:
            facts[name] = getattr(old, name)
    same_shape = code == old.diameter_code and _is(old.rim_width, width)
    if same_shape and _is(old.offset, offset):
        # The very wheel: what is known of it stays known.
        for name in ("spoke_depth", "spoke_map", "barrel_inner_radius", "load_rating", "mass"):
            facts[name] = getattr(old, name)
        facts["offset"] = old.offset
        return _proposed(like, facts, code)
    steps = (code - (old.diameter_code or code)) * HALF_INCH
    if old.load_rating is not None:
        facts["load_rating"] = _carried(old.load_rating, old.load_rating.median, 0.0)
    if old.mass is not None:
        heavier = 1.0 + 0.03 * (width - old.rim_width.median) / HALF_INCH if old.rim_width else 1.0
        mass = old.mass.median * heavier * (code / (old.diameter_code or code))
        facts["mass"] = {"is": written("mass", mass), "plus_minus": MASS_DOUBT, "how": "assumed"}
    if old.barrel_inner_radius is not None:
        doubt = 0.0 if code == old.diameter_code else BARREL_DOUBT
        radius = old.barrel_inner_radius.median + steps
        facts["barrel_inner_radius"] = _carried(old.barrel_inner_radius, radius, doubt)
    if old.spoke_depth is not None and old.rim_width is not None and old.offset is not None:
        moved = (width - old.rim_width.median) / 2.0 - (offset - old.offset.median)
        depth = old.spoke_depth.median + moved
        if depth > 0:
            facts["spoke_depth"] = _carried(old.spoke_depth, depth, SPOKES_DOUBT)
    return _proposed(like, facts, code)


def _proposed(like: Proposed, facts: dict[str, Any], code: int) -> Proposed:
    part = make_part("wheel", facts)
    name = f"generated {facts['name']}"
    return Proposed(name, part, HowKnown.CATALOGUE, f"generated, like {like.part.name or like.id}")


def _is(value: Value | None, figure: float) -> bool:
    return value is not None and abs(value.median - figure) < 1e-5


def _carried(value: Value, figure: float, doubt: float) -> dict[str, Any]:
    """A figure carried over from another wheel: assumed, with its own doubt and some more."""
    half = float(np.hypot(value.half_width, doubt)) or 0.05 * abs(figure)
    return {
        "is": written(value.kind, figure),
        "plus_minus": written(value.kind, half),
        "how": "assumed",
    }


def read_sizes(text: str) -> list[TyreMarking]:
    """``"235/40 R17, 245/40 R17 91W"``. Raises ChangeRefused."""
    found = []
    for piece in text.split(","):
        if piece.strip():
            try:
                found.append(parse_marking(piece))
            except MarkingError as error:
                raise ChangeRefused(str(error)) from None
    if not found:
        raise ChangeRefused("no tyre size is named; write them as 235/40 R17, with commas")
    return found


def standard_sizes(*, rim_code: float, diameter: float, rim_widths: list[float]) -> list[
    TyreMarking
]:  # fmt: skip
    """Sizes by the pattern of ISO 4000-1 for a rim code, near a diameter, for these rims.

    Widths that end in 5, aspect ratios in fives; sizes whose rims are none of ``rim_widths`` or
    whose design diameter differs from ``diameter`` by more than 4 % are left out. Whether anybody
    makes a size is not in the pattern.
    """
    if rim_code not in size.CONVENTIONAL_RIM_DIAMETER_MM:
        return []
    found = []
    for nominal in NOMINAL_WIDTHS:
        for aspect in ASPECTS:
            shape = {"nominal_width": nominal * MM, "aspect_ratio": aspect / 100.0}
            overall = float(size.design_overall_diameter(**shape, rim_code=rim_code))
            low, high = size.permitted_rim_widths(**shape)
            if abs(overall / diameter - 1.0) > DIAMETER_BAND:
                continue
            if any(low - 1e-5 <= width <= high + 1e-5 for width in rim_widths):
                found.append(TyreMarking(nominal, aspect, rim_code))
    return found


def generated_tyre(marking: TyreMarking, like: Proposed) -> Proposed:
    """A tyre known by its size alone; service marks that it lacks are those of a known tyre."""
    old: Any = like.part
    text = str(marking)
    if marking.load_index is None and old.marking is not None:
        service = parse_marking(old.marking)
        extra = " XL" if service.extra_load and not marking.extra_load else ""
        text = f"{marking.size} {service.service}{extra}".strip()
    facts: dict[str, Any] = {"name": marking.size, "marking": text}
    if old.mass is not None:
        facts["mass"] = {
            "is": written("mass", old.mass.median * _share(marking, old.marking)),
            "plus_minus": MASS_DOUBT,
            "how": "assumed",
        }
    part = make_part("tyre", facts)
    return Proposed(f"generated {text}", part, HowKnown.CATALOGUE, "generated by its size")


def _share(marking: TyreMarking, old: str | None) -> float:
    """Mass against another tyre's: as rubber area, section width times diameter."""
    if old is None:
        return 1.0
    return _area(marking) / _area(parse_marking(old))


def _area(marking: TyreMarking) -> float:
    height = 2.0 * marking.section_width_mm * marking.aspect_percent / 100.0
    return marking.section_width_mm * (marking.rim_code * 25.4 + height)


def with_mass(proposed: Proposed, like: Proposed) -> Proposed:
    """A listed part without a mass, given that of a known part with wide doubt, as assumed."""
    part: Any = proposed.part
    known: Any = like.part
    if part.mass is not None or known.mass is None:
        return proposed
    mass = parse_value(
        {"is": written("mass", known.mass.median), "plus_minus": "20 %", "how": "assumed"}, "mass"
    )
    filled = part.model_copy(update={"mass": mass})
    return Proposed(proposed.id, filled, proposed.known, proposed.origin)
