"""The engine's air, fuel, power and its corrections against standards and worked examples."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from drybuild.systems.breathing import air as a
from drybuild.systems.breathing import engine as e

ROOM = "drybuild.systems.breathing"
RPM = pi / 30.0
KW = 1e3
GUPTA = "Gupta, Fundamentals of Internal Combustion Engines, "


# the engine


@pytest.mark.textbook
def test_air_flow_by_cycles(against):
    """Counted another way: fillings a second times the mass of one filling."""
    fillings = 6000.0 / 2.0 / 60.0
    mass = 0.95 * 2.0e-3 * 200e3 / (8314.46 / 28.965 * 318.15)
    against(
        f"{ROOM}.engine.air_flow",
        got=e.air_flow(
            volumetric_efficiency=0.95, manifold_pressure=200e3, manifold_temperature=318.15,
            displacement=2.0e-3, engine_speed=6000.0 * RPM,
        ),
        expected=fillings * mass,
        rel=1e-4,
        source="Heywood (1988), equation 2.27, worked by hand",
        note="gas constant to five digits",
    )  # fmt: skip


@pytest.mark.practice
def test_idle_air_flow_is_a_few_kilograms_an_hour(against):
    got = e.idle_air_flow(
        idle_speed=840.0 * RPM, idle_manifold_pressure=32e3, idle_volumetric_efficiency=0.7,
        displacement=1.8e-3, temperature=300.0,
    )  # fmt: skip
    against(
        f"{ROOM}.engine.idle_air_flow",
        got=got * 3600.0,
        expected=11.0,
        abs=4.0,
        source="practice: a warm 1.8 L engine idles on 7 to 15 kg/h of air",
    )


@pytest.mark.textbook
def test_fuel_flow(against):
    against(
        f"{ROOM}.engine.fuel_flow",
        got=e.fuel_flow(air_flow=0.208045, lambda_=0.80, stoichiometric_ratio=14.7) * 1e3,
        expected=208.045 / 11.76,
        rel=1e-9,
        source="definition of lambda: 14.7·0.80 = 11.76 kg of air per kg of fuel",
    )


@pytest.mark.textbook
def test_power_from_specific_fuel(against):
    """17.691 g/s at 320 g/kWh: 63.69 kg/h over 0.32 kg/kWh."""
    against(
        f"{ROOM}.engine.power_from_specific_fuel",
        got=e.power_from_specific_fuel(fuel_flow=17.691e-3, specific_fuel=0.320 / 3.6e6) / KW,
        expected=17.691 * 3.6 / 0.320,
        rel=1e-9,
        source="Heywood (1988), equation 2.22, in g/kWh",
    )


@pytest.mark.textbook
def test_efficiency_from_specific_fuel(against):
    sfc, heat = np.array([250.0, 270.0, 320.0]), 43.44
    against(
        f"{ROOM}.engine.efficiency_from_specific_fuel",
        got=e.efficiency_from_specific_fuel(specific_fuel=sfc / 3.6e9, heating_value=heat * 1e6),
        expected=3600.0 / (sfc * heat),
        rel=1e-9,
        source="Heywood (1988), equation 2.24b: 3600/(g/kWh · MJ/kg)",
    )


@pytest.mark.textbook
def test_power_from_efficiency(against):
    fuel, heat = 17.691e-3, 43.44e6
    eta = 3600.0 / (320.0 * 43.44)
    against(
        f"{ROOM}.engine.power_from_efficiency",
        got=e.power_from_efficiency(fuel_flow=fuel, heating_value=heat, brake_efficiency=eta) / KW,
        expected=199.0,
        abs=0.05,
        source="Heywood (1988), equations 2.22 to 2.24: 63.69 kg/h at 320 g/kWh",
        note="printed to 0.1 kW",
    )


@pytest.mark.practice
def test_rich_mixture_costs_fuel(against):
    """Sizing practice: enriched turbo petrol 0.50 to 0.65 lb/hp·h; 1 lb/hp·h = 608.3 g/kWh."""
    eta = e.efficiency_at_lambda(efficiency=0.335, lambda_=0.80)
    sfc = 3600.0 / (eta * 43.44)
    against(
        f"{ROOM}.engine.efficiency_at_lambda",
        got=sfc / 608.277,
        expected=0.575,
        abs=0.075,
        source="practice of injector sizing, no source",
    )


@pytest.mark.textbook
def test_torque_and_power(against):
    """The constants that people carry in their heads."""
    against(
        f"{ROOM}.engine.torque_from_power",
        got=e.torque_from_power(power=np.array([251.327e3, 745.69987]), engine_speed=np.array(
            [6000.0 * RPM, 5252.113 * RPM])),
        expected=np.array([400.0, 1.3558179]),
        rel=2e-6,
        source="9549.3 N·m·rpm/kW and 5252.113 lbf·ft·rpm/hp",
        note="digits of the constants",
    )  # fmt: skip


@pytest.mark.textbook
def test_mean_effective_pressure(against):
    swept = 4.0 * pi / 4.0 * 0.090**2 * 0.100
    against(
        f"{ROOM}.engine.mean_effective_pressure",
        got=e.mean_effective_pressure(torque=120.0, displacement=swept) / 1e5,
        expected=5.93,
        abs=0.005,
        source=GUPTA + "example 16.3",
    )


@pytest.mark.authority
def test_correction_iso1585(against):
    dry = np.array([97e3, 95e3, 101e3, 99e3, 83.726e3])
    t = np.array([308.0, 303.0, 288.0, 298.0, 303.0])
    factor = e.correction_iso1585(dry_pressure=dry, temperature=t)
    against(
        f"{ROOM}.engine.correction_iso1585",
        got=factor.value,
        expected=np.array([1.04529, 1.06128, 0.95649, 1.0, 1.23500]),
        abs=2e-5,
        source="ISO 1585:2020, 6; UN Regulation 85, annex 5, 5; Directive 80/1269/EEC",
        note="worked figures to five digits; exponents from memory",
    )
    assert list(factor.in_range) == [True, True, True, True, False]


@pytest.mark.authority
def test_edges_of_iso1585(against):
    edges = [99.0 / 1.07 ** (1 / 1.2), 99.0 / 0.93 ** (1 / 1.2)]
    factor = e.correction_iso1585(dry_pressure=np.array([93.573e3, 105.172e3]), temperature=298.0)
    against(
        f"{ROOM}.engine.correction_iso1585",
        got=factor.value,
        expected=np.array([1.07, 0.93]),
        abs=1e-5,
        source="ISO 1585:2020, 6: 0.93 to 1.07",
        note=f"dry pressures {edges[0]:.3f} and {edges[1]:.3f} kPa printed to the pascal",
    )


@pytest.mark.authority
def test_correction_j1349_from_mechanical_efficiency(against):
    """Friction stays, indicated power is corrected: (1/0.85)·r − (1/0.85 − 1)."""
    dry, t = np.array([97e3, 95e3, 101e3]), np.array([308.0, 303.0, 288.0])
    ratio = 99e3 / dry * np.sqrt(t / 298.0)
    against(
        f"{ROOM}.engine.correction_j1349",
        got=e.correction_j1349(dry_pressure=dry, temperature=t).value,
        expected=ratio / 0.85 - (1.0 / 0.85 - 1.0),
        abs=0.004 * 0.06,
        source="SAE J1349: 85 % mechanical efficiency, from which 1.18 and 0.18 are rounded",
        note="rounding of 1.17647 to 1.18 times the greatest |r − 1|",
    )


@pytest.mark.authority
def test_no_second_correction(against):
    factor = e.correction(
        method="ISO 1585", dry_pressure=91e3, temperature=300.0, boost_compensates=True
    )
    against(
        f"{ROOM}.engine.correction",
        got=factor.value,
        expected=1.0,
        abs=1e-12,
        source="UNECE GRPE-70-02 (2014): no redundant correction of compensated boost",
        note="exact",
    )


@pytest.mark.authority
def test_dry_pressure_not_barometer(against):
    """35 °C, 98 kPa, 40 %: 1.0617; with the barometer it would be 1.0325."""
    state = a.air_state(temperature=308.15, humidity=0.40, barometer=98e3)
    steam = 5.6291e3  # steam table at 35 °C, Pa
    against(
        f"{ROOM}.engine.correction_iso1585",
        got=e.correction_iso1585(dry_pressure=state.dry_pressure, temperature=308.0).value,
        expected=(99.0 / (98.0 - 0.4 * steam / 1e3)) ** 1.2 * (308.0 / 298.0) ** 0.6,
        rel=2e-5,
        source="ISO 1585:2020, 6, with the steam table's 5.6291 kPa at 35 °C",
    )


@pytest.mark.practice
def test_wheel_power(against):
    against(
        f"{ROOM}.engine.wheel_power",
        got=e.wheel_power(crank_power=100.0, driveline_efficiency=0.93),
        expected=93.0,
        abs=3.0,
        source="Gillespie; Bosch Automotive Handbook: two-wheel drive loses 4 to 10 %",
    )
