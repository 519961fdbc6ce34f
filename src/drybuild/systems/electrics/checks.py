"""Checks and records of the electrics room."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, PRACTICE, Room, Source, not_above, not_below
from drybuild.systems.electrics import formulas
from drybuild.systems.electrics.results import ALTERNATOR, ISO, alternator_output
from drybuild.values import Array, DrawnCurve

DROP_ALLOWED = 0.04
"""Practice: main consumers may lose half a volt of twelve, feed and earth together."""
FREE_AIR, BUNDLED = 16.0, 8.0
"""W/(m2 K) of a wire alone and in a tight bundle, from memory."""
RESTING_WANTED = 12.4
"""Practice: open-circuit voltage of a lead-acid starter battery at about three quarters."""
CRUISE_SPEED = 2500 * np.pi / 30
"""Engine speed at which the alternator must carry everything, rad/s: gentle driving."""
FUSE = Source(
    "fuse makers' guide", clause="continuous load at most 75 % of rating at 25 °C", how="read"
)
RATING = Source("contact rating as the relay's maker states it", how="practice")
FIRE = (
    "An overloaded wire sets the car on fire, and this one ends at the fuel tank. Battery earth "
    "off before work; fuse close to the battery; have the circuit seen by someone licensed."
)
CUT = "A pump that stops under boost leans the engine within a second: stop at once."


def register(room: Room) -> None:
    """Offer the room's checks and records."""
    for place, name, consequence, stops, safety in (
        ("pump", "fuel pump", "engine", ("full load",), CUT),
        ("fan", "radiator fan", "nuisance", (), ""),
    ):
        current = "fuel.pump_current" if place == "pump" else "fan.current"
        room.check(
            f"electrics.{place}_wire_drop", title=f"voltage lost in the {name} circuit",
            kind="voltage", slack=wire_drop,
            needs={
                "supply": "electrics.supply_voltage", "current": current,
                "resistance": f"electrics.{place}_circuit_resistance",
                "share": "?goal.wire_drop_allowed", "present": f"?{place}.present",
            },
            between=not_above(drop, drop_allowed),
            formula="slack = 4 % of supply (unless the goal says) − I·R both ways",
            consequence=consequence, stops=stops, source=ISO,
            pose="highest pressure" if place == "pump" else "full speed, hot",
            when_short=f"the {name} does not get its voltage",
            do="thicker wire, shorter run, an earth lead of its own, fresh contacts",
            safety=safety,
        )  # fmt: skip
        room.check(
            f"electrics.{place}_fuse", title=f"{name} fuse carries the current", kind="current",
            slack=fuse,
            needs={
                "rating": f"{place}_fuse.rating", "current": current,
                "present": f"?{place}.present",
            },
            between=not_above("current", carried),
            formula="slack = 75 % of rating − current", consequence=consequence, stops=stops,
            source=FUSE, pose="highest current, all the time",
            when_short=f"the {name} fuse may blow in use",
            do="the next fuse size, if the wire carries it", safety=safety,
        )  # fmt: skip
        room.check(
            f"electrics.{place}_relay", title=f"{name} relay carries the current", kind="current",
            slack=relay,
            needs={
                "rating": f"{place}_relay.rating", "current": current,
                "present": f"?{place}.present",
            },
            between=not_above("current", "rating"),
            formula="slack = contact rating − current",
            gap_wanted=2.0,  # a motor's inrush and a warm relay
            consequence=consequence, stops=stops, source=RATING,
            pose="highest current, all the time",
            when_short=f"the {name} relay is too small: its contacts burn or weld",
            do="a relay rated for the current as a motor load", safety=safety,
        )  # fmt: skip
    _heat(room)
    _alternator(room)
    room.record(
        "electrics.pump_wiring_seen", title="fuel pump wiring, fuse, relay and earth seen",
        changed=("pump", "pump_wire", "pump_fuse", "pump_relay"), stops=("run",),
        evidence=("value", "tool", "name"),
        do="fuse within a hand of the battery, ends crimped and pulled, grommets, nothing near "
        "exhaust or sharp edge, voltage at the pump read under load",
        safety=FIRE, source=PRACTICE,
    )  # fmt: skip


def _heat(room: Room) -> None:
    wire = {
        "section": "pump_wire.section", "outer_diameter": "pump_wire.outer_diameter",
        "ambient": "pump_wire.ambient_temperature",
        "insulation": "pump_wire.insulation_temperature", "bundled": "?pump_wire.bundled",
    }  # fmt: skip
    balance = Source("heat balance of a wire; ISO 6722 temperature classes", how="memory")
    room.check(
        "electrics.wire_current", title="fuel pump wire stays below its insulation's temperature",
        between=not_above(wire_temperature, "insulation", kind="temperature"),
        kind="temperature_difference", slack=wire_heat,
        needs={**wire, "current": "fuel.pump_current"},
        formula="slack = insulation class − T, I²·R(T) = h·π·d·(T − T_air)",
        gap_wanted=10.0,  # clips, tape and bends where the wire cannot shed heat
        consequence="injury", stops=("run",), source=balance,
        pose="highest current all the time, hottest air along the run",
        when_short="the pump wire runs hotter than its insulation stands", do="thicker wire",
        safety=FIRE,
    )  # fmt: skip
    room.check(
        "electrics.fuse_protects_wire", title="the fuse blows before the pump wire burns",
        between=not_above("rating", wire_stands),
        kind="current", slack=fuse_protects, needs={**wire, "rating": "pump_fuse.rating"},
        formula="slack = current that brings the wire to its insulation's temperature − rating",
        consequence="injury", stops=("run",), source=balance,
        pose="a stuck pump drawing the fuse's rating for long",
        when_short="the fuse is larger than the wire stands", do="a smaller fuse or thicker wire",
        safety=FIRE,
    )  # fmt: skip


