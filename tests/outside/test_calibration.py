"""The calibration room against the world."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.calibration import formulas as f

ROOM = "drybuild.systems.calibration.formulas"


@pytest.mark.textbook
def test_injector_flow_by_pressure(against):
    pressures = np.array([200, 250, 300, 350, 400, 500, 600]) * 1e3
    against(
        f"{ROOM}.flow_at_pressure",
        got=f.flow_at_pressure(flow=1.0, rated_pressure=300e3, pressure=pressures),
        expected=np.array([0.8165, 0.91287, 1.0, 1.08012, 1.1547, 1.29099, 1.41421]),
        abs=1e-5,
        source="orifice equation: flow by the square root of the pressure difference",
        note="factors of common injector tables, five figures",
    )


@pytest.mark.practice
def test_ten_percent_low_pressure(against):
    against(
        f"{ROOM}.mismatch",
        got=f.mismatch(
            fitted=f.flow_at_pressure(flow=1.0, rated_pressure=300e3, pressure=270e3), expected=1.0
        ),
        expected=-0.051,
        abs=5e-4,
        source="common limit in fuel logs: pressure 10 % low means flow 5.1 % low",
        note="printed to 0.1 %",
    )


@pytest.mark.practice
def test_injectors_far_larger_than_the_map_expects(against):
    """980 where 470 are expected: more than twice the fuel; do not start before the map is changed.

    An engine does not run far below lambda 0.6 (rich limit of petrol in air about 0.4 to 0.6).
    """
    got = float(f.lambda_by_flow(fitted_flow=980.0, expected_flow=470.0))
    against(
        f"{ROOM}.lambda_by_flow",
        got=got,
        expected=0.48,
        abs=0.005,
        source="trade: with injectors much larger than the map expects the engine is not started",
        note="470/980 to two figures",
    )


@pytest.mark.authority
def test_ethanol_blend_on_a_petrol_map(against):
    """E85 in a tank whose map knows only petrol: 14.7/9.8, half as lean again."""
    against(
        f"{ROOM}.lambda_by_fuel",
        got=f.lambda_by_fuel(stoich_expected=14.7, stoich_fitted=9.8),
        expected=1.5,
        abs=0.01,
        source="stoichiometric ratios of petrol 14.7 and E85 9.8: 1.50 times the mass of fuel",
        note="ratios printed to 0.1",
    )


@pytest.mark.practice
def test_larger_meter_housing(against):
    """80 mm in place of 70 mm: areas 50.27 and 38.48 cm² by hand; 31 % more air than reckoned."""
    against(
        f"{ROOM}.housing_error",
        got=f.housing_error(fitted_bore=0.080, expected_bore=0.070),
        expected=50.27 / 38.48 - 1,
        abs=5e-4,
        source="continuity, areas worked by hand",
        note="areas to four figures",
    )


@pytest.mark.authority
def test_dead_time_error_on_a_short_pulse(against):
    """0.15 ms wrong on an effective 1.5 ms is a tenth of the fuel."""
    against(
        f"{ROOM}.short_pulse_error",
        got=f.short_pulse_error(dead_time_error=0.15e-3, pulse=1.5e-3),
        expected=0.10,
        abs=1e-9,
        source="SAE J1832: delivered = slope x (pulse width - offset) (from memory)",
        note="worked by hand",
    )


@pytest.mark.practice
def test_pump_fuel_sold_as_e85_leaves_a_narrow_map(against):
    """51 to 85 % is sold: a map for 70 to 85 % is 19 points short at the lower end."""
    low = f.inside(value=0.51, low=0.70, high=0.85)
    against(
        f"{ROOM}.inside",
        got=low,
        expected=-0.19,
        abs=1e-9,
        source="ASTM D5798: 51 to 83 % ethanol by volume, sold as E85",
        note="exact",
    )


@pytest.mark.practice
def test_five_percent_window(against):
    against(
        f"{ROOM}.within",
        got=f.within(
            difference=f.mismatch(fitted=np.array([470.0, 490.0, 500.0]), expected=470.0),
            allowed=0.05,
        ),
        expected=np.array([0.05, 0.00745, -0.01383]),
        abs=1e-5,
        source="common practice: injector data within 5 % of the map's, trims take the rest",
        note="worked by hand",
    )
