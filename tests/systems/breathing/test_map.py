"""Reading a compressor map."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.systems.breathing import compressor_map as m

from .maps import RPM, grid, lines


def test_a_line_left_out_lies_where_its_neighbours_say():
    """The spacing of the lines is 7 % of speed; the line left out is met within 1 %."""
    all_lines = lines()
    held = all_lines.pop(4)
    coarse = m.make_grid(lines=all_lines, temperature=298.0, pressure=100e3)
    flow, ratio = np.array(held.flow[1:6]), np.array(held.pressure_ratio[1:6])
    row = m.find_row(coarse, ratio)
    assert m.read_speed(coarse, row, flow, ratio) == pytest.approx(held.speed, rel=0.01)
    assert m.read_efficiency(coarse, row, flow) == pytest.approx(
        np.array(held.efficiency[1:6]), abs=0.01
    )


@given(st.floats(1.05, 3.2), st.floats(0.05, 0.95))
def test_speed_rises_with_flow_and_ratio(ratio, share):
    g = grid()
    row = m.find_row(g, ratio)
    flow = row.surge + share * row.width
    here = m.read_speed(g, row, flow, ratio)
    more_flow = m.read_speed(g, row, flow + 0.05 * row.width, ratio)
    higher = m.find_row(g, ratio * 1.03)
    more_ratio = m.read_speed(g, higher, flow, ratio * 1.03)
    assert more_flow >= here * 0.999
    assert more_ratio >= here * 0.999


def test_surge_and_choke_bracket_the_map():
    g = grid()
    row = m.find_row(g, np.linspace(1.2, 3.4, 30))
    assert np.all(m.surge_flow(g, row) < m.choke_flow(g, row))


def test_beyond_the_map_speed_goes_on_rising_and_efficiency_stays():
    g = grid()
    row = m.find_row(g, np.array([2.0, 2.0, 2.0]))
    flow = (row.surge + row.width) * np.array([1.0, 1.1, 1.3])
    speed = m.read_speed(g, row, flow, np.array([2.0, 2.0, 2.0]))
    assert speed[2] > speed[1] > speed[0]
    assert np.ptp(m.read_efficiency(g, row, flow)) < 1e-6
    above = np.array([3.5, 4.0, 4.5])
    high = m.read_speed(g, m.find_row(g, above), np.full(3, 0.15), above)
    assert high[2] > high[1] > high[0] * 1.02


def test_highest_ratio_falls_to_both_sides():
    g = grid()
    flow = np.array([0.01, 0.05, 0.09, 0.2, 0.3])
    top = m.highest_ratio(g, flow)
    assert np.argmax(top) == 2
    assert top[2] == pytest.approx(3.5, rel=0.01)


def test_nan_stays_harmless():
    g = grid()
    row = m.find_row(g, np.array([np.nan, 2.0]))
    got = m.read_efficiency(g, row, np.array([0.1, np.nan]))
    assert got.shape == (2,)


def test_a_scalar_reads_as_an_array_does():
    g = grid()
    one = m.read_efficiency(g, m.find_row(g, 2.2), 0.15)
    many = m.read_efficiency(g, m.find_row(g, np.array([2.2])), np.array([0.15]))
    assert float(one) == many[0]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda x: x[:2], "at least 3"),
        (lambda x: [replace(x[0], flow=x[0].flow[::-1]), *x[1:]], "flow must rise"),
        (lambda x: [replace(x[0], efficiency=x[0].efficiency[:-1]), *x[1:]], "differ in length"),
        (lambda x: [replace(x[0], efficiency=(1.2, *x[0].efficiency[1:])), *x[1:]], "efficiency"),
        (lambda x: [replace(x[0], pressure_ratio=(0.9, *x[0].pressure_ratio[1:])), *x[1:]],
         "ratio below 1"),
        (lambda x: [replace(x[0], speed=x[1].speed), *x[1:]], "same speed"),
        (lambda x: [replace(x[-1], speed=1.0 * RPM), *x[:-1]], "rise"),
    ],
)  # fmt: skip
def test_a_faulty_map_is_refused_with_its_fault(change, says):
    with pytest.raises(ValueError, match=says):
        m.make_grid(lines=change(lines()), temperature=298.0, pressure=100e3)
