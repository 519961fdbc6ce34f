"""Parts and facts of the brakes: discs, calipers, pads, fluid, hoses, pedal."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    Area,
    Conductance,
    CurveOf,
    Fraction,
    HeatCapacity,
    Length,
    Mass,
    Number,
    PositiveLength,
    PressureGauge,
    Ratio,
    Speed,
    Temperature,
    TemperatureDifference,
    Time,
    Volume,
)

FluidBase = Literal["glycol", "silicone", "mineral"]


class Disc(Part):
    """A brake disc."""

    kind: Literal["disc"] = "disc"
    outer_diameter: PositiveLength | None = fact(
        "outer diameter of the friction ring",
        catalogue="0.5 mm",
        measure=("vernier", 10, "caliper off or through the wheel, across the middle"),
        typical="230 to 360 mm",
        possible="120 to 500 mm",
    )
    thickness: PositiveLength | None = fact(
        "thickness as it is now, at its thinnest in the swept ring",
        catalogue="0.1 mm",
        measure=("micrometer", 10, "four places inside the rust lip, wheel off"),
        typical="8 to 32 mm",
        possible="2 to 60 mm",
    )
    thickness_min: PositiveLength | None = fact(
        "least thickness, cast or stamped on the disc's edge or bell", catalogue="0.05 mm",
        possible="2 to 60 mm",
        stamped=True,
    )
    effective_radius: PositiveLength | None = fact(
        "middle of the swept ring, where it is not outer diameter less half the pad",
        catalogue="1 mm",
    )
    ring_mass: Mass | None = fact(
        "mass of the friction ring without the bell: what takes up the heat",
        catalogue="8 %",
        measure=("scales", 15, "weigh the disc and take off the bell, by its volume or a quarter"),
        typical="2.5 to 9 kg",
    )
    heat_capacity: HeatCapacity | None = fact(
        "specific heat capacity of the ring; grey iron about 460 to 500 J/(kg K)", catalogue="5 %"
    )
    shed: Conductance | None = fact(
        "heat that one disc loses per kelvin above the air at about 60 km/h",
        catalogue="20 %",
        typical="6 to 16 W/K",
    )


class Caliper(Part):
    """A brake caliper. Count all of its pistons: the sides are told apart by the layout."""

    kind: Literal["caliper"] = "caliper"
    layout: Literal["sliding", "opposed"] | None = fact(
        "sliding: pistons on one side; opposed: pistons on both sides of the disc"
    )
    piston_count: Number | None = fact("all pistons of one caliper")
    piston_diameter: PositiveLength | None = fact(
        "bore of the pistons", catalogue="0.05 mm", possible="10 to 90 mm"
    )
    second_piston_diameter: PositiveLength | None = fact(
        "bore of the other half of the pistons, where they differ", catalogue="0.05 mm"
    )
    pad_travel: PositiveLength | None = fact(
        "way of one pad from rest to the disc", catalogue="0.05 mm", typical="0.08 to 0.3 mm"
    )
    give_at_100_bar: Volume | None = fact(
        "fluid that caliper, pads and hose take up beyond that at 100 bar",
        catalogue="20 %",
        typical="0.3 to 1.5 cc",
    )
    disc_diameter: PositiveLength | None = fact(
        "disc diameter that caliper and bracket are made for", catalogue="0.5 mm",
        possible="120 to 500 mm",
    )
    disc_thickness: PositiveLength | None = fact(
        "new disc thickness that the caliper is made for", catalogue="0.2 mm",
        possible="2 to 60 mm",
    )
    pad_shape: str | None = fact("name of the pad shape that fits, as the maker gives it")
    outer_radius: PositiveLength | None = fact(
        "from the hub's axis to the caliper's farthest point",
        catalogue="0.5 mm",
        measure=("vernier", 15, "card cut to the caliper, from the maker's drawing or the part"),
        typical="140 to 210 mm",
        possible="70 to 300 mm",
    )
    face_offset: Length | None = fact(
        "from the hub's wheel face to the caliper's outermost face, + outboard",
        catalogue="0.5 mm",
        measure=("straightedge", 10, "straightedge across the disc's wheel face, rule to caliper"),
        typical="10 to 70 mm",
        possible="-60 to 160 mm",
    )
    passed_on: Fraction | None = fact(
        "share of the disc's rise above the air that reaches the fluid after standing",
        plain="share of heat that reaches the fluid",
        catalogue="25 %",
        measure=("thermometer", 40, "after hot stops, standing: most at the bleed screw less the "
                 "air, over the disc at the stop less the air"),
        typical="0.15 to 0.4",
    )
    profile: CurveOf("length", "length") | None = fact(  # type: ignore[valid-type]
        "outline: farthest point from the hub's axis against distance from the hub's wheel face, "
        "+ outboard; a template cut to it goes into the wheel",
        measure=("vernier", 30, "card cut to the caliper, from the maker's drawing or the part"),
    )
    heat_rise: TemperatureDifference | None = fact(
        "how much hotter the caliper's body is in hard use than when its outline was taken",
        catalogue="30 %",
    )


class Pads(Part):
    """The brake pads of one axle."""

    kind: Literal["pads"] = "pads"
    friction: Ratio | None = fact(
        "friction on the disc, warm; the maker's curve says how it falls when hot",
        catalogue="12 %",
        typical="0.32 to 0.5",
    )
    temperature_limit: Temperature | None = fact(
        "disc temperature up to which the maker says that the pads hold their friction",
        catalogue="15 K",
    )
    pad_height: PositiveLength | None = fact(
        "height of the pad along the disc's radius", catalogue="0.5 mm", typical="35 to 60 mm"
    )
    pad_thickness: PositiveLength | None = fact(
        "friction material left, at the thinner pad",
        catalogue="0.3 mm",
        measure=("vernier", 10, "through the caliper's window, inner and outer pad"),
        typical="3 to 12 mm",
        possible="0 to 40 mm",
    )
    pad_thickness_min: PositiveLength | None = fact("least friction material", catalogue="0.1 mm")
    pad_shape: str | None = fact("name of the pad shape, as the maker gives it")
    pad_area: Area | None = fact("rubbing area of one pad, slots taken off", catalogue="3 %")
    friction_curve: CurveOf("temperature", "ratio") | None = fact(  # type: ignore[valid-type]
        "friction against the disc's temperature, by the pad's maker"
    )


class BrakeFluid(Part):
    """Brake fluid."""

    kind: Literal["brake_fluid"] = "brake_fluid"
    base: FluidBase | None = fact("what it is made of: they do not mix")
    boil_dry: Temperature | None = fact("boiling point of fresh fluid", catalogue="3 K")
    boil_wet: Temperature | None = fact(
        "boiling point with 3.7 % water, as fluid is after about two years", catalogue="3 K"
    )


class MasterCylinder(Part):
    """The brake master cylinder with its servo."""

    kind: Literal["master_cylinder"] = "master_cylinder"
    bore: PositiveLength | None = fact("bore", catalogue="0.02 mm", typical="19 to 27 mm")
    stroke: PositiveLength | None = fact(
        "usable stroke, both chambers of a tandem cylinder together",
        catalogue="1 mm",
        typical="25 to 40 mm",
    )
    servo_gain: Ratio | None = fact(
        "rod force after the servo over rod force before it; 1 without a servo", catalogue="8 %"
    )
    servo_runout: PressureGauge | None = fact(
        "line pressure at which the servo has no more to give", catalogue="8 %"
    )
    fluid_base: FluidBase | None = fact("fluid that cap and seals ask for")


class BrakeHose(Part):
    """A flexible brake hose."""

    kind: Literal["brake_hose"] = "brake_hose"
    hose_length: PositiveLength | None = fact(
        "length between the fittings", catalogue="3 mm", typical="200 to 500 mm"
    )


class BrakeValve(Part):
    """A valve that holds back pressure from the rear brakes."""

    kind: Literal["brake_valve"] = "brake_valve"
    knee: PressureGauge | None = fact("pressure at which it begins to hold back", catalogue="8 %")
    slope: Fraction | None = fact("rise of rear over front pressure above that", catalogue="8 %")


class BrakePedal(Section):
    """The brake pedal: `[brake_pedal]`."""

    ratio: Ratio | None = fact(
        "pedal travel over rod travel",
        catalogue="4 %",
        measure=("document", 10, "the maker's data, or by rule: pivot to pad over pivot to rod"),
        typical="3 to 6",
    )


class BrakesCorner(Section):
    """What the brakes need of `[corner.front]` and `[corner.rear]`."""

    hose_reach: PositiveLength | None = fact(
        "hose path from fitting to fitting at the worst of full droop and full lock",
        measure=("string", 15, "wheel hanging, steering at both locks, string along the hose"),
        typical="180 to 480 mm",
    )


class BrakesGoal(Section):
    """What the brakes are asked for beyond the everyday: in `[goal]`."""

    descent_height: PositiveLength | None = fact("height lost on the longest usual descent")
    descent_length: PositiveLength | None = fact("length of road of that descent")
    descent_speed: Speed | None = fact("speed held on it")
    event_stops: Number | None = fact("hard stops in a row at an event")
    event_stop_speed: Speed | None = fact("speed from which each of them starts")
    event_stop_interval: Time | None = fact("time from one of them to the next")


PLACES = (
    Place("disc", kind="disc", per="corner", without=("creep",)),
    Place("caliper", kind="caliper", per="corner", without=("creep",)),
    Place("pads", kind="pads", per="axle", without=("creep",)),
    Place("brake_hose", kind="brake_hose", per="corner", without=("creep",)),
    Place("brake_fluid", kind="brake_fluid", per="car", without=("creep",)),
    Place("master_cylinder", kind="master_cylinder", per="car", without=("creep",)),
    Place("brake_valve", kind="brake_valve", per="car", optional=True, title="rear pressure valve"),
)

SECTIONS = {"brake_pedal": BrakePedal, "corner": BrakesCorner, "goal": BrakesGoal}
