"""The calibrator's sheet: the exact hardware that a map is written for, and what comes back.

It says what is fitted, what is known of it, and the ceilings that the owner and the makers of parts
state. It asks what the map believes. It gives no figure to aim at, and nothing on it raises one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any

import numpy as np

from drybuild.build import State
from drybuild.build.declared import HEAD_FIELDS, PRINTED_ONLY, declaration
from drybuild.build.drawn import stated
from drybuild.build.kinds import part_kinds, places
from drybuild.build.model import Part
from drybuild.examine.aimed import as_given
from drybuild.examine.book.fingerprint import Imprint, imprint
from drybuild.examine.chain import chain
from drybuild.examine.examination import Examination
from drybuild.examine.opened import OpenBuild
from drybuild.findings import Finding
from drybuild.values import Curve, HowKnown, Value

HARDWARE = (
    "injectors", "fuel_rail", "regulator", "pump", "ethanol_sensor", "air_meter",
    "pressure_sensor", "throttle", "intake", "turbo", "boost_control", "relief_valve",
    "charge_cooler", "dump_pipe", "catalyst", "exhaust", "flaps", "map",
)  # fmt: skip
"""Places whose part a map is written for; the sheet is for these parts and no other."""

ENGINE = (
    "engine.displacement", "engine.cylinders", "engine.compression_ratio", "engine.rev_limit",
    "engine.idle_speed", "engine.plugs", "engine.plug_gap", "engine.air_temperature_at",
    "engine.control_unit", "engine.software",
)
"""What a map is begun with, stated or not."""

CEILINGS = (
    "goal.boost", "goal.boost_ceiling", "engine_limits.boost", "engine_limits.torque",
    "engine_limits.engine_speed", "engine_limits.piston_speed", "clutch.capacity",
    "clutch.speed_limit", "gearbox.torque_limit", "final_drive.torque_limit",
    "drive_shaft.torque_limit", "engine.rev_limit", "engine.charge_temperature_limit",
    "turbo.speed_limit", "turbo.turbine_temperature_limit", "catalyst.temperature_limit",
    "charge_cooler.pressure_limit", "injectors.pressure_limit", "fuel_rail.pressure_limit",
)  # fmt: skip
"""Addresses of figures that the map must stay below; whoever states one answers for it."""

LATER_CEILINGS = frozenset({
    "engine_limits.piston_speed", "clutch.capacity", "clutch.speed_limit", "gearbox.torque_limit",
    "final_drive.torque_limit", "drive_shaft.torque_limit", "catalyst.temperature_limit",
    "charge_cooler.pressure_limit",
})  # fmt: skip
"""Of the ceilings those that a sheet of before did not have; it is still taken in."""

WORKED_OUT = {"clutch.capacity": "driveline.clutch_by_lining"}
"""Ceiling → what it is worked out as where nobody states it."""

NEVER_ABOVE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "boost_target": ("goal.boost", "goal.boost_ceiling"),
        "final_boost": ("goal.boost", "goal.boost_ceiling"),
        "boost_ceiling": ("goal.boost_ceiling",),
        "rev_limit": ("engine.rev_limit",),
    }
)
"""What a map says → the owner's figures that it may not be above; taking it in raises none."""

MEASURED = (
    "injectors.static_flow", "injectors.rated_pressure", "injectors.test_density",
    "injectors.dead_time", "injectors.dead_time_pressure_slope", "injectors.smallest_pulse",
    "regulator.base_pressure", "pressure_sensor.span", "air_meter.max_flow", "air_meter.bore",
    "throttle.bore", "boost_control.overshoot", "boost_control.scatter",
)  # fmt: skip
"""What a calibrator may have measured of these very parts."""

BESIDES = ("site.altitude", "site.temperature", "site.hot_day")


@dataclass(frozen=True, slots=True)
class Known:
    """One figure as stated. value: Value, Curve, text, yes or no; None where nobody stated it.

    standard: of a wish, it stands as the starter car has it, and nobody has said it.
    """

    address: str
    doc: str
    value: Any
    how: HowKnown | None
    standard: bool = False


@dataclass(frozen=True, slots=True)
class Fitted:
    """A place of the hardware. part: None when the place is known to be empty."""

    place: str
    title: str
    part_id: str
    part: Part | None
    known: tuple[Known, ...]


