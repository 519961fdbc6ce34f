"""Parts and facts from the flywheel to the driven wheels, and the owner's stated limits."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    Area,
    Force,
    Number,
    PositiveLength,
    PressureGauge,
    Ratio,
    RotationSpeed,
    Speed,
    Torque,
)


class Clutch(Part):
    """A clutch: cover and disc, as a set."""

    kind: Literal["clutch"] = "clutch"
    capacity: Torque | None = fact(
        "torque at which it slips, bedded and cool, as its maker states it", catalogue="10 %"
    )
    faces: Number | None = fact("rubbed faces, two for each disc")
    friction: Ratio | None = fact(
        "friction of the facing", catalogue="12 %", typical="0.25 to 0.45"
    )
    clamp: Force | None = fact(
        "clamp of the cover at the disc's present thickness", catalogue="8 %",
        typical="4 to 12 kN",
    )  # fmt: skip
    outer_diameter: PositiveLength | None = fact(
        "outer diameter of the facing", catalogue="1 mm", typical="180 to 260 mm"
    )
    inner_diameter: PositiveLength | None = fact(
        "inner diameter of the facing", catalogue="1 mm", typical="120 to 180 mm"
    )
    speed_limit: RotationSpeed | None = fact(
        "highest speed that its maker allows for cover, disc and flywheel", catalogue="50 rpm"
    )


class Gearbox(Part):
    """A gearbox."""

    kind: Literal["gearbox"] = "gearbox"
    ratios: tuple[float, ...] | None = fact("ratios of all forward gears, first gear first")
    torque_limit: Torque | None = fact(
        "torque at its input that its maker, or whoever knows it, states", catalogue="8 %"
    )


class FinalDrive(Part):
    """Final drive and differential."""

    kind: Literal["final_drive"] = "final_drive"
    ratio: Ratio | None = fact("turns of the input for one of the wheels", catalogue="0 %")
    torque_limit: Torque | None = fact("torque at its input, as stated", catalogue="8 %")
    torque_bias: Ratio | None = fact(
        "torque of the harder loaded shaft over that of the other; 1 for an open one",
        catalogue="10 %",
        typical="1 to 3",
    )


class DriveShafts(Part):
    """The driven shafts; on a car with all wheels driven those of the weaker axle."""

    kind: Literal["drive_shafts"] = "drive_shafts"
    torque_limit: Torque | None = fact("torque of one shaft, as stated", catalogue="10 %")
    flange_bolts: Number | None = fact("bolts of one flange")
    flange_clamp: Force | None = fact(
        "clamp of one bolt that the maker states for its figure and a sound thread",
        catalogue="8 %",
    )
    tightening_factor: Ratio | None = fact(
        "greatest over least clamp of the way it is tightened", typical="1.4 to 1.9"
    )
    flange_friction: Ratio | None = fact(
        "friction between the flanges, dry and clean", catalogue="20 %", typical="0.12 to 0.25"
    )
    flange_circle: PositiveLength | None = fact("diameter of the bolt circle", catalogue="0.5 mm")


class EngineLimits(Section):
    """What the owner states that the untouched engine stands: `[engine_limits]`."""

    torque: Torque | None = fact(
        "crank torque that rods and pistons stand, as the owner has learned it", catalogue="8 %"
    )
    boost: PressureGauge | None = fact(
        "boost that head gasket and studs stand", catalogue="8 %", typical="0.8 to 2 bar gauge"
    )
    piston_speed: Speed | None = fact(
        "mean piston speed that the bottom end stands", catalogue="3 %", typical="18 to 25 m/s"
    )
    engine_speed: RotationSpeed | None = fact(
        "engine speed that the valve train stands", catalogue="100 rpm"
    )


class DrivelineEngine(Section):
    """What the driveline needs of `[engine]`."""

    stroke: PositiveLength | None = fact("stroke", catalogue="0.05 mm", typical="70 to 100 mm")


class DrivelineCar(Section):
    """What the driveline needs of `[car]`."""

    drag_area: Area | None = fact(
        "drag coefficient times frontal area", catalogue="6 %", typical="0.55 to 0.8 m2"
    )
    rolling_resistance: Ratio | None = fact(
        "rolling resistance over load", catalogue="15 %", typical="0.009 to 0.018"
    )


class DrivelineGoal(Section):
    """What the driveline is asked for: in `[goal]`."""

    motorway_speed: Speed | None = fact("speed held on a motorway", catalogue="0 km/h")
    motorway_revs: RotationSpeed | None = fact(
        "engine speed that the owner will live with there", catalogue="0 rpm"
    )


class Speedo(Section):
    """The speedometer and what it showed as found: `[speedo]`."""

    indicated: Speed | None = fact(
        "shown as found while the true speed below was driven",
        catalogue="1 km/h",
        measure=("document", 10, "steady on the flat, tyres at pressure; write down the needle"),
    )
    true_speed: Speed | None = fact(
        "true speed at that moment, by a reference",
        measure=("satellite speed", 10, "steady for half a minute on a straight road"),
    )
    axle: Literal["front", "rear", "all"] | None = fact(
        "wheels whose turns it counts; all: the mean of four, as anti-lock units count"
    )
    correction: Ratio | None = fact(
        "what a changed setting of the instrument multiplies its reading by; unset: unchanged",
        catalogue="0 %",
    )


PLACES = (
    Place("clutch", kind="clutch", per="car", without=("creep",)),
    Place("gearbox", kind="gearbox", per="car"),
    Place("final_drive", kind="final_drive", per="car", title="final drive", without=("creep",)),
    Place("drive_shaft", kind="drive_shafts", per="car", title="drive shafts", without=("creep",)),
)

SECTIONS = {
    "engine_limits": EngineLimits,
    "engine": DrivelineEngine,
    "car": DrivelineCar,
    "goal": DrivelineGoal,
    "speedo": Speedo,
}
