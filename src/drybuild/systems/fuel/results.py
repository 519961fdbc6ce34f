"""Results of the fuel room: what other rooms and the checks read."""

from __future__ import annotations

from drybuild.findings import Room, Source
from drybuild.systems.fuel import results_parts as parts

DOE = Source(
    "US DOE AFDC, Fuel Property Comparison", edition="undated table", clause="table 2", how="read"
)
MIXING = Source("ideal mixing by volume at 15 °C", clause="definition", how="computed")
API = Source("API MPMS 11.1", edition="1980", clause="table 54B; Andrade (1930)", how="memory")
OCTANE = Source(
    "Anderson, Kramer, Mueller, Wallington, Energy & Fuels 24 (2010) 6576", clause="abstract",
    how="read",
)  # fmt: skip
HEYWOOD = Source(
    "Heywood, Internal Combustion Engine Fundamentals", edition="1988", clause="ch. 2, 3",
    how="memory",
)  # fmt: skip
REGULATOR = Source("definition of a regulator with a 1:1 reference", how="computed")
PUMP = Source(
    "Ohm's law, permanent-magnet motor, displacement pump", clause="leakage kept at the pressure",
    how="memory",
)  # fmt: skip
DARCY = Source("Darcy–Weisbach; Haaland, J. Fluids Eng. 105 (1983) 89", how="read")
BALANCE = Source("mass balance at the rail, energy along each line", how="computed")
J1832 = Source("SAE J1832", edition="FEB2001", clause="scope; Qd = m·(PW − X)", how="memory")

LAMBDA = "blend.{blend}.lambda_full_load|goal.lambda_full_load"
RESISTANCE = "electrics.pump_circuit_resistance|pump_wire.expected_resistance"
FEED = {
    "bore": "feed_line.bore", "length": "feed_line.length", "fittings": "feed_line.fittings",
    "roughness": "?feed_line.roughness", "filter_present": "?fuel_filter.present",
    "filter_flow": "?fuel_filter.rated_flow", "filter_loss": "?fuel_filter.rated_loss",
    "sensor_present": "?ethanol_sensor.present", "sensor_line": "?ethanol_sensor.in_line",
    "sensor_flow": "?ethanol_sensor.rated_flow", "sensor_loss": "?ethanol_sensor.rated_loss",
}  # fmt: skip
MOTOR = {
    "curve": "pump.curve", "current_curve": "pump.current_curve",
    "rated_voltage": "pump.rated_voltage", "winding_resistance": "?pump.winding_resistance",
    "supply_voltage": "electrics.supply_voltage", "circuit_resistance": RESISTANCE,
}  # fmt: skip


def register(room: Room) -> None:
    """Offer the room's results."""
    _fuels(room)
    _pressures(room)
    _network(room)
    _injectors(room)
    _use(room)


def _fuels(room: Room) -> None:
    petrol = {
        "petrol_density": "~?blend.{blend}.petrol_density",
        "petrol_molar_mass": "~?blend.{blend}.petrol_molar_mass",
        "petrol_stoich": "~?blend.{blend}.petrol_stoich",
        "petrol_heating_value": "~?blend.{blend}.petrol_heating_value",
    }
    room.result(
        "fuel.properties", of=parts.properties_of, per="blend", kind="object",
        needs={"ethanol": "blend.{blend}.ethanol", **petrol},
        formula="w = v·ρe/(v·ρe + (1−v)·ρp); stoich and heat by mass; reference petrol of the "
        "table where the blend states none",
        source=DOE, valid={"ethanol": (0.0, 1.0)},
    )  # fmt: skip
    room.result(
        "fuel.hot", of=parts.hot_fuel, per="blend", kind="object",
        needs={"properties": "fuel.properties.{blend}", "temperature": "~tank.fuel_temperature"},
        formula="ρ = ρ15·exp(−αΔT·(1 + 0.8·αΔT)); ln μ by mass",
        source=API, valid={"temperature": (253.15, 343.15)},
    )  # fmt: skip
    room.result(
        "fuel.octane", of=parts.octane, per="blend", kind="number",
        needs={
            "declared": "?blend.{blend}.research_octane",
            "petrol": "?blend.{blend}.petrol_research_octane",
            "properties": "fuel.properties.{blend}",
        },
        formula="declared, or RON = (1 − x)·RON_petrol + x·108.6, x by mole", source=OCTANE,
    )  # fmt: skip
    room.result(
        "fuel.demand", of=parts.demand, per="blend", kind="flow_mass",
        needs={
            "operating": "breathing.operating", "properties": "fuel.properties.{blend}",
            "lambda_": LAMBDA,
        },
        formula="ṁ = ṁ_dry air/(λ·stoich)", source=HEYWOOD, valid={"lambda_": (0.6, 1.3)},
    )  # fmt: skip


