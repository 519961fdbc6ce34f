"""The results that the corners room offers: sizes, positions, radii, loads and masses."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.build.tyre_marking import TyreMarking, parse_marking
from drybuild.findings import PRACTICE, Lacking, NotWorkedOut, Source
from drybuild.values import Array

from . import formulas as tyre
from . import formulas_wheel as wheel
from .results_room import room

MM = 1e-3

GROWTH_OF_A_KNOWN_SIZE = 0.02
GROWTH_OF_A_DESIGN_SIZE = 0.04

DESIGN = Source("UN R30", clause="6.1.1, 6.1.2", how="read")
LIMITS = Source("UN R30", clause="6.1.4, 6.1.5", how="memory")
GEOMETRY = Source("geometry; offset as in ISO 4000-2", how="computed")
ETRTO = Source("ETRTO Standards Manual", clause="passenger section, notes", how="memory")


def size(marking: TyreMarking) -> dict[str, float]:
    """Nominal width (m) and aspect ratio of a marking, as the formulas take them."""
    return {
        "nominal_width": marking.section_width_mm * MM,
        "aspect_ratio": marking.aspect_percent / 100.0,
    }


def rim_diameter(marking: TyreMarking) -> float:
    """Conventional rim diameter (m); refuses a code that the table lacks."""
    if marking.rim_code not in tyre.CONVENTIONAL_RIM_DIAMETER_MM:
        raise NotWorkedOut(f"no conventional rim diameter for code {marking.rim_code:g}")
    return tyre.conventional_rim_diameter(rim_code=marking.rim_code)


def design_diameter(marking: TyreMarking) -> Array:
    """Design overall diameter (m)."""
    rim_diameter(marking)
    return tyre.design_overall_diameter(**size(marking), rim_code=marking.rim_code)


def read_marking(*, text: str) -> TyreMarking:
    """The tyre's marking, read."""
    return parse_marking(text)


def spacer_thickness(*, present: bool | None, thickness: Any) -> Any:
    """Thickness between hub and wheel; none where no spacer was ever spoken of."""
    if not present:
        return 0.0
    if thickness is None:
        raise Lacking("thickness", said="the spacer's thickness")
    return thickness


def marked_diameter(*, marking: TyreMarking) -> float:
    """Design overall diameter by the marking alone."""
    return float(design_diameter(marking))


def marked_width(*, marking: TyreMarking) -> float:
    """Nominal section width by the marking."""
    return marking.section_width_mm * MM


def overall_diameter(*, marking: TyreMarking, stated: Any, match: Any) -> Any:
    """Outside diameter, new and inflated: as stated, else about the design size."""
    return match * design_diameter(marking) if stated is None else stated


def section_width(*, marking: TyreMarking, rim_width: Any, stated: Any, stated_rim: Any) -> Any:
    """Section width on the rim that is fitted: as stated and carried over, else by design."""
    if stated is None:
        return tyre.design_section_width(**size(marking), rim_width=rim_width)
    if stated_rim is None:
        stated_rim = tyre.measuring_rim_width(**size(marking))
    return tyre.section_width_on_rim(
        section_width=stated, stated_rim_width=stated_rim, rim_width=rim_width
    )


def growth(*, stated_growth: Any, stated_width: Any, stated_diameter: Any) -> Any:
    """Share by which the tyre is taken to grow over the size that is known of it."""
    if stated_growth is not None:
        return stated_growth
    known = stated_width is not None and stated_diameter is not None
    return GROWTH_OF_A_KNOWN_SIZE if known else GROWTH_OF_A_DESIGN_SIZE


def free_radius(*, marking: TyreMarking, diameter: Any, growth: Any) -> Any:
    """Free radius with growth, for clearance."""
    return tyre.free_radius_grown(
        overall_diameter=diameter, rim_diameter=rim_diameter(marking), growth=growth
    )


def half_width(*, section_width: Any, growth: Any, rim_width: Any, flanges: Any) -> Any:
    """Half of what is wider: the grown tyre or the rim over its flanges."""
    allowance = wheel.FLANGE_ALLOWANCE if flanges is None else flanges
    rim = wheel.wheel_overall_width(rim_width=rim_width, flanges=allowance)
    return np.maximum(tyre.grown(size=section_width, growth=growth), rim) / 2.0


def outer_reach(*, half_width: Any, offset: Any, spacer: Any) -> Any:
    """Outer side of tyre or rim, outboard of the hub face."""
    return wheel.outer_extent(width=2.0 * half_width, offset=offset, spacer=spacer)


def inner_reach(*, half_width: Any, offset: Any, spacer: Any) -> Any:
    """Inner side of tyre or rim, inboard of the hub face."""
    return wheel.inner_extent(width=2.0 * half_width, offset=offset, spacer=spacer)


