"""Results on what a tyre carries, which rims it may have, and how the wheel is held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.build.thread_marking import Thread, parse_thread
from drybuild.build.tyre_marking import TyreMarking, parse_marking
from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    FormulaRefused,
    Lacking,
    NotWorkedOut,
    Source,
)

from . import formulas as tyre
from . import formulas_wheel as wheel
from .results import DESIGN, MM, TYRE_MARK, design_diameter, size
from .results_room import room


@dataclass(frozen=True)
class OriginalTyres:
    """The sizes that the placard names: least and greatest design diameter, widest (m)."""

    smallest_diameter: float
    largest_diameter: float
    widest: float


@dataclass(frozen=True)
class PermittedRims:
    """Narrowest and widest rim a tyre may be put on (m), and whether its maker says so."""

    least: Any
    greatest: Any
    by_maker: bool


def original_tyres(*, markings: tuple[str, ...]) -> OriginalTyres:
    """Sizes of the tyres that the placard names."""
    if not markings:
        raise FormulaRefused("the tyre sizes on the placard")
    read = [parse_marking(text) for text in markings]
    diameters = [float(design_diameter(marking)) for marking in read]
    widest = max(marking.section_width_mm for marking in read) * MM
    return OriginalTyres(min(diameters), max(diameters), widest)


def index_mass(*, marking: TyreMarking) -> float:
    """Mass by the load index on the sidewall."""
    if marking.load_index is None:
        raise FormulaRefused(f"the load index of {marking}")
    if marking.load_index not in tyre.LOAD_INDEX_KG:
        raise NotWorkedOut(f"load index {marking.load_index} lies outside the table, 60 to 120")
    return tyre.load_index_mass(load_index=marking.load_index)


def symbol_speed(*, marking: TyreMarking) -> float:
    """Speed by the symbol on the sidewall."""
    if marking.speed_symbol is None:
        raise FormulaRefused(f"the speed symbol of {marking}")
    if marking.speed_symbol not in tyre.SYMBOL_SPEED_KMH:
        raise NotWorkedOut(f"speed symbol {marking.speed_symbol} is below the table, F to Y")
    return tyre.symbol_speed(symbol=marking.speed_symbol)


def load_at_top_speed(*, marking: TyreMarking, index_mass: Any, speed: Any) -> Any:
    """Mass the tyre carries at the car's top speed."""
    symbol = marking.speed_symbol
    if symbol not in tyre.SYMBOL_SPEED_KMH:
        raise FormulaRefused(f"the speed symbol of {marking}")
    if speed is None:
        if symbol in "VWY":
            raise Lacking("speed", said=f"the top speed: a {symbol} tyre carries less fast")
        return index_mass
    return index_mass * tyre.load_share_at_speed(symbol=symbol, speed=speed)


def load_at_pressure(
    *, marking: TyreMarking, index_mass: Any, pressure: Any, stated_reference: Any
) -> Any:
    """Mass the tyre carries at the pressure that is set."""
    reference = stated_reference
    if reference is None:
        if marking.commercial or marking.load_version == "HL":
            said = "the pressure at which the load index holds (C or HL tyre)"
            raise Lacking("stated_reference", said=said)
        reference = tyre.reference_pressure(
            extra_load=marking.extra_load, p_metric=marking.p_metric
        )
    return tyre.load_at_pressure(
        index_mass=index_mass,
        pressure_gauge=pressure,
        reference_gauge=reference,
        exponent=0.5 if marking.p_metric else 0.8,
    )


def permitted_rims(*, marking: TyreMarking, least: Any, greatest: Any) -> PermittedRims:
    """Rim widths that the tyre's maker permits, else those of the size tables' pattern."""
    if least is not None and greatest is not None:
        return PermittedRims(least, greatest, by_maker=True)
    if marking.aspect_percent < 30:
        said = "the rim widths that its maker permits (aspect ratio below 30)"
        ends = {"least": least, "greatest": greatest}
        raise Lacking(*(name for name, end in ends.items() if end is None), said=said)
    low, high = tyre.permitted_rim_widths(**size(marking))
    return PermittedRims(float(low), float(high), by_maker=False)


