"""Compressor, turbine and map against worked examples, libraries and a published map."""

from __future__ import annotations

from math import pi, sqrt

import fluids
import numpy as np
import pytest

from drybuild.systems.breathing import compressor as c
from drybuild.systems.breathing import compressor_map as m

ROOM = "drybuild.systems.breathing"
RPM = pi / 30.0
GUPTA = "Gupta, Fundamentals of Internal Combustion Engines, "


# the compressor


@pytest.mark.textbook
def test_corrected_flow(against):
    """In the old units: 33.0693 lb/min at 554.67 °R and 28.0535 inHg on a 545 °R, 28.4 inHg map."""
    old = 33.0693 * sqrt(554.67 / 545.0) / (28.0535 / 28.4)
    against(
        f"{ROOM}.compressor.corrected_flow",
        got=c.corrected_flow(
            flow=0.25, inlet_temperature=308.15, inlet_pressure=95e3, map_temperature=545.0 / 1.8,
            map_pressure=28.4 * 3386.389,
        )
        / 0.00755987,
        expected=old,
        rel=1e-5,
        source="SAE J922: W·√θ/δ in lb/min, °R and inHg",
        note="six digits of the converted figures",
    )  # fmt: skip


@pytest.mark.authority
def test_corrected_flow_three_references(against):
    """The references of three map makers move the same point by 8 %."""
    refs = [(298.0, 100e3), (302.6, 96.2e3), (288.15, 101325.0)]
    against(
        f"{ROOM}.compressor.corrected_flow",
        got=np.array([
            c.corrected_flow(flow=0.25, inlet_temperature=308.15, inlet_pressure=95e3,
                             map_temperature=t, map_pressure=p) for t, p in refs]),
        expected=np.array([0.2676, 0.25547, 0.27574]),
        abs=2e-5,
        source="SAE J1826 (1995), older practice, ISO 2533: references from memory",
        note="digits of the worked figures",
    )  # fmt: skip


@pytest.mark.textbook
def test_corrected_speed(against):
    against(
        f"{ROOM}.compressor.corrected_speed",
        got=c.corrected_speed(speed=140e3 * RPM, inlet_temperature=308.15, map_temperature=298.0)
        / RPM,
        expected=137675.0,
        abs=0.5,
        source="SAE J922: 140 000 rpm/√(308.15/298)",
    )


@pytest.mark.textbook
def test_shaft_speed(against):
    against(
        f"{ROOM}.compressor.shaft_speed",
        got=c.shaft_speed(
            corrected_speed=137675.0 * RPM, inlet_temperature=308.15, map_temperature=298.0
        )
        / RPM,
        expected=140e3,
        abs=1.0,
        source="SAE J922, turned round",
    )


@pytest.mark.practice
def test_equal_boost_at_altitude_is_a_higher_ratio(against):
    """1 bar gauge: ratio 1.99 at the sea, 2.09 at 800 m, no losses."""
    p = np.array([101325.0, 92076.0])
    against(
        f"{ROOM}.compressor.pressure_ratio",
        got=c.pressure_ratio(boost_gauge=1e5, barometer=p),
        expected=np.array([1.99, 2.09]),
        abs=0.005,
        source="practice: boost gauge over barometer; US Standard Atmosphere at 800 m",
        note="to the third figure",
    )


@pytest.mark.cross_model
def test_outlet_temperature_library(against):
    ratio, eta = np.array([1.4, 2.2, 3.0]), np.array([0.65, 0.75, 0.70])
    against(
        f"{ROOM}.compressor.outlet_temperature",
        got=c.outlet_temperature(inlet_temperature=298.15, pressure_ratio=ratio, efficiency=eta),
        expected=np.array([
            fluids.isentropic_T_rise_compression(298.15, 1e5, float(r) * 1e5, 1.4, float(n))
            for r, n in zip(ratio, eta, strict=True)]),
        rel=1e-9,
        source="fluids 1.3, isentropic_T_rise_compression",
    )  # fmt: skip


@pytest.mark.textbook
def test_outlet_temperature_gupta(against):
    got = c.outlet_temperature(inlet_temperature=290.0, pressure_ratio=1.8 / 0.98, efficiency=0.80)
    against(
        f"{ROOM}.compressor.outlet_temperature",
        got=got - 273.0,
        expected=86.0,
        abs=0.5,
        source=GUPTA + "example 15.6",
        note="printed to the degree, 0 °C taken as 273",
    )


@pytest.mark.cross_model
def test_compressor_power_library(against):
    work = fluids.isentropic_work_compression(
        T1=298.15, k=1.4, Z=1.0, P1=1e5, P2=2.2e5, eta=0.75
    )  # J/mol
    hot = c.outlet_temperature(inlet_temperature=298.15, pressure_ratio=2.2, efficiency=0.75)
    against(
        f"{ROOM}.compressor.compressor_power",
        got=c.compressor_power(flow=0.25, inlet_temperature=298.15, outlet_temperature=hot),
        expected=0.25 * work / 28.9647e-3,
        rel=4e-4,
        source="fluids 1.3, isentropic_work_compression",
        note="c_p 1005 here against 7/2·R = 1004.7 there",
    )


