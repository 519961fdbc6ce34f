"""Traps, scaling laws and bad input of the ride formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drybuild.systems.ride import alignment, checks_slack, coil, linkage, masses, motion, roll

RATE = st.floats(10e3, 120e3)
RATIO = st.floats(0.45, 1.1)
MASS = st.floats(150.0, 500.0)


def test_motion_ratio_is_spring_over_wheel() -> None:
    right = linkage.motion_ratio_from_travels(spring_travel=0.028, wheel_travel=0.040)
    wrong = linkage.motion_ratio_from_travels(spring_travel=0.040, wheel_travel=0.028)
    assert right == pytest.approx(0.7)
    assert linkage.wheel_rate(spring_rate=60e3, motion_ratio=right) == pytest.approx(29.4e3)
    # the figure the other way round would call the wheel four times as stiff
    assert linkage.wheel_rate(spring_rate=60e3, motion_ratio=wrong) > 4 * 29.3e3


def test_a_rising_motion_ratio_adds_its_force_to_the_wheel_rate() -> None:
    plain = linkage.wheel_rate(spring_rate=42e3, motion_ratio=0.72)
    rising = linkage.wheel_rate(spring_rate=42e3, motion_ratio=0.72, spring_force=3300.0, slope=0.3)
    falling = linkage.wheel_rate(
        spring_rate=42e3, motion_ratio=0.72, spring_force=3300.0, slope=-0.3
    )
    assert rising - plain == pytest.approx(990.0)
    assert plain - falling == pytest.approx(990.0)


def test_the_tyre_in_series_lowers_the_frequency_and_all_of_the_car_more_still() -> None:
    sprung, whole = 278.0, 312.0
    spring, tyre = 23.7e3, 200e3
    alone = motion.natural_frequency(rate=spring, mass=sprung)
    both = motion.natural_frequency(
        rate=linkage.series_rate(first=spring, second=tyre), mass=sprung
    )
    assert both < alone
    assert both / alone == pytest.approx(math.sqrt(200 / 223.7))
    # taking the whole corner's mass for the sprung mass is the common slip
    assert motion.natural_frequency(rate=spring, mass=whole) < alone * 0.95


def test_the_same_toe_in_mm_is_another_angle_at_another_diameter() -> None:
    rim = alignment.toe_angle(toe_length=0.002, measured_over=0.432)
    tread = alignment.toe_angle(toe_length=0.002, measured_over=0.630)
    assert rim / tread == pytest.approx(630 / 432, rel=1e-4)
    with pytest.raises(TypeError):
        alignment.toe_angle(toe_length=0.002)  # type: ignore[call-arg]


def test_toe_longer_than_its_diameter_is_not_an_angle() -> None:
    assert math.isnan(alignment.toe_angle(toe_length=0.5, measured_over=0.4))


def test_equal_drops_leave_the_headlamps_alone() -> None:
    assert alignment.body_pitch(front_down=0.035, rear_down=0.035, wheelbase=2.33) == 0.0
    nose_down = alignment.body_pitch(front_down=0.035, rear_down=0.020, wheelbase=2.33)
    assert nose_down < 0
    assert alignment.beam_fall(pitch=nose_down) < 0
    # tail down lifts the beam, which blinds others
    assert alignment.body_pitch(front_down=0.0, rear_down=0.01, wheelbase=2.33) > 0


def test_bigger_tyres_give_back_part_of_the_drop() -> None:
    down = masses.body_down(suspension_down=0.030, loaded_radius=0.309, loaded_radius_found=0.300)
    assert down == pytest.approx(0.021)


def test_energy_is_none_when_loose_and_grows_with_the_square() -> None:
    held = np.array([0.26, 0.25, 0.24, 0.22])
    energy = coil.spring_energy(rate=36e3, free_length=0.25, held_length=held)
    assert energy[0] == 0.0
    assert energy[1] == 0.0
    assert energy[3] == pytest.approx(9 * energy[2])
    assert energy[3] == pytest.approx(16.2)


def test_no_body_stands_on_too_little_roll_stiffness() -> None:
    held_up = roll.roll_gradient(sprung_mass=1100.0, arm=0.45, stiffness=60e3)
    falls = roll.roll_gradient(sprung_mass=1100.0, arm=0.45, stiffness=4.8e3)
    assert held_up > 0
    assert math.isnan(falls)
    both = roll.roll_gradient(sprung_mass=1100.0, arm=0.45, stiffness=np.array([60e3, 4.8e3]))
    assert both[0] == held_up
    assert np.isnan(both[1])


def test_a_rest_position_that_is_none_is_nan() -> None:
    # a motion ratio that falls to nothing before the spring carries the car
    found = linkage.rest_travel(
        spring_rate=20e3, squeeze_at_zero=0.0, sprung_weight=9e3, motion_ratio=0.3, slope=-3.0
    )
    assert math.isnan(found)


def test_nan_in_one_draw_stays_there() -> None:
    found = linkage.rest_travel(
        spring_rate=np.array([24e3, np.nan, 30e3]),
        squeeze_at_zero=0.1,
        sprung_weight=2400.0,
        motion_ratio=0.72,
        slope=0.3,
    )
    assert np.isnan(found[1])
    assert np.isfinite(found[[0, 2]]).all()


def test_a_bar_without_stated_arms_is_stiffer_than_one_whose_arms_bend() -> None:
    size = {"diameter": 0.020, "centre_length": 0.82, "arm": 0.20}
    rigid = roll.bar_end_rate(**size)
    bending = roll.bar_end_rate(**size, arm_length=0.23)
    assert bending < rigid


@given(rate=RATE, ratio=RATIO, weight=st.floats(1500.0, 4500.0))
def test_a_spring_as_found_stands_where_it_was_found(
    rate: float, ratio: float, weight: float
) -> None:
    seats = linkage.seat_distance_found(
        free_length=0.34, spring_rate=rate, sprung_weight=weight, motion_ratio=ratio
    )
    rest = linkage.rest_travel(
        spring_rate=rate,
        squeeze_at_zero=linkage.squeeze_between_seats(free_length=0.34, seat_distance=seats),
        sprung_weight=weight,
        motion_ratio=ratio,
        slope=0.2,
    )
    assert rest == pytest.approx(0.0, abs=1e-9)


@given(rate=RATE, ratio=RATIO, shorter=st.floats(0.001, 0.06))
def test_a_shorter_spring_never_lifts_the_car(rate: float, ratio: float, shorter: float) -> None:
    squeeze = 2400.0 / (rate * ratio)
    assume(squeeze > 0.02)
    rest = linkage.rest_travel(
        spring_rate=rate, squeeze_at_zero=squeeze - shorter, sprung_weight=2400.0,
        motion_ratio=ratio,
    )  # fmt: skip
    assert rest == pytest.approx(shorter / ratio, rel=1e-6)


@given(rate=RATE, mass=MASS, factor=st.floats(1.1, 9.0))
def test_frequency_grows_with_the_root_of_the_rate(rate: float, mass: float, factor: float) -> None:
    one = motion.natural_frequency(rate=rate, mass=mass)
    more = motion.natural_frequency(rate=rate * factor, mass=mass)
    assert more / one == pytest.approx(math.sqrt(factor))


@given(rate=RATE, mass=MASS, factor=st.floats(1.1, 4.0))
def test_a_stiffer_spring_on_the_same_damper_is_damped_less(
    rate: float, mass: float, factor: float
) -> None:
    one = motion.damping_ratio(wheel_damping_rate=1500.0, rate=rate, mass=mass)
    more = motion.damping_ratio(wheel_damping_rate=1500.0, rate=rate * factor, mass=mass)
    assert more == pytest.approx(one / math.sqrt(factor))


@given(d=st.floats(0.008, 0.016), n=st.floats(3.0, 10.0))
def test_coil_rate_goes_with_the_fourth_power_of_the_wire(d: float, n: float) -> None:
    size = {"mean_diameter": 0.1, "active_coils": n}
    thin = coil.coil_rate(wire_diameter=d, **size)
    assert coil.coil_rate(wire_diameter=2 * d, **size) == pytest.approx(16 * thin)
    curved = coil.coil_rate_curved(wire_diameter=d, **size)
    assert curved == pytest.approx(thin / (1 + 0.5 * (d / 0.1) ** 2))


@given(front=st.floats(0.0, 0.06), rear=st.floats(0.0, 0.06), share=st.floats(0.0, 1.0))
def test_clearance_lies_between_both_ends(front: float, rear: float, share: float) -> None:
    left = masses.clearance_left(
        clearance_found=0.15, front_down=front, rear_down=rear, front_share=share
    )
    assert 0.15 - max(front, rear) - 1e-12 <= left <= 0.15 - min(front, rear) + 1e-12


@given(aim=st.floats(-0.06, 0.01), without=st.floats(-0.06, 0.01))
def test_reach_is_the_same_either_way(aim: float, without: float) -> None:
    left = alignment.reach_left(aim=aim, without=without, range_each_way=0.04)
    right = alignment.reach_left(aim=without, without=aim, range_each_way=0.04)
    assert left == right <= 0.04


@given(off=st.floats(-0.03, 0.03), each_way=st.floats(0.0, 0.02), window=st.floats(0.0, 0.02))
def test_an_aim_is_reached_where_its_window_is(off: float, each_way: float, window: float) -> None:
    """By hand: the adjuster goes as far as it can, and the rest is to lie inside the window."""
    rest = max(abs(off) - each_way, 0.0)
    slack = checks_slack.reach(
        aim=np.array(0.0), without=np.array(off), reach_each_way=np.array(each_way), shim=None,
        window=np.array(window),
    )  # fmt: skip
    assert (slack >= -1e-12) == (rest <= window + 1e-12)