def fastener_thread(*, nut: str) -> Thread:
    """Thread of the nuts or bolts, read."""
    return parse_thread(nut)


def hub_bolt_circle(*, stated: Any, spacing: Any, count: int | None) -> Any:
    """Bolt circle of the hub: as stated, else from neighbouring studs."""
    if stated is not None:
        return stated
    if spacing is None or count is None:
        other = "spacing" if spacing is None else "count"
        raise Lacking(f"stated|{other}", said="the hub's bolt circle, or how its studs stand")
    return wheel.bolt_circle(count=count, spacing=spacing)


def thread_engagement(
    *,
    form: str,
    spacer: Any,
    bolted_on: bool | None,
    seat_depth: Any,
    stud_length: Any,
    nut_thread: Any,
    shank_length: Any,
    hub_depth: Any,
) -> Any:
    """Thread that holds the wheel; a spacer with studs of its own is another joint."""
    if bolted_on:
        raise NotWorkedOut("a bolted-on spacer's own studs (measure both its joints by hand)")
    if form == "nut":
        given = {"stud_length": stud_length, "nut_thread": nut_thread}
        said = {"stud_length": "stud length", "nut_thread": "thread length of the nut"}
        shank, length = stud_length, nut_thread
    else:
        given = {"shank_length": shank_length, "hub_depth": hub_depth}
        said = {"shank_length": "shank length of the bolt", "hub_depth": "thread depth of the hub"}
        shank, length = shank_length, hub_depth
    lacking = [name for name, value in given.items() if value is None]
    if lacking:
        raise Lacking(*lacking, said=" and ".join(said[name] for name in lacking))
    return wheel.thread_engagement(shank=shank, taken_up=seat_depth + spacer, thread_length=length)


def engagement_of_nut(*, form: str, **given: Any) -> Any:
    """Thread that holds a wheel with nuts on studs."""
    none = {"shank_length": None, "hub_depth": None}
    return thread_engagement(form=form, **given, **none) if form == "nut" else NOT_APPLICABLE


def engagement_of_bolt(*, form: str, **given: Any) -> Any:
    """Thread that holds a wheel with bolts into the hub: no stud and no nut has a part in it."""
    none = {"stud_length": None, "nut_thread": None}
    return thread_engagement(form=form, **given, **none) if form == "bolt" else NOT_APPLICABLE


def thread_of_studs(*, form: str, thread: str) -> Any:
    """Thread that the nuts go on; bolts meet none."""
    return thread if form == "nut" else NOT_APPLICABLE


def thread_of_hub(*, form: str, thread: str) -> Any:
    """Thread that the bolts go into; nuts meet none."""
    return thread if form == "bolt" else NOT_APPLICABLE


