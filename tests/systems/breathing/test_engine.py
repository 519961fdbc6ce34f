"""Power and its correction: the traps."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.breathing import air, engine


@pytest.fixture
def hill_town():
    return air.air_state(temperature=298.15, humidity=0.4, altitude=800.0)


def test_iso_1585_at_800_m_is_out_of_range(hill_town):
    factor = engine.correction_iso1585(dry_pressure=hill_town.dry_pressure, temperature=298.15)
    assert factor.value > 1.07
    assert not factor.in_range


def test_boost_control_that_makes_up_for_altitude_is_not_corrected_again(hill_town):
    for method in ("ISO 1585", "SAE J1349"):
        once = engine.correction(
            method=method, dry_pressure=hill_town.dry_pressure, temperature=298.15,
            boost_compensates=True,
        )  # fmt: skip
        plain = engine.correction(
            method=method, dry_pressure=hill_town.dry_pressure, temperature=298.15,
            boost_compensates=False,
        )  # fmt: skip
        assert once.value == 1.0
        assert plain.value > 1.07


def test_the_barometer_in_place_of_the_dry_pressure_costs_almost_three_percent():
    state = air.air_state(temperature=308.15, humidity=0.4, barometer=98e3)
    right = engine.correction_iso1585(dry_pressure=state.dry_pressure, temperature=308.0).value
    wrong = engine.correction_iso1585(dry_pressure=state.pressure, temperature=308.0).value
    assert right / wrong == pytest.approx(1.028, abs=0.001)


def test_surplus_fuel_does_no_work():
    """Same air, richer mixture: same power, more fuel."""
    def power(lam):
        fuel = engine.fuel_flow(air_flow=0.2, lambda_=lam, stoichiometric_ratio=14.7)
        eta = engine.efficiency_at_lambda(efficiency=0.34, lambda_=lam)
        return fuel, engine.power_from_efficiency(
            fuel_flow=fuel, heating_value=43.4e6, brake_efficiency=eta
        )

    lean_fuel, lean = power(0.95)
    rich_fuel, rich = power(0.80)
    assert rich == pytest.approx(lean)
    assert rich_fuel > 1.18 * lean_fuel


def test_torque_at_standstill_is_unknown():
    torque = engine.torque_from_power(power=1000.0, engine_speed=np.array([0.0, 100.0]))
    assert np.isnan(torque[0])
    assert torque[1] == 10.0


def test_range_is_told_for_each_draw():
    factor = engine.correction_iso1585(
        dry_pressure=np.array([99e3, 90e3, 107e3]), temperature=298.0
    )
    assert list(factor.in_range) == [True, False, False]
