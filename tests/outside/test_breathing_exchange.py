"""Exchangers, ducts, exhaust and the joint solver against handbooks and libraries."""

from __future__ import annotations

from math import pi

import fluids
import ht
import numpy as np
import pytest
from scipy.optimize import brentq

from drybuild.systems.breathing import air as a
from drybuild.systems.breathing import exchange as x
from drybuild.systems.breathing import exhaust as ex
from drybuild.systems.breathing import solve as s

ROOM = "drybuild.systems.breathing"
RPM = pi / 30.0
INCROPERA = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, "


# exchangers and ducts


@pytest.mark.cross_model
def test_crossflow_series(against):
    n, r = np.array([0.3, 1.0, 2.0, 3.0, 6.0]), np.array([0.25, 0.5, 0.5, 0.25, 1.0])
    against(
        f"{ROOM}.exchange.crossflow_series",
        got=x.crossflow_series(ntu=n, capacity_ratio=r),
        expected=np.array([
            ht.effectiveness_from_NTU(float(i), float(j), "crossflow")
            for i, j in zip(n, r, strict=True)]),
        rel=1e-9,
        source="ht 1.2, effectiveness_from_NTU, crossflow exact (integral form)",
    )  # fmt: skip


@pytest.mark.cross_model
def test_crossflow_table(against):
    n, r = np.meshgrid(np.linspace(0.1, 9.0, 23), np.linspace(0.03, 1.0, 12))
    exact = np.vectorize(lambda i, j: ht.effectiveness_from_NTU(i, j, "crossflow"))(n, r)
    against(
        f"{ROOM}.exchange.effectiveness_crossflow",
        got=x.effectiveness_crossflow(ntu=n, capacity_ratio=r),
        expected=exact,
        abs=1e-4,
        source="ht 1.2, effectiveness_from_NTU, crossflow exact",
        note="the formula's own stated distance from the series",
    )


@pytest.mark.textbook
def test_conductance_incropera(against):
    """Exhaust 300 to 100 °C heats water 35 to 125 °C, U 100 W/m2K: 39.7 m2."""
    cold = 4197.0
    hot = cold * (125.0 - 35.0) / (300.0 - 100.0)
    got = x.conductance_from_effectiveness(
        effectiveness=(300.0 - 100.0) / (300.0 - 35.0), hot_capacity=hot, cold_capacity=cold
    )
    against(
        f"{ROOM}.exchange.conductance_from_effectiveness",
        got=got / 100.0,
        expected=39.7,
        rel=0.05 / 2.1,
        source=INCROPERA + "example 11.3",
        note="the book reads NTU 2.1 off a chart, two figures",
    )


@pytest.mark.textbook
def test_conductance_at_air_speed(against):
    """Air side h ~ Re^0.8, half of the resistance: 1/UA adds the halves."""
    sides = 1.0 / (0.5 / 300.0 + 0.5 / (300.0 * 2.0**0.8))
    against(
        f"{ROOM}.exchange.conductance_at_air_speed",
        got=x.conductance_at_air_speed(conductance=300.0, air_speed=12.0, rated_air_speed=6.0),
        expected=sides,
        rel=1e-9,
        source=INCROPERA + "Dittus–Boelter exponent 0.8, resistances in a row",
    )


@pytest.mark.textbook
def test_cooled_temperature(against):
    against(
        f"{ROOM}.exchange.cooled_temperature",
        got=x.cooled_temperature(
            inlet_temperature=393.15, coolant_temperature=298.15, effectiveness=0.75
        )
        - 273.15,
        expected=48.75,
        abs=1e-9,
        source="definition of effectiveness: 120 °C, air 25 °C, 0.75, by hand",
    )


@pytest.mark.textbook
def test_density_ratio(against):
    """By densities: 220 kPa at 120 °C is 1.9494 kg/m3, 212 kPa at 48.75 °C is 2.2943."""
    against(
        f"{ROOM}.exchange.density_ratio",
        got=x.density_ratio(
            pressure_in=220e3, pressure_out=212e3, temperature_in=393.15, temperature_out=321.9
        ),
        expected=2.2943 / 1.9494,
        rel=1e-4,
        source="ideal gas, densities to five digits",
    )


