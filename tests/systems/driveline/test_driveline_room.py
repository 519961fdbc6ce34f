"""The driveline room: traps, scaling, refusals, and what the checks say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.findings import NOT_APPLICABLE, FormulaRefused
from drybuild.systems.driveline import checks, results, room
from drybuild.systems.driveline.formulas import clutch, gearing, limits, roadload

RADII = {"fl": 0.300, "fr": 0.300, "rl": 0.310, "rr": 0.310}


def addresses(check: str) -> set[str]:
    spec = next(c for c in room.checks if c.id == check)
    return {a for need in spec.needs.values() for a in need.addresses}


# traps ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "check", ["driveline.clutch", "driveline.gearbox_torque", "driveline.engine_torque"]
)
def test_boost_overshoot_sizes_it(check: str) -> None:
    assert "breathing.peak_torque_overshoot" in addresses(check)
    assert "breathing.peak_torque" not in addresses(check)


def test_overshoot_sizes_gasket_too() -> None:
    assert "breathing.peak_boost_overshoot" in addresses("driveline.gasket_boost")


def test_a_clutch_that_holds_the_steady_torque_may_slip_at_the_overshoot() -> None:
    capacity, steady, overshoot = 400.0, 380.0, 380.0 * 1.08
    assert checks.spare(limit=capacity, load=steady) > 0
    assert checks.spare(limit=capacity, load=overshoot) < 0


def test_a_tyre_change_is_not_the_speedometers_error() -> None:
    """The room gives the change only; what the instrument was wrong by before stays beside it."""
    old = results.counted_turns(axle="rear", fl=0.3, fr=0.3, rl=0.3, rr=0.3)
    new = results.counted_turns(axle="rear", fl=0.3, fr=0.3, rl=0.309, rr=0.309)
    ratio = results.reading_ratio(now=new, before=old, correction=None)
    assert ratio == pytest.approx(1 / 1.03)
    read_high = gearing.indicated_speed(
        true_speed=100.0, original_indicated=106.0, original_true=100.0, ratio=ratio
    )
    read_true = gearing.indicated_speed(
        true_speed=100.0, original_indicated=100.0, original_true=100.0, ratio=ratio
    )
    assert read_high > 100 > read_true  # one tyre, two answers


def test_reading_comes_from_the_axle_with_the_sensor() -> None:
    turned = {"fl": 0.3, "fr": 0.3, "rl": 0.33, "rr": 0.33}
    same = {"fl": 0.3, "fr": 0.3, "rl": 0.3, "rr": 0.3}
    for axle, factor in (("front", 1.0), ("rear", 1 / 1.1), ("all", (1 + 1 / 1.1) / 2)):
        new = results.counted_turns(axle=axle, **turned)
        old = results.counted_turns(axle=axle, **same)
        assert new / old == pytest.approx(factor)


def test_a_setting_of_the_instrument_mends_the_reading() -> None:
    assert results.reading_ratio(now=0.97, before=1.0, correction=1 / 0.97) == pytest.approx(1.0)


def test_uniform_wear_is_the_careful_one() -> None:
    for inner in np.linspace(0.05, 0.119, 8):
        wear = clutch.mean_radius_uniform_wear(outer_radius=0.12, inner_radius=inner)
        even = clutch.mean_radius_uniform_pressure(outer_radius=0.12, inner_radius=inner)
        assert wear < even


# gearing ----------------------------------------------------------------------------------------


@given(st.floats(50, 800), st.floats(0.6, 4), st.floats(2.5, 5), st.floats(0.25, 0.4))
def test_speed_and_revs_are_each_others_inverse(
    revs: float, gear: float, final: float, radius: float
) -> None:
    speed = gearing.road_speed(
        rotation_speed=revs, gear_ratio=gear, final_ratio=final, rolling_radius=radius
    )
    back = gearing.engine_speed(
        speed=speed, gear_ratio=gear, final_ratio=final, rolling_radius=radius
    )
    assert back == pytest.approx(revs)


def test_driven_radius_by_drive() -> None:
    assert results.driven_radius(drive="rear", **RADII) == pytest.approx(0.310)
    assert results.driven_radius(drive="front", **RADII) == pytest.approx(0.300)
    assert results.driven_radius(drive="all", **RADII) == pytest.approx(0.305)


def test_gears_that_nobody_stated_are_refused() -> None:
    with pytest.raises(FormulaRefused, match="gear"):
        results.first_of(())


# top speed --------------------------------------------------------------------------------------

SWEEP = np.linspace(100.0, 750.0, 66)


def top(power: Any, **changed: Any) -> Any:
    case: dict[str, Any] = {
        "engine_speed": SWEEP, "power": power, "efficiency": 0.92,
        "gear_ratios": (3.6, 2.2, 1.5, 1.2, 1.0, 0.82), "final_ratio": 3.9,
        "rolling_radius": 0.308, "rev_limit": 733.0, "a": 145.0, "b": 0.0, "c": 0.36,
    }  # fmt: skip
    return roadload.top_speed(**{**case, **changed})


def curve(peak: float) -> Any:
    return peak * (1 - ((SWEEP - 600) / 700) ** 2)[:, None]


def test_top_speed_balances_power_and_road() -> None:
    v = top(curve(130e3))
    revs = [gearing.engine_speed(speed=v, gear_ratio=i, final_ratio=3.9, rolling_radius=0.308)
            for i in (3.6, 2.2, 1.5, 1.2, 1.0, 0.82)]  # fmt: skip
    left = [0.92 * np.interp(n, SWEEP, curve(130e3)[:, 0]) for n in revs if n <= 733]
    assert max(left) == pytest.approx((145 + 0.36 * v**2) * v, rel=2e-3)


def test_top_speed_never_beats_the_rev_limit() -> None:
    v = top(curve(900e3))
    assert v == pytest.approx(733.0 / (0.82 * 3.9) * 0.308)
    assert top(curve(900e3), rev_limit=600.0) == pytest.approx(600.0 / (0.82 * 3.9) * 0.308)


def test_top_speed_rises_with_power_and_falls_with_drag() -> None:
    speeds = [top(curve(p)) for p in (60e3, 100e3, 140e3, 200e3)]
    assert np.all(np.diff(speeds) > 0)
    assert top(curve(100e3), c=0.5) < top(curve(100e3), c=0.3)


def test_top_speed_is_per_draw() -> None:
    scale = np.array([0.8, 1.0, 1.2])
    together = top(curve(120e3) * scale)
    alone = [top(curve(120e3 * s)) for s in scale]
    assert together == pytest.approx(np.array(alone))


def test_a_car_that_cannot_move_has_no_top_speed() -> None:
    assert np.isnan(top(curve(1.0), a=5000.0))
    with pytest.raises(ValueError, match="gears"):
        top(curve(100e3), gear_ratios=())


# torques ----------------------------------------------------------------------------------------


def shaft(**changed: Any) -> Any:
    case: dict[str, Any] = {
        "drive": "rear", "torque": 380.0, "ratios": (3.6, 1.0), "final": 3.9, "bias": None,
        "load_front": 6000.0, "load_rear": 6000.0, "mass": 12000 / 9.80665, "cg_height": 0.48,
        "wheelbase": 2.33, "radius": 0.308,
    }  # fmt: skip
    return results.shaft_load(**{**case, **changed})


def test_tyres_cap_the_shaft_torque() -> None:
    grip = shaft()
    assert grip == pytest.approx(1.1 * 6000 / (1 - 1.1 * 0.48 / 2.33) * 0.5 * 0.308)
    assert shaft(torque=100.0) == pytest.approx(100 * 3.6 * 3.9 / 2)
    assert shaft(bias=3.0) == pytest.approx(1.5 * grip)


def test_load_leaves_driven_front_wheels() -> None:
    assert shaft(drive="front") < shaft(drive="rear")
    still = limits.driven_axle_load(
        static_load=6000.0, weight=12e3, cg_height=0.5, wheelbase=2.5, grip=1.0, end=0
    )
    assert still == pytest.approx(6000.0)


def test_bearing_moment_grows_with_track_and_load() -> None:
    case: dict[str, Any] = {
        "load": 6000.0, "load_before": 6000.0, "track": 1.45, "track_before": 1.45,
        "left": 0.3, "right": 0.3, "left_before": 0.3, "right_before": 0.3,
    }  # fmt: skip
    assert results.bearing_growth(**case) == pytest.approx(1.0)
    wide = results.bearing_growth(**{**case, "track": 1.48})
    assert wide == pytest.approx(1 + 0.015 / 0.09)
    narrow = results.bearing_growth(**{**case, "track": 1.42})
    assert narrow == pytest.approx(wide)  # inwards tilts it as much
    assert results.bearing_growth(**{**case, "load": 6600.0}) == pytest.approx(1.1)


def test_a_flange_that_nobody_stated_is_no_finding() -> None:
    assert checks.flange_spare(bolts=None, limit=None, load=100.0) is NOT_APPLICABLE
    with pytest.raises(FormulaRefused, match="clamp"):
        checks.flange_spare(bolts=6.0, limit=None, load=100.0)


def test_motorway_revs_only_where_somebody_minds() -> None:
    assert checks.revs_spare(wanted=None, revs=None) is NOT_APPLICABLE
    assert checks.revs_spare(wanted=400.0, revs=380.0) == pytest.approx(20.0)
    with pytest.raises(FormulaRefused, match="gear"):
        checks.revs_spare(wanted=400.0, revs=None)


def test_tyre_speed_is_judged_where_the_top_speed_is_known() -> None:
    assert checks.tyre_speed_spare(symbol=240 / 3.6, top=None) is NOT_APPLICABLE
    assert checks.tyre_speed_spare(symbol=240 / 3.6, top=250 / 3.6) < 0


def test_least_clamp_uses_the_low_end_of_the_scatter() -> None:
    held = results.flange_holds(bolts=6.0, clamp=30e3, factor=1.6, friction=0.15, circle=0.086)
    assert held == pytest.approx(6 * 30e3 / 1.6 * 0.15 * 0.043)


def test_no_torque_figure_is_ever_derived() -> None:
    """Clamp may be judged; nothing in this room turns it into a tightening figure."""
    names = [name for module in (limits, clutch, gearing, roadload) for name in vars(module)]
    assert not [n for n in names if "tighten" in n or "nut_factor" in n]
    for record in room.records:
        if "tighten" in record.do:
            assert "maker" in record.do


def test_at_least_seven_checks_each_with_source_and_cure() -> None:
    assert len(room.checks) >= 7
    for check in room.checks:
        assert check.source.document, check.id
        assert check.do, check.id
        assert "raise" not in check.do


def test_a_set_of_tyres_asks_for_no_limit_of_gearbox_or_shafts() -> None:
    for result in room.results:
        if result.name in ("driveline.shaft_torque", "driveline.final_drive_torque"):
            arming = {a for n in result.needs.values() if n.arms for a in n.addresses}
            assert not [a for a in arming if "radius" in a]
