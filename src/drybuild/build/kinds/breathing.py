"""What the breathing room reads: the site's air, the engine, and every part that air passes."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Model, Part, Place, Section, fact
from drybuild.values import HowKnown, show
from drybuild.values.types import (
    Area,
    CurveOf,
    FlowMass,
    Fraction,
    Length,
    Number,
    Power,
    PressureAbsolute,
    PressureDifference,
    PressureGauge,
    Ratio,
    RotationSpeed,
    Speed,
    Temperature,
    TemperatureDifference,
    Volume,
)


class Site(Section):
    """Where the car is used at full load, and the air there."""

    altitude: Length | None = fact(
        "height above sea level, as on a map", catalogue="20 m", typical="0 to 1000 m"
    )
    barometer: PressureAbsolute | None = fact(
        "station pressure at the site, not reduced to sea level; stands in place of altitude",
        catalogue="200 Pa",
        measure=("barometer", 2, "at the site, station pressure"),
    )
    weather: PressureDifference | None = fact(
        "how far the weather moves the pressure from the standard one of the altitude, + higher"
    )
    # No tool: it is the air that the owner expects to drive in, not today's.
    temperature: Temperature | None = fact(
        "air temperature in the shade, over the days it is driven in", catalogue="5 K"
    )
    humidity: Fraction | None = fact(
        "relative humidity", catalogue="15 %"
    )
    hot_day: Temperature | None = fact("air temperature of the hottest day of use", catalogue="3 K")


class BreathingGoal(Section):
    """What the owner wants of the engine's breathing."""

    boost: PressureGauge | None = fact("manifold pressure wanted, gauge, at the site")
    boost_ceiling: PressureGauge | None = fact(
        "highest manifold pressure, gauge, that the owner will have, overshoot included"
    )
    power: Power | None = fact("power wanted at the crank, at the site, uncorrected")
    full_load_road_speed: Speed | None = fact(
        "road speed for sums at full load: on the hill, or the air of the dyno's fan",
        catalogue="10 %",
        typical="60 to 120 km/h",
    )


class Engine(Section):
    """The engine as a pump for air, and what it makes of the fuel."""

    displacement: Volume | None = fact("swept volume of all cylinders", catalogue="0.3 %")
    cylinders: Number | None = fact("number of cylinders")
    compression_ratio: Ratio | None = fact("compression ratio", catalogue="0.2")
    rev_limit: RotationSpeed | None = fact("highest engine speed allowed", catalogue="50 rpm")
    idle_speed: RotationSpeed | None = fact(
        "warm idle", catalogue="50 rpm", measure=("scan", 3, "warm, all loads off")
    )
    idle_manifold_pressure: PressureAbsolute | None = fact(
        "manifold pressure at warm idle",
        catalogue="4 kPa",
        measure=("scan", 3, "warm, all loads off, absolute pressure"),
        typical="28 to 40 kPa absolute",
    )
    idle_volumetric_efficiency: Ratio | None = fact(
        "volumetric efficiency at idle, against manifold density", catalogue="10 %",
        typical="0.6 to 0.8",
    )  # fmt: skip
    volumetric_efficiency: CurveOf("rotation_speed", "ratio") | None = fact(  # type: ignore[valid-type]
        "volumetric efficiency at full throttle along engine speed, against manifold density"
    )
    brake_efficiency: Fraction | None = fact(
        "brake power over the energy of the fuel that the air can burn, full throttle",
        catalogue="4 %",
        typical="0.30 to 0.36",
    )
    exhaust_temperature: Temperature | None = fact(
        "exhaust gas before the turbine, or in the manifold, at full load",
        catalogue="50 K",
        measure=("thermometer", 60, "probe in the manifold, full load on the dyno"),
        typical="820 to 950 °C",
    )
    charge_temperature_limit: Temperature | None = fact(
        "highest air temperature in the manifold that its map is made for", catalogue="2 K"
    )
    driveline_efficiency: Fraction | None = fact(
        "power at the wheels over power at the crank, near full load",
        catalogue="3 %",
        typical="0.88 to 0.96",
    )
    plugs: str | None = fact("spark plugs: maker and number, which carries the heat range")
    plug_gap: Length | None = fact(
        "gap of the spark plugs", catalogue="0.05 mm",
        measure=("feeler gauge", 20, "engine cold, every plug; the least counts"),
    )  # fmt: skip
    air_temperature_at: str | None = fact(
        "where its air temperature is read, as in the air meter or behind the charge cooler"
    )
    control_unit: str | None = fact("control unit: maker and number, as on its label")
    software: str | None = fact(
        "number of software or calibration in the control unit, as read out of it"
    )


class MapLine(Model):
    """One line of equal corrected speed, from its surge end to its choke end."""

    speed: RotationSpeed = fact("corrected speed of the line", default=...)
    flow: tuple[FlowMass, ...] = fact("corrected flow, rising", default=...)
    pressure_ratio: tuple[float, ...] = fact("total to total pressure ratio", default=...)
    efficiency: tuple[float, ...] = fact("isentropic efficiency, 0 to 1", default=...)