@pytest.mark.cross_model
def test_exchanger_heat(against):
    """0.25 kg/s at 120 °C against 0.80 kg/s at 25 °C, UA 300 W/K."""
    hot, cold = 0.25 * 1005.0, 0.80 * 1005.0
    found = ht.effectiveness_NTU_method(
        mh=0.25, mc=0.80, Cph=1005.0, Cpc=1005.0, subtype="crossflow", Thi=393.15, Tci=298.15,
        UA=300.0,
    )  # fmt: skip
    share = x.crossflow_series(ntu=300.0 / hot, capacity_ratio=hot / cold)
    against(
        f"{ROOM}.exchange.exchanger_heat",
        got=x.exchanger_heat(effectiveness=share, least_capacity=hot, inlet_difference=95.0),
        expected=found["Q"],
        rel=1e-9,
        source="ht 1.2, effectiveness_NTU_method",
    )


@pytest.mark.cross_model
def test_charge_temperature(against):
    """The same cooler at its rated air speed."""
    found = ht.effectiveness_NTU_method(
        mh=0.25, mc=0.80, Cph=1005.0, Cpc=1005.0, subtype="crossflow", Thi=393.15, Tci=298.15,
        UA=300.0,
    )  # fmt: skip
    against(
        f"{ROOM}.exchange.charge_temperature",
        got=x.charge_temperature(
            flow=0.25, temperature_in=393.15, air_temperature=298.15, conductance=300.0,
            cold_capacity=0.80 * 1005.0, air_speed=8.0, rated_air_speed=8.0,
        ),
        expected=found["Tho"],
        abs=0.01,
        source="ht 1.2, effectiveness_NTU_method",
        note="effectiveness to 1e-4 of 95 K",
    )  # fmt: skip


@pytest.mark.cross_model
def test_scaled_pressure_loss(against):
    """A bend of K = 3 in a 60 mm pipe, from one flow and density to another."""
    area = pi / 4.0 * 0.06**2

    def bend(flow: float, density: float) -> float:
        return float(fluids.dP_from_K(K=3.0, rho=density, V=flow / (density * area)))

    against(
        f"{ROOM}.exchange.scaled_pressure_loss",
        got=x.scaled_pressure_loss(
            loss=bend(0.13, 1.7), at_flow=0.13, at_density=1.7, flow=0.21, density=2.3
        ),
        expected=bend(0.21, 2.3),
        rel=1e-9,
        source="fluids 1.3, dP_from_K",
    )


@pytest.mark.textbook
def test_core_pressure_loss(against):
    against(
        f"{ROOM}.exchange.scaled_pressure_loss",
        got=x.scaled_pressure_loss(
            loss=1.0, at_flow=1.0, at_density=1.0, flow=1.5, density=1.0, exponent=1.8
        ),
        expected=2.0747,
        abs=0.00005,
        source="Kays and London, core friction with f ~ Re^-0.2: 1.5^1.8",
    )


# the exhaust


@pytest.mark.textbook
def test_gas_of_burned_petrol(against):
    """C8H18 + 12.5 (O2 + 3.773 N2*): 8 CO2 + 9 H2O + 47.16 N2*, N2* 28.16 g/mol."""
    moles = np.array([8.0, 9.0, 12.5 * 3.773])
    molar = float(moles @ np.array([44.01, 18.015, 28.16])) / float(moles.sum())
    against(
        f"{ROOM}.exhaust.gas_density",
        got=ex.gas_density(pressure=1e5, temperature=1000.0),
        expected=1e5 * molar / (8314.46 * 1000.0),
        rel=5e-4,
        source="Heywood (1988), section 3.4: products of isooctane",
        note="gas constant kept to four digits",
    )


@pytest.mark.textbook
def test_exhaust_flow(against):
    against(
        f"{ROOM}.exhaust.exhaust_flow",
        got=ex.exhaust_flow(air_flow=0.20, fuel_flow=0.20 / (14.7 * 0.8)),
        expected=0.20 * (1.0 + 1.0 / 11.76),
        rel=1e-9,
        source="conservation of mass",
    )


