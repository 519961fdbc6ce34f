"""Pump, lines, regulator solved together: against a plain scalar solution, and its traps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from drybuild.systems.fuel import hydraulics, network, pump
from drybuild.systems.fuel.tables import Table, search

PRESSURES = np.linspace(0.0, 800e3, network.NODES)
CURVE = np.interp(PRESSURES, [0, 300e3, 500e3, 800e3], [560, 520, 470, 330]) / 3.6e6
CURRENT = np.interp(PRESSURES, [0, 800e3], [7.0, 23.0])
FUEL = {"density": 740.0, "viscosity": 0.45e-3}
RATED = 13.5


def feed(flow):
    return hydraulics.line_loss(flow=flow, bore=8e-3, length=4.0, fittings=6.0, **FUEL)


def make_back(bore, draws=1):
    def back(flow):
        bores = np.full(draws, bore)
        return (
            hydraulics.line_loss(flow=flow, bore=bores, length=4.6, fittings=12.0, **FUEL)
            + 4.86e12 * flow**2
        )

    return back


def solved(
    demand, held, *, bore=6e-3, voltage=13.8, resistance=0.03, winding=0.08, rise=0.0, draws=1
):
    supply = network.supply_side(
        pressures=PRESSURES, rated_flow=CURVE[:, None] * np.ones(draws), current=CURRENT[:, None],
        supply_voltage=voltage, circuit_resistance=resistance, rated_voltage=RATED,
        winding_resistance=winding, loss=feed,
    )  # fmt: skip
    back = network.return_side(highest_flow=700 / 3.6e6, loss=make_back(bore))
    return network.working_point(
        supply=supply, back=back, demand=np.atleast_2d(demand), set_pressure=np.atleast_2d(held),
        rise=rise,
    )  # fmt: skip


def by_hand(demand, held, *, bore=6e-3, voltage=13.8, resistance=0.03, winding=0.08):
    """One car at a time with scipy's root finder and nothing tabled."""
    back = make_back(bore)

    def flow_at(pressure):
        current = np.interp(pressure, PRESSURES, CURRENT)
        ratio = (voltage - current * resistance - current * winding) / (RATED - current * winding)
        return np.interp(pressure, PRESSURES, CURVE) - CURVE[0] * (1 - ratio)

    def miss(pressure):
        flow = flow_at(pressure)
        spare = flow - demand
        wanted = max(held, float(back(spare)[0])) if spare >= 0 else held + spare * 1e12
        return pressure - float(feed(flow)) - wanted

    found = brentq(miss, 0.0, 800e3, xtol=1e-3)
    return found - float(feed(flow_at(found)))


@settings(max_examples=60)
@given(
    st.floats(1.0, 250.0), st.floats(180e3, 480e3), st.floats(5.5e-3, 10e-3), st.floats(11.5, 14.5)
)
def test_against_a_plain_root_finder(litres, held, bore, voltage):
    demand = litres / 3.6e6
    got = solved(demand, held, bore=bore, voltage=voltage).rail_pressure[0, 0]
    assert got == pytest.approx(by_hand(demand, held, bore=bore, voltage=voltage), abs=1500.0)


def test_residual_is_small_everywhere():
    rng = np.random.default_rng(3)
    demand, held = rng.uniform(1, 200, (8, 500)) / 3.6e6, rng.uniform(2e5, 4.6e5, (8, 500))
    point = solved(demand, held, draws=500)
    assert not np.isnan(point.rail_pressure).any()
    left = point.pump_flow - point.demand - point.return_flow
    np.testing.assert_allclose(left, 0.0, atol=1e-9)
    # the feed loss is the line's own
    np.testing.assert_allclose(
        point.pump_pressure - point.rail_pressure, feed(point.pump_flow), atol=150.0
    )
    assert (point.rail_pressure >= point.set_pressure - network.TOLERANCE).all()


def test_too_narrow_a_way_back_lifts_the_idle_rail_and_a_wide_one_does_not():
    narrow = solved(1 / 3.6e6, 240e3, bore=6e-3).rail_pressure[0, 0]
    wide = solved(1 / 3.6e6, 240e3, bore=8.5e-3).rail_pressure[0, 0]
    assert narrow > 300e3
    assert wide == pytest.approx(240e3, abs=network.TOLERANCE)


def test_slowing_the_pump_at_idle_cures_it_too():
    full = solved(1 / 3.6e6, 240e3).rail_pressure[0, 0]
    slow = solved(1 / 3.6e6, 240e3, voltage=13.8 * 0.6).rail_pressure[0, 0]
    assert full > 300e3
    assert slow == pytest.approx(240e3, abs=network.TOLERANCE)


