"""The calibration room: each mismatch, what it stops, and what the tool never says."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.findings import NOT_APPLICABLE, FormulaRefused
from drybuild.systems.calibration import checks, formulas, results, room

CC_MIN = 1e-6 / 60


def check(name: str) -> Any:
    return next(c for c in room.checks if c.id == f"calibration.{name}")


# what stops what --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "use"),
    [
        ("injector_flow", "run"),
        ("injector_dead_time", "run"),
        ("fuel_range", "run"),
        ("air_meter_housing", "run"),
        ("rail_pressure", "run"),
        ("pressure_sensor_scale", "run"),
        ("ethanol_sensor", "run"),
        ("throttle", "creep"),
        ("relief_valve", "drive"),
        ("catalyst_monitor", "drive"),
        ("flaps", "full load"),
        ("pressure_sensor_span", "full load"),
        ("air_meter_span", "full load"),
        ("boost_target", "full load"),
        ("rev_limit", "full load"),
        ("first_boost", "full load"),
        ("first_advance", "full load"),
    ],
)
def test_each_mismatch_names_the_use_it_stops(name: str, use: str) -> None:
    assert check(name).stops == (use,)


def test_at_least_eleven_checks_each_with_source_and_cure() -> None:
    assert len(room.checks) >= 11
    for one in room.checks:
        assert one.source.document, one.id
        assert one.do, one.id


def test_nobody_is_told_to_raise_boost_or_advance() -> None:
    words = [
        text
        for one in (*room.checks, *room.records)
        for text in (one.title, one.do, getattr(one, "when_short", ""))
    ]
    for text in words:
        for bad in (
            "raise boost",
            "more boost to",
            "raise the boost",
            "more advance",
            "advance it",
        ):
            assert bad not in text.lower()


def test_the_overshoot_must_be_read_not_only_the_target() -> None:
    needs = check("pressure_sensor_span").needs
    assert needs["need"].addresses == ("breathing.peak_manifold_pressure_overshoot",)


# fuel -------------------------------------------------------------------------------------------


def flow_margin(fitted: float, expected: float, pressure: float = 300e3) -> float:
    flow = results.fitted_flow(flow=fitted * CC_MIN, rated=300e3, pressure=pressure)
    off = formulas.mismatch(fitted=flow, expected=expected * CC_MIN)
    return float(checks.flow_slack(difference=off))


def test_980_on_a_map_for_470_is_far_off() -> None:
    assert flow_margin(980, 470) < -1
    assert flow_margin(470, 470) == pytest.approx(0.05)
    assert flow_margin(480, 470) > 0


def test_the_map_states_its_flow_at_its_own_pressure() -> None:
    """470 at 3 bar is the right injector for a map that says 543 at 4 bar."""
    assert flow_margin(470, 470 * np.sqrt(4 / 3), pressure=400e3) == pytest.approx(0.05)
    assert flow_margin(470, 470, pressure=400e3) < 0


@given(st.floats(1e-6, 1e-4), st.floats(100e3, 600e3))
def test_flow_by_pressure_goes_there_and_back(flow: float, pressure: float) -> None:
    there = formulas.flow_at_pressure(flow=flow, rated_pressure=300e3, pressure=pressure)
    back = formulas.flow_at_pressure(flow=there, rated_pressure=pressure, pressure=300e3)
    assert back == pytest.approx(flow)


def test_dead_time_matters_either_way() -> None:
    for fitted in (0.7e-3, 1.1e-3):
        assert checks.dead_time_slack(fitted=fitted, expected=0.9e-3) < 0
    assert checks.dead_time_slack(fitted=0.95e-3, expected=0.9e-3) > 0


def test_a_blend_that_reaches_over_the_map_is_counted_draw_by_draw() -> None:
    ethanol = np.linspace(0.51, 0.85, 100)
    slack = checks.fuel_slack(used=True, ethanol=ethanol, least=0.0, most=0.70)
    assert 0.5 < np.mean(slack >= 0) < 0.6
    assert np.all(checks.fuel_slack(used=None, ethanol=ethanol, least=0.0, most=0.85) >= 0)


def test_a_fuel_that_nobody_uses_is_no_finding() -> None:
    slack = checks.fuel_slack(used=False, ethanol=0.85, least=0.0, most=0.1)
    assert slack is NOT_APPLICABLE


# air and equipment ------------------------------------------------------------------------------


def test_a_larger_housing_makes_it_lean_a_smaller_one_rich() -> None:
    assert formulas.housing_error(fitted_bore=0.080, expected_bore=0.070) > 0.3
    assert formulas.housing_error(fitted_bore=0.065, expected_bore=0.070) < 0
    assert checks.housing_slack(error=0.31) < 0 < checks.housing_slack(error=0.01)


def test_sensor_of_another_span_does_not_match() -> None:
    assert checks.same_size(fitted=3.0e5, expected=2.5e5) < 0
    assert checks.same_size(fitted=2.51e5, expected=2.5e5) > 0


@pytest.mark.parametrize(
    ("fitted", "expected", "slack"),
    [(True, True, 1), (False, False, 1), (None, False, 1), (True, False, -1), (False, True, -1)],
)
def test_flags(fitted: bool | None, expected: bool, slack: int) -> None:
    assert checks.same_flag(fitted=fitted, expected=expected) == slack
    word = "present" if expected else "deleted"
    assert checks.same_presence(fitted=fitted, expected=word) == slack


def test_flags_that_nobody_stated() -> None:
    assert checks.same_flag(fitted=None, expected=None) is NOT_APPLICABLE
    assert checks.same_flag(fitted=False, expected=None) is NOT_APPLICABLE
    with pytest.raises(FormulaRefused, match="map"):
        checks.same_flag(fitted=True, expected=None)
    with pytest.raises(FormulaRefused, match="is fitted"):
        checks.same_flag(fitted=None, expected=True)


def test_a_map_that_meters_by_pressure_takes_either_valve() -> None:
    for valve in ("returns", "vents"):
        assert checks.same_word(fitted=valve, expected="either") == 1
    assert checks.same_word(fitted="vents", expected="returns") == -1


# limits -----------------------------------------------------------------------------------------


def test_the_lower_ceiling_binds() -> None:
    assert checks.boost_slack(target=0.9e5, ceiling=1.0e5, goal=1.3e5) == pytest.approx(0.1e5)
    assert checks.boost_slack(target=1.3e5, ceiling=1.5e5, goal=1.3e5) == pytest.approx(0.0)
    assert checks.boost_slack(target=1.3e5, ceiling=None, goal=1.2e5) < 0
    with pytest.raises(FormulaRefused, match="ceiling"):
        checks.boost_slack(target=1.3e5, ceiling=None, goal=None)


def test_a_first_map_stays_below_the_final_one() -> None:
    first = checks.first_map_slack(stage="first", ceiling=1.0e5, final=1.3e5)
    assert first == pytest.approx(0.3e5)
    assert checks.first_map_slack(stage="first", ceiling=1.4e5, final=1.3e5) < 0
    for stage in ("standard", "final"):
        assert checks.first_map_slack(stage=stage, ceiling=None, final=None) is NOT_APPLICABLE
    with pytest.raises(FormulaRefused, match="first map"):
        checks.first_map_slack(stage="first", ceiling=None, final=1.3e5)


def test_a_flash_is_recorded_before_it_runs_and_logged_before_it_creeps() -> None:
    records = {r.id: r for r in room.records}
    assert records["calibration.flashed"].stops == ("run",)
    assert records["calibration.first_start"].stops == ("creep",)
    assert records["calibration.gentle_log"].stops == ("full load",)
    assert "map" in records["calibration.flashed"].changed
    assert "injectors" in records["calibration.first_start"].changed
