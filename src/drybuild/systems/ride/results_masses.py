"""Masses of changed parts: which places count, where they sit, and how the changes add up.

Places that no room declares are left out, so that this list may name parts of rooms to come.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.build.kinds import places
from drybuild.values import Array

# Parts of one corner: share of the mass that moves with the wheel (common practice: half of
# what reaches from wheel to body).
CORNER_PARTS = {
    "wheel": 1.0,
    "tyre": 1.0,
    "spacer": 1.0,
    "disc": 1.0,
    "caliper": 1.0,
    "spring": 0.5,
    "damper": 0.5,
    "arm": 0.5,
    "bar_link": 0.5,
    "bump_stop": 0.0,
}

# Parts of the body: how far behind the front axle they usually sit, in wheelbases.
BODY_PARTS = {
    "charge_cooler": -0.3,
    "radiator": -0.3,
    "oil_cooler": -0.3,
    "turbo": 0.05,
    "intake": 0.0,
    "dump_pipe": 0.15,
    "catalyst": 0.35,
    "exhaust": 0.9,
    "clutch": 0.2,
    "flywheel": 0.2,
    "battery": 0.0,
    "seat": 0.6,
    "rollover_bar": 0.8,
}


@dataclass(frozen=True)
class CornerMasses:
    """Change of mass at one corner against as found, kg: all of it, and what is unsprung."""

    all: Array
    unsprung: Array


# Parts heavy enough to ask for the plate when they change; the others are carried along only.
HEAVY = frozenset({"battery", "seat", "rollover_bar"})


def _four(key: str, place: str) -> dict[str, str]:
    quiet = "" if key in HEAVY else "~"
    return {
        f"{key}_now": f"{quiet}?{place}.mass",
        f"{key}_found": f"~?base:{place}.mass",
        f"{key}_there": f"{quiet}?{place}.present",
        f"{key}_was_there": f"~?base:{place}.present",
    }


def corner_needs() -> dict[str, str]:
    """Inputs of `corner_masses`: mass and presence of each part, now and as found."""
    needs: dict[str, str] = {}
    for root in CORNER_PARTS:
        if root in places() and places()[root].per == "corner":
            needs |= _four(root, f"{root}.{{corner}}")
    return needs


def body_needs() -> dict[str, str]:
    """Inputs of `body_on_front` and `body_on_rear`."""
    needs: dict[str, str] = {}
    for root in BODY_PARTS:
        if root in places() and places()[root].per == "car":
            needs |= _four(root, root)
    return needs


def change(given: dict[str, Any], root: str) -> Array:
    """Mass now less mass as found, kg; 0 where one of them was not stated.

    A place known to be empty weighs nothing.
    """
    now = 0.0 if given.get(f"{root}_there") is False else given.get(f"{root}_now")
    found = 0.0 if given.get(f"{root}_was_there") is False else given.get(f"{root}_found")
    if now is None or found is None:
        return 0.0
    difference: Array = now - found
    return difference


def corner_masses(**given: Any) -> CornerMasses:
    """Change of mass at one corner with the parts now fitted."""
    total: Array = 0.0
    unsprung: Array = 0.0
    for root, share in CORNER_PARTS.items():
        moved = change(given, root)
        total = total + moved
        unsprung = unsprung + share * moved
    return CornerMasses(total, unsprung)


def body_on_front(**given: Any) -> Array:
    """Change of mass on the front axle from parts of the body, kg."""
    total: Array = 0.0
    for root, behind in BODY_PARTS.items():
        total = total + (1.0 - behind) * change(given, root)
    return total


def body_on_rear(**given: Any) -> Array:
    """Change of mass on the rear axle from parts of the body, kg."""
    total: Array = 0.0
    for root, behind in BODY_PARTS.items():
        total = total + behind * change(given, root)
    return total
