"""Electrics: hot copper both ways, heat, fuses, and what the checks say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.findings import NOT_APPLICABLE
from drybuild.systems.electrics import checks, formulas, results, room
from drybuild.values import DrawnCurve

MM2 = 1e-6
sizes = st.sampled_from([0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0])


def circuit(**changes: float) -> float:
    facts = {
        "feed_length": 4.0, "earth_length": 4.0, "section": 2.5 * MM2, "earth_section": 2.5 * MM2,
        "conductor_temperature": 293.15,
    }  # fmt: skip
    return float(formulas.circuit_resistance(**{**facts, **changes}))


def test_drop_counts_both_ways():
    one_way = circuit(earth_length=0.0)
    assert circuit() == pytest.approx(2 * one_way)
    assert one_way == pytest.approx(4 * 7.6e-3)


@given(st.floats(1.0, 100.0))
def test_hot_copper_resists_more(warmer):
    assert circuit(conductor_temperature=293.15 + warmer) / circuit() == pytest.approx(
        1 + 0.00393 * warmer
    )


@given(sizes, st.floats(1.01, 1.6))
def test_thicker_wire_resists_less(size, thicker):
    thin, thick = (
        formulas.wire_resistance(section=s * MM2) for s in (size, min(size * thicker, 25.0))
    )
    assert thick < thin


def test_sizes_outside_the_table_are_not_guessed():
    got = formulas.wire_resistance(section=np.array([0.35, 2.5, 35.0]) * MM2)
    assert list(np.isnan(got)) == [True, False, True]


@given(sizes, st.floats(1.0, 12.0))
def test_more_current_more_heat_and_the_limit_is_where_it_says(size, current):
    wire = {"section": size * MM2, "outer_diameter": 1.6e-3 + 0.5e-3 * size**0.5,
            "ambient_temperature": 313.15}  # fmt: skip
    cool = formulas.conductor_temperature(current=current, **wire)
    warm = formulas.conductor_temperature(current=current * 1.2, **wire)
    assert warm > cool > 313.15
    limit = formulas.wire_current_limit(insulation_temperature=373.15, **wire)
    at_limit = formulas.conductor_temperature(current=limit, **wire)
    assert at_limit == pytest.approx(373.15, abs=1e-6)


def test_a_wire_that_runs_away_is_infinitely_hot():
    got = formulas.conductor_temperature(
        current=200.0, section=1.0 * MM2, outer_diameter=2e-3, ambient_temperature=313.15
    )
    assert np.isinf(got)


def test_a_bundle_is_assumed_unless_it_is_known_not_to_be():
    wire = {"section": 2.5 * MM2, "outer_diameter": 3e-3, "ambient": 313.15,
            "insulation": 373.15, "current": 15.0}  # fmt: skip
    assert checks.wire_heat(**wire) == checks.wire_heat(**wire, bundled=True)
    assert checks.wire_heat(**wire, bundled=False) > checks.wire_heat(**wire)


def test_a_fuse_must_be_large_enough_for_the_pump_and_small_enough_for_the_wire():
    assert checks.fuse(rating=20.0, current=16.0) < 0 < checks.fuse(rating=25.0, current=16.0)
    wire = {"section": 1.0 * MM2, "outer_diameter": 2.1e-3, "ambient": 323.15,
            "insulation": 358.15}  # fmt: skip
    assert checks.fuse_protects(rating=25.0, **wire) < 0


def test_drop_allowed_is_four_per_cent_unless_the_goal_says():
    facts = {"supply": 13.5, "current": 16.0, "resistance": 0.03}
    assert checks.wire_drop(**facts) == pytest.approx(0.04 * 13.5 - 0.48)
    assert checks.wire_drop(**facts, share=0.03) == pytest.approx(0.03 * 13.5 - 0.48)


@pytest.mark.parametrize("slack", [checks.fuse, checks.relay])
def test_what_is_not_there_makes_no_finding(slack):
    assert slack(rating=20.0, current=10.0, present=False) is NOT_APPLICABLE


def test_alternator_gives_little_at_idle():
    output = DrawnCurve(np.array([150.0, 300.0, 900.0]), np.array([20.0, 60.0, 90.0]))
    idle = results.alternator_output(output=output, ratio=2.7, engine_speed=88.0)
    assert idle == pytest.approx(20 + (237.6 - 150) / 150 * 40)
    driving = checks.alternator_driving(output=output, ratio=2.7, load=60.0)
    assert driving == pytest.approx(60 + (checks.CRUISE_SPEED * 2.7 - 300) / 600 * 30 - 60)
    assert checks.alternator_idle(output=idle, pump=16.0, rest=40.0) < 0


def test_load_counts_a_fan_that_is_there():
    assert results.total_load(pump=16.0, rest=30.0) == 46.0
    assert results.total_load(pump=16.0, rest=30.0, fan=18.0) == 64.0


def test_injury_checks_carry_their_word():
    for check in room.checks:
        if check.consequence == "injury":
            assert "fire" in check.safety
