"""Checks and records of the driveline and of what the stock engine stands."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, PRACTICE, FormulaRefused, Room, Source, not_above
from drybuild.systems.driveline.results import VDI
from drybuild.values import Array

OWNER = Source("the owner's stated limit, with its doubt", how="practice")
MAKER = Source("the maker's stated limit", how="practice")
SYMBOL = Source("UN R30", clause="2.29, speed category", how="memory")
SHIGLEY = Source("Shigley, Mechanical Engineering Design", clause="ch. 16", how="memory")

MOMENT_MOST = 1.25

TURNING = (
    "A clutch or flywheel that bursts goes through the car. Nobody stands beside it at full revs; "
    "never fit one without its maker's speed limit."
)
HANGING = (
    "Work under the car only on axle stands on firm ground, never on a jack alone. Tightening "
    "figures are the maker's, or LOOK UP."
)


def spare(*, limit: Array, load: Array) -> Array:
    """Limit less load, same unit."""
    return np.asarray(limit) - load


def flange_spare(*, bolts: Array | None, limit: Array | None, load: Array | None) -> Any:
    """Friction in the flange less the shaft's torque; none where a shaft has no flange stated."""
    if bolts is None:
        return NOT_APPLICABLE
    if limit is None or load is None:
        raise FormulaRefused("the flange's clamp, friction or circle, or the torque, is not stated")
    return np.asarray(limit) - load


def revs_spare(*, wanted: Array | None, revs: Array | None) -> Any:
    """Engine speed that the owner will live with, less that at the motorway speed."""
    if wanted is None:
        return NOT_APPLICABLE
    if revs is None:
        raise FormulaRefused("gear ratios, final drive or tyre size is not stated")
    return np.asarray(wanted) - revs


def tyre_speed_spare(*, symbol: Array, top: Array | None) -> Any:
    """Speed of the tyre's symbol less the computed top speed; none where that is not known.

    Where nobody can compute it, the stated top speed is judged with the tyres.
    """
    return NOT_APPLICABLE if top is None else np.asarray(symbol) - top


def growth_spare(*, growth: Array) -> Array:
    """A quarter more moment than as found, less the moment now, share of as found."""
    return MOMENT_MOST - np.asarray(growth)


def register(room: Room) -> None:
    """Offer the checks and records."""
    _torque(room)
    _engine(room)
    _running(room)
    _records(room)


def _torque(room: Room) -> None:
    room.check(
        "driveline.clutch", title="clutch capacity", kind="torque", slack=spare,
        between=not_above("load", "limit"),
        needs={
            "limit": "clutch.capacity|driveline.clutch_by_lining",
            "load": "breathing.peak_torque_overshoot",
        },
        consequence="damage", stops=("full load",), source=SHIGLEY,
        formula="capacity − crank torque at the boost overshoot",
        pose="clutch bedded and cool, full load at the site, boost at its overshoot",
        when_short="the clutch slips at full load",
        do="a clutch of more clamp or better facing; a lower boost ceiling also cures it",
        safety="A slipping clutch gets hot enough to burn and smoke: lift, let it cool.",
    )  # fmt: skip
    room.check(
        "driveline.clutch_speed", title="clutch and flywheel speed", kind="rotation_speed",
        between=not_above("load", "limit"),
        slack=spare,
        needs={"limit": "clutch.speed_limit", "load": "map.rev_limit|engine.rev_limit"},
        # A missed shift overruns the limiter; 300 rpm is what a light one overruns by.
        gap_wanted=300 * 2 * np.pi / 60, consequence="injury", stops=("full load",), source=MAKER,
        formula="speed limit − rev limit", pose="rev limit",
        when_short="the clutch turns faster than its maker allows",
        do="a clutch whose maker allows the speed, or a lower rev limit", safety=TURNING,
    )  # fmt: skip
    room.check(
        "driveline.gearbox_torque", title="gearbox torque", kind="torque", slack=spare,
        between=not_above("load", "limit"),
        needs={"limit": "gearbox.torque_limit", "load": "breathing.peak_torque_overshoot"},
        consequence="damage", stops=("full load",), source=OWNER,
        formula="limit − crank torque at the boost overshoot", pose="full load, any gear",
        when_short="the gearbox is asked for more than it is known to stand",
        do="less torque low down, or a stronger gearbox",
    )  # fmt: skip
    room.check(
        "driveline.final_drive_torque", title="final drive torque", kind="torque", slack=spare,
        between=not_above("load", "limit"),
        needs={"limit": "final_drive.torque_limit", "load": "driveline.final_drive_torque"},
        consequence="damage", stops=("full load",), source=OWNER,
        formula="limit − T·i1", pose="full load in first gear, tyres holding",
        when_short="the final drive is asked for more than it is known to stand",
        do="less torque in first gear, or a stronger final drive",
    )  # fmt: skip
    room.check(
        "driveline.shaft_torque", title="drive shaft torque", kind="torque", slack=spare,
        between=not_above("load", "limit"),
        needs={"limit": "drive_shaft.torque_limit", "load": "driveline.shaft_torque"},
        consequence="damage", stops=("full load",), source=OWNER,
        formula="limit − the lesser of T·i1·i_final·share and what the tyre holds",
        pose="full load in first gear, dry road, no shock",
        when_short="a drive shaft is asked for more than it is known to stand",
        do="less torque in first gear, or stronger shafts",
    )  # fmt: skip
    room.check(
        "driveline.flange_slip", title="drive shaft flange", kind="torque", slack=flange_spare,
        between=not_above("load", "limit"),
        needs={
            "bolts": "?drive_shaft.flange_bolts",
            "limit": "?driveline.flange_capacity",
            "load": "?driveline.shaft_torque",
        },
        consequence="damage", stops=("full load",), source=VDI,
        formula="n·(F/α)·μ·D/2 − shaft torque",
        pose="full load in first gear, clamp at the low end of its scatter",
        when_short="the flange slips and shears its bolts",
        do="clean dry flanges, the maker's bolts and figure", safety=HANGING,
    )  # fmt: skip


