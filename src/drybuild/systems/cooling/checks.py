"""The cooling room's checks and records."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, PRACTICE, Along, Room, Source, not_above
from drybuild.values import Array

MAKER = Source("maker's data of the vehicle", how="practice")

CHARGE_STOP = 343.15
"""Charge temperature at which people stop a run: 70 °C, practice."""

SCALD = (
    "Hot coolant scalds: never open the system hot. Fans start by themselves, even with the key "
    "out."
)
HOT_OIL = "Hot oil burns skin, and on a hot exhaust it burns by itself."


def below_limit(*, temperature: Array, limit: Array) -> Array:
    """Limit less the temperature, K."""
    return limit - temperature


def charge_when_slow(
    *, operating: Any, temperature: Array, limit: Array | None, cooler: bool | None
) -> Any:
    """Limit less the charge temperature along engine speed, K."""
    if cooler is False:
        return NOT_APPLICABLE
    top = CHARGE_STOP if limit is None else limit + 10.0
    return Along(
        np.asarray(top - temperature), operating.engine_speed, "rotation_speed",
        found=temperature, high=top, found_kind="temperature",
    )  # fmt: skip


def fan_holds(*, temperature: Array, limit: Array, fan: bool | None) -> Any:
    """Limit less the coolant temperature standing, K."""
    return NOT_APPLICABLE if fan is False else limit - temperature


def register(room: Room) -> None:
    """Offer the checks and records."""
    room.check(
        "cooling.coolant_capacity", title="coolant temperature on a timed hill climb",
        between=not_above("temperature", "limit", kind="temperature"),
        slack=below_limit, kind="temperature_difference",
        needs={"temperature": "cooling.coolant_at_full_load", "limit": "engine.coolant_limit"},
        gap_wanted=5.0, consequence="engine", stops=("compete",), source=MAKER,
        formula="slack = limit − settled temperature",
        pose="hottest day, average share of full power held until it settles",
        when_short="the coolant may boil over on a hill climb",
        do="a radiator that passes more, seals round its face, or cool-down runs between climbs",
        safety=SCALD,
    )  # fmt: skip
    room.check(
        "cooling.steady_climb", title="coolant temperature on a long road climb",
        between=not_above("temperature", "limit", kind="temperature"),
        slack=below_limit, kind="temperature_difference",
        needs={"temperature": "cooling.coolant_on_climb", "limit": "engine.coolant_limit"},
        gap_wanted=5.0, consequence="engine", stops=("drive",), source=MAKER,
        formula="slack = limit − settled temperature",
        pose="hottest day, laden, climb held at its speed with the fan on",
        when_short="the coolant may boil over on a long climb",
        do="a radiator that passes more, more air from the fan, seals round its face",
        safety=SCALD,
    )  # fmt: skip
    room.check(
        "cooling.fan", title="fan holds the coolant in standing traffic", slack=fan_holds,
        between=not_above("temperature", "limit", kind="temperature"),
        kind="temperature_difference",
        needs={
            "temperature": "cooling.coolant_standing", "limit": "engine.coolant_limit",
            "fan": "?fan.present",
        },
        gap_wanted=10.0, consequence="engine", stops=("drive",), source=MAKER,
        formula="slack = limit − settled temperature",
        pose="hottest day, warm idle, standing, air conditioning off",
        when_short="the fan may not hold the coolant in traffic",
        do="a fan that moves more air, or a shroud that makes it pass the core", safety=SCALD,
    )  # fmt: skip
    room.check(
        "cooling.charge_cooler_capacity", title="charge temperature at low road speed",
        slack=charge_when_slow, kind="temperature_difference",
        needs={
            "operating": "breathing.operating", "temperature": "cooling.charge_when_slow",
            "limit": "?engine.charge_temperature_limit", "cooler": "?charge_cooler.present",
        },
        gap_wanted=3.0, consequence="engine", stops=("compete",), source=PRACTICE,
        formula="slack = limit + 10 K − T_m; 70 °C where the map states no limit",
        pose="hottest day, full load at the lowest road speed it is held at, no heat soak",
        when_short="charge air may be too hot out of slow bends",
        do="a larger core or more air through it; wait for it to cool between runs",
    )  # fmt: skip
    room.check(
        "cooling.oil_temperature", title="oil temperature on a timed hill climb",
        between=not_above("temperature", "limit", kind="temperature"),
        slack=below_limit, kind="temperature_difference",
        needs={"temperature": "cooling.oil_at_full_load", "limit": "engine.oil_limit"},
        gap_wanted=5.0, consequence="engine", stops=("compete",), source=MAKER,
        formula="slack = limit − settled temperature",
        pose="hottest day, average share of full power held until it settles",
        when_short="the oil may run too hot on a hill climb", do="an oil cooler that passes more",
        safety=HOT_OIL,
    )  # fmt: skip
    _records(room)


def _records(room: Room) -> None:
    room.record(
        "cooling.filled", title="coolant filled, right mixture, no leak cold under test pressure",
        changed=("radiator", "oil_cooler", "turbo"), stops=("run",),
        evidence=("value", "tool", "name"),
        do="Fill slowly with the heater open. Pressure-test cold to what the cap says, no more; "
        "write down what it falls to in ten minutes.",
        safety="Coolant poisons people and animals: catch it, wipe it up.", source=PRACTICE,
    )  # fmt: skip
    room.record(
        "cooling.bled", title="coolant bled, level right after it cooled, no leak warm",
        changed=("radiator", "oil_cooler", "turbo"), stops=("creep", "full load"),
        evidence=("value", "name"),
        do="Run outdoors until the thermostat opens and the fan has come on and gone off, heater "
        "hot; let it cool wholly, top up, look at every joint.",
        safety=SCALD, source=PRACTICE,
    )  # fmt: skip
