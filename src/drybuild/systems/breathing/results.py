"""What the breathing room offers to itself and to other rooms."""

from __future__ import annotations

from drybuild.findings import Room, Source
from drybuild.systems.breathing import results_parts as parts

ATMOSPHERE = Source(
    "US Standard Atmosphere", edition="1976", clause="troposphere; moist air as ideal mixture",
    how="read",
)  # fmt: skip
MIXTURE = Source("definition of gauge and absolute pressure", how="computed")
KAYS = Source("Kays and London, Compact Heat Exchangers", clause="crossflow", how="computed")
SOLVER = Source(
    "successive substitution of isentropic compression, effectiveness–NTU, Darcy–Weisbach and "
    "speed-density",
    how="computed",
)
MAP = Source("SAE J1826", edition="1995", clause="map and its reference conditions", how="memory")
HEYWOOD = Source(
    "Heywood, Internal Combustion Engine Fundamentals", edition="1988",
    clause="2.22 to 2.27", how="memory",
)  # fmt: skip
ENERGY = Source("first law and conservation of mass", how="computed")
CORRECTION = Source("ISO 1585", edition="2020", clause="6; SAE J1349", how="memory")

LAMBDA = "blend.{blend}.lambda_full_load|goal.lambda_full_load"
EFFICIENCY = "engine.brake_efficiency"
WHEELS = "~?engine.driveline_efficiency"
OVERSHOOT = "?boost_control.overshoot"


def register(room: Room) -> None:
    """Offer the results."""
    _air(room)
    _full_throttle(room)
    _power(room)
    _peaks(room)


def _air(room: Room) -> None:
    room.result(
        "breathing.air", of=parts.air_at_site, kind="object",
        needs={
            "temperature": "site.temperature", "humidity": "site.humidity",
            "altitude": "?site.altitude", "barometer": "?site.barometer",
            "weather": "?site.weather",
        },
        formula="p = 101.325 kPa·(1 − 0.0065·H/288.15)^5.2559 or the barometer; "
        "p_dry = p − φ·p_sat(T); ρ = p_dry/(R_a·T) + p_v/(R_v·T)",
        source=ATMOSPHERE,
        valid={"temperature": (253.0, 323.0), "altitude": (-500.0, 6000.0)},
    )  # fmt: skip
    room.result(
        "breathing.corrections", of=parts.corrections, kind="object",
        needs={
            "air": "breathing.air", "turbo_present": "?turbo.present",
            "reference": "?boost_control.reference",
        },
        formula="ISO 1585: (99 kPa/p_dry)^1.2·(T/298)^0.6; SAE J1349: "
        "1.18·(99 kPa/p_dry)·√(T/298) − 0.18; 1 where boost control makes up for altitude",
        source=CORRECTION,
    )  # fmt: skip
    room.result(
        "breathing.idle_air_flow", of=parts.idle_air_flow, kind="flow_mass",
        needs={
            "air": "~breathing.air", "displacement": "engine.displacement",
            "speed": "engine.idle_speed", "pressure": "engine.idle_manifold_pressure",
            "efficiency": "engine.idle_volumetric_efficiency",
        },
        formula="ṁ = VE·p/(R·T)·V·ω/4π", source=HEYWOOD,
    )  # fmt: skip


def _full_throttle(room: Room) -> None:
    room.result(
        "breathing.boost_target", of=parts.boost_target, kind="pressure_absolute",
        needs={
            "air": "~breathing.air", "boost": "goal.boost|map.boost_target",
            "reference": "?boost_control.reference", "scatter": "?boost_control.scatter",
        },
        formula="gauge: p = barometer + boost; absolute: p = 101.325 kPa + boost",
        source=MIXTURE,
    )  # fmt: skip
    room.result(
        "breathing.map_grid", of=parts.grid_of, kind="object", needs={"map": "turbo.map"},
        formula="lines of equal share between surge and choke; ratio − 1 with speed squared",
        source=MAP,
    )
    cooler = (
        "present", "effectiveness", "effectiveness_flow", "effectiveness_air_speed", "face_area",
        "ram_share", "pressure_loss", "loss_flow", "loss_pressure", "loss_temperature",
    )  # fmt: skip
    room.result(
        "breathing.charge_cooler", of=parts.charge_cooler, kind="object",
        needs={
            "air": "~breathing.air", "road_speed": "?goal.full_load_road_speed",
            **{name: f"?charge_cooler.{name}" for name in cooler},
        },
        formula="ε(NTU, C*) crossflow, both unmixed, turned round at its measured point; "
        "1/UA = ½/UA₀·(1 + (v₀/v)^0.8)",
        source=KAYS,
    )  # fmt: skip
    room.result(
        "breathing.operating", of=parts.operating, kind="object",
        needs={
            "air": "~breathing.air", "displacement": "engine.displacement",
            "volumetric_efficiency": "engine.volumetric_efficiency",
            "rev_limit": "engine.rev_limit", "map_limit": "~?map.rev_limit",
            "turbo_present": "?turbo.present", "target": "?breathing.boost_target",
            "grid": "?breathing.map_grid", "efficiency": "?turbo.efficiency",
            "flow_scale": "?turbo.flow_scale", "efficiency_scale": "?turbo.efficiency_scale",
            "reach": "?turbo.reach", "full_boost_speed": "?turbo.full_boost_speed",
            "cooler": "?breathing.charge_cooler", "cooler_present": "?charge_cooler.present",
            "intake_loss": "?intake.pressure_loss", "intake_flow": "?intake.loss_flow",
            "intake_rise": "?intake.temperature_rise",
            "throttle_loss": "?throttle.pressure_loss", "throttle_flow": "?throttle.loss_flow",
            "throttle_pressure": "?throttle.loss_pressure",
            "throttle_temperature": "?throttle.loss_temperature",
        },
        formula="Π = (p_m + losses)/(barometer − intake loss); T₂ = T₁·(1 + (Π^0.2857 − 1)/η); "
        "T_m = T₂ − ε·(T₂ − T_air); ṁ = VE·p_m/(R·T_m)·V·ω/4π; three passes",
        source=SOLVER,
    )  # fmt: skip