def _engine(room: Room) -> None:
    room.check(
        "driveline.engine_torque", title="torque on rods and pistons", kind="torque",
        between=not_above("load", "limit"),
        slack=spare,
        needs={"limit": "engine_limits.torque", "load": "breathing.peak_torque_overshoot"},
        consequence="engine", stops=("full load",), source=OWNER,
        formula="limit − crank torque at the boost overshoot", pose="full load at the site",
        when_short="rods or pistons may not stand it",
        do="a lower boost ceiling, or rods and pistons",
    )  # fmt: skip
    room.check(
        "driveline.gasket_boost", title="boost on the head gasket", kind="pressure_gauge",
        between=not_above("load", "limit"),
        slack=spare,
        needs={"limit": "engine_limits.boost", "load": "breathing.peak_boost_overshoot"},
        consequence="engine", stops=("full load",), source=OWNER,
        formula="limit − greatest boost with overshoot", pose="full load at the site",
        when_short="the head gasket may not hold", do="a lower boost ceiling, or studs and gasket",
    )  # fmt: skip
    room.check(
        "driveline.piston_speed", title="mean piston speed", kind="speed", slack=spare,
        between=not_above("load", "limit"),
        needs={"limit": "engine_limits.piston_speed", "load": "driveline.piston_speed"},
        consequence="engine", stops=("full load",), source=OWNER,
        formula="limit − 2·s·n at the rev limit", pose="rev limit",
        when_short="the bottom end turns faster than it is known to stand",
        do="a lower rev limit",
    )  # fmt: skip


def _running(room: Room) -> None:
    room.check(
        "driveline.motorway_revs", title="engine speed on the motorway", kind="rotation_speed",
        between=not_above("revs", "wanted"),
        slack=revs_spare,
        needs={"wanted": "?goal.motorway_revs", "revs": "?driveline.motorway_revs"},
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="engine speed wanted − v/r·i·i_final", pose="top gear, motorway speed",
        when_short="it drones on the motorway", do="a taller tyre or final drive",
    )  # fmt: skip
    room.check(
        "driveline.tyre_speed", title="tyre speed against the top speed as computed", per="corner",
        between=not_above("top", "symbol"),
        kind="speed", slack=tyre_speed_spare,
        needs={"symbol": "corners.symbol_speed.{corner}", "top": "?driveline.top_speed"},
        consequence="injury", stops=("compete",), source=SYMBOL,
        formula="speed of the symbol − top speed by power and gears",
        pose="level road, no wind, rev limit kept",
        when_short="power and gears take the car beyond the speed of its tyres",
        do="tyres of a higher speed symbol", safety="A tyre beyond its speed comes apart.",
    )  # fmt: skip
    room.check(
        "driveline.bearing_moment", title="wheel bearing load", per="axle", kind="ratio",
        between=not_above("growth", MOMENT_MOST), share_of="the moment as found",
        slack=growth_spare, needs={"growth": "driveline.bearing_growth.{axle}"},
        consequence="damage", stops=("drive",), source=PRACTICE,
        formula="1.25 − W·(e + 0.3·r) now/as found",
        pose="bend with side force 0.3 of the load; bearing's middle at the tyre's middle as found",
        when_short="the wheel bearings carry clearly more than they were made for",
        do="a wheel with more offset, no spacer", safety=HANGING,
    )  # fmt: skip


def _records(room: Room) -> None:
    room.record(
        "driveline.shaft_fastened", title="drive shaft nut or flange bolts tightened",
        changed=("drive_shaft", "final_drive"), stops=("creep",), second_person=True,
        do="tighten with the wheel on the ground by the maker's figure; new nut, staked; CV boots "
        "whole, no joint pulled apart",
        safety=HANGING, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "driveline.oil_level", title="gearbox and final drive oil level",
        changed=("gearbox", "final_drive", "drive_shaft"), stops=("creep",),
        do="fill to the maker's level with the maker's oil; look for leaks after the first drive",
        safety=HANGING, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "driveline.clutch_bedded", title="clutch bedded in", changed=("clutch",),
        stops=("full load",), evidence=("value", "name"),
        do="distance driven without full load as its maker asks", source=PRACTICE,
    )  # fmt: skip
    room.record(
        "driveline.clutch_frees", title="clutch frees and the pedal has its play",
        changed=("clutch", "gearbox"), stops=("run",),
        do="engine off: first gear, pedal down, the car can be pushed; play as the maker says",
        safety="Chock the wheels. The car must not move on the starter.", source=PRACTICE,
    )  # fmt: skip
    room.record(
        "driveline.flywheel_fastened", title="flywheel and clutch bolts tightened",
        changed=("clutch",), stops=("turn over",), second_person=True,
        do="new bolts where the maker says so; tighten crosswise by the maker's figure, or LOOK UP",
        safety=f"{TURNING} {HANGING}", source=PRACTICE,
    )  # fmt: skip
