"""The functions behind the fuel room's results: they hand facts to the plain formulas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.findings import FormulaRefused
from drybuild.systems.fuel import hydraulics, injection, network, properties
from drybuild.systems.fuel.network import NODES, ReturnSide, SupplySide, WorkingPoint
from drybuild.systems.fuel.properties import ETHANOL, PETROL, FuelProperties, HotFuel
from drybuild.systems.fuel.tables import Grid, Table
from drybuild.values import Array, DrawnCurve

HEPTANE_DENSITY = 684.0
"""Test fluid where the maker names none: n-heptane at 20 °C."""
DRAWN_TUBE = 1.5e-6
BACK_NODES_OVER = 1.25
"""How far beyond the pump's free flow the table of the way back reaches."""


@dataclass(frozen=True)
class Rail:
    """Rail pressure that the regulator holds, Pa gauge, along engine speed (K,) rad/s.

    pressure (K, N); idle (N,); highest: with boost overshoot where it is known (N,).
    manifold (K, N) and idle_manifold are gauge, for the pressure difference across injectors.
    """

    engine_speed: Grid
    pressure: Grid
    idle: Array
    highest: Array
    manifold: Grid
    idle_manifold: Array
    base: Array


@dataclass(frozen=True)
class Injection:
    """Injectors along engine speed (K,), rad/s; the rest (K, N) SI, or (1, N) at idle.

    difference: across the injectors; flow: of one, open, kg/s; dead_time; pulse; duty.
    """

    engine_speed: Array
    difference: Grid
    flow: Grid
    dead_time: Grid
    pulse: Grid
    duty: Grid


def wanted(value: Any, address: str) -> Any:
    """A fact that is needed as things stand, though not always: refused by its address."""
    if value is None:
        raise FormulaRefused(address)
    return value


# --- fuels --------------------------------------------------------------------------------------


def properties_of(
    *,
    ethanol: Array,
    petrol_density: Array | None = None,
    petrol_molar_mass: Array | None = None,
    petrol_stoich: Array | None = None,
    petrol_heating_value: Array | None = None,
) -> FuelProperties:
    """Properties of a blend by its ethanol volume fraction; the reference petrol by default.

    petrol_molar_mass in g/mol, as it is written in the build.
    """
    petrol = PETROL.density if petrol_density is None else petrol_density
    molar = PETROL.molar_mass if petrol_molar_mass is None else petrol_molar_mass * 1e-3
    mass = properties.ethanol_mass_fraction(ethanol_volume_fraction=ethanol, petrol_density=petrol)

    def mixed(name: str, stated: Array | None = None) -> Array:
        return properties.by_mass(
            ethanol_mass_fraction=mass, ethanol_value=getattr(ETHANOL, name),
            petrol_value=getattr(PETROL, name) if stated is None else stated,
        )  # fmt: skip

    return FuelProperties(
        ethanol_volume_fraction=ethanol,
        ethanol_mass_fraction=mass,
        ethanol_mole_fraction=properties.ethanol_mole_fraction(
            ethanol_mass_fraction=mass, petrol_molar_mass=molar
        ),
        stoich=mixed("stoich", petrol_stoich),
        density=properties.blend_density(ethanol_volume_fraction=ethanol, petrol_density=petrol),
        heating_value=mixed("heating_value", petrol_heating_value),
        latent_heat=mixed("latent_heat"),
        oxygen=mixed("oxygen"),
    )


def hot_fuel(*, properties: FuelProperties, temperature: Array) -> HotFuel:
    """Density and viscosity of a blend at the hottest fuel temperature."""
    return _hot(
        properties.density,
        properties.ethanol_volume_fraction,
        properties.ethanol_mass_fraction,
        temperature,
    )


def _hot(density: Array, volume: Array, mass: Array, temperature: Array) -> HotFuel:
    return HotFuel(
        density=properties.density_at(
            density_15=density, temperature=temperature, ethanol_volume_fraction=volume
        ),
        viscosity=properties.blend_viscosity(ethanol_mass_fraction=mass, temperature=temperature),
        temperature=temperature,
    )


