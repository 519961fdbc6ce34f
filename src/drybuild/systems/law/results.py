"""Results of the law room: which rules concern this car, and what they are held against."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from drybuild.build.tyre_marking import parse_marking
from drybuild.findings import FormulaRefused, Room, Source
from drybuild.systems.law import formulas
from drybuild.systems.law.evaluate import Original
from drybuild.systems.law.rules import Registered
from drybuild.values import Array

DEFAULT_SETS = ("un-base",)
"""Read when a build names no rule set."""

DEFINITION = Source("definition", how="computed")
R30 = Source("UN R30", clause="para 6.1.2", how="memory")


@dataclass(frozen=True)
class Concerned:
    """The rule sets of the build and what decides which of their rules concern the car."""

    ids: tuple[str, ...]
    car: Registered


@dataclass(frozen=True)
class PlacardTyres:
    """Smallest and largest marked diameter and widest section width by the placard, m."""

    diameter: Original
    width: Original


def concerned(
    *,
    rule_sets: tuple[str, ...] | None,
    jurisdiction: str | None,
    category: str | None,
    body: str | None,
    first_registered: date | None,
    rules_read: tuple[str, ...] | None,
) -> Concerned:
    """The chosen rule sets and the car's papers in one. Nothing stated excludes nothing."""
    return Concerned(
        tuple(rule_sets or DEFAULT_SETS),
        Registered(jurisdiction, category, body, first_registered, frozenset(rules_read or ())),
    )


def placard_tyres(*, original_tyres: tuple[str, ...]) -> PlacardTyres:
    """Range of marked diameter and width of the sizes on the placard. Refuses unknown rims."""
    sizes = [parse_marking(text) for text in original_tyres]
    try:
        diameters = [marked_diameter_of(text) for text in original_tyres]
    except ValueError as error:
        raise FormulaRefused(f"placard: {error}") from None
    widths = [size.section_width_mm / 1000.0 for size in sizes]
    if not sizes:
        raise FormulaRefused("the placard names no tyre size")
    return PlacardTyres(
        Original(min(diameters), max(diameters)), Original(min(widths), max(widths))
    )


def marked_diameter_of(text: str) -> float:
    """Design overall diameter (m) of a marking."""
    size = parse_marking(text)
    return formulas.marked_diameter(
        section_width_mm=size.section_width_mm,
        aspect_percent=size.aspect_percent,
        rim_code=size.rim_code,
    )


def cover(*, guard_edge: Array, outer_edge: Array) -> Array:
    """How far the guard's edge stands outboard of the tyre's flank (m)."""
    return guard_edge - outer_edge


def lamp_height(*, height: Array, left: Array, right: Array) -> Array:
    """Lamp height (m) after the front came down; the mean of both sides."""
    return formulas.lowered(height=height, drop=(np.asarray(left) + right) / 2.0)


def body_drop(*, drop: Array, loaded: Array, loaded_before: Array) -> Array:
    """How far the body came down over the ground: on its springs, less what the tyre lifts (m)."""
    return drop - (loaded - loaded_before)


def register(room: Room) -> None:
    """Offer the room's results."""
    room.result(
        "law.concerned",
        of=concerned,
        kind="object",
        needs={
            "rule_sets": "~?build.rule_sets",
            "jurisdiction": "~?registration.jurisdiction",
            "category": "~?registration.category",
            "body": "~?registration.body",
            "first_registered": "~?registration.first_registered",
            "rules_read": "~?registration.rules_read",
        },
        formula="rules of the chosen sets, by jurisdiction, category, body and date",
        source=Source("the rule sets of the build", how="computed"),
    )
    room.result(
        "law.placard_tyres",
        of=placard_tyres,
        kind="object",
        needs={"original_tyres": "registration.original_tyres"},
        formula="D = d + 2H of each size on the placard",
        source=R30,
    )
    room.result(
        "law.true_speed",
        of=formulas.true_speed_after,
        kind="speed",
        needs={
            "true_speed": "speedo.true_speed",
            "reading_ratio": "driveline.speed_ratio",
        },
        formula="V2 after = V2 before / reading ratio, at the same indication",
        source=DEFINITION,
    )
    room.result(
        "law.tyre_outer_edge",
        of=formulas.tyre_outer_edge,
        per="corner",
        kind="length",
        needs={
            "section_width": "corners.section_width.{corner}",
            "offset": "wheel.{corner}.offset",
            "spacer": "corners.spacer_thickness.{corner}",
        },
        formula="edge = S/2 − ET + spacer",
        source=Source("ISO 4000-2", clause="definition of offset", how="memory"),
    )
    room.result(
        "law.tyre_cover",
        of=cover,
        per="corner",
        kind="length",
        needs={
            "guard_edge": "corner.{corner}.guard_edge",
            "outer_edge": "law.tyre_outer_edge.{corner}",
        },
        formula="cover = guard edge − tyre edge",
        source=DEFINITION,
    )
    room.result(
        "law.body_drop",
        of=body_drop,
        per="corner",
        kind="length",
        needs={
            "drop": "ride.ride_height_drop.{corner}",
            "loaded": "corners.loaded_radius.{corner}",
            "loaded_before": "base:corners.loaded_radius.{corner}",
        },
        formula="drop of the body over ground = drop on the springs − gain of loaded radius",
        source=DEFINITION,
    )
    room.result(
        "law.lamp_height",
        of=lamp_height,
        kind="length",
        needs={
            "height": "registration.dipped_lamp_height",
            "left": "law.body_drop.front.left",
            "right": "law.body_drop.front.right",
        },
        formula="lamp height = as found − mean drop of the body at the front",
        source=DEFINITION,
    )