def _pressures(room: Room) -> None:
    room.result(
        "fuel.rail", of=parts.rail, kind="object",
        needs={
            "operating": "breathing.operating", "air": "~breathing.air",
            "idle_manifold": "~engine.idle_manifold_pressure",
            "peak_manifold": "?breathing.peak_manifold_pressure_overshoot",
            "base_pressure": "regulator.base_pressure", "referenced": "regulator.referenced",
        },
        formula="p = base + (manifold − barometer) where referenced, base where not",
        source=REGULATOR,
    )  # fmt: skip
    room.result(
        "fuel.idle_set_pressure", of=parts.idle_set_pressure, kind="pressure_gauge",
        needs={"rail": "fuel.rail"}, formula="what the regulator should hold at idle",
        source=REGULATOR,
    )  # fmt: skip
    room.result(
        "fuel.highest_rail_pressure", of=parts.highest_rail, kind="pressure_gauge",
        needs={"rail": "fuel.rail"}, formula="highest of p along engine speed, with overshoot",
        source=REGULATOR,
    )  # fmt: skip


def _network(room: Room) -> None:
    room.result(
        "fuel.supply_side", of=parts.supply, per="blend", kind="object",
        needs={"fuel": "fuel.hot.{blend}", **MOTOR, **FEED},
        formula="V = U − I(p)·R; n/n₀ = (V − I·R_w)/(V₀ − I·R_w); Q = Q₀(p) − Q₀(0)·(1 − n/n₀); "
        "Δp = (f·L/D + ΣK)·ρv²/2 + filter",
        source=PUMP,
    )  # fmt: skip
    room.result(
        "fuel.idle_supply_side", of=parts.idle_supply, per="blend", kind="object",
        needs={
            "full": "fuel.supply_side.{blend}", "idle_share": "pump.idle_share",
            "fuel": "fuel.hot.{blend}", **MOTOR, **FEED,
        },
        formula="as supply side, at the idle share of the voltage", source=PUMP,
    )  # fmt: skip
    room.result(
        "fuel.return_side", of=parts.way_back, per="blend", kind="object",
        needs={
            "fuel": "fuel.hot.{blend}", "supply_side": "fuel.supply_side.{blend}",
            "present": "?return_line.present", "bore": "?return_line.bore",
            "length": "?return_line.length", "fittings": "?return_line.fittings",
            "roughness": "?return_line.roughness", "open_flow": "regulator.open_flow",
            "open_loss": "regulator.open_loss", "sensor_present": "?ethanol_sensor.present",
            "sensor_line": "?ethanol_sensor.in_line", "sensor_flow": "?ethanol_sensor.rated_flow",
            "sensor_loss": "?ethanol_sensor.rated_loss",
        },
        formula="Δp = (f·L/D + ΣK)·ρv²/2 + Δp_open·(Q/Q_open)²", source=DARCY,
    )  # fmt: skip
    room.result(
        "fuel.full_load", of=parts.full_load, per="blend", kind="object",
        needs={
            "supply_side": "fuel.supply_side.{blend}", "return_side": "fuel.return_side.{blend}",
            "demand": "fuel.demand.{blend}", "fuel": "fuel.hot.{blend}", "rail": "fuel.rail",
            "rise": "?regulator.rise", "open_flow": "regulator.open_flow",
        },
        formula="p_pump − Δp_supply(Q) = p_rail; Q − Q_engine = Q_return(p_rail); misfit < 200 Pa",
        source=BALANCE,
    )  # fmt: skip
    room.result(
        "fuel.idle", of=parts.idle, per="blend", kind="object",
        needs={
            "supply_side": "fuel.idle_supply_side.{blend}",
            "return_side": "fuel.return_side.{blend}", "air_flow": "breathing.idle_air_flow",
            "properties": "fuel.properties.{blend}", "fuel": "fuel.hot.{blend}",
            "rail": "fuel.rail", "rise": "?regulator.rise", "open_flow": "regulator.open_flow",
        },
        formula="as full load, with the engine's idle flow at λ = 1", source=BALANCE,
    )  # fmt: skip
    for name, what, kind in (
        ("fuel.idle_rail_pressure", parts.idle_rail_pressure, "pressure_gauge"),
        ("fuel.idle_return_flow", parts.idle_return_flow, "flow_volume"),
    ):
        room.result(
            name,
            of=what,
            per="blend",
            kind=kind,
            needs={"point": "fuel.idle.{blend}"},
            formula="of the idle working point",
            source=BALANCE,
        )
    room.result(
        "fuel.pump_pressure", of=parts.highest_pump_pressure, kind="pressure_gauge",
        needs={
            "rail": "fuel.rail", "temperature": "~tank.fuel_temperature", **MOTOR, **FEED,
            # hardly moves this pressure, so it neither arms nor marks what rests on it
            "circuit_resistance": f"~{RESISTANCE}",
        },
        formula="highest rail pressure + supply loss, with neat ethanol (the densest, thickest)",
        source=BALANCE,
    )  # fmt: skip
    room.result(
        "fuel.pump_current", of=parts.pump_current, kind="current",
        needs={"pressure": "fuel.pump_pressure", "current_curve": "pump.current_curve"},
        formula="I(p_pump), the same at either voltage", source=PUMP,
    )  # fmt: skip