def octane(*, declared: Array | None, petrol: Array | None, properties: FuelProperties) -> Array:
    """Research octane: as the pump declares it, or from its petrol part by moles."""
    from_pump = declared
    if from_pump is not None:
        return from_pump
    return _octane(properties, wanted(petrol, "research octane of the blend or of its petrol part"))


def _octane(blend: FuelProperties, petrol: Array) -> Array:
    return properties.blend_octane(
        ethanol_mole_fraction=blend.ethanol_mole_fraction, petrol_octane=petrol,
        ethanol_octane=ETHANOL.research_octane,
    )  # fmt: skip


def demand(*, operating: Any, properties: FuelProperties, lambda_: Array) -> Grid:
    """Fuel the engine takes at full load along engine speed, kg/s."""
    return np.asarray(operating.dry_air_flow / (lambda_ * properties.stoich))


# --- pressures ------------------------------------------------------------------------------------


def rail(
    *,
    operating: Any,
    air: Any,
    idle_manifold: Array,
    base_pressure: Array,
    referenced: bool,
    peak_manifold: Array | None = None,
) -> Rail:
    """What the regulator holds at full load, at idle, and at the most."""

    def held(manifold: Array) -> Any:
        return injection.rail_set_pressure(
            base_pressure=base_pressure, manifold_absolute=manifold,
            barometric_pressure=air.pressure, referenced=referenced,
        )  # fmt: skip

    along = np.atleast_2d(held(operating.manifold_pressure))
    highest = np.max(along, axis=0)
    if peak_manifold is not None:
        highest = np.maximum(highest, held(peak_manifold))
    return Rail(
        engine_speed=operating.engine_speed,
        pressure=along,
        idle=held(idle_manifold),
        highest=np.maximum(highest, base_pressure),
        manifold=np.atleast_2d(operating.manifold_pressure - air.pressure),
        idle_manifold=idle_manifold - air.pressure,
        base=base_pressure,
    )


def highest_rail(*, rail: Rail) -> Array:
    """Highest rail pressure with boost overshoot, Pa gauge."""
    return rail.highest


def idle_set_pressure(*, rail: Rail) -> Array:
    """What the regulator should hold at idle, Pa gauge."""
    return rail.idle


def idle_rail_pressure(*, point: WorkingPoint) -> Array:
    """Rail pressure at idle as it comes out, Pa gauge."""
    return np.asarray(point.rail_pressure[0])


def idle_return_flow(*, point: WorkingPoint) -> Array:
    """What goes back to the tank at idle, m3/s."""
    return np.asarray(point.return_flow[0])


# --- pump and lines -------------------------------------------------------------------------------


def feed_loss(
    fuel: HotFuel,
    bore: Array,
    length: Array,
    fittings: Array,
    roughness: Array | None,
    filter_present: bool | None,
    filter_flow: Array | None,
    filter_loss: Array | None,
    sensor_present: bool | None,
    sensor_line: str | None,
    sensor_flow: Array | None,
    sensor_loss: Array | None,
) -> Callable[[Grid], Grid]:
    """Loss between pump and rail as a function of flow: line, fittings, filter, sensor."""
    in_row: list[Array] = []
    if filter_present is not False:
        flow = wanted(filter_flow, "fuel_filter.rated_flow")
        in_row.append(wanted(filter_loss, "fuel_filter.rated_loss") / flow**2)
    if sensor_present and sensor_line != "return":
        flow = wanted(sensor_flow, "ethanol_sensor.rated_flow")
        in_row.append(wanted(sensor_loss, "ethanol_sensor.rated_loss") / flow**2)
    rest = hydraulics.series(*in_row)

    def lost(flow: Grid) -> Grid:
        line = hydraulics.line_loss(
            flow=flow, bore=bore, length=length, density=fuel.density, viscosity=fuel.viscosity,
            roughness=DRAWN_TUBE if roughness is None else roughness, fittings=fittings,
        )  # fmt: skip
        return np.asarray(line + rest * flow**2)

    return lost