def tyre_rate(*, marking: TyreMarking, pressure: Any, stated: Any) -> Any:
    """Vertical rate: as stated, else estimated at the pressure."""
    if stated is not None:
        return stated
    if pressure is None:
        raise Lacking("pressure|stated", said="the tyre's pressure or its vertical rate")
    return tyre.vertical_rate(**size(marking), rim_code=marking.rim_code, pressure_gauge=pressure)


def rolling_radius(*, marking: TyreMarking, diameter: Any, factor: Any, circumference: Any) -> Any:
    """Rolling radius: from the stated circumference, else from the diameter.

    The factor's doubt holds against the design diameter and takes in how a tyre differs from it.
    """
    if circumference is not None:
        return circumference / (2.0 * np.pi)
    known = design_diameter(marking) if diameter is None else diameter
    return tyre.rolling_radius(overall_diameter=known, factor=factor)


def turns_per_km(*, rolling_radius: Any) -> Any:
    """Wheel turns for each kilometre."""
    return 1e3 * tyre.turns_per_metre(rolling_radius=rolling_radius)


def outboard_shift(*, offset_then: Any, offset: Any, spacer_then: Any, spacer: Any) -> Any:
    """How far the wheel's centre line stands further out than on the car as found."""
    return wheel.track_change(
        offset_before=offset_then, offset=offset, spacer_before=spacer_then, spacer=spacer
    )


def track_width(*, as_found: Any, left: Any, right: Any) -> Any:
    """Track between the wheels' centre lines."""
    return as_found + left + right


def wheel_and_tyre_mass(*, wheel_mass: Any, tyre_mass: Any, spacer_mass: Any) -> Any:
    """Mass of wheel, tyre and spacer of one corner."""
    return wheel_mass + tyre_mass + (0.0 if spacer_mass is None else spacer_mass)


def inertia_equivalent_mass(
    *,
    marking: TyreMarking,
    mass: Any,
    wheel_mass: Any,
    tyre_mass: Any,
    diameter: Any,
    rolling_radius: Any,
    wheel_inertia: Any,
    tyre_inertia: Any,
) -> Any:
    """Mass of a corner's wheel and tyre with its rotation counted in."""
    if wheel_inertia is not None and tyre_inertia is not None:
        inertia = wheel_inertia + tyre_inertia
    else:
        inertia = tyre.rotating_inertia(
            wheel_mass=wheel_mass,
            rim_diameter=rim_diameter(marking),
            tyre_mass=tyre_mass,
            overall_diameter=diameter,
        )
    return tyre.equivalent_mass(mass=mass, inertia=inertia, rolling_radius=rolling_radius)


TYRE_MARK = "corners.marking.{corner}"

