"""The air outside: traps and limits."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.breathing import air


def test_outside_the_troposphere_is_not_guessed():
    z = np.array([-3000.0, 0.0, 12_000.0])
    assert list(np.isnan(air.standard_pressure(altitude=z))) == [True, False, True]
    assert list(np.isnan(air.standard_temperature(altitude=z))) == [True, False, True]


def test_a_barometer_reading_wins_over_the_altitude():
    state = air.air_state(temperature=290.0, humidity=0.5, altitude=800.0, barometer=93e3)
    assert state.pressure == 93e3


def test_weather_moves_the_standard_pressure():
    calm = air.air_state(temperature=290.0, humidity=0.5, altitude=800.0)
    low = air.air_state(temperature=290.0, humidity=0.5, altitude=800.0, weather=-1500.0)
    assert low.pressure == pytest.approx(calm.pressure - 1500.0)


def test_neither_altitude_nor_barometer_is_an_error():
    with pytest.raises(ValueError, match="altitude"):
        air.air_state(temperature=290.0, humidity=0.5)


def test_moist_air_is_lighter_and_its_dry_pressure_lower():
    dry = air.air_state(temperature=305.0, humidity=0.0, barometer=98e3)
    wet = air.air_state(temperature=305.0, humidity=0.9, barometer=98e3)
    assert wet.density < dry.density
    assert wet.dry_pressure < dry.dry_pressure == 98e3
    assert wet.pressure == dry.pressure


def test_shapes_broadcast():
    state = air.air_state(
        temperature=np.full(5, 290.0), humidity=0.4, altitude=np.linspace(0, 2000, 5)
    )
    assert np.shape(state.pressure) == np.shape(state.density) == (5,)