def supply(
    *,
    fuel: HotFuel,
    curve: DrawnCurve,
    current_curve: DrawnCurve,
    rated_voltage: Array,
    supply_voltage: Array,
    circuit_resistance: Array,
    winding_resistance: Array | None = None,
    **feed: Any,
) -> SupplySide:
    """Pump and feed line at the voltage that the circuit leaves to the pump."""
    pressures = np.linspace(*curve.span, NODES)
    rated, current = (
        np.asarray(c).reshape(NODES, -1)
        for c in (curve.at(pressures), current_curve.clip_at(pressures))
    )
    return network.supply_side(
        pressures=pressures, rated_flow=rated, current=current, supply_voltage=supply_voltage,
        circuit_resistance=circuit_resistance, rated_voltage=rated_voltage,
        winding_resistance=0.0 if winding_resistance is None else winding_resistance,
        loss=feed_loss(fuel, **feed),
    )  # fmt: skip


def idle_supply(
    *, full: SupplySide, idle_share: Array, supply_voltage: Array, **rest: Any
) -> SupplySide:
    """The supply side at idle: the same where the pump gets full voltage there too."""
    if isinstance(idle_share, float) and idle_share == 1.0:
        return full
    return supply(supply_voltage=supply_voltage * idle_share, **rest)


def way_back(
    *,
    fuel: HotFuel,
    supply_side: SupplySide,
    open_flow: Array,
    open_loss: Array,
    present: bool | None = None,
    bore: Array | None = None,
    length: Array | None = None,
    fittings: Array | None = None,
    roughness: Array | None = None,
    sensor_present: bool | None = None,
    sensor_line: str | None = None,
    sensor_flow: Array | None = None,
    sensor_loss: Array | None = None,
) -> ReturnSide:
    """The open way back to the tank: regulator wide open, return line, sensor where it sits."""
    in_row = [open_loss / open_flow**2]
    if sensor_present and sensor_line == "return":
        flow = wanted(sensor_flow, "ethanol_sensor.rated_flow")
        in_row.append(wanted(sensor_loss, "ethanol_sensor.rated_loss") / flow**2)
    rest = hydraulics.series(*in_row)
    line: dict[str, Any] = {}
    if present is not False:
        line = {
            "bore": wanted(bore, "return_line.bore"),
            "length": wanted(length, "return_line.length"),
            "fittings": wanted(fittings, "return_line.fittings"),
            "roughness": DRAWN_TUBE if roughness is None else roughness,
        }

    def lost(flow: Grid) -> Grid:
        alone = rest * flow**2
        if not line:
            return np.asarray(alone)
        return np.asarray(
            alone
            + hydraulics.line_loss(
                flow=flow, density=fuel.density, viscosity=fuel.viscosity, **line
            )
        )

    most = np.max(supply_side.flow.values, axis=0) * BACK_NODES_OVER
    return network.return_side(highest_flow=np.fmax(most, 1e-9), loss=lost)


def full_load(
    *,
    supply_side: SupplySide,
    return_side: ReturnSide,
    demand: Grid,
    fuel: HotFuel,
    rail: Rail,
    open_flow: Array,
    rise: Array | None = None,
) -> WorkingPoint:
    """Pump, lines, regulator and engine together at full load along engine speed."""
    return network.working_point(
        supply=supply_side, back=return_side, demand=np.asarray(demand / fuel.density),
        set_pressure=rail.pressure, rise=0.0 if rise is None else rise / open_flow,
    )  # fmt: skip


def idle(
    *,
    supply_side: SupplySide,
    return_side: ReturnSide,
    air_flow: Array,
    properties: FuelProperties,
    fuel: HotFuel,
    rail: Rail,
    open_flow: Array,
    rise: Array | None = None,
) -> WorkingPoint:
    """The same at warm idle, lambda 1; arrays (1, N)."""
    flow = air_flow / properties.stoich / fuel.density
    return network.working_point(
        supply=supply_side, back=return_side, demand=np.atleast_2d(flow),
        set_pressure=np.atleast_2d(rail.idle), rise=0.0 if rise is None else rise / open_flow,
    )  # fmt: skip


