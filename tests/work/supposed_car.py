"""The demo's springs alone, of which nobody knows one figure, and a plan of that car."""

from __future__ import annotations

import re
from pathlib import Path

from small_demo import copy_with

from drybuild.examine import open_build
from drybuild.work.at_hand import AtHand, at_hand
from drybuild.work.examined import plan_examined
from drybuild.work.model import NoPlan, Plan

JOBS = ("springs-front", "springs-rear", "bar-links")
CAPTIVE = "ride.spring_captive"


def car(to: Path, free_length: str | None) -> Path:
    """The demo's springs alone; nobody has stated their free length, or it is so long."""
    folder = copy_with(to, JOBS, ("sat-1", "sat-2", "sat-3"), end="17:30")
    path = folder / "parts" / "suspension.toml"
    standard, planned = path.read_text(encoding="utf-8").split("# Planned", 1)
    said = f'free_length = "{free_length}"\n' if free_length else ""
    springs, rest = planned.split("[part.tolland_damper", 1)
    springs = re.sub(r"(?m)^free_length = .*\n", said, springs)
    text = f"{standard}# Planned{springs}[part.tolland_damper{rest}"
    path.write_text(text, encoding="utf-8")
    return folder


def hand(folder: Path) -> AtHand:
    return at_hand(open_build(folder))


def planned(at_car: AtHand, *, suppose: bool | None = None) -> Plan | NoPlan:
    return plan_examined(
        at_car.opened, at_car.todo, seconds=5, lessons=at_car.lessons, suppose=suppose
    )
