"""The scrutineer's single side: what is looked at, in the order of the club's form.

Nothing on it says how the look came out: the boxes are the scrutineer's. Common practice, no
source; a club's own form and order go before ours ([scrutineer] items in build.toml).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from drybuild.build.build import Build
from drybuild.build.errors import Fault, nearest
from drybuild.build.folder import OwnLook, ScrutineerHead
from drybuild.build.lines import line_of
from drybuild.examine.book.fingerprint import Imprint, imprint
from drybuild.examine.book.identity import Fact, identity
from drybuild.examine.held_by import held_by
from drybuild.examine.opened import OpenBuild
from drybuild.examine.sheets.calibrator import known
from drybuild.examine.sheets.form import FormRefused
from drybuild.values import Value

ITEMS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "throttle return": ("throttle return",
                            "shuts by itself from full, cable or plug off; a second spring"),
        "isolator": ("battery isolator",
                     "marked, stops a running engine, reached from outside; battery held, plus "
                     "post covered"),
        "catch tank": ("catch tank", "size and fixing; breather hoses on it; empty"),
        "fuel routing": ("fuel lines and filler",
                         "away from exhaust and turning parts, through bulkheads in grommets, "
                         "clipped; filler cap; no fuel inside the cabin"),
        "leaks": ("leaks", "fuel, oil, coolant, brake fluid: dry underneath after running"),
        "towing eyes": ("towing eyes", "front and rear, colour, marked, they hold"),
        "belts": ("belts and seat", "date, webbing, buckle, mounts and spreader plates; seat fast"),
        "roll-over bar": ("roll-over bar and hoops",
                          "above the helmet, mounts and backstays, padding; no crack, no rust"),
        "extinguisher": ("extinguisher", "in reach, metal straps, date, weight, pin"),
        "studs": ("wheel studs and nuts, or bolts",
                  "all there, thread through the nut, figure in the record; wheels unmarked by "
                  "cracks"),
        "play": ("play", "wheel bearings, ball joints, track rods, steering, arms: rocked by hand"),
        "brakes": ("brakes", "firm pedal, hoses and pipes whole, fluid level, pads"),
        "tyres": ("tyres", "tread, date, sidewalls, none touches at full lock"),
        "bodywork": ("bodywork and wheels covered", "edges, bonnet pins, nothing loose inside"),
        "exhaust": ("exhaust and noise", "held, ends where it must, reading"),
        "lamps": ("lamps", "brake lamps, rain lamp where wanted"),
        "numbers": ("numbers", "on both sides, size and colour as the club asks"),
        "helmet": ("driver's clothing", "helmet, gloves, overalls: dates and marks"),
    }
)  # fmt: skip
"""Id in a club's order → title, and what is looked at."""

ORDER = tuple(ITEMS)


@dataclass(frozen=True, slots=True)
class Look:
    """One thing that is looked at. stated: what the folder says of it, if anything."""

    title: str
    look: str
    stated: str = ""


@dataclass(frozen=True)
class Side:
    """The one side. weight: as last stated, with how it was found; items in the club's order."""

    imprint: Imprint
    head: ScrutineerHead
    identity: tuple[Fact, ...]
    weight: Any
    weight_how: str
    items: tuple[Look, ...]
    ours: bool


def scrutineer_side(opened: OpenBuild, *, made: datetime | None = None) -> Side:
    """The side for the car as it stands. Raises FormRefused for an item that nobody knows."""
    head = opened.build.scrutineer
    state = opened.present.state
    weight = known(state, "car.kerb_mass")
    how = weight.how.words if weight.how is not None else ""
    if isinstance(weight.value, Value) and weight.value.by:
        how = f"{how}, {weight.value.by}"
    return Side(
        imprint(opened, made or datetime.now()), head, identity(opened), weight.value, how,
        _items(opened), not head.items,
    )  # fmt: skip


def _items(opened: OpenBuild) -> tuple[Look, ...]:
    found, faults = [], []
    for index, item in enumerate(opened.build.scrutineer.items or ORDER):
        if isinstance(item, OwnLook):
            found.append(Look(item.title, item.look))
        elif item in ITEMS:
            title, look = ITEMS[item]
            found.append(Look(title, look, _stated(opened, item)))
        else:
            faults.append(_unknown(opened.build, index, item))
    if faults:
        raise FormRefused(faults)
    return tuple(found)


def _unknown(build: Build, index: int, item: str) -> Fault:
    line = line_of(build.files.get("build.toml", ""), ("scrutineer", "items"))
    return Fault(
        "build.toml", line, f"scrutineer.items.{index}", repr(item)[:80],
        f'one of: {", ".join(ORDER)}; or one of the club\'s own: {{ title = "…", look = "…" }}',
        nearest(item, ORDER),
    )  # fmt: skip


def _stated(opened: OpenBuild, item: str) -> str:
    """What the folder knows of it, as a help to find it; never whether it is in order."""
    fitted = opened.present.state.fitted
    names = opened.build.part_names

    def named(place: str) -> str:
        part = fitted.get(place)
        return names[part] if part is not None else ""

    if item == "catch tank":
        return named("catch_tank") or "none"
    if item == "towing eyes":
        said = [f"{axle}: {named(f'tow_eye.{axle}') or 'none'}"
                for axle in ("front", "rear")]  # fmt: skip
        return "; ".join(said)
    if item == "roll-over bar":
        return named("rollover_bar") or "none"
    if item == "studs":
        places = ("wheel_nuts.front.left", "wheel_studs.front.left")
        have = places[:1] if held_by(opened.present.state, "front.left") == "bolt" else places
        return ", ".join(dict.fromkeys(n for one in have if (n := named(one))))
    if item == "tyres":
        return _by_axle(*(
            ", ".join(dict.fromkeys(n for side in ("left", "right")
                                    if (n := named(f"tyre.{axle}.{side}"))))
            for axle in ("front", "rear")
        ))  # fmt: skip
    return ""


def _by_axle(front: str, rear: str) -> str:
    """What is at each end; said once where both are alike."""
    if front == rear:
        return front
    return "; ".join(f"{axle}: {what}" for axle, what in (("front", front), ("rear", rear)) if what)