class CompressorMap(Model):
    """A compressor map with its own reference conditions."""

    reference_temperature: Temperature = fact("temperature it is corrected to", default=...)
    reference_pressure: PressureAbsolute = fact("pressure it is corrected to", default=...)
    lines: tuple[MapLine, ...] = fact("speed lines, at least three", default=...)

    def how_known(self, name: str, otherwise: HowKnown) -> HowKnown:
        """How a fact is known; the lines as the least known of their speeds."""
        if name == "lines" and self.lines:
            return min(line.speed.how for line in self.lines)
        return super().how_known(name, otherwise)

    def __str__(self) -> str:
        to = (self.reference_temperature, self.reference_pressure)
        at = " and ".join(show(value.kind, value.centre) for value in to)
        return f"{len(self.lines)} speed lines, corrected to {at}"


class Turbo(Part):
    """Turbocharger."""

    kind: Literal["turbo"] = "turbo"
    map: CompressorMap | None = fact("the compressor's map")
    efficiency: Fraction | None = fact(
        "compressor efficiency for sums when nobody has the map", catalogue="8 %",
        typical="0.62 to 0.76",
    )  # fmt: skip
    flow_scale: Ratio | None = fact(
        "flow of this compressor over its map's", typical="0.97 to 1.03"
    )
    efficiency_scale: Ratio | None = fact(
        "efficiency of this compressor over its map's", typical="0.95 to 1.02"
    )
    reach: CurveOf("rotation_speed", "ratio") | None = fact(  # type: ignore[valid-type]
        "highest pressure ratio that the turbine can drive on this engine, along engine speed"
    )
    full_boost_speed: RotationSpeed | None = fact(
        "engine speed at which full boost is there, full throttle in a high gear",
        catalogue="5 %",
        measure=("scan", 15, "log one full-throttle run in a high gear, closed course or dyno"),
        typical="2200 to 4000 rpm",
    )
    speed_limit: RotationSpeed | None = fact("highest shaft speed allowed by its maker",
                                             catalogue="1 %")  # fmt: skip
    turbine_temperature_limit: Temperature | None = fact(
        "highest exhaust temperature into the turbine", catalogue="10 K"
    )
    mechanical_efficiency: Fraction | None = fact(
        "shaft: compressor work over turbine work", catalogue="2 %", typical="0.94 to 0.99"
    )
    inlet_depression_limit: PressureDifference | None = fact(
        "highest suction at its inlet allowed by its maker", catalogue="2 %"
    )
    back_pressure_limit: PressureDifference | None = fact(
        "highest pressure after the turbine allowed by its maker", catalogue="2 %"
    )
    water_cooled: bool | None = fact("is its bearing housing in the coolant circuit")

    def how_known(self, name: str, otherwise: HowKnown) -> HowKnown:
        """How a fact is known; the map as its lines are."""
        if name == "map" and self.map is not None:
            return self.map.how_known("lines", otherwise)
        return super().how_known(name, otherwise)


class BoostControl(Part):
    """Boost control: wastegate actuator and its valve."""

    kind: Literal["boost_control"] = "boost_control"
    reference: Literal["gauge", "absolute"] | None = fact(
        "what it holds: pressure over the barometer, or absolute pressure (that makes up for "
        "altitude)"
    )
    overshoot: PressureDifference | None = fact(
        "how far boost rises above its target for a moment",
        catalogue="30 %",
        measure=("scan", 15, "log one full-throttle run: highest pressure less the settled one"),
        typical="0.03 to 0.15 bar",
    )
    scatter: PressureDifference | None = fact(
        "how far the settled boost strays from its target, either way", typical="0.01 to 0.05 bar"
    )


class ChargeCooler(Part):
    """Charge cooler, air to air."""

    kind: Literal["charge_cooler"] = "charge_cooler"
    effectiveness: Fraction | None = fact(
        "effectiveness at its measured point", catalogue="5 %", typical="0.6 to 0.85",
        measure=("thermometer", 60, "charge in, charge out, cooling air: at full load"),
    )  # fmt: skip
    effectiveness_flow: FlowMass | None = fact(
        "charge flow at which its effectiveness was measured", catalogue="2 %"
    )
    effectiveness_air_speed: Speed | None = fact(
        "speed of the cooling air at its face at which its effectiveness was measured",
        catalogue="5 %",
    )
    face_area: Area | None = fact("area of its face to the air", catalogue="2 %")
    ram_share: Fraction | None = fact(
        "speed of the air through its face over road speed", catalogue="20 %",
        typical="0.15 to 0.4",
    )  # fmt: skip
    pressure_loss: PressureDifference | None = fact(
        "pressure loss with its end tanks at its measured flow", catalogue="10 %",
        measure=("pressure gauge", 30, "difference before and after, full load, note the air flow"),
        typical="4 to 20 kPa",
    )  # fmt: skip
    loss_flow: FlowMass | None = fact("flow at which its loss was measured", catalogue="2 %")
    loss_pressure: PressureAbsolute | None = fact(
        "absolute pressure at which its loss was measured", catalogue="2 %"
    )
    loss_temperature: Temperature | None = fact(
        "mean air temperature at which its loss was measured", catalogue="5 K"
    )
    pressure_limit: PressureGauge | None = fact(
        "highest charge pressure that core, hoses and clamps are rated for", catalogue="2 %"
    )
    loss_allowed: PressureDifference | None = fact(
        "highest loss that the builder will have", catalogue="1 %"
    )


