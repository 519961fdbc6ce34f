"""Results of the electrics room, and the functions that hand facts to the plain formulas."""

from __future__ import annotations

from drybuild.findings import Room, Source
from drybuild.systems.electrics import formulas
from drybuild.values import Array, DrawnCurve

OHM = Source("Ohm's law", clause="both ways, hot copper", how="computed")
ISO = Source("ISO 6722-1", clause="conductor resistance, bare copper", how="memory")
ALTERNATOR = Source("alternator's output curve as its maker states it", how="practice")
WIRE = ("feed_length", "earth_length", "section", "earth_section", "conductor_temperature")


def register(room: Room) -> None:
    """Offer the room's results."""
    room.result(
        "electrics.supply_voltage", of=supply_voltage, kind="voltage",
        needs={"voltage": "alternator.voltage"},
        formula="what the alternator holds at the battery, main consumers on", source=ALTERNATOR,
    )  # fmt: skip
    for place in ("pump", "fan"):
        room.result(
            f"electrics.{place}_circuit_resistance", of=formulas.circuit_resistance,
            kind="resistance",
            needs={
                **{name: f"{place}_wire.{name}" for name in WIRE},
                "contact_resistance": f"{place}_wire.contact_resistance",
            },
            formula="R = (R₂₀·feed + R₂₀·earth)·(1 + 0.00393·(T − 20 °C)) + contacts", source=ISO,
            valid={
                "section": (0.5e-6, 25e-6), "earth_section": (0.5e-6, 25e-6),
                "conductor_temperature": (233.15, 473.15),
            },
        )  # fmt: skip
    room.result(
        "electrics.pump_voltage", of=pump_voltage, kind="voltage",
        needs={
            "supply": "electrics.supply_voltage", "current": "fuel.pump_current",
            "resistance": "electrics.pump_circuit_resistance|pump_wire.expected_resistance",
        },
        formula="U = supply − I·R", source=OHM,
    )  # fmt: skip
    room.result(
        "electrics.load", of=total_load, kind="current",
        needs={
            "pump": "fuel.pump_current", "fan": "?fan.current", "rest": "car.electrical_load",
        },
        formula="pump + fan + the rest", source=OHM,
    )  # fmt: skip
    room.result(
        "electrics.idle_output", of=alternator_output, kind="current",
        needs={
            "output": "alternator.output", "ratio": "alternator.drive_ratio",
            "engine_speed": "engine.idle_speed",
        },
        formula="output at idle speed·drive ratio", source=ALTERNATOR,
    )  # fmt: skip


def supply_voltage(*, voltage: Array) -> Array:
    """Voltage at the battery with the engine running, V."""
    return voltage


def pump_voltage(*, supply: Array, current: Array, resistance: Array) -> Array:
    """Voltage at the pump at its highest current, V."""
    return supply - formulas.voltage_drop(current=current, resistance=resistance)


def total_load(*, pump: Array, rest: Array, fan: Array | None = None) -> Array:
    """Current of all consumers together, A."""
    return pump + rest + (0.0 if fan is None else fan)


def alternator_output(*, output: DrawnCurve, ratio: Array, engine_speed: Array) -> Array:
    """Hot output of the alternator at an engine speed (rad/s), A; none below its curve."""
    return output.clip_at(engine_speed * ratio)