@dataclass(frozen=True)
class CalibratorSheet:
    """state: of which car; map_part: id of the map that is fitted there, or empty.

    engine: what a map is begun with. fuels: name and facts of each fuel that is used in it.
    first: what gives out first of all that the map asks of, None where no change concerns any.
    worked: of ceilings that nobody states, those that are worked out: middle and ends, SI.
    """

    imprint: Imprint
    state: str
    engine: tuple[Known, ...]
    hardware: tuple[Fitted, ...]
    ceilings: tuple[Known, ...]
    besides: tuple[Known, ...]
    fuels: tuple[tuple[str, tuple[Known, ...]], ...]
    map_part: str
    map_says: tuple[Known, ...]
    first: Finding | None = None
    worked: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)


def calibrator_sheet(
    opened: OpenBuild, *, state: str = "finished", made: datetime | None = None
) -> CalibratorSheet:
    """The sheet for the hardware of a state. Raises UnknownName."""
    chosen, examination = opened.state(state), opened.examine(state)
    return CalibratorSheet(
        imprint(opened, made or datetime.now()), state, tuple(known(chosen, a) for a in ENGINE),
        hardware(chosen),
        tuple(known(chosen, a) for a in CEILINGS), tuple(known(chosen, a) for a in BESIDES),
        _fuels(chosen), chosen.fitted.get("map") or "",
        tuple(known(chosen, f"map.{name}") for name in map_fields()),
        next((link.finding for link in chain(examination) if link.first), None),
        _worked(chosen, examination),
    )  # fmt: skip


def _worked(state: State, examination: Examination) -> dict[str, tuple[float, float, float]]:
    found = {}
    for address, result in WORKED_OUT.items():
        outcome = examination.evaluation.get(result)
        if known(state, address).value is None and outcome.known:
            low, middle, high = np.nanquantile(outcome.value, (0.025, 0.5, 0.975))
            found[address] = (float(middle), float(low), float(high))
    return found


def hardware(state: State) -> tuple[Fitted, ...]:
    """What is fitted at each of these places, with all that is stated of it."""
    found = []
    for root in HARDWARE:
        if root in state.fitted:
            part_id = state.fitted[root]
            part = state.build.parts[part_id] if part_id is not None else None
            known_of = _known_of(state, root, part) if part is not None and root != "map" else ()
            title = places()[root].title or root.replace("_", " ")
            found.append(Fitted(root, title, part_id or "none", part, known_of))
    return tuple(found)


def map_fields() -> tuple[str, ...]:
    """What a map states, but for its name and number as a part."""
    model = part_kinds()["map"]
    skip = HEAD_FIELDS | PRINTED_ONLY | {"mass", "arrives"}
    return tuple(name for name in model.model_fields if name not in skip)


def known(state: State, address: str) -> Known:
    """What is stated at an address in a state."""
    declared = declaration(address)
    there = stated(state, declared) if declared is not None else None
    doc = declared.doc if declared is not None else ""
    if there is None:
        return Known(address, doc, None, None)
    how = there.value.how if isinstance(there.value, Value | Curve) else there.known
    return Known(address, doc, there.value, how, as_given(state, address))


def _known_of(state: State, root: str, part: Part) -> tuple[Known, ...]:
    skip = HEAD_FIELDS | PRINTED_ONLY | {"mass", "arrives", "ethanol_limit"}
    found = []
    for name in type(part).model_fields:
        if name in skip or declaration(f"{root}.{name}") is None:
            continue
        address = f"{root}.{name}"
        one = known(state, address)
        stated_so = isinstance(one.value, Value | Curve | str | bool | int)
        if stated_so or (one.value is None and address in MEASURED):
            found.append(one)
    return tuple(found)


def _fuels(state: State) -> tuple[tuple[str, tuple[Known, ...]], ...]:
    found = []
    for blend in state.build.blends:
        used = known(state, f"blend.{blend}.used").value
        if used is False:
            continue
        name = known(state, f"blend.{blend}.name").value or blend
        facts = tuple(
            one for field in ("ethanol", "research_octane", "petrol_research_octane")
            if (one := known(state, f"blend.{blend}.{field}")).value is not None
        )  # fmt: skip
        found.append((str(name), facts))
    return tuple(found)


def known_name(address: str) -> str:
    """An address in words, its table named: ``goal boost``, ``injectors static flow``."""
    return address.replace(".", " ").replace("_", " ")