def _injectors(room: Room) -> None:
    rating = {
        "static_flow": "injectors.static_flow", "rated_pressure": "injectors.rated_pressure",
        "test_density": "?injectors.test_density", "count": "injectors.count",
        "dead_time": "injectors.dead_time", "voltage": "electrics.supply_voltage",
        "pressure_slope": "?injectors.dead_time_pressure_slope",
        "injections": "?engine.injections",
    }  # fmt: skip
    formula = (
        "Δp = p_rail − p_manifold; ṁ = Q₀·√(Δp/Δp₀·ρ_test·ρ); pulse = dead time + m/ṁ; "
        "window = 4π/ω"
    )
    room.result(
        "fuel.injection", of=parts.injection_full_load, per="blend", kind="object",
        needs={
            "point": "fuel.full_load.{blend}", "demand": "fuel.demand.{blend}",
            "fuel": "fuel.hot.{blend}", "rail": "fuel.rail", **rating,
        },
        formula=formula, source=J1832,
    )  # fmt: skip
    room.result(
        "fuel.duty", of=parts.duty_of, per="blend", kind="fraction",
        needs={"injection": "fuel.injection.{blend}"}, formula="pulse/window", source=J1832,
    )  # fmt: skip
    room.result(
        "fuel.idle_injection", of=parts.injection_idle, per="blend", kind="object",
        needs={
            "point": "fuel.idle.{blend}", "air_flow": "breathing.idle_air_flow",
            "properties": "fuel.properties.{blend}", "fuel": "fuel.hot.{blend}",
            "rail": "fuel.rail", "idle_speed": "engine.idle_speed", **rating,
        },
        formula=formula + "; λ = 1", source=J1832,
    )  # fmt: skip


def _use(room: Room) -> None:
    room.result(
        "fuel.use", of=parts.use_on, per="blend", kind="fuel_use",
        needs={
            "fuel_use": "car.fuel_use", "known_ethanol": "car.fuel_use_ethanol",
            "properties": "fuel.properties.{blend}",
        },
        formula="use·(heat per litre then)/(heat per litre now)", source=DOE,
    )  # fmt: skip
    room.result(
        "fuel.range", of=parts.range_of, per="blend", kind="distance",
        needs={"use": "fuel.use.{blend}", "volume": "tank.usable_volume"},
        formula="usable volume/use", source=MIXING,
    )  # fmt: skip
    room.result(
        "fuel.cost", of=parts.cost_of, per="blend", kind="money",
        needs={"use": "fuel.use.{blend}", "price": "blend.{blend}.price"},
        formula="price of a litre·use, for 100 km", source=MIXING,
    )  # fmt: skip