room.result(
    "corners.original_tyres", of=original_tyres, per="car", kind="object",
    needs={"markings": "~registration.original_tyres"},
    formula="D = d + 2·H of each size on the placard", source=DESIGN,
)  # fmt: skip
room.result(
    "corners.index_mass", of=index_mass, per="corner", kind="mass",
    needs={"marking": TYRE_MARK}, formula="load index table",
    source=Source("UN R30", clause="annex 4", how="read"),
)  # fmt: skip
room.result(
    "corners.symbol_speed", of=symbol_speed, per="corner", kind="speed",
    needs={"marking": TYRE_MARK}, formula="speed symbol table",
    source=Source("UN R30", clause="2.29"),
)  # fmt: skip
room.result(
    "corners.load_at_top_speed", of=load_at_top_speed, per="corner", kind="mass",
    needs={
        "marking": TYRE_MARK, "index_mass": "corners.index_mass.{corner}",
        "speed": "?goal.top_speed|registration.top_speed",
    },
    formula="index mass, less above 210 (V), 240 (W), 270 km/h (Y)",
    source=Source("UN R30", clause="2.30", how="read"),
)  # fmt: skip
room.result(
    "corners.load_at_pressure", of=load_at_pressure, per="corner", kind="mass",
    needs={
        "marking": TYRE_MARK, "index_mass": "corners.index_mass.{corner}",
        "pressure": "corner.{corner}.tyre_pressure",
        "stated_reference": "?tyre.{corner}.load_pressure",
    },
    formula="index mass·(p/p_ref)^0.8", source=Source(
        "ETRTO Standards Manual", clause="passenger section, notes to the size tables", how="read"
    ),
    valid={"pressure": (150e3, 350e3)},
)  # fmt: skip
room.result(
    "corners.permitted_rims", of=permitted_rims, per="corner", kind="object",
    needs={
        "marking": TYRE_MARK, "least": "?tyre.{corner}.rim_width_least",
        "greatest": "?tyre.{corner}.rim_width_greatest",
    },
    formula="as its maker states, else bands of rim over section width",
    source=Source("ISO 4000-1", clause="approved rims, bands fitted to the tables"),
)  # fmt: skip
room.result(
    "corners.fastener_thread", of=fastener_thread, per="corner", kind="object",
    needs={"nut": "wheel_nuts.{corner}.thread"},
    formula="thread as marked", source=Source("ISO 261", clause="thread designation"),
)  # fmt: skip
room.result(
    "corners.hub_bolt_circle", of=hub_bolt_circle, per="corner", kind="length",
    needs={
        "stated": "?corner.{corner}.bolt_circle", "spacing": "?corner.{corner}.stud_spacing",
        "count": "?corner.{corner}.bolt_count",
    },
    formula="as stated, else s/sin(π/n)", source=Source("geometry", how="computed"),
)  # fmt: skip
ENGAGED = {
    "form": "wheel_nuts.{corner}.form", "spacer": "corners.spacer_thickness.{corner}",
    "bolted_on": "?spacer.{corner}.bolted_on", "seat_depth": "wheel.{corner}.seat_depth",
}  # fmt: skip
ENGAGEMENT = "corners.engagement_of_nut.{corner}|corners.engagement_of_bolt.{corner}"
"""Each by what its own kind asks for: a guess of a stud is none of a bolt's."""

room.result(
    "corners.engagement_of_nut", of=engagement_of_nut, per="corner", kind="length",
    needs={
        **ENGAGED, "stud_length": "?wheel_studs.{corner}.length",
        "nut_thread": "?wheel_nuts.{corner}.thread_length",
    },
    formula="stud − seat depth − spacer, at most the thread there is",
    source=Source("geometry", how="computed"),
)  # fmt: skip
room.result(
    "corners.engagement_of_bolt", of=engagement_of_bolt, per="corner", kind="length",
    needs={
        **ENGAGED, "shank_length": "?wheel_nuts.{corner}.shank_length",
        "hub_depth": "?corner.{corner}.hub_thread_depth",
    },
    formula="shank − seat depth − spacer, at most the thread there is",
    source=Source("geometry", how="computed"),
)  # fmt: skip
room.result(
    "corners.thread_of_studs", of=thread_of_studs, per="corner", kind="text",
    needs={"form": "wheel_nuts.{corner}.form", "thread": "wheel_studs.{corner}.thread"},
    formula="as marked, of nuts on studs", source=PRACTICE,
)  # fmt: skip
room.result(
    "corners.thread_of_hub", of=thread_of_hub, per="corner", kind="text",
    needs={"form": "wheel_nuts.{corner}.form", "thread": "corner.{corner}.hub_thread"},
    formula="as marked, of bolts into the hub", source=PRACTICE,
)  # fmt: skip
