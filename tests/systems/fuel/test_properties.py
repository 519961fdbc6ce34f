"""Blends: fractions told apart, temperature, tank mixing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.systems.fuel import properties
from drybuild.systems.fuel.results_parts import properties_of

fractions = st.floats(0.01, 0.99)


@given(fractions)
def test_volume_mass_and_mole_are_three_different_numbers(volume):
    mass = properties.ethanol_mass_fraction(ethanol_volume_fraction=volume)
    mole = properties.ethanol_mole_fraction(ethanol_mass_fraction=mass)
    assert volume < mass < mole < 1  # ethanol is denser and lighter by the mole than petrol


@pytest.mark.parametrize("volume", [0.0, 1.0])
def test_pure_fuels_are_the_ends(volume):
    found = properties_of(ethanol=volume)
    pure = properties.ETHANOL if volume else properties.PETROL
    assert found.ethanol_mole_fraction == volume
    assert found.density == pytest.approx(pure.density)
    assert found.stoich == pytest.approx(pure.stoich)
    assert found.heating_value == pytest.approx(pure.heating_value)


def test_half_of_the_octane_gain_comes_by_a_quarter_of_the_volume():
    """By mole, not by volume: a volume-linear rule would put it at one half."""
    gains = []
    for volume in (0.22, 0.25, 1.0):
        mass = properties.ethanol_mass_fraction(ethanol_volume_fraction=volume)
        mole = properties.ethanol_mole_fraction(ethanol_mass_fraction=mass)
        gains.append(
            properties.blend_octane(
                ethanol_mole_fraction=mole, petrol_octane=90.0, ethanol_octane=108.6
            )
            - 90.0
        )
    assert gains[0] / gains[2] < 0.5 < gains[1] / gains[2] + 0.06
    assert gains[1] / gains[2] > 0.40


@given(fractions, st.floats(0.02, 0.2))
def test_more_ethanol_needs_more_fuel(volume, step):
    low, high = properties_of(ethanol=volume * 0.8), properties_of(ethanol=volume * 0.8 + step)
    assert high.stoich < low.stoich
    assert high.heating_value < low.heating_value
    assert high.latent_heat > low.latent_heat


@given(st.floats(263.0, 343.0), st.floats(1.0, 20.0), fractions)
def test_hot_fuel_is_thinner_and_lighter(temperature, warmer, volume):
    blend = properties_of(ethanol=volume)
    cold, hot = (
        properties.density_at(
            density_15=blend.density, temperature=t, ethanol_volume_fraction=volume
        )
        for t in (temperature, temperature + warmer)
    )
    assert hot < cold
    thick, thin = (
        properties.blend_viscosity(ethanol_mass_fraction=blend.ethanol_mass_fraction, temperature=t)
        for t in (temperature, temperature + warmer)
    )
    assert thin < thick


def test_density_at_15_degrees_is_itself():
    assert properties.density_at(density_15=752.0, temperature=288.15) == 752.0


@given(st.floats(1.0, 50.0), st.floats(0.0, 0.3), st.floats(0.5, 0.85), st.floats(0.31, 0.49))
def test_what_is_added_gives_what_is_wanted(present, low, high, wanted):
    added = properties.volume_to_add(
        present_volume=present, present_fraction=low, added_fraction=high, wanted_fraction=wanted
    )
    got = properties.mixed_fraction(
        first_volume=present, first_fraction=low, second_volume=added, second_fraction=high
    )
    assert got == pytest.approx(wanted, abs=1e-12)


def test_what_cannot_be_reached_is_nan():
    nowhere = properties.volume_to_add(
        present_volume=20.0, present_fraction=0.1, added_fraction=0.3, wanted_fraction=0.5
    )
    assert np.isnan(nowhere)
    low, high = properties.top_up(
        tank_volume=50.0, present_volume=48.0, present_fraction=0.1, low_fraction=0.1,
        high_fraction=0.85, wanted_fraction=0.5,
    )  # fmt: skip
    assert np.isnan(low)
    assert np.isnan(high)


def test_a_tank_that_has_it_already_needs_nothing():
    assert properties.volume_to_add(
        present_volume=20.0, present_fraction=0.3, added_fraction=0.85, wanted_fraction=0.3
    ) == pytest.approx(0.0)


def test_a_pump_called_85_leaves_the_tank_in_doubt():
    """51 to 85 % at the pump: the same litres give anything from E20 to E28."""
    got = properties.mixed_fraction(
        first_volume=30.0, first_fraction=0.10, second_volume=np.array([10.0, 10.0]),
        second_fraction=np.array([0.51, 0.85]),
    )  # fmt: skip
    np.testing.assert_allclose(got, [0.2025, 0.2875])


def test_equal_energy_goes_equally_far():
    known = properties_of(ethanol=0.1)
    volume = known.heating_value * known.density
    assert properties.fuel_use_on_blend(
        fuel_use=8e-8, heating_value_volume=volume, known_volume=volume
    ) == pytest.approx(8e-8)
    use = properties.fuel_use_on_blend(
        fuel_use=8e-8, heating_value_volume=0.8 * volume, known_volume=volume
    )
    assert properties.tank_range(usable_volume=0.04, fuel_use=use) == pytest.approx(400e3)
