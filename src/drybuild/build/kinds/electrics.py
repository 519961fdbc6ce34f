"""What the electrics room reads: wires, fuses, relays, alternator, battery, fan motor."""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    Area,
    Charge,
    Current,
    CurveOf,
    Fraction,
    PositiveLength,
    Ratio,
    Resistance,
    Temperature,
    Voltage,
)


class ElectricsCar(Section):
    """The car's other consumers."""

    electrical_load: Current | None = fact(
        "current of everything but fuel pump and fan: ignition, injectors, lamps, blower",
        catalogue="20 %",
        measure=("clamp meter", 15, "round the battery earth, engine off, all that is used on"),
        typical="25 to 50 A",
    )


class ElectricsGoal(Section):
    """What the owner wants of the wiring."""

    wire_drop_allowed: Fraction | None = fact(
        "share of the supply that a pump or fan circuit may lose, both ways; 4 % where unset",
        catalogue="0 %",
    )


class Wire(Part):
    """The circuit of one consumer: feed wire, earth wire, its contacts."""

    kind: Literal["wire"] = "wire"
    feed_length: PositiveLength | None = fact(
        "wire from battery or alternator to the consumer, along its run", catalogue="5 %",
        measure=("string", 20, "string along the run, then the tape"), typical="2.5 to 6 m",
    )  # fmt: skip
    earth_length: PositiveLength | None = fact(
        "wire from the consumer to its earth point; the body carries the rest", catalogue="5 %",
        measure=("string", 10, "string along the run, then the tape"), typical="0.3 to 1.5 m",
    )  # fmt: skip
    section: Area | None = fact(
        "copper cross-section of the feed wire", catalogue="0 %",
        measure=("document", 10, "the print on the insulation; else measure the strands"),
        typical="1 to 6 mm2",
    )  # fmt: skip
    earth_section: Area | None = fact(
        "copper cross-section of the earth wire", catalogue="0 %", typical="1 to 6 mm2"
    )
    outer_diameter: PositiveLength | None = fact("over the insulation", catalogue="3 %")
    conductor_temperature: Temperature | None = fact(
        "copper under load, for its resistance", catalogue="10 K", typical="50 to 90 °C"
    )
    ambient_temperature: Temperature | None = fact(
        "hottest air along its run", catalogue="5 K", typical="40 to 90 °C",
        measure=("thermometer", 20, "probe at the hottest place along it, hot after a drive"),
    )
    insulation_temperature: Temperature | None = fact(
        "temperature class of the insulation (ISO 6722 A 85, B 100, C 125 °C)", catalogue="0.1 K"
    )
    bundled: bool | None = fact("in a tight bundle or tube with others that carry current")
    contact_resistance: Resistance | None = fact(
        "fuse, relay, plugs, earth point and body together",
        catalogue="30 %",
        typical="4 to 15 mohm",
    )
    expected_resistance: Resistance | None = fact(
        "what the whole circuit both ways is expected to have, by leaflet or as a wide guess; used "
        "for the pump's flow only, until the wire is measured",
        typical="15 to 60 mohm",
    )


class Fuse(Part):
    """A fuse."""

    kind: Literal["fuse"] = "fuse"
    rating: Current | None = fact("rating printed on it", catalogue="0 %", stamped=True)


class Relay(Part):
    """A relay."""

    kind: Literal["relay"] = "relay"
    rating: Current | None = fact(
        "contact rating for this kind of load at its hottest place", catalogue="0 %"
    )


class Alternator(Part):
    """Alternator with its regulator."""

    kind: Literal["alternator"] = "alternator"
    voltage: Voltage | None = fact(
        "voltage at the battery, engine running, main consumers on", catalogue="0.3 V",
        measure=("multimeter", 5, "at the battery, fast idle, lamps and blower on"),
    )  # fmt: skip
    output: CurveOf("rotation_speed", "current") | None = fact(  # type: ignore[valid-type]
        "hot output against its own shaft speed"
    )
    drive_ratio: Ratio | None = fact("its shaft speed over crank speed", catalogue="1 %")


class Battery(Part):
    """Starter battery."""

    kind: Literal["battery"] = "battery"
    capacity: Charge | None = fact("capacity, 20 hours", catalogue="10 %")
    resting_voltage: Voltage | None = fact(
        "voltage an hour after switching off", catalogue="0.1 V",
        measure=("multimeter", 2, "at the posts, all off for an hour"),
    )  # fmt: skip


class Fan(Part):
    """Electric radiator fan."""

    kind: Literal["fan"] = "fan"
    current: Current | None = fact(
        "current at full speed", catalogue="10 %",
        measure=("clamp meter", 5, "round its feed wire, running at full speed"),
        typical="12 to 30 A",
    )  # fmt: skip


PLACES = (
    Place("fan", kind="fan", per="car", optional=True, title="radiator fan"),
    Place("pump_wire", kind="wire", per="car", title="fuel pump wiring"),
    Place("pump_fuse", kind="fuse", per="car", title="fuel pump fuse"),
    Place("pump_relay", kind="relay", per="car", title="fuel pump relay"),
    Place("fan_wire", kind="wire", per="car", optional=True, title="fan wiring"),
    Place("fan_fuse", kind="fuse", per="car", optional=True),
    Place("fan_relay", kind="relay", per="car", optional=True),
    Place("alternator", kind="alternator", per="car", without=("creep",)),
    Place("battery", kind="battery", per="car", without=("turn over",)),
)

SECTIONS: dict[str, type[Section]] = {"car": ElectricsCar, "goal": ElectricsGoal}
