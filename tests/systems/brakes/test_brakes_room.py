"""The brakes room: traps, scaling, refusals, and what the checks say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.findings import FormulaRefused
from drybuild.systems.brakes import checks, results, room
from drybuild.systems.brakes.formulas import balance, heat, hydraulics

CAR = {"load_front": 6200.0, "load_rear": 5900.0, "cg_height": 0.48, "wheelbase": 2.33}


def locks(front: float, rear: float, knee: float | None = None, slope: float | None = None) -> Any:
    return checks.rear_locks_last(front=front, rear=rear, knee=knee, slope=slope, **CAR).slack


# traps ------------------------------------------------------------------------------------------


def test_opposed_pistons_count_on_one_side() -> None:
    opposed = results.one_side(diameter=0.038, second=None, count=4.0, layout="opposed")
    assert opposed == pytest.approx(2 * np.pi / 4 * 0.038**2)
    sliding = results.one_side(diameter=0.038, second=None, count=4.0, layout="sliding")
    assert sliding == pytest.approx(2 * opposed)


def test_staggered_pistons_share_out_by_halves() -> None:
    area = results.one_side(diameter=0.040, second=0.036, count=4.0, layout="opposed")
    assert area == pytest.approx(np.pi / 4 * (0.040**2 + 0.036**2))


@pytest.mark.parametrize(
    ("count", "layout"), [(3.0, "opposed"), (0.0, "sliding"), (1.5, "sliding")]
)
def test_pistons_that_cannot_be_shared_out_are_refused(count: float, layout: str) -> None:
    with pytest.raises(FormulaRefused, match="pistons"):
        results.one_side(diameter=0.04, second=None, count=count, layout=layout)


def test_fluid_is_the_same_for_opposed_and_sliding_of_one_side_area() -> None:
    moved = results.caliper_fluid(area=2268e-6, travel=0.15e-3, give=0.6e-6)
    assert moved == pytest.approx(2 * 2268e-6 * 0.15e-3 + 0.6e-6)


def test_a_larger_tyre_takes_braking_force() -> None:
    small = balance.force_per_pressure(torque_per_pressure=1.0, rolling_radius=0.30)
    large = balance.force_per_pressure(torque_per_pressure=1.0, rolling_radius=0.33)
    assert large / small == pytest.approx(0.30 / 0.33)


def test_tyres_alone_do_not_arm_what_needs_piston_sizes() -> None:
    """New tyres must not make anybody measure pistons: their effect has a check of its own."""
    for result in room.results:
        for need in result.needs.values():
            if any("rolling_radius" in a for a in need.addresses):
                assert not need.arms, result.name
    tyre = next(c for c in room.checks if c.id == "brakes.tyre_effect")
    assert {a.split(".")[0] for n in tyre.needs.values() for a in n.addresses} == {"corners"}
    assert sum(n.arms for n in tyre.needs.values()) == 4


def test_tyre_effect_knows_both_ends() -> None:
    old = {"fl_before": 0.3, "fr_before": 0.3, "rl_before": 0.3, "rr_before": 0.3}
    same = checks.tyre_effect(fl=0.31, fr=0.31, rl=0.31, rr=0.31, **old)
    assert same == pytest.approx(0.05)
    rear = checks.tyre_effect(fl=0.3, fr=0.3, rl=0.33, rr=0.33, **old)
    front = checks.tyre_effect(fl=0.33, fr=0.33, rl=0.3, rr=0.3, **old)
    assert rear < 0
    assert front < 0


# balance ----------------------------------------------------------------------------------------


def test_rear_heavy_brakes_lock_the_rear_first() -> None:
    assert np.min(locks(4e-3, 1.3e-3)) > 0
    assert np.min(locks(2e-3, 2e-3)) < 0


def test_a_valve_mends_what_hard_braking_breaks() -> None:
    plain = locks(3.0e-3, 1.75e-3)
    held = locks(3.0e-3, 1.75e-3, knee=10e5, slope=0.3)
    assert plain[0] > 0 > plain[-1]  # fine when gentle, not when hard
    assert np.min(held) > 0


def test_all_front_wastes_the_grip_of_the_rear() -> None:
    good = checks.uses_grip(front=3e-3, rear=1.2e-3, knee=None, slope=None, **CAR)
    poor = checks.uses_grip(front=3e-3, rear=0.05e-3, knee=None, slope=None, **CAR)
    assert np.min(good.slack) > 0
    assert np.min(poor.slack) < 0
    assert good.slack.shape == (len(good.at), 1)


def test_grip_is_used_by_the_rule_as_written() -> None:
    """Found another way: raise the rate until an axle locks, compare with 0.1 + 0.7 (k - 0.2)."""
    case: dict[str, Any] = {"front": 3e-3, "rear": 0.9e-3, "knee": None, "slope": None, **CAR}
    out = checks.uses_grip(**case)
    rates = np.linspace(0.001, 1, 20001)
    weight = CAR["load_front"] + CAR["load_rear"]
    share = case["front"] / (case["front"] + case["rear"])
    nf, nr = balance.axle_loads(
        front_load=CAR["load_front"], rear_load=CAR["load_rear"], cg_height=CAR["cg_height"],
        wheelbase=CAR["wheelbase"], rate=rates,
    )  # fmt: skip
    used = np.maximum(share * rates * weight / nf, (1 - share) * rates * weight / nr)
    for slack, grip in zip(out.slack[:, 0], out.at, strict=True):
        reached = rates[used <= grip][-1]
        assert (slack >= 0) == (reached >= 0.1 + 0.7 * (grip - 0.2) - 1e-4)


@given(
    z=st.floats(0.05, 1.0), front=st.floats(1e-3, 6e-3), rear=st.floats(1e-4, 3e-3),
    knee=st.floats(1e5, 60e5), slope=st.floats(0.0, 1.0),
)  # fmt: skip
def test_pressure_for_a_rate_gives_back_the_rate(
    z: float, front: float, rear: float, knee: float, slope: float
) -> None:
    weight = 12e3
    p = balance.pressure_for_rate(
        rate=z, weight=weight, front_per_pressure=front, rear_per_pressure=rear, knee=knee,
        slope=slope,
    )  # fmt: skip
    behind = hydraulics.rear_pressure(front_pressure=p, knee=knee, slope=slope)
    assert front * p + rear * behind == pytest.approx(z * weight, rel=1e-9)


def test_loads_move_but_stay_the_same_in_sum() -> None:
    front, rear = balance.axle_loads(
        front_load=6e3, rear_load=5e3, cg_height=0.5, wheelbase=2.5, rate=np.linspace(0, 1, 5)
    )
    assert front + rear == pytest.approx(np.full(5, 11e3))
    assert np.all(np.diff(front) > 0)


def test_an_axle_without_load_locks_at_once() -> None:
    assert balance.adhesion_used(force=100.0, load=np.array([-1.0, 0.0])) == pytest.approx(
        [np.inf, np.inf]
    )


def test_share_shift_is_even_in_both_directions() -> None:
    assert checks.balance_shift(now=0.75, before=0.70) == pytest.approx(0.05)
    assert checks.balance_shift(now=0.65, before=0.70) == pytest.approx(0.05)


def test_one_side_only_is_short() -> None:
    assert checks.side_slack(left=1.9e-4, right=2.9e-4) < 0
    assert checks.side_slack(left=2.9e-4, right=2.9e-4) == pytest.approx(0.30)


# heat -------------------------------------------------------------------------------------------


@given(st.floats(5, 60), st.floats(1.5, 10))
def test_one_stop_scales_with_speed_squared_over_mass(speed: float, ring: float) -> None:
    def rise(v: float, m: float) -> Any:
        return heat.one_stop_rise(
            energy=heat.stop_energy(mass=1200.0, speed=v), share=0.7, disc_mass=m, discs=2.0,
            heat_capacity=460.0,
        )  # fmt: skip

    assert rise(2 * speed, ring) == pytest.approx(4 * rise(speed, ring))
    assert rise(speed, 2 * ring) == pytest.approx(rise(speed, ring) / 2)


def test_drag_takes_from_the_brakes() -> None:
    free = heat.stop_energy(mass=1000.0, speed=30.0)
    assert heat.stop_energy(mass=1000.0, speed=30.0, drag=300.0, distance=50.0) == pytest.approx(
        free - 15e3
    )


def test_more_stops_are_hotter_and_waiting_cools() -> None:
    def after(n: float, wait: float) -> float:
        return float(heat.after_stops(rise=60.0, stops=n, interval=wait, cooling=250.0))

    assert after(1, 40) == pytest.approx(60.0)
    assert after(2, 40) < after(3, 40) < after(10, 40)
    assert after(5, 400) < after(5, 20)
    assert after(4, 0.0) == pytest.approx(240.0)


def test_a_row_of_stops_is_the_sum_stop_by_stop() -> None:
    temperature = 0.0
    for _ in range(6):
        temperature = temperature * np.exp(-25 / 222) + 51.0
    assert heat.after_stops(rise=51.0, stops=6.0, interval=25.0, cooling=222.0) == pytest.approx(
        temperature
    )


def test_a_road_shorter_than_its_height_is_refused() -> None:
    with pytest.raises(FormulaRefused, match="road"):
        results.peak_road_rise(
            rise=60.0, cooling=200.0, mass=1200.0, share=0.7, shed=10.0, height=500.0,
            length=400.0, speed=14.0, road_load=None,
        )  # fmt: skip


def test_descent_counts_only_where_it_is_hotter() -> None:
    given_: dict[str, Any] = {
        "rise": 60.0, "cooling": 200.0, "mass": 1200.0, "share": 0.7, "shed": 10.0,
        "length": 7000.0, "speed": 14.0, "road_load": None,
    }  # fmt: skip
    stops = results.peak_road_rise(**{**given_, "height": None})
    assert results.peak_road_rise(**{**given_, "height": 30.0}) == pytest.approx(stops)
    assert results.peak_road_rise(**{**given_, "height": 500.0}) > stops


def test_the_lighter_disc_is_the_one_that_is_judged() -> None:
    given_: dict[str, Any] = {
        "mass": 1200.0, "fl": None, "fr": None, "rl": None, "rr": None, "share": 0.7,
        "capacity": 460.0,
    }  # fmt: skip
    even = results.road_rise(left=5.0, right=5.0, **given_)
    odd = results.road_rise(left=5.0, right=4.0, **given_)
    assert odd == pytest.approx(even * 5 / 4)


def test_without_an_event_the_everyday_row_stands_in() -> None:
    alone = results.peak_event_rise(rise=60.0, cooling=200.0, stops=None, interval=None)
    row = heat.after_stops(
        rise=60.0, stops=results.ROAD_STOPS, interval=results.ROAD_INTERVAL, cooling=200.0
    )
    assert alone == pytest.approx(row)


# pedal and fit ----------------------------------------------------------------------------------


def test_servo_ends_and_only_the_foot_adds() -> None:
    def pressure(force: float) -> float:
        return float(
            hydraulics.line_pressure(
                pedal_force=force, pedal_ratio=4.0, servo_gain=4.5, bore=0.0222,
                runout_pressure=95e5,
            )
        )  # fmt: skip

    area = np.pi / 4 * 0.0222**2
    knee = 95e5 * area / 4.5 / 4.0
    assert pressure(knee) == pytest.approx(95e5)
    assert pressure(knee + 100) == pytest.approx(95e5 + 400 / area)
    assert pressure(knee - 100) == pytest.approx(95e5 - 400 * 4.5 / area)


def test_a_worn_disc_still_belongs_to_its_caliper_and_another_does_not() -> None:
    made = {"for_diameter": 0.270, "for_thickness": 0.022, "thickness_min": 0.020}
    assert checks.made_for(diameter=0.270, thickness=0.0205, **made) == 1
    assert checks.made_for(diameter=0.310, thickness=0.028, **made) == -1
    assert checks.made_for(diameter=0.270, thickness=0.028, **made) == -1


def test_words_compare_whatever_their_case() -> None:
    assert checks.same_word(one="Tolland T40", other=" tolland t40") == 1
    assert checks.same_word(one="glycol", other="silicone") == -1


def test_every_check_hurts_somebody_but_the_longer_pedal_and_warm_faces() -> None:
    gentle = [c.id for c in room.checks if c.consequence != "injury"]
    assert gentle == ["brakes.pedal_longer", "brakes.face_heat"]
    assert len(room.checks) >= 7
    for check in room.checks:
        assert check.source.document
        assert "safe" not in f"{check.title} {check.when_short} {check.do}".split()


def test_brakes_are_seen_by_a_second_person() -> None:
    seen = {r.id: r.second_person for r in room.records}
    assert seen["brakes.bled"]
    assert seen["brakes.fastened"]
    assert seen["brakes.hose_free"]
