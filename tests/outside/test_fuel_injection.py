"""Injectors, duty and dead time against worked examples and published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drybuild.systems.fuel import injection

FORMULAS = "drybuild.systems.fuel"
LB, GALLON, FOOT, PSI = 0.45359237, 3.785411784e-3, 0.3048, 6894.757293


# --- injectors --------------------------------------------------------------------------------


@pytest.mark.textbook
def test_injector_flow_with_the_root_of_pressure(against):
    kpa = np.array([200.0, 250.0, 300.0, 350.0, 400.0, 500.0, 600.0])
    got = injection.volume_flow(
        rated_flow=1.0, rated_difference=300e3, test_density=700.0, difference=kpa * 1e3,
        fuel_density=700.0,
    )  # fmt: skip
    expected = [math.exp(0.5 * math.log(k / 300)) for k in kpa]
    against(
        f"{FORMULAS}.injection.volume_flow", got=got, expected=expected, rel=1e-9,
        source="orifice equation, by logarithms",
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.volume_flow", got=got[[0, 4]], expected=[0.8165, 1.1547], abs=6e-5,
        source="orifice factor table",
    )  # fmt: skip


@pytest.mark.textbook
def test_rating_on_test_fluid(against):
    # n-heptane 684, petrol 745: mass up by the root of the ratio, volume down by it
    common = dict(rated_flow=1.0, rated_difference=3e5, test_density=684.0, difference=3e5)
    mass = injection.mass_flow(fuel_density=745.0, **common) / 684.0
    volume = injection.volume_flow(fuel_density=745.0, **common)
    against(
        f"{FORMULAS}.injection.mass_flow", got=[mass, volume], expected=[1.04364, 0.95819],
        abs=6e-6, source="orifice equation, computed apart",
    )  # fmt: skip


@pytest.mark.textbook
def test_pounds_an_hour_and_cc_a_minute(against):
    densities = np.array([719.7, 684.0, 745.0, 789.4, 786.4])
    got = injection.rated_volume_flow(rated_mass_flow=LB / 3600, test_density=densities)
    against(
        f"{FORMULAS}.injection.rated_volume_flow", got=got * 60e6,
        expected=[10.504, 11.052, 10.148, 9.577, 9.613], abs=1e-3,
        source="unit identity: 453.59237 g / 60 / density", note="the trade's 10.5 is one fluid",
    )  # fmt: skip


@pytest.mark.textbook
def test_duty_worked_example(against):
    # 0.5 L cylinder, VE 0.95 at 2.18994 kg/m3, lambda 0.80, ratio 14.7, 1000 cc/min, 7000 rpm
    air = 0.5e-3 * 0.95 * 2.18994
    fuel = air / (0.80 * 14.7)
    speed = 7000 * math.pi / 30
    window = injection.injection_window(engine_speed=speed)
    flow = injection.mass_flow(
        rated_flow=1000 / 60e6, rated_difference=3e5, test_density=745.0, difference=3e5,
        fuel_density=745.0,
    )  # fmt: skip
    pulse = injection.pulse_width(fuel_mass=fuel, injector_flow=flow, dead_time=0.9e-3)
    got = [window * 1e3, pulse * 1e3, injection.duty(pulse=pulse, window=window)]
    against(
        f"{FORMULAS}.injection.duty", got=got, expected=[17.1429, 8.0238, 0.46806],
        rel=1e-4, source="worked by hand: 120/7000 s; 88.454 mg / 12.4167 g/s + 0.9 ms",
    )  # fmt: skip


@pytest.mark.textbook
def test_injector_sizing(against):
    grams_per_joule = 1e-3 / 3.6e6
    got = [
        injection.static_flow_needed(
            power=p, specific_fuel=b * grams_per_joule, injectors=4, duty_limit=d, density=rho
        )
        * 60e6
        for p, b, d, rho in (
            (300e3, 330, 0.85, 745.0),
            (300e3, 460, 0.85, 786.4),
            (200e3, 300, 0.80, 745.0),
        )
    ]
    against(
        f"{FORMULAS}.injection.static_flow_needed", got=got, expected=[651.4, 860.21, 419.46],
        abs=0.05, source="P x bsfc / (60 n duty), by hand in g/min",
    )  # fmt: skip
    # 400 hp at 0.55 lb/(hp h): 64.7 lb/h a cylinder
    pounds = (
        injection.static_flow_needed(
            power=400 * 745.6999, specific_fuel=0.55 * LB / (745.6999 * 3600), injectors=4,
            duty_limit=0.85, density=1.0,
        )
        * 3600
        / LB
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.static_flow_needed", got=pounds, expected=64.706, abs=1e-3,
        source="the same in US units: 400 x 0.55 / 4 / 0.85 lb/h",
    )  # fmt: skip


@pytest.mark.textbook
def test_regulator_follows_the_manifold(against):
    held = [
        injection.rail_set_pressure(
            base_pressure=300e3, manifold_absolute=100e3 + g, barometric_pressure=100e3,
            referenced=True,
        )
        for g in (150e3, -60e3)
    ]  # fmt: skip
    against(
        f"{FORMULAS}.injection.rail_set_pressure", got=held, expected=[450e3, 240e3], rel=1e-12,
        source="definition of a 1:1 referenced regulator",
    )  # fmt: skip
    left = injection.pressure_difference(
        rail_gauge=400e3, manifold_absolute=250e3, barometric_pressure=100e3
    )
    against(
        f"{FORMULAS}.injection.pressure_difference", got=left, expected=250e3, rel=1e-12,
        source="unreferenced rail of 4 bar at 1.5 bar boost, by hand",
    )  # fmt: skip


@pytest.mark.practice
def test_dead_time_rises_with_pressure(against):
    got = injection.dead_time_at(
        dead_time=1e-3, difference=np.array([300e3, 450e3]), rated_difference=300e3,
        pressure_slope=0.3,
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.dead_time_at", got=got, expected=[1.0e-3, 1.15e-3], rel=1e-9,
        source="injector opens against the fuel: more pressure, more dead time",
    )  # fmt: skip


@pytest.mark.textbook
def test_window_and_fuel_of_one_injection(against):
    rpm = np.array([6000.0, 7000.0, 8000.0])
    window = injection.injection_window(engine_speed=rpm * math.pi / 30)
    against(
        f"{FORMULAS}.injection.injection_window", got=window * 1e3,
        expected=[20.0, 17.1429, 15.0], abs=6e-5, source="120/rpm seconds for 720°",
    )  # fmt: skip
    # four cylinders of 88.454 mg at 7000 rpm are 88.454 mg x 4 x 3500/60 = 20.639 g/s
    got = injection.fuel_per_injection(
        fuel_flow=20.6393e-3, engine_speed=7000 * math.pi / 30, injectors=4
    )
    against(
        f"{FORMULAS}.injection.fuel_per_injection", got=got * 1e6, expected=88.454, abs=1e-3,
        source="cylinder filling by hand, 3500 cycles a minute",
    )  # fmt: skip
    pulse = injection.pulse_width(
        fuel_mass=88.454e-6, injector_flow=12.4167e-3, dead_time=0.9e-3
    )
    against(
        f"{FORMULAS}.injection.pulse_width", got=pulse * 1e3, expected=8.0238, abs=1e-3,
        source="88.454 mg / 12.4167 g/s + 0.9 ms by hand",
    )  # fmt: skip