def highest_pump_pressure(
    *, rail: Rail, temperature: Array, supply_voltage: Array, **rest: Any
) -> Array:
    """Highest outlet pressure of the pump in use, Pa gauge: (N,).

    With neat ethanol: densest and thickest of the fuels, so the supply loss is not below any.
    """
    fuel = _hot(ETHANOL.density, 1.0, 1.0, temperature)
    side = supply(fuel=fuel, supply_voltage=supply_voltage, **rest)
    none = np.zeros((1, 1))
    open_way = ReturnSide(Table(0.0, 1.0, np.zeros((2, 1))), np.ones(1))
    point = network.working_point(
        supply=side, back=open_way, demand=none, set_pressure=np.atleast_2d(rail.highest)
    )
    return np.asarray(point.pump_pressure[0])


def pump_current(*, pressure: Array, current_curve: DrawnCurve) -> Array:
    """Current of the pump at its highest working pressure, A."""
    return current_curve.at(pressure)


# --- injectors ------------------------------------------------------------------------------------


def injection_full_load(
    *, point: WorkingPoint, demand: Grid, fuel: HotFuel, rail: Rail, count: Array, **rating: Any
) -> Injection:
    """Injectors at full load, at the rail pressure that pump and lines really leave."""
    speed = np.asarray(rail.engine_speed)
    return _injection(
        speed, speed[:, None], point.rail_pressure - rail.manifold, demand / count, fuel.density,
        **rating,
    )  # fmt: skip


def injection_idle(
    *,
    point: WorkingPoint,
    air_flow: Array,
    properties: FuelProperties,
    fuel: HotFuel,
    rail: Rail,
    idle_speed: Array,
    count: Array,
    **rating: Any,
) -> Injection:
    """Injectors at warm idle, lambda 1, at the rail pressure that the way back leaves."""
    each = air_flow / properties.stoich / count
    return _injection(
        idle_speed, idle_speed, point.rail_pressure - rail.idle_manifold, each, fuel.density,
        **rating,
    )  # fmt: skip


def _injection(
    along: Array,
    engine_speed: Array,
    difference: Grid,
    fuel_each: Array,
    density: Array,
    *,
    static_flow: Array,
    rated_pressure: Array,
    dead_time: DrawnCurve,
    voltage: Array,
    test_density: Array | None = None,
    pressure_slope: Array | None = None,
    injections: Array | None = None,
) -> Injection:
    times = 1.0 if injections is None else injections
    flow = injection.mass_flow(
        rated_flow=static_flow, rated_difference=rated_pressure,
        test_density=HEPTANE_DENSITY if test_density is None else test_density,
        difference=difference, fuel_density=density,
    )  # fmt: skip
    dead = injection.dead_time_at(
        dead_time=dead_time.at(voltage), difference=difference, rated_difference=rated_pressure,
        pressure_slope=0.0 if pressure_slope is None else pressure_slope,
    )  # fmt: skip
    window = injection.injection_window(engine_speed=engine_speed, injections=times)
    pulse = injection.pulse_width(fuel_mass=fuel_each * window, injector_flow=flow, dead_time=dead)
    return Injection(
        along, difference, np.asarray(flow), np.asarray(dead), np.asarray(pulse),
        np.asarray(injection.duty(pulse=pulse, window=window)),
    )  # fmt: skip


def duty_of(*, injection: Injection) -> Grid:
    """Duty along engine speed (K, N)."""
    return injection.duty


# --- use -----------------------------------------------------------------------------------------


def use_on(*, fuel_use: Array, known_ethanol: Array, properties: FuelProperties) -> Array:
    """Fuel use on a blend, m3/m."""
    known = properties_of(ethanol=known_ethanol)
    return _use(fuel_use, properties, known)


def _use(fuel_use: Array, now: FuelProperties, known: FuelProperties) -> Array:
    return properties.fuel_use_on_blend(
        fuel_use=fuel_use, heating_value_volume=now.heating_value * now.density,
        known_volume=known.heating_value * known.density,
    )  # fmt: skip


def range_of(*, use: Array, volume: Array) -> Array:
    """Distance on a tank, m."""
    return properties.tank_range(usable_volume=volume, fuel_use=use)


def cost_of(*, use: Array, price: Array) -> Array:
    """Cost of 100 km, in the money of the price of a litre."""
    return price * use * 1e5 * 1e3