def test_where_the_pump_falls_short_the_rail_falls():
    point = solved(475 / 3.6e6, 430e3)
    assert point.rail_pressure[0, 0] < 410e3
    assert point.return_flow[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert point.pump_flow[0, 0] == pytest.approx(475 / 3.6e6, rel=1e-3)
    assert point.available[0, 0] < point.demand[0, 0]


def test_what_no_pump_pressure_can_feed_is_nan_and_not_a_number():
    point = solved(900 / 3.6e6, 430e3)
    assert np.isnan(point.rail_pressure[0, 0])
    assert point.available[0, 0] < point.demand[0, 0]  # and the pump check still sees it


def test_beyond_the_curve_is_nan():
    assert np.isnan(solved(1 / 3.6e6, 830e3, bore=12e-3).rail_pressure[0, 0])


def test_one_bad_draw_spoils_no_other():
    demand = np.full((1, 3), 100 / 3.6e6)
    held = np.array([[300e3, 900e3, 300e3]])
    point = solved(demand, held, bore=9e-3, draws=3)
    assert list(np.isnan(point.rail_pressure[0])) == [False, True, False]


def test_a_draw_that_breathing_could_not_solve_stays_nan():
    demand = np.array([[1e-5, np.nan, 1e-5]])
    held = np.array([[3e5, 3e5, np.nan]])
    point = solved(demand, held, bore=9e-3, draws=3)
    assert list(np.isnan(point.rail_pressure[0])) == [False, True, True]
    assert list(np.isnan(point.available / point.demand)[0]) == [False, True, True]


def test_exact_demand_with_a_drawn_pump():
    """Columns come from whichever input has them."""
    one = solved(1 / 3.6e6, 240e3)
    many = solved(1 / 3.6e6, 240e3, draws=5)
    assert many.rail_pressure.shape == (1, 5)
    np.testing.assert_allclose(many.rail_pressure, one.rail_pressure[0, 0])
    by_voltage = solved(1 / 3.6e6, 240e3, voltage=np.array([12.0, 13.0, 14.0]))
    assert (np.diff(by_voltage.rail_pressure[0]) > 0).all()


def test_the_pump_sees_its_own_terminal_voltage():
    """The same pump, the same supply: thin wires take flow away."""
    thick = solved(50 / 3.6e6, 430e3, resistance=0.01).available[0, 0]
    thin = solved(50 / 3.6e6, 430e3, resistance=0.08).available[0, 0]
    no_drop = solved(50 / 3.6e6, 430e3, resistance=0.0).available[0, 0]
    assert thin < thick < no_drop
    assert 1 - thin / no_drop > 0.08  # 1.2 V lost is 9 % of the voltage and more of the flow


def test_a_regulator_that_climbs_with_flow():
    flat = solved(50 / 3.6e6, 430e3, bore=9e-3)
    climbing = solved(50 / 3.6e6, 430e3, bore=9e-3, rise=4e3 / (400 / 3.6e6))
    gained = climbing.rail_pressure[0, 0] - flat.rail_pressure[0, 0]
    assert gained == pytest.approx(4e3 * climbing.return_flow[0, 0] * 3.6e6 / 400, abs=150.0)


@given(st.floats(0.05, 1.0))
def test_a_slower_pump_loses_more_than_in_proportion(ratio):
    flow = pump.flow_at_voltage(rated_flow=340.0, rated_free_flow=440.0, ratio=ratio)
    assert 0 <= flow <= 340.0 * ratio + 1e-9


def test_a_stalled_pump_gives_nothing():
    ratio = pump.speed_ratio(voltage=1.0, rated_voltage=13.5, current=20.0, winding_resistance=0.1)
    assert ratio == 0.0
    assert pump.flow_at_voltage(rated_flow=340.0, rated_free_flow=440.0, ratio=ratio) == 0.0


def test_table_reads_its_nodes_and_between():
    table = Table(100.0, 50.0, np.array([[0.0, 10.0], [1.0, 20.0], [4.0, 50.0]]))
    assert table.end == 200.0
    got = table.at(np.array([[100.0, 125.0], [200.0, 175.0]]))
    np.testing.assert_allclose(got, [[0.0, 15.0], [4.0, 35.0]], rtol=1e-6)
    picked = table.at(np.array([125.0, 125.0]), np.array([1, 0]))
    np.testing.assert_allclose(picked, [15.0, 0.5])


def test_search_finds_roots_of_kinked_functions_and_says_where_none_is():
    roots = np.linspace(0.1, 0.9, 50)

    def miss(x):
        return np.where(x > roots, 50 * (x - roots), 0.3 * (x - roots))

    found, left = search(miss=miss, low=np.zeros(50), high=np.ones(50), tolerance=1e-9)
    # twenty halvings at the very least, wherever the kink lies
    np.testing.assert_allclose(found, roots, atol=2e-6)
    np.testing.assert_allclose(left, miss(found))
    _, left = search(miss=lambda x: x + 1.0, low=np.zeros(3), high=np.ones(3), tolerance=1e-9)
    assert (left >= 1.0).all()


KINKED = np.interp(PRESSURES, [0, 300e3, 400e3, 800e3], [240, 210, 185, 60]) / 3.6e6


def test_a_bend_of_the_pumps_curve_and_a_steep_loss_leave_no_draw_without_an_answer():
    """A narrow way in and a regulator that climbs: steps and a chord alone miss by kilopascals."""
    rng = np.random.default_rng(5)
    n = 400
    held, rise = rng.uniform(220e3, 410e3, n), rng.uniform(1e8, 7e8, n)
    steep = rng.uniform(1e13, 4e13, n)
    supply = network.supply_side(
        pressures=PRESSURES, rated_flow=KINKED[:, None] * np.ones(n), current=CURRENT[:, None],
        supply_voltage=13.5, circuit_resistance=0.0, rated_voltage=RATED, winding_resistance=0.08,
        loss=lambda flow: steep * flow**2,
    )  # fmt: skip
    back = network.return_side(highest_flow=300 / 3.6e6, loss=make_back(9e-3))
    demand = 2 / 3.6e6
    point = network.working_point(
        supply=supply, back=back, demand=np.full((1, n), demand), set_pressure=held[None],
        rise=rise,
    )  # fmt: skip
    assert not np.isnan(point.rail_pressure).any()
    for i in range(0, n, 20):

        def miss(pressure, i=i):
            flow = np.interp(pressure, PRESSURES, KINKED)
            lost = np.interp(pressure, PRESSURES, steep[i] * KINKED**2)
            return pressure - lost - held[i] - rise[i] * (flow - demand)

        by_root = brentq(miss, 0.0, 800e3, xtol=1.0)
        assert point.pump_pressure[0, i] == pytest.approx(by_root, abs=network.TOLERANCE)
