"""What the fuel room reads: blends, tank, pump, lines, filter, rail, regulator, injectors."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    CurveOf,
    Density,
    Distance,
    FlowVolume,
    Fraction,
    FuelUse,
    HeatingValue,
    Lambda,
    Length,
    Money,
    Number,
    PositiveLength,
    PressureAbsolute,
    PressureDifference,
    PressureGauge,
    Ratio,
    Resistance,
    Temperature,
    Time,
    Voltage,
    Volume,
)

Material = Literal[
    "stainless steel",
    "unplated steel",
    "zinc-plated steel",
    "zinc",
    "brass",
    "bronze",
    "lead solder",
    "bare aluminium",
    "anodised aluminium",
    "nickel-plated aluminium",
    "FKM",
    "NBR",
    "fuel-grade NBR",
    "neoprene",
    "natural rubber",
    "polyurethane",
    "cork",
    "PVC",
    "PA12",
    "PTFE",
    "HDPE",
    "PPS",
    "POM",
    "polypropylene",
    "glass fibre",
    "epoxy",
    "carbon",
    "copper",
]
"""Materials that the ethanol table knows (systems/fuel/materials.toml says what each stands)."""


class WettedPart(Part):
    """A part that fuel touches."""

    ethanol_limit: Fraction | None = fact(
        "highest ethanol content by volume that its maker states for every wetted surface",
        catalogue="0 %",
    )
    wetted: tuple[Material, ...] | None = fact(
        "materials that fuel touches, seals too; used where the maker states no limit"
    )


class Blend(Section):
    """A fuel that the car is run on, as it comes out of the pump: say by how much it varies."""

    name: str | None = fact("what it is called at the pump")
    used: bool | None = fact(
        "is the car run on it; false for a fuel that a planned job begins to use"
    )
    ethanol: Fraction | None = fact(
        "ethanol by volume, as pumped over the year", catalogue="1 %",
        measure=("fuel test kit", 10, "100 mL fuel and 20 mL water, shake, read the line"),
        typical="51 to 85 %",
    )  # fmt: skip
    petrol_density: Density | None = fact(
        "density of its petrol part at 15 °C", catalogue="1.5 %", typical="720 to 775 kg/m3"
    )
    petrol_molar_mass: Ratio | None = fact(
        "mean molar mass of its petrol part, g/mol", catalogue="4 %", typical="100 to 108"
    )
    petrol_stoich: Ratio | None = fact(
        "stoichiometric air-fuel ratio of its petrol part",
        catalogue="0.7 %",
        typical="14.4 to 14.8",
    )
    petrol_heating_value: HeatingValue | None = fact(
        "lower heating value of its petrol part", catalogue="1 %"
    )
    petrol_research_octane: Number | None = fact(
        "research octane of its petrol part alone, before ethanol", catalogue="1",
        typical="86 to 95",
    )  # fmt: skip
    research_octane: Number | None = fact(
        "research octane that the pump declares for the blend itself", catalogue="0.5"
    )
    vapour_pressure: PressureAbsolute | None = fact(
        "vapour pressure at 37.8 °C (Reid or DVPE), highest over the seasons of use",
        catalogue="5 %", typical="45 to 90 kPa absolute",
    )  # fmt: skip
    lambda_full_load: Lambda | None = fact(
        "lambda that the map asks for at full load on it", catalogue="2 %"
    )
    price: Money | None = fact("price of a litre", catalogue="10 %")


class FuelGoal(Section):
    """What the owner wants of the fuel."""

    lambda_full_load: Lambda | None = fact("lambda wanted at full load, any fuel", catalogue="2 %")
    duty_limit: Fraction | None = fact(
        "highest injector duty wanted; 85 % where unset", catalogue="0 %"
    )
    range_wanted: Distance | None = fact("distance wanted on a tank", catalogue="0 %")


class FuelEngine(Section):
    """How the engine is fuelled, and what fuel it needs."""

    octane_required: Number | None = fact(
        "research octane that the map or the engine's maker requires", catalogue="0"
    )
    injections: Number | None = fact(
        "injections per injector in 720° of crank: 1 sequential, 2 batch", catalogue="0"
    )


class FuelCar(Section):
    """What the car uses as driven."""

    fuel_use: FuelUse | None = fact(
        "fuel use as driven, over several tanks", catalogue="8 %",
        measure=("document", 10, "fuel bills: litres over distance, three tanks or more"),
    )  # fmt: skip
    fuel_use_ethanol: Fraction | None = fact(
        "ethanol content of the fuel that use was found on", catalogue="1 %"
    )


class Injectors(WettedPart):
    """A set of port injectors."""

    kind: Literal["injectors"] = "injectors"
    count: Number | None = fact("injectors in all", catalogue="0")
    static_flow: FlowVolume | None = fact(
        "flow of one held open, at its rated pressure, on its test fluid", catalogue="2 %",
        measure=("flow bench", 60, "all of the set, at the rated pressure, on heptane"),
        typical="150 to 2000 cc/min",
    )  # fmt: skip
    rated_pressure: PressureDifference | None = fact(
        "pressure difference its flow is rated at", catalogue="0.5 %", typical="2.5 to 4.5 bar"
    )
    test_density: Density | None = fact(
        "density of the test fluid (n-heptane 684 kg/m3 where unset)", catalogue="0.5 %"
    )
    dead_time: CurveOf("voltage", "time") | None = fact(  # type: ignore[valid-type]
        "dead time against voltage, at the rated pressure difference"
    )
    dead_time_pressure_slope: Ratio | None = fact(
        "relative rise of dead time per relative rise of pressure difference", catalogue="30 %",
        typical="0.1 to 0.4",
    )  # fmt: skip
    smallest_pulse: Time | None = fact(
        "smallest pulse, dead time included, that gives the same fuel each time", catalogue="10 %",
        measure=("flow bench", 60, "shorten the pulse until flow leaves its line by 5 %"),
        typical="1.2 to 2.4 ms",
    )  # fmt: skip
    pressure_limit: PressureDifference | None = fact(
        "highest pressure difference against which it still opens, by its maker", catalogue="3 %"
    )


class FuelPump(WettedPart):
    """Fuel pump."""

    kind: Literal["pump"] = "pump"
    curve: CurveOf("pressure_gauge", "flow_volume") | None = fact(  # type: ignore[valid-type]
        "flow against outlet pressure, at the rated voltage"
    )
    current_curve: CurveOf("pressure_gauge", "current") | None = fact(  # type: ignore[valid-type]
        "current against outlet pressure, at the rated voltage"
    )
    rated_voltage: Voltage | None = fact("voltage at the pump of both curves", catalogue="0.1 V")
    winding_resistance: Resistance | None = fact(
        "resistance of the motor's winding, warm", catalogue="20 %", typical="60 to 150 mohm"
    )
    idle_share: Fraction | None = fact(
        "share of full voltage that the pump gets at idle and light load; 1 without speed control",
        catalogue="0 %",
    )
    relief_pressure: PressureGauge | None = fact(
        "pressure at which its own relief valve opens", catalogue="8 %"
    )
    inlet_pressure_needed: PressureDifference | None = fact(
        "pressure over vapour pressure that its inlet needs", catalogue="20 %",
        typical="5 to 20 kPa",
    )  # fmt: skip
    strainer_loss: PressureDifference | None = fact(
        "loss of the strainer at the strainer flow, as it is", catalogue="30 %",
        typical="1 to 6 kPa",
    )  # fmt: skip
    strainer_flow: FlowVolume | None = fact("flow of the strainer's loss", catalogue="2 %")


class Regulator(WettedPart):
    """Fuel pressure regulator with a way back to the tank."""

    kind: Literal["regulator"] = "regulator"
    base_pressure: PressureGauge | None = fact(
        "pressure it holds with its reference open to the air, engine running", catalogue="3 %",
        measure=("pressure gauge", 10, "at the rail, hose off the reference, engine idling"),
    )  # fmt: skip
    referenced: bool | None = fact("does it follow the manifold, 1:1")
    rise: PressureDifference | None = fact(
        "how far its pressure climbs from little flow to the open flow", catalogue="30 %",
        typical="0.05 to 0.3 bar",
    )  # fmt: skip
    open_flow: FlowVolume | None = fact("flow of its loss wide open", catalogue="2 %")
    open_loss: PressureDifference | None = fact(
        "pressure lost through it wide open, at the open flow", catalogue="20 %"
    )


class FuelLine(WettedPart):
    """A fuel line with its fittings. A dash size is not a bore: give the bore."""

    kind: Literal["fuel_line"] = "fuel_line"
    bore: PositiveLength | None = fact(
        "the hole that fuel passes, inside", catalogue="2 %",
        measure=("drill shank", 5, "the largest drill that slides into an offcut"),
        typical="5.5 to 9 mm",
    )  # fmt: skip
    dash: str | None = fact("size as sold, for the order only; tells the tube, not the bore")
    length: PositiveLength | None = fact(
        "length along its run", catalogue="5 %", measure=("string", 10, "string along the run")
    )
    roughness: PositiveLength | None = fact("wall roughness; 1.5 µm drawn tube", catalogue="50 %")
    fittings: Number | None = fact(
        "loss coefficient of its fittings together, on its own bore (an elbow 0.9, a banjo 3)",
        catalogue="25 %", typical="2 to 12",
    )  # fmt: skip
    pressure_rating: PressureGauge | None = fact(
        "highest working pressure of hose and ends", catalogue="0 %"
    )


class FuelFilter(WettedPart):
    """Fuel filter after the pump."""

    kind: Literal["fuel_filter"] = "fuel_filter"
    rated_flow: FlowVolume | None = fact("flow of its loss", catalogue="2 %")
    rated_loss: PressureDifference | None = fact(
        "loss at the rated flow, as dirty as it is let become", catalogue="30 %"
    )
    flow_limit: FlowVolume | None = fact("highest flow its maker states", catalogue="0 %")
    pressure_rating: PressureGauge | None = fact("highest working pressure", catalogue="0 %")


class FuelRail(WettedPart):
    """Fuel rail or rails."""

    kind: Literal["fuel_rail"] = "fuel_rail"
    rails: Number | None = fact("number of rails", catalogue="0")
    arrangement: Literal["single", "series", "parallel"] | None = fact(
        "one rail; several one after the other; several side by side"
    )
    bore: PositiveLength | None = fact("bore of a rail", catalogue="2 %")
    length: PositiveLength | None = fact("first to last injector of one rail", catalogue="2 %")
    pressure_limit: PressureGauge | None = fact("highest working pressure", catalogue="0 %")


class EthanolSensor(WettedPart):
    """Ethanol content sensor."""

    kind: Literal["ethanol_sensor"] = "ethanol_sensor"
    ethanol_low: Fraction | None = fact("lowest content it reads", catalogue="0 %")
    ethanol_high: Fraction | None = fact("highest content it reads", catalogue="0 %")
    in_line: Literal["feed", "return"] | None = fact("the line it sits in, all flow through it")
    rated_flow: FlowVolume | None = fact("flow of its loss", catalogue="2 %")
    rated_loss: PressureDifference | None = fact("loss at the rated flow", catalogue="25 %")


class Tank(WettedPart):
    """Fuel tank with its swirl pot."""

    kind: Literal["tank"] = "tank"
    usable_volume: Volume | None = fact("from full to where the pump draws air", catalogue="3 %")
    fuel_temperature: Temperature | None = fact(
        "hottest fuel in it, low on a hot day", catalogue="5 K", typical="35 to 55 °C",
        measure=("thermometer", 15, "surface of the tank's underside after an hour of driving"),
    )  # fmt: skip
    fuel_height: Length | None = fact(
        "fuel over the pump's inlet at the lowest level driven, − where the pump lifts",
        catalogue="20 mm",
    )


PLACES = (
    Place("tank", kind="tank", per="car", title="fuel tank"),
    Place("pump", kind="pump", per="car", title="fuel pump"),
    Place("feed_line", kind="fuel_line", per="car", title="fuel feed line"),
    Place("fuel_filter", kind="fuel_filter", per="car", optional=True, title="fuel filter"),
    Place("fuel_rail", kind="fuel_rail", per="car", title="fuel rail"),
    Place("injectors", kind="injectors", per="car"),
    Place("regulator", kind="regulator", per="car", title="fuel pressure regulator"),
    Place("return_line", kind="fuel_line", per="car", title="fuel return line", without=("run",)),
    Place("ethanol_sensor", kind="ethanol_sensor", per="car", optional=True),
)

SECTIONS: dict[str, type[Section]] = {
    "blend": Blend,
    "goal": FuelGoal,
    "engine": FuelEngine,
    "car": FuelCar,
}