room.result(
    "corners.marking", of=read_marking, per="corner", kind="object",
    needs={"text": "tyre.{corner}.marking"},
    formula="marking as on the sidewall", source=Source("ISO 4000-1", clause="tyre marking"),
)  # fmt: skip
room.result(
    "corners.marked_diameter", of=marked_diameter, per="corner", kind="length",
    needs={"marking": TYRE_MARK}, formula="D = d + 2·H", source=DESIGN,
)  # fmt: skip
room.result(
    "corners.marked_width", of=marked_width, per="corner", kind="length",
    needs={"marking": TYRE_MARK}, formula="S1", source=DESIGN,
)  # fmt: skip
room.result(
    "corners.spacer_thickness", of=spacer_thickness, per="corner", kind="length",
    needs={"present": "?spacer.{corner}.present", "thickness": "?spacer.{corner}.thickness"},
    formula="thickness, 0 without a spacer", source=PRACTICE,
)  # fmt: skip
room.result(
    "corners.overall_diameter", of=overall_diameter, per="corner", kind="length",
    needs={
        "marking": TYRE_MARK, "stated": "?tyre.{corner}.overall_diameter",
        "match": "tyre.{corner}.design_match",
    },
    formula="D as stated, else d + 2·H within 1 %, H = S1·aspect to a whole mm", source=DESIGN,
)  # fmt: skip
room.result(
    "corners.section_width", of=section_width, per="corner", kind="length",
    needs={
        "marking": TYRE_MARK, "rim_width": "wheel.{corner}.rim_width",
        "stated": "?tyre.{corner}.section_width",
        "stated_rim": "?tyre.{corner}.section_rim_width",
    },
    formula="S as stated + 0.4·(rim − its rim), else S1 + 0.4·(rim − x·S1)", source=DESIGN,
)  # fmt: skip
room.result(
    "corners.growth", of=growth, per="corner", kind="fraction",
    needs={
        "stated_growth": "?tyre.{corner}.growth",
        "stated_width": "?tyre.{corner}.section_width",
        "stated_diameter": "?tyre.{corner}.overall_diameter",
    },
    formula="as stated, else 2 % over known sizes, 4 % over design sizes", source=LIMITS,
)  # fmt: skip
room.result(
    "corners.free_radius", of=free_radius, per="corner", kind="length",
    needs={
        "marking": TYRE_MARK, "diameter": "corners.overall_diameter.{corner}",
        "growth": "corners.growth.{corner}",
    },
    formula="r = d/2 + (D − d)/2·(1 + growth)", source=LIMITS,
    valid={"growth": (0.0, 0.05)},
)  # fmt: skip
room.result(
    "corners.half_width", of=half_width, per="corner", kind="length",
    needs={
        "section_width": "corners.section_width.{corner}", "growth": "corners.growth.{corner}",
        "rim_width": "wheel.{corner}.rim_width", "flanges": "?wheel.{corner}.flange_allowance",
    },
    formula="larger of S·(1 + growth) and rim over flanges, halved", source=LIMITS,
)  # fmt: skip
room.result(
    "corners.outer_reach", of=outer_reach, per="corner", kind="length",
    needs={
        "half_width": "corners.half_width.{corner}", "offset": "wheel.{corner}.offset",
        "spacer": "corners.spacer_thickness.{corner}",
    },
    formula="half width − offset + spacer", source=GEOMETRY,
)  # fmt: skip
room.result(
    "corners.inner_reach", of=inner_reach, per="corner", kind="length",
    needs={
        "half_width": "corners.half_width.{corner}", "offset": "wheel.{corner}.offset",
        "spacer": "corners.spacer_thickness.{corner}",
    },
    formula="half width + offset − spacer", source=GEOMETRY,
)  # fmt: skip
room.result(
    "corners.tyre_rate", of=tyre_rate, per="corner", kind="spring_rate",
    needs={
        "marking": TYRE_MARK, "pressure": "?corner.{corner}.tyre_pressure",
        "stated": "?tyre.{corner}.vertical_rate",
    },
    formula="k = 0.00028·p·√[(1.03 − 0.4·A)·S·(2·A·S + d)] + 3.45 kg/mm",
    source=Source("Rhyne, Tire Science and Technology", edition="33 (3), 2005"),
    valid={"pressure": (150e3, 350e3)},
)  # fmt: skip
room.result(
    "corners.loaded_radius", of=tyre.loaded_radius, per="corner", kind="length",
    needs={
        "overall_diameter": "corners.overall_diameter.{corner}",
        "load": "~ride.corner_load.{corner}", "tyre_rate": "corners.tyre_rate.{corner}",
    },
    formula="r = D/2 − F/k", source=Source("ISO 4000-1", clause="static loaded radius"),
)  # fmt: skip
room.result(
    "corners.rolling_radius", of=rolling_radius, per="corner", kind="length",
    needs={
        "marking": TYRE_MARK, "diameter": "?tyre.{corner}.overall_diameter",
        "factor": "tyre.{corner}.rolling_factor",
        "circumference": "?tyre.{corner}.rolling_circumference",
    },
    formula="r = circumference/2π, circumference about 3.05·D unless stated", source=ETRTO,
)  # fmt: skip
room.result(
    "corners.turns_per_km", of=turns_per_km, per="corner", kind="number",
    needs={"rolling_radius": "corners.rolling_radius.{corner}"},
    formula="1000/(2π·r)", source=ETRTO,
)  # fmt: skip
room.result(
    "corners.outboard_shift", of=outboard_shift, per="corner", kind="length",
    needs={
        "offset_then": "base:wheel.{corner}.offset", "offset": "wheel.{corner}.offset",
        "spacer_then": "base:corners.spacer_thickness.{corner}",
        "spacer": "corners.spacer_thickness.{corner}",
    },
    formula="offset as found − offset + spacer − spacer as found", source=GEOMETRY,
)  # fmt: skip
room.result(
    "corners.track_width", of=track_width, per="axle", kind="length",
    needs={
        "as_found": "axle.{axle}.track_width", "left": "corners.outboard_shift.{axle}.left",
        "right": "corners.outboard_shift.{axle}.right",
    },
    formula="track as found + left + right", source=GEOMETRY,
)  # fmt: skip
room.result(
    "corners.wheel_and_tyre_mass", of=wheel_and_tyre_mass, per="corner", kind="mass",
    needs={
        "wheel_mass": "wheel.{corner}.mass", "tyre_mass": "tyre.{corner}.mass",
        "spacer_mass": "?spacer.{corner}.mass",
    },
    formula="wheel + tyre + spacer", source=PRACTICE,
)  # fmt: skip
room.result(
    "corners.inertia_equivalent_mass", of=inertia_equivalent_mass, per="corner", kind="mass",
    needs={
        "marking": TYRE_MARK, "mass": "corners.wheel_and_tyre_mass.{corner}",
        "wheel_mass": "wheel.{corner}.mass", "tyre_mass": "tyre.{corner}.mass",
        "diameter": "corners.overall_diameter.{corner}",
        "rolling_radius": "corners.rolling_radius.{corner}",
        "wheel_inertia": "?wheel.{corner}.rotating_inertia",
        "tyre_inertia": "?tyre.{corner}.rotating_inertia",
    },
    formula="m + I/r²", source=Source("Wong, Theory of Ground Vehicles", clause="mass factor"),
)  # fmt: skip