@pytest.mark.textbook
def test_turbo_balance_gupta(against):
    """76.6 % of the turbine's work drives the compressor: so much of its drop, 850 to 775.2 K."""
    hot = c.outlet_temperature(inlet_temperature=290.0, pressure_ratio=1.8 / 0.98, efficiency=0.80)
    work = c.compressor_power(flow=1.0, inlet_temperature=290.0, outlet_temperature=hot)
    after = c.turbine_outlet_temperature(
        inlet_temperature=850.0, exhaust_flow=1.05, compressor_power=work, specific_heat=1150.0,
        mechanical_efficiency=1.0,
    )  # fmt: skip
    against(
        f"{ROOM}.compressor.turbine_outlet_temperature",
        got=(850.0 - after) / (850.0 - 775.2),
        expected=0.766,
        abs=0.001,
        source=GUPTA + "example 15.6",
        note="76.6 % printed; its temperatures carry half of a 0.1 % unit",
    )


@pytest.mark.textbook
def test_turbine_expansion_gupta(against):
    against(
        f"{ROOM}.compressor.turbine_expansion_ratio",
        got=c.turbine_expansion_ratio(
            inlet_temperature=850.0, outlet_temperature=775.2, turbine_efficiency=0.85, gamma=1.33
        ),
        expected=1.6 / 1.03,
        rel=0.01,
        source=GUPTA + "example 15.6: 1.6 to 1.03 bar",
        note="outlet printed to the degree: 0.5 K of a drop of 75 K",
    )


# A published compressor map: lines of corrected speed (share of design) with flow lb/s, pressure
# ratio, efficiency from surge side to choke side.
HPC = {
    0.70: ([13.119, 13.791, 14.235, 14.467], [2.6917, 2.4574, 2.1517, 1.7659],
           [0.7558, 0.7653, 0.7355, 0.6239]),
    0.75: ([15.487, 16.196, 16.638, 16.834], [3.1844, 2.8938, 2.5128, 2.0325],
           [0.7685, 0.7800, 0.7544, 0.6538]),
    0.80: ([18.810, 19.614, 20.073, 20.219], [3.9146, 3.5412, 3.0412, 2.4070],
           [0.7846, 0.7996, 0.7783, 0.6839]),
    0.85: ([24.726, 25.851, 26.444, 26.572], [5.2748, 4.7661, 4.0272, 3.0567],
           [0.8102, 0.8345, 0.8191, 0.7233]),
}  # fmt: skip
PYCYCLE = "NASA pyCycle, HPC map (Apache-2.0), four of its lines quoted"


def hpc_grid():
    lines = [
        m.SpeedLine(n, tuple(w), tuple(p), tuple(k)) for n, (w, p, k) in HPC.items()
    ]
    return m.make_grid(lines=lines, temperature=288.15, pressure=101325.0)


def hpc_points(column):
    inner = [(n, i) for n in (0.70, 0.75, 0.80) for i in (1, 2)]
    return np.array([HPC[n][column][i] if column >= 0 else n for n, i in inner])


@pytest.mark.measured
def test_map_efficiency_at_its_points(against):
    grid = hpc_grid()
    flow, ratio = hpc_points(0), hpc_points(1)
    against(
        f"{ROOM}.compressor_map.read_efficiency",
        got=m.read_efficiency(grid, m.find_row(grid, ratio), flow),
        expected=hpc_points(2),
        abs=0.01,
        source=PYCYCLE,
        note="a compressor stand knows efficiency to a point (SAE J1826, memory)",
    )


@pytest.mark.measured
def test_map_speed_at_its_points(against):
    grid = hpc_grid()
    flow, ratio = hpc_points(0), hpc_points(1)
    against(
        f"{ROOM}.compressor_map.read_speed",
        got=m.read_speed(grid, m.find_row(grid, ratio), flow, ratio),
        expected=hpc_points(-1),
        rel=0.005,
        source=PYCYCLE,
        note="a compressor stand knows speed to half a percent (SAE J1826, memory)",
    )


@pytest.mark.measured
def test_map_edges(against):
    grid = hpc_grid()
    surge = np.array([HPC[n][1][0] for n in HPC])
    choke = np.array([HPC[n][1][-1] for n in HPC])
    against(
        f"{ROOM}.compressor_map.surge_flow",
        got=np.concatenate([
            m.surge_flow(grid, m.find_row(grid, surge)),
            m.choke_flow(grid, m.find_row(grid, choke)),
        ]),
        expected=np.array([HPC[n][0][i] for i in (0, -1) for n in HPC]),
        rel=0.01,
        source=PYCYCLE,
        note="a compressor stand knows flow to a percent (SAE J1826, memory)",
    )  # fmt: skip


@pytest.mark.measured
def test_map_grid(against):
    """The highest ratio of the grid, and the speeds at the ends of its lines' own points."""
    grid = hpc_grid()
    against(
        f"{ROOM}.compressor_map.make_grid",
        got=np.array([grid.ratio_top, grid.surge[-1], grid.ceiling_flow[-1]]),
        expected=np.array([5.2748, 24.726, 26.572]),
        rel=1e-6,
        source=PYCYCLE,
        note="the corners of a map are its own points",
    )


@pytest.mark.measured
def test_map_top(against):
    grid = hpc_grid()
    w, p, _ = HPC[0.85]
    against(
        f"{ROOM}.compressor_map.highest_ratio",
        got=m.highest_ratio(grid, np.array([w[0], w[1], 18.810])),
        expected=np.array([p[0], p[1], 3.9146]),
        rel=0.01,
        source=PYCYCLE,
        note="top line and surge line; flow known to a percent",
    )
