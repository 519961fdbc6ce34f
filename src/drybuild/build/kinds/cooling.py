"""What the cooling room reads: radiator, oil cooler, and how hard the car is worked in the heat."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    Area,
    Conductance,
    CurveOf,
    Fraction,
    Ratio,
    Speed,
    Temperature,
)


class Radiator(Part):
    """Radiator with its hoses, in its place behind the grille."""

    kind: Literal["radiator"] = "radiator"
    conductance: CurveOf("speed", "conductance") | None = fact(  # type: ignore[valid-type]
        "heat for each kelvin between coolant in and air in, along the speed of the air through "
        "its face, from the face speed 0 upward"
    )
    face_area: Area | None = fact("area of its face to the air", catalogue="2 %")
    ram_share: Fraction | None = fact(
        "speed of the air through its face over road speed", catalogue="20 %",
        typical="0.1 to 0.3",
    )  # fmt: skip
    covered: Fraction | None = fact(
        "share of its face behind the charge cooler", catalogue="10 %",
        measure=("tape", 5, "from the front, grille off: height and width of both cores"),
        typical="0 to 0.9",
    )  # fmt: skip
    fan_air_speed: Speed | None = fact(
        "speed of the air through its face, fan at full speed, car standing", catalogue="15 %",
        typical="8 to 16 km/h",
    )  # fmt: skip


class OilCooler(Part):
    """Oil cooler."""

    kind: Literal["oil_cooler"] = "oil_cooler"
    medium: Literal["coolant", "air"] | None = fact("what cools the oil in it")
    conductance: Conductance | None = fact(
        "heat for each kelvin between oil and coolant or air, at hill-climb flow",
        catalogue="15 %", typical="60 to 300 W/K",
    )  # fmt: skip


class CoolingEngine(Section):
    """Where the engine's heat goes, and what its fluids stand."""

    coolant_heat_ratio: Ratio | None = fact(
        "heat into the coolant over brake power, near full load", catalogue="12 %",
        typical="0.4 to 0.7",
    )  # fmt: skip
    coolant_heat_ratio_part_load: Ratio | None = fact(
        "heat into the coolant over brake power, at half load or less", catalogue="15 %",
        typical="0.7 to 1.1",
    )  # fmt: skip
    oil_heat_ratio: Ratio | None = fact(
        "heat into the oil over brake power, near full load", catalogue="20 %",
        typical="0.05 to 0.1",
    )  # fmt: skip
    coolant_limit: Temperature | None = fact(
        "highest coolant temperature by the vehicle's maker", catalogue="1 K"
    )
    oil_limit: Temperature | None = fact(
        "highest oil temperature by the vehicle's maker", catalogue="2 K"
    )


class CoolingGoal(Section):
    """How hard the car is worked in the heat."""

    climb_gradient: Ratio | None = fact(
        "steepest long road climb, rise over length of road", catalogue="5 %",
        typical="0.06 to 0.14",
    )  # fmt: skip
    climb_speed: Speed | None = fact("speed held on that climb", catalogue="5 %")
    full_load_share: Fraction | None = fact(
        "share of highest power that a timed hill climb asks for on average", catalogue="10 %",
        typical="0.4 to 0.7",
    )  # fmt: skip
    slow_road_speed: Speed | None = fact(
        "lowest road speed at which full load is held, such as out of a hairpin",
        catalogue="10 %",
    )


PLACES = (
    Place("radiator", kind="radiator", per="car"),
    Place("oil_cooler", kind="oil_cooler", per="car", optional=True),
)

SECTIONS = {"engine": CoolingEngine, "goal": CoolingGoal}
