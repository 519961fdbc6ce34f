"""Traps, limits and bad input of the ride formulas of setting a car up."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybuild.systems.ride import corner_weights, damper_curve, stacks, toe, transfer
from drybuild.values import DrawnCurve

CURVE = DrawnCurve(np.array([0.0, 0.05, 0.1]), np.array([0.0, 1000.0, 3000.0]))
rates = st.floats(10e3, 80e3)
lifts = st.lists(st.floats(-0.02, 0.02), min_size=4, max_size=4)


def test_a_curve_that_does_not_rise_is_refused() -> None:
    flat = DrawnCurve(np.array([0.0, 0.05, 0.1]), np.array([0.0, 1000.0, 1000.0]))
    with pytest.raises(ValueError, match="rises"):
        stacks.squeeze_on_curve(curve=flat, force=500.0)


def test_beyond_the_curve_nothing_is_guessed() -> None:
    assert np.isnan(stacks.squeeze_on_curve(curve=CURVE, force=3001.0))
    assert np.isnan(stacks.rate_on_curve(curve=CURVE, force=-1.0))
    assert np.isnan(stacks.rubber_force(curve=CURVE, squeeze=0.11))
    assert np.isnan(damper_curve.equivalent_damping(curve=CURVE, peak_speed=0.2))


def test_a_car_too_heavy_for_its_curve_has_no_rest() -> None:
    found = stacks.rest_on_stack(
        squeeze_under=lambda *, force: stacks.squeeze_on_curve(curve=CURVE, force=force),
        squeeze_at_zero=0.05, sprung_weight=np.array([800.0, 9000.0]), motion_ratio=1.0,
    )  # fmt: skip
    assert found[0] == pytest.approx(-0.01, abs=1e-9)
    assert np.isnan(found[1])


@given(force=st.floats(0.0, 6000.0), main=rates, helper=rates, travel=st.floats(0.005, 0.08))
def test_a_helper_never_makes_the_stack_stiffer(
    force: float, main: float, helper: float, travel: float
) -> None:
    given_helper = {"helper_rate": helper, "helper_travel": travel}
    assert stacks.stack_rate(force=force, main_rate=main, **given_helper) <= main * (1 + 1e-12)
    squeeze = stacks.stack_squeeze(force=force, main_squeeze=force / main, **given_helper)
    back = stacks.linear_stack_force(squeeze=squeeze, main_rate=main, **given_helper)
    assert back == pytest.approx(force, abs=1e-6)


@settings(deadline=None)
@given(lift=lifts, k=st.lists(rates, min_size=4, max_size=4), bar=st.floats(0.0, 40e3))
def test_perches_move_the_diagonals_and_nothing_else(
    lift: list[float], k: list[float], bar: float
) -> None:
    tyres = np.full(4, 200e3)
    change = corner_weights.load_change(
        lift=np.array(lift), wheel_rates=np.array(k), tyre_rates=tyres, front_track=1.45,
        rear_track=1.5, wheelbase=2.4, front_bar=bar, rear_bar=bar / 2,
    )  # fmt: skip
    assert change[0] + change[1] == pytest.approx(0.0, abs=1e-6)
    assert change[2] + change[3] == pytest.approx(0.0, abs=1e-6)
    assert change[0] * 1.45 == pytest.approx(change[3] * 1.5, abs=1e-6)


@settings(deadline=None)
@given(lift=lifts, k=st.lists(rates, min_size=4, max_size=4), bar=st.floats(0.0, 40e3))
def test_all_four_perches_up_alike_lift_the_car_and_move_no_load(
    lift: list[float], k: list[float], bar: float
) -> None:
    plane = np.full(4, lift[0])
    change = corner_weights.load_change(
        lift=plane, wheel_rates=np.array(k), tyre_rates=np.full(4, 200e3), front_track=1.45,
        rear_track=1.5, wheelbase=2.4,
    )  # fmt: skip
    assert np.allclose(change, 0.0, atol=1e-6)


def test_draws_go_through_the_four_wheel_solve_one_by_one() -> None:
    rng = np.random.default_rng(7)
    k = rng.uniform(15e3, 40e3, (4, 5))
    lift = np.array([0.005, 0.0, 0.0, -0.002])
    together = corner_weights.load_change(
        lift=lift[:, None], wheel_rates=k, tyre_rates=np.full((4, 1), 200e3), front_track=1.45,
        rear_track=1.5, wheelbase=2.4,
    )  # fmt: skip
    for i in range(5):
        one = corner_weights.load_change(
            lift=lift, wheel_rates=k[:, i], tyre_rates=np.full(4, 200e3), front_track=1.45,
            rear_track=1.5, wheelbase=2.4,
        )  # fmt: skip
        assert np.allclose(together[:, i], one)


def test_bars_left_on_spoil_the_perch_move() -> None:
    wanted = np.array([100.0, -100.0, -97.0, 97.0])
    rate = {"wheel_rates": np.full(4, 25e3), "tyre_rates": np.full(4, 200e3)}
    off = corner_weights.perch_lift(load_wanted=wanted, body_rise=np.zeros(4), **rate)
    on = corner_weights.perch_lift(
        load_wanted=wanted, body_rise=np.zeros(4), **rate, front_bar=20e3, rear_bar=10e3
    )
    assert np.all(np.abs(on) > np.abs(off))


def test_rim_and_tread_read_another_angle_from_the_same_mm() -> None:
    at = [toe.toe_by_gauge(front=1.5, rear=1.502, over=d) for d in (0.4064, 0.62)]
    assert at[0] > 1.5 * at[1]


def test_the_strings_may_lean_but_must_not_count() -> None:
    straight = toe.toe_by_string(front_gap=0.06, rear_gap=0.06, over=0.45)
    assert straight == 0.0
    left, right = (toe.toe_by_string(front_gap=0.06, rear_gap=0.06, over=0.45, lean=s * 0.01)
                   for s in (1, -1))  # fmt: skip
    assert toe.total_toe(left=left, right=right) == pytest.approx(0.0)


def test_no_springs_and_no_bar_share_nothing() -> None:
    parts = transfer.transfer_parts(
        gradient=0.0, axle_stiffness=0.0, springs=0.0, bar=0.0, axle_sprung_mass=500.0,
        roll_centre_height=0.1, axle_unsprung_mass=60.0, unsprung_height=0.3, track_width=1.5,
    )  # fmt: skip
    assert parts.springs == 0.0
    assert parts.bar == 0.0
    assert parts.total == pytest.approx((50.0 + 18.0) / 1.5)
