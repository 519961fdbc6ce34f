"""Lines, fittings, rails, suction: scaling laws and traps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.build.kinds.fuel import FuelLine
from drybuild.systems.fuel import hydraulics

LINE = {"length": 3.0, "density": 745.0, "viscosity": 0.5e-3}
FLOW = 300 / 3.6e6


def test_a_dash_size_is_not_a_bore():
    """One dash size is sold with three bores; the loss differs more than twice."""
    loss = [hydraulics.line_loss(flow=FLOW, bore=b, **LINE) for b in (7.9e-3, 8.7e-3, 9.5e-3)]
    assert loss[0] / loss[2] > 2.2
    with pytest.raises(ValueError, match="unit"):
        FuelLine.model_validate({"kind": "fuel_line", "bore": "-6"})
    with pytest.raises(ValueError, match="dash"):
        FuelLine.model_validate({"kind": "fuel_line", "bore": "AN-6"})


@given(st.floats(4e-3, 12e-3), st.floats(1.01, 1.5))
def test_loss_falls_with_nearly_the_fifth_power_of_the_bore(bore, wider):
    near, far = (
        hydraulics.line_loss(flow=FLOW * (bore / 8e-3), bore=b, **LINE)
        for b in (bore, bore * wider)
    )
    power = np.log(near / far) / np.log(wider)
    assert 4.5 < power < 5.0


@given(st.floats(0.1, 5.0))
def test_laminar_loss_is_hagen_and_poiseuille(share):
    flow = share * 1e-6
    bore = 6e-3
    number = hydraulics.reynolds(flow=flow, bore=bore, density=745.0, viscosity=5e-3)
    assert number < 2300
    loss = hydraulics.line_loss(flow=flow, bore=bore, length=3.0, density=745.0, viscosity=5e-3)
    assert loss == pytest.approx(128 * 5e-3 * 3.0 * flow / (np.pi * bore**4), rel=1e-9)


def test_friction_is_continuous_from_laminar_to_turbulent():
    numbers = np.linspace(1500, 5000, 3501)
    factor = hydraulics.friction_factor(reynolds_number=numbers, relative_roughness=1e-4)
    assert np.max(np.abs(np.diff(factor))) < 1e-4
    one_by_one = [
        hydraulics.friction_factor(reynolds_number=n, relative_roughness=1e-4)
        for n in numbers[::500]
    ]
    np.testing.assert_allclose(factor[::500], one_by_one)


def test_nothing_flows_nothing_is_lost():
    assert hydraulics.line_loss(flow=0.0, bore=8e-3, fittings=5.0, **LINE) == 0.0


@given(st.lists(st.floats(1e9, 1e13), min_size=1, max_size=5))
def test_series_and_parallel(resistances):
    flow = 1e-4
    assert hydraulics.series(*resistances) * flow**2 == pytest.approx(
        sum(r * flow**2 for r in resistances)
    )
    together = hydraulics.parallel(*resistances)
    loss = together * flow**2
    assert sum(np.sqrt(loss / r) for r in resistances) == pytest.approx(flow)
    assert together <= min(resistances) * (1 + 1e-12)


RAIL = {"bore": 8e-3, "length": 0.3, "density": 745.0, "viscosity": 0.5e-3}


def test_rails_in_series_drop_more_than_rails_side_by_side():
    args = {"injected": 5e-5, "passing": 4e-5, **RAIL}
    one = hydraulics.rail_drop(**args)
    side = hydraulics.rail_drop(**args, rails=2)
    row = hydraulics.rail_drop(**args, rails=2, in_series=True)
    assert side < one < row
    # side by side each rail has half of both flows: about a quarter of the loss
    assert side / one == pytest.approx(0.25, rel=0.25)


def test_even_draw_off_without_return_loses_a_third():
    drop = hydraulics.rail_drop(injected=5e-5, passing=0.0, **RAIL)
    through = hydraulics.line_loss(flow=5e-5, **RAIL)
    assert drop == pytest.approx(through / 3)


def test_draw_off_against_many_small_pieces():
    """The closed form against adding up a thousand pieces at one friction factor."""
    injected, passing = 5e-5, 7e-5
    whole = injected + passing
    per_metre = hydraulics.line_loss(flow=whole, **{**RAIL, "length": 1.0}) / whole**2
    along = (np.arange(1000) + 0.5) / 1000
    pieces = np.sum((whole - injected * along) ** 2) * per_metre * RAIL["length"] / 1000
    got = hydraulics.rail_drop(injected=injected, passing=passing, **RAIL)
    assert got == pytest.approx(pieces, rel=1e-6)


def test_suction_falls_with_vapour_pressure_and_lift():
    args = {"surface_pressure": 92e3, "density": 740.0, "loss": 3e3}
    flooded = hydraulics.net_positive_suction(vapour_pressure=60e3, height=0.2, **args)
    lifted = hydraulics.net_positive_suction(vapour_pressure=60e3, height=-0.5, **args)
    boiling = hydraulics.net_positive_suction(vapour_pressure=95e3, height=0.2, **args)
    assert flooded - lifted == pytest.approx(740.0 * 9.80665 * 0.7)
    assert boiling < 0 < lifted