def _alternator(room: Room) -> None:
    room.check(
        "electrics.alternator_capacity", title="alternator carries everything when driving",
        between=not_below(driving_output, "load"),
        kind="current", slack=alternator_driving,
        needs={
            "output": "alternator.output", "ratio": "alternator.drive_ratio",
            "load": "electrics.load",
        },
        formula="slack = hot output at 2500 rpm − (pump + fan + the rest)",
        gap_wanted=8.0,  # the battery's own charge after a start
        consequence="nuisance", stops=(), source=ALTERNATOR,
        pose="2500 rpm, lamps, blower and fan on",
        when_short="the battery pays while driving", do="a larger alternator or fewer consumers",
    )  # fmt: skip
    room.check(
        "electrics.alternator_at_idle", title="alternator carries the pump at idle",
        between=not_below("output", idle_load),
        kind="current", slack=alternator_idle,
        needs={
            "output": "electrics.idle_output", "pump": "fuel.pump_current",
            "rest": "car.electrical_load",
        },
        formula="slack = hot output at idle − (pump + the rest), fan off",
        consequence="nuisance", stops=(), source=ALTERNATOR, pose="warm idle, fan off",
        when_short="the battery pays at idle",
        do="a pump control that slows it at idle, or a faster idle",
    )  # fmt: skip
    room.check(
        "electrics.battery_charge", title="battery full enough to start and to relearn",
        between=not_below("resting", RESTING_WANTED),
        kind="voltage", slack=battery_charge, needs={"resting": "battery.resting_voltage"},
        formula="slack = resting voltage − 12.4 V", consequence="nuisance", stops=(),
        source=PRACTICE, pose="all off for an hour, about 20 °C",
        when_short="the battery is less than three quarters full",
        do="charge it before the first start",
        safety="A charging battery gives off hydrogen: air moving, no spark, charger off first.",
    )  # fmt: skip


def wire_drop(
    *, supply: Array, current: Array, resistance: Array, share: Array | None = None,
    present: bool | None = None,
) -> Any:  # fmt: skip
    """Allowed less actual drop, V."""
    if present is False:
        return NOT_APPLICABLE
    return drop_allowed(supply, share) - drop(current, resistance)


def drop_allowed(supply: Array, share: Array | None = None) -> Array:
    """The most that may be lost, V."""
    return formulas.allowed_drop(
        supply_voltage=supply, share=DROP_ALLOWED if share is None else share
    )


def drop(current: Array, resistance: Array) -> Array:
    """What is lost, V."""
    return formulas.voltage_drop(current=current, resistance=resistance)


def fuse(*, rating: Array, current: Array, present: bool | None = None) -> Any:
    """Room below 75 % of the rating, A."""
    if present is False:
        return NOT_APPLICABLE
    return formulas.fuse_load_slack(rating=rating, current=current)


def carried(rating: Array) -> Array:
    """What a fuse carries all the time, A."""
    return formulas.fuse_load_slack(rating=rating, current=0.0)


def relay(*, rating: Array, current: Array, present: bool | None = None) -> Any:
    """Contact rating less current, A."""
    return NOT_APPLICABLE if present is False else rating - current


def wire_heat(
    *, section: Array, outer_diameter: Array, ambient: Array, insulation: Array, current: Array,
    bundled: bool | None = None,
) -> Array:  # fmt: skip
    """Insulation's temperature less the copper's, K. In a bundle unless it is known not to be."""
    return insulation - wire_temperature(section, outer_diameter, ambient, current, bundled)


def wire_temperature(
    section: Array, outer_diameter: Array, ambient: Array, current: Array, bundled: bool | None
) -> Array:
    """The copper's temperature, K."""
    return formulas.conductor_temperature(
        current=current, section=section, outer_diameter=outer_diameter,
        ambient_temperature=ambient, heat_transfer=FREE_AIR if bundled is False else BUNDLED,
    )  # fmt: skip


def fuse_protects(
    *, section: Array, outer_diameter: Array, ambient: Array, insulation: Array, rating: Array,
    bundled: bool | None = None,
) -> Array:  # fmt: skip
    """Current the wire stands less the fuse's rating, A."""
    return wire_stands(section, outer_diameter, ambient, insulation, bundled) - rating


def wire_stands(
    section: Array, outer_diameter: Array, ambient: Array, insulation: Array, bundled: bool | None
) -> Array:
    """Current that brings the wire to its insulation's temperature, A."""
    return formulas.wire_current_limit(
        section=section, outer_diameter=outer_diameter, ambient_temperature=ambient,
        insulation_temperature=insulation, heat_transfer=FREE_AIR if bundled is False else BUNDLED,
    )  # fmt: skip


def battery_charge(*, resting: Array) -> Array:
    """Resting voltage over that of a lead battery three quarters full, V."""
    return resting - RESTING_WANTED


def alternator_driving(*, output: DrawnCurve, ratio: Array, load: Array) -> Array:
    """Output at gentle driving less everything, A."""
    return driving_output(output, ratio) - load


def driving_output(output: DrawnCurve, ratio: Array) -> Array:
    """What the alternator gives at gentle driving, hot, A."""
    return alternator_output(output=output, ratio=ratio, engine_speed=CRUISE_SPEED)


def alternator_idle(*, output: Array, pump: Array, rest: Array) -> Array:
    """Output at idle less pump and the rest, A."""
    return output - pump - rest


def idle_load(pump: Array, rest: Array) -> Array:
    """Pump and the rest, A."""
    return pump + rest
