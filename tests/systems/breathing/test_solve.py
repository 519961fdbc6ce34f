"""The joint solver: what follows from what."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybuild.systems.breathing import air, solve
from drybuild.systems.breathing.solve import ChargeCooler, Compressor, Loss

from .maps import RPM, grid

GRID = grid()
SPEEDS = np.linspace(1500.0, 6800.0, 16) * RPM
COOLER = ChargeCooler(450.0, 950.0, Loss(7e3, 0.2, 2.3))


def run(*, altitude=0.0, boost=1.0e5, absolute=None, n=1, **changes):
    outside = air.air_state(
        temperature=np.full(n, 298.15), humidity=0.4, altitude=np.broadcast_to(altitude, (n,))
    )
    target = outside.pressure + boost if absolute is None else absolute
    given_ = {
        "air": outside, "engine_speed": SPEEDS, "volumetric_efficiency": 0.92,
        "displacement": 1.8e-3, "target_pressure": target,
        "intake_loss": Loss(3e3, 0.2, outside.density), "intake_temperature_rise": 5.0,
        "compressor_": Compressor(reach=4.0, map=GRID), "cooler": COOLER,
        "throttle_loss": Loss(1e3, 0.2, 2.3),
    } | changes  # fmt: skip
    return outside, solve.solve(**given_)


def test_equal_gauge_boost_at_altitude_is_a_higher_ratio_hotter_and_less_air():
    _, sea = run(altitude=0.0)
    _, hill = run(altitude=800.0)
    assert np.all(hill.pressure_ratio > sea.pressure_ratio + 0.08)
    assert np.all(hill.compressor_outlet_temperature > sea.compressor_outlet_temperature)
    assert np.all(hill.air_flow < sea.air_flow)
    assert np.all(hill.compressor_speed > sea.compressor_speed)


def test_boost_held_absolute_gives_the_same_manifold_pressure_at_altitude():
    _, sea = run(altitude=0.0, absolute=200e3)
    _, hill = run(altitude=800.0, absolute=200e3)
    assert hill.manifold_pressure == pytest.approx(sea.manifold_pressure)
    assert hill.air_flow == pytest.approx(sea.air_flow, rel=0.02)
    assert np.all(hill.pressure_ratio > 1.09 * sea.pressure_ratio)


def test_losses_count_on_both_sides_of_the_compressor():
    outside, got = run()
    after = got.compressor_outlet_pressure - got.manifold_pressure
    before = outside.pressure - got.compressor_inlet_pressure
    made = (got.manifold_pressure + after) / (outside.pressure - before)
    assert got.pressure_ratio == pytest.approx(made)
    _, free = run(intake_loss=None, throttle_loss=None)
    assert np.all(free.pressure_ratio < got.pressure_ratio)


def test_without_a_compressor_the_manifold_is_below_the_barometer():
    outside, got = run(compressor_=None, cooler=None)
    assert np.all(got.manifold_pressure < outside.pressure)
    assert np.all(got.pressure_ratio == 1.0)
    assert got.manifold_temperature == pytest.approx(np.full((16, 1), 303.15))
    assert np.all(np.isnan(got.surge_flow))


def test_no_boost_before_the_turbine_can_drive_it():
    reach = np.linspace(1.0, 4.0, 16)[:, None]
    _, got = run(compressor_=Compressor(reach=reach, map=GRID))
    assert got.limited[0, 0] == 1.0
    assert got.limited[-1, 0] == 0.0
    assert np.all(np.diff(got.manifold_pressure[:, 0]) > -1.0)
    assert got.pressure_ratio[3, 0] == pytest.approx(reach[3, 0])


def test_without_a_map_one_efficiency_serves_and_the_map_readings_are_unknown():
    _, got = run(compressor_=Compressor(reach=4.0, efficiency=0.7))
    assert np.all(np.isfinite(got.air_flow))
    assert np.all(np.isnan(got.compressor_speed))


def test_neither_map_nor_efficiency_is_an_error():
    with pytest.raises(ValueError, match="map"):
        run(compressor_=Compressor(reach=4.0))


def test_what_is_not_solved_is_nan():
    """An intake that would suck itself shut has no steady answer in three passes."""
    _, got = run(intake_loss=Loss(12e3, 0.05, 1.18))
    assert np.all(np.isnan(got.air_flow[-1]))
    assert np.all(np.isnan(got.manifold_temperature[-1]))
    assert np.all(np.isfinite(got.air_flow[0]))


def test_a_draw_that_is_not_solved_leaves_the_others_alone():
    loss = np.array([3e3, 1.2e6, 3e3])
    _, got = run(n=3, intake_loss=Loss(loss, 0.2, 1.18))
    assert list(np.isnan(got.air_flow[-1])) == [False, True, False]
    _, alone = run(n=1, intake_loss=Loss(3e3, 0.2, 1.18))
    assert got.air_flow[-1, 0] == pytest.approx(alone.air_flow[-1, 0], rel=solve.TOLERANCE)


def test_three_passes_are_enough():
    rng = np.random.default_rng(4)
    n = 200
    reach = np.clip(np.linspace(0.8, 4.5, 16)[:, None] * (1 + 0.05 * rng.normal(size=n)), 1, 2.6)
    cooler = ChargeCooler(
        450 * (1 + 0.1 * rng.normal(size=n)), 950.0, Loss(9e3 * rng.uniform(0.5, 2, n), 0.2, 2.3)
    )
    case = {"n": n, "altitude": rng.uniform(0, 2000, n), "boost": rng.uniform(0.5e5, 1.5e5, n),
            "compressor_": Compressor(reach=reach, map=GRID), "cooler": cooler}  # fmt: skip
    _, three = run(**case)
    _, many = run(**case, passes=30)
    assert np.all(many.residual < 1e-9)
    assert three.air_flow == pytest.approx(many.air_flow, rel=solve.TOLERANCE / 3)
    assert three.manifold_temperature == pytest.approx(many.manifold_temperature, rel=5e-4)


def test_draws_do_not_know_of_each_other():
    rng = np.random.default_rng(9)
    boost = rng.uniform(0.4e5, 1.4e5, 7)
    _, together = run(n=7, boost=boost)
    for i in (0, 3, 6):
        _, alone = run(n=1, boost=boost[i : i + 1])
        for field in fields(solve.Operating)[1:]:
            left = getattr(together, field.name)[:, i]
            right = getattr(alone, field.name)[:, 0]
            assert np.array_equal(left, right, equal_nan=True), field.name


def test_twice_the_engine_with_twice_the_parts_takes_twice_the_air():
    _, one = run(compressor_=Compressor(reach=4.0, efficiency=0.72))
    _, two = run(
        displacement=3.6e-3, compressor_=Compressor(reach=4.0, efficiency=0.72),
        cooler=ChargeCooler(900.0, 1900.0, Loss(7e3, 0.4, 2.3)),
        intake_loss=Loss(3e3, 0.4, air.air_state(
            temperature=298.15, humidity=0.4, altitude=0.0).density),
        throttle_loss=Loss(1e3, 0.4, 2.3),
    )  # fmt: skip
    assert two.air_flow == pytest.approx(2.0 * one.air_flow, rel=1e-9)
    assert two.manifold_temperature == pytest.approx(one.manifold_temperature, rel=1e-9)


@settings(max_examples=30)
@given(st.floats(0.2e5, 1.3e5), st.floats(0.0, 2500.0))
def test_more_boost_is_more_air_and_hotter(boost, altitude):
    _, less = run(boost=boost, altitude=altitude)
    _, more = run(boost=boost + 0.1e5, altitude=altitude)
    assert np.all(more.air_flow > less.air_flow)
    assert np.all(more.compressor_outlet_temperature > less.compressor_outlet_temperature)


def test_a_warmer_intake_is_less_air():
    _, cold = run(intake_temperature_rise=2.0)
    _, warm = run(intake_temperature_rise=25.0)
    assert np.all(warm.air_flow < cold.air_flow)


def test_dry_air_is_what_is_left_without_the_vapour():
    outside, got = run()
    assert got.dry_air_flow * (1.0 + outside.humidity_ratio) == pytest.approx(got.air_flow)


def test_the_cooler_is_worse_at_a_lower_road_speed():
    cooler = ChargeCooler(
        450.0, 950.0, Loss(7e3, 0.2, 2.3), air_speed=8.0, ram_share=0.32, face_area=0.12
    )
    _, got = run(cooler=cooler)
    same = cooler.temperature_at(operating=got, road_speed=25.0, air_rise=0.0)
    slow = cooler.temperature_at(operating=got, road_speed=12.0, air_rise=0.0)
    hot = cooler.temperature_at(operating=got, road_speed=25.0, air_rise=10.0)
    assert same == pytest.approx(got.manifold_temperature, abs=0.6)  # of the last pass
    assert np.all(slow > same + 0.3)
    assert hot == pytest.approx(same + 10.0)
