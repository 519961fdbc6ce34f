"""The map in the control unit, as data: what it expects. And the sensors that it listens to."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, fact
from drybuild.values.types import (
    Angle,
    FlowMass,
    FlowVolume,
    Fraction,
    Number,
    PositiveLength,
    PressureAbsolute,
    PressureDifference,
    PressureGauge,
    RotationSpeed,
    Time,
)


class CalibrationMap(Part):
    """The map flashed into the control unit. All of it is what the map says, none of it advice."""

    kind: Literal["map"] = "map"
    stage: Literal["standard", "first", "final"] | None = fact(
        "standard: the vehicle maker's; first: a cautious one to start and log with; final"
    )
    checksum: str | None = fact("checksum of the file, as the flashing tool shows it")
    injector_flow: FlowVolume | None = fact(
        "injector flow that it reckons with", catalogue="0 %", typical="150 to 2000 cc/min"
    )
    injector_pressure: PressureDifference | None = fact(
        "pressure difference at which that flow is meant", catalogue="0 %",
        typical="2.5 to 4.5 bar",
    )  # fmt: skip
    dead_time: Time | None = fact(
        "injector dead time that it reckons with at 14 V", catalogue="0 %"
    )
    ethanol_least: Fraction | None = fact(
        "least ethanol by volume that it is made for", catalogue="0 %"
    )
    ethanol_most: Fraction | None = fact(
        "most ethanol by volume that it is made for", catalogue="0 %"
    )
    octane_required: Number | None = fact("octane (RON) that it is made for")
    rail_base_pressure: PressureGauge | None = fact(
        "rail pressure at rest that it reckons with", catalogue="0 %"
    )
    air_meter_housing: PositiveLength | None = fact(
        "bore of the air meter's housing that it reckons with", catalogue="0 %"
    )
    air_meter_span: FlowMass | None = fact("greatest air flow in its meter table", catalogue="0 %")
    pressure_sensor_span: PressureAbsolute | None = fact(
        "manifold pressure at the top of the sensor's scale that it reckons with", catalogue="0 %"
    )
    throttle_bore: PositiveLength | None = fact(
        "bore of the throttle that it reckons with", catalogue="0 %"
    )
    relief_valve: Literal["returns", "vents", "either"] | None = fact(
        "where it believes that released charge air goes"
    )
    flaps: Literal["present", "deleted"] | None = fact(
        "whether it commands charge-motion flaps in the intake"
    )
    catalyst_monitor: bool | None = fact("whether it watches the catalyst")
    ethanol_sensor: bool | None = fact("whether it reads an ethanol sensor")
    boost_target: PressureGauge | None = fact("greatest boost it asks for", catalogue="0 %")
    boost_ceiling: PressureGauge | None = fact(
        "boost at which it cuts, as its writer states it", catalogue="0 %"
    )
    advance_ceiling: Angle | None = fact(
        "most ignition advance at full load, as its writer states it", catalogue="0 deg"
    )
    final_boost: PressureGauge | None = fact(
        "boost that its writer states for the final map of this series", catalogue="0 %"
    )
    final_advance: Angle | None = fact(
        "advance at full load that its writer states for the final map", catalogue="0 deg"
    )
    rev_limit: RotationSpeed | None = fact("engine speed at which it cuts", catalogue="0 rpm")


class PressureSensor(Part):
    """Manifold pressure sensor."""

    kind: Literal["pressure_sensor"] = "pressure_sensor"
    span: PressureAbsolute | None = fact("top of its scale", catalogue="1.5 %")


PLACES = (
    Place("map", kind="map", per="car", title="map in the control unit"),
    Place(
        "pressure_sensor",
        kind="pressure_sensor",
        per="car",
        title="manifold pressure sensor",
        without=(),
    ),
)

SECTIONS: dict[str, type] = {}