class Intake(Part):
    """Intake: filter, duct, hoses to the compressor."""

    kind: Literal["intake"] = "intake"
    pressure_loss: PressureDifference | None = fact(
        "suction at the compressor at its measured flow, filter as it is", catalogue="15 %",
        measure=("manometer", 20, "tapping before the compressor, full load, note the air flow"),
        typical="1 to 5 kPa",
    )  # fmt: skip
    loss_flow: FlowMass | None = fact("flow at which its loss was measured", catalogue="2 %")
    temperature_rise: TemperatureDifference | None = fact(
        "air at the compressor over outside air", catalogue="3 K",
        measure=("thermometer", 20, "probe before the compressor, driving"),
        typical="2 to 15 K",
    )  # fmt: skip


class AirMeter(Part):
    """Air meter in its housing."""

    kind: Literal["air_meter"] = "air_meter"
    output: Literal["voltage", "frequency"] | None = fact("what its signal is")
    max_flow: FlowMass | None = fact(
        "flow at the end of its span, in this housing", catalogue="3 %"
    )
    bore: Length | None = fact(
        "inside diameter of its housing at the element", catalogue="0.5 mm",
        measure=("vernier", 5, "housing off, across the bore in two directions"),
    )  # fmt: skip


class ReliefValve(Part):
    """Charge relief valve: lets boost out when the throttle shuts."""

    kind: Literal["relief_valve"] = "relief_valve"
    discharge: Literal["returns", "vents"] | None = fact(
        "back into the intake before the compressor, or to the open air"
    )


class Exhaust(Part):
    """A length of exhaust: dump pipe after the turbine, or the rest with its silencers."""

    kind: Literal["exhaust"] = "exhaust"
    pressure_loss: PressureDifference | None = fact(
        "pressure loss at its measured flow, hot", catalogue="15 %",
        measure=("pressure gauge", 30, "tapping before it, full load, note the air flow"),
        typical="5 to 40 kPa",
    )  # fmt: skip
    loss_flow: FlowMass | None = fact(
        "exhaust flow at which its loss was measured", catalogue="5 %"
    )
    loss_pressure: PressureAbsolute | None = fact(
        "absolute pressure behind it when its loss was measured", catalogue="3 %"
    )
    loss_temperature: Temperature | None = fact(
        "gas temperature at which its loss was measured", catalogue="50 K"
    )


class Catalyst(Exhaust):
    """Catalyst."""

    kind: Literal["catalyst"] = "catalyst"  # type: ignore[assignment]
    temperature_limit: Temperature | None = fact(
        "highest gas temperature into it", catalogue="10 K", typical="880 to 950 °C"
    )
    cells: Number | None = fact("cells per square inch")


class Throttle(Part):
    """Throttle body."""

    kind: Literal["throttle"] = "throttle"
    bore: Length | None = fact("inside diameter at the plate", catalogue="0.5 mm")
    pressure_loss: PressureDifference | None = fact(
        "pressure loss wide open at its measured flow", catalogue="20 %"
    )
    loss_flow: FlowMass | None = fact("flow at which its loss was measured", catalogue="2 %")
    loss_pressure: PressureAbsolute | None = fact(
        "absolute pressure behind it when its loss was measured", catalogue="2 %"
    )
    loss_temperature: Temperature | None = fact(
        "air temperature at which its loss was measured", catalogue="5 K"
    )


PLACES = (
    Place("turbo", kind="turbo", per="car", optional=True, title="turbocharger"),
    Place("boost_control", kind="boost_control", per="car", optional=True),
    Place("charge_cooler", kind="charge_cooler", per="car", optional=True),
    Place("intake", kind="intake", per="car"),
    Place("air_meter", kind="air_meter", per="car", optional=True),
    Place("relief_valve", kind="relief_valve", per="car", optional=True),
    Place("throttle", kind="throttle", per="car"),
    Place("dump_pipe", kind="exhaust", per="car", optional=True, title="dump pipe"),
    Place("catalyst", kind="catalyst", per="car", optional=True),
    Place("exhaust", kind="exhaust", per="car", title="exhaust behind the catalyst"),
)

SECTIONS = {"site": Site, "goal": BreathingGoal, "engine": Engine}