def _power(room: Room) -> None:
    room.result(
        "breathing.power", of=parts.power_on_blend, per="blend", kind="object",
        needs={
            "operating": "breathing.operating", "properties": "fuel.properties.{blend}",
            "lambda_": LAMBDA, "brake_efficiency": EFFICIENCY, "driveline_efficiency": WHEELS,
        },
        formula="P = ṁ_air/(λ·stoich)·H_u·η·min(λ, 1)", source=HEYWOOD,
        valid={"lambda_": (0.75, 1.0)},
    )  # fmt: skip
    room.result(
        "breathing.best_power", of=parts.best_power, kind="object",
        needs={
            "operating": "breathing.operating", "brake_efficiency": EFFICIENCY,
            "driveline_efficiency": WHEELS,
        },
        formula="P = ṁ_air·2.994 MJ/kg·η", source=HEYWOOD,
    )  # fmt: skip
    pieces = {
        f"{name}_{fact}": f"?{name}.{fact}"
        for name in ("exhaust", "catalyst", "dump_pipe")
        for fact in ("present", "pressure_loss", "loss_flow", "loss_pressure", "loss_temperature")
    }
    room.result(
        "breathing.exhaust", of=parts.exhaust_on_blend, per="blend", kind="object",
        needs={
            "operating": "breathing.operating", "air": "~breathing.air",
            "power": "breathing.power.{blend}", "temperature": "engine.exhaust_temperature",
            "turbo_present": "?turbo.present",
            "mechanical_efficiency": "?turbo.mechanical_efficiency", **pieces,
        },
        formula="T₄ = T₃ − P_c/(η_m·ṁ·c_p); Δp = Δp₀·(ṁ/ṁ₀)²·(T/T₀)·(p₀/p), from the tail forward",
        source=ENERGY,
    )  # fmt: skip


def _peaks(room: Room) -> None:
    torque = {"operating": "breathing.operating", "brake_efficiency": EFFICIENCY}
    room.result(
        "breathing.peak_torque", of=parts.peak_torque, kind="torque", needs=torque,
        formula="highest of ṁ_air·2.994 MJ/kg·η/ω", source=HEYWOOD,
    )  # fmt: skip
    room.result(
        "breathing.peak_torque_overshoot", of=parts.peak_torque_overshoot, kind="torque",
        needs={**torque, "overshoot": OVERSHOOT},
        formula="highest of T·(1 + Δp/p_m)", source=HEYWOOD,
    )  # fmt: skip
    room.result(
        "breathing.peak_manifold_pressure", of=parts.peak_manifold_pressure,
        kind="pressure_absolute", needs={"operating": "breathing.operating"},
        formula="highest p_m", source=SOLVER,
    )  # fmt: skip
    room.result(
        "breathing.peak_manifold_pressure_overshoot", of=parts.peak_manifold_pressure_overshoot,
        kind="pressure_absolute",
        needs={"operating": "breathing.operating", "overshoot": OVERSHOOT},
        formula="highest p_m + Δp", source=SOLVER,
    )  # fmt: skip
    room.result(
        "breathing.peak_boost_overshoot", of=parts.peak_boost_overshoot, kind="pressure_gauge",
        needs={
            "pressure": "breathing.peak_manifold_pressure_overshoot", "air": "~breathing.air"
        },
        formula="highest p_m + Δp − barometer", source=SOLVER,
    )  # fmt: skip
    room.result(
        "breathing.peak_air_flow", of=parts.peak_air_flow, kind="flow_mass",
        needs={"operating": "breathing.operating"}, formula="highest ṁ", source=SOLVER,
    )  # fmt: skip
