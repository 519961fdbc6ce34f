"""Injectors: the traps of pressure difference, test fluid, dead time and window."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.systems.fuel import injection

RPM = np.pi / 30


def flow(difference=3e5, density=750.0, **more):
    given_ = {
        "rated_flow": 1e-5, "rated_difference": 3e5, "test_density": 684.0,
        "difference": difference, "fuel_density": density, **more,
    }  # fmt: skip
    return injection.mass_flow(**given_), injection.volume_flow(**given_)


def test_boost_on_an_unreferenced_rail_takes_flow_away():
    held = injection.rail_set_pressure(
        base_pressure=3e5, manifold_absolute=2.3e5, barometric_pressure=1e5, referenced=False
    )
    left = injection.pressure_difference(
        rail_gauge=held, manifold_absolute=2.3e5, barometric_pressure=1e5
    )
    assert left == pytest.approx(1.7e5)  # not 3 bar, and not 4.3 bar


@given(st.floats(0.3e5, 2.5e5), st.floats(0.7e5, 1.05e5))
def test_a_referenced_rail_keeps_the_difference(manifold, barometer):
    held = injection.rail_set_pressure(
        base_pressure=3e5, manifold_absolute=manifold, barometric_pressure=barometer,
        referenced=True,
    )  # fmt: skip
    left = injection.pressure_difference(
        rail_gauge=held, manifold_absolute=manifold, barometric_pressure=barometer
    )
    assert left == pytest.approx(3e5)


@given(st.floats(650.0, 800.0))
def test_denser_fuel_more_mass_less_volume(density):
    light, heavy = flow(density=density), flow(density=density * 1.05)
    assert heavy[0] > light[0]
    assert heavy[1] < light[1]
    assert heavy[0] == pytest.approx(heavy[1] * density * 1.05)


def test_no_flow_against_the_pressure():
    mass, volume = flow(difference=np.array([-1e4, 1e4]))
    assert np.isnan(mass[0])
    assert np.isnan(volume[0])
    assert mass[1] > 0


def test_dead_time_counts_before_duty():
    """At full duty by fuel alone, the dead time is what no longer fits."""
    window = injection.injection_window(engine_speed=7000 * RPM)
    assert window == pytest.approx(120 / 7000)
    mass, _ = flow()
    fuel = mass * window * 0.85
    with_dead = injection.pulse_width(fuel_mass=fuel, injector_flow=mass, dead_time=1e-3)
    assert injection.duty(pulse=with_dead, window=window) == pytest.approx(0.85 + 7 / 120)


def test_batch_fire_halves_the_window_and_doubles_the_dead_time():
    once = injection.injection_window(engine_speed=500.0)
    twice = injection.injection_window(engine_speed=500.0, injections=2)
    assert twice == pytest.approx(once / 2)
    args = {"fuel_flow": 0.02, "engine_speed": 500.0, "injectors": 4}
    whole = injection.fuel_per_injection(**args)
    half = injection.fuel_per_injection(**args, injections=2)
    assert whole == pytest.approx(0.005 * once)
    assert half == pytest.approx(whole / 2)


@given(st.floats(100.0, 700.0))
def test_needed_flow_scales_with_power_and_falls_with_injectors(kilowatts):
    args = {"specific_fuel": 9e-8, "duty_limit": 0.85, "density": 745.0}
    four = injection.static_flow_needed(power=kilowatts * 1e3, injectors=4, **args)
    eight = injection.static_flow_needed(power=2e3 * kilowatts, injectors=8, **args)
    assert four == pytest.approx(eight)


def test_dead_time_never_turns_negative():
    got = injection.dead_time_at(
        dead_time=1e-3, difference=0.0, rated_difference=3e5, pressure_slope=2.0
    )
    assert got == 0.0