@pytest.mark.cross_model
def test_piece_loss(against):
    """A catalyst as K = 6 in 60 mm, from 700 K and 104 kPa to 1050 K and 98 kPa."""
    area = pi / 4.0 * 0.06**2

    def piece(flow: float, pressure: float, temperature: float) -> float:
        density = pressure / (289.6 * temperature)
        return float(fluids.dP_from_K(K=6.0, rho=density, V=flow / (density * area)))

    against(
        f"{ROOM}.exhaust.piece_loss",
        got=ex.piece_loss(
            loss=piece(0.14, 104e3, 700.0), at_flow=0.14, at_pressure=104e3, at_temperature=700.0,
            flow=0.23, pressure=98e3, temperature=1050.0,
        ),
        expected=piece(0.23, 98e3, 1050.0),
        rel=1e-9,
        source="fluids 1.3, dP_from_K, ideal gas",
    )  # fmt: skip


@pytest.mark.cross_model
def test_back_pressure_in_pieces(against):
    """Two pieces, from the tail forward, each at the pressure behind it."""
    area = pi / 4.0 * 0.06**2

    def piece(k: float, flow: float, pressure: float) -> float:
        density = pressure / (289.6 * 1000.0)
        return float(fluids.dP_from_K(K=k, rho=density, V=flow / (density * area)))

    pieces = [
        ex.Piece(piece(k, 0.14, 95e3), 0.14, 95e3, 1000.0) for k in (4.0, 2.0)
    ]
    first = piece(4.0, 0.22, 92e3)
    second = piece(2.0, 0.22, 92e3 + first)
    got, shares = ex.back_pressure(pieces=pieces, flow=0.22, temperature=1000.0, barometer=92e3)
    against(
        f"{ROOM}.exhaust.back_pressure",
        got=np.array([got, *shares]),
        expected=np.array([first + second, first, second]),
        rel=1e-9,
        source="fluids 1.3, dP_from_K, one piece after the other",
    )


# the solver


@pytest.mark.cross_model
def test_solver_against_root_finding(against):
    """One engine speed with constant efficiency, solved by a bracketing root finder instead."""
    outside = a.air_state(temperature=295.15, humidity=0.5, barometer=92e3)
    speed, ve, swept, target, t1 = 5500.0 * RPM, 0.94, 1.8e-3, 222e3, 301.15
    gas = 8.314472  # J/(mol K)
    molar = (1 + outside.humidity_ratio) / (
        1 / 28.96546e-3 + outside.humidity_ratio / 18.01528e-3
    )

    def miss(flow: float) -> float:
        p1 = 92e3 - 3000.0 * (flow / 0.2) ** 2
        t_mean, hot, cold = 350.0, 400.0, 310.0
        for _ in range(60):
            cooler = 7000.0 * (flow / 0.2) ** 2 * (2.3 / (target * molar / (gas * t_mean)))
            ratio = (target + cooler) / p1
            hot = t1 * (1 + (ratio ** (2 / 7) - 1) / 0.74)
            least, cold_flow = flow * 1005.0, 900.0
            found = ht.effectiveness_from_NTU(450.0 / least, least / cold_flow, "crossflow")
            cold = hot - found * (hot - 295.15)
            t_mean = 0.5 * (hot + cold)
        return ve * target * molar / (gas * cold) * swept * speed / (4 * pi) - flow

    flow = brentq(miss, 0.1, 0.3, xtol=1e-10)
    got = s.solve(
        air=outside, engine_speed=np.array([speed]), volumetric_efficiency=ve, displacement=swept,
        target_pressure=target, intake_loss=s.Loss(3000.0, 0.2, outside.density),
        intake_temperature_rise=6.0,
        compressor_=s.Compressor(reach=5.0, efficiency=0.74),
        cooler=s.ChargeCooler(450.0, 900.0, s.Loss(7000.0, 0.2, 2.3)),
    )  # fmt: skip
    against(
        f"{ROOM}.solve.solve",
        got=got.air_flow[0, 0],
        expected=flow,
        rel=s.TOLERANCE,
        source="scipy brentq on the same equations written out anew",
        note="the tolerance the solver states",
    )


@pytest.mark.practice
def test_pressure_loss_costs_density_one_for_one(against):
    """8 kPa of 220 kPa: 3.6 % of the density."""
    against(
        f"{ROOM}.exchange.density_ratio",
        got=1.0
        - x.density_ratio(
            pressure_in=220e3, pressure_out=212e3, temperature_in=320.0, temperature_out=320.0
        ),
        expected=0.036,
        abs=0.0005,
        source="practice of charge cooling",
    )
