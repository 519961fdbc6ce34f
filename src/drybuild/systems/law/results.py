"""Results of the law room: which rules concern this car, and what they are held against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np

from drybuild.findings import NotWorkedOut, Room, Source
from drybuild.systems.law import formulas
from drybuild.systems.law.rules import AnyRule, Registered, RuleFault, RuleSet, rules_for
from drybuild.values import Array

DEFAULT_SETS = ("un-base",)
"""Read when a build names no rule set."""

DEFINITION = Source("definition", how="computed")


@dataclass(frozen=True)
class Concerned:
    """The rule sets of the build and what decides which of their rules concern the car."""

    ids: tuple[str, ...]
    car: Registered


@dataclass(frozen=True)
class RulesFound:
    """The rules that one check holds the car against, and the car's papers."""

    rules: tuple[tuple[RuleSet, AnyRule], ...]
    car: Registered


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


def rules_on(
    quantities: tuple[str, ...], governs: str, shapes: tuple[str, ...] = ()
) -> Callable[..., RulesFound | bool]:
    """A function that finds the rules on these quantities; it gives False where none applies.

    The address it is offered at ends in ``.present``, so that a check about which no rule says
    anything makes no finding instead of asking for measurements.
    """

    def found(*, concerned: Concerned) -> RulesFound | bool:
        try:
            rules = rules_for(concerned.ids, quantities, concerned.car, governs)
        except RuleFault as error:
            raise NotWorkedOut(str(error)) from None
        if shapes:
            rules = tuple(pair for pair in rules if pair[1].shape in shapes)
        return RulesFound(rules, concerned.car) if rules else False

    return found


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
        "law.guarded_height",
        of=formulas.sector_height,
        per="corner",
        kind="length",
        needs={"free_radius": "~corners.free_radius.{corner}"},
        formula="h = r·cos 50°",
        source=Source("Regulation (EU) 1009/2010", clause="annex II", how="read"),
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
            "camber": "ride.camber_set.{corner}",
            "height": "law.guarded_height.{corner}",
        },
        formula="edge = S/2 − ET + spacer + h·sin(camber)",
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
