"""Lines, pumps and the network against handbooks, makers' rules and libraries."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest

from drybuild.systems.fuel import hydraulics, network, pump, tables

FORMULAS = "drybuild.systems.fuel"
LB, GALLON, FOOT, PSI = 0.45359237, 3.785411784e-3, 0.3048, 6894.757293


# --- hydraulics -------------------------------------------------------------------------------


@pytest.mark.cross_model
def test_friction_against_an_independent_library(against):
    numbers = np.geomspace(4e3, 1e6, 25)
    for roughness in (0.0, 1e-4, 1e-3, 1e-2):
        got = hydraulics.friction_colebrook(reynolds_number=numbers, relative_roughness=roughness)
        expected = [fluids.friction.Clamond(n, roughness) for n in numbers]
        against(
            f"{FORMULAS}.hydraulics.friction_colebrook", got=got, expected=expected, rel=1e-6,
            source="fluids 1.3 Clamond, Colebrook's equation to machine accuracy",
        )  # fmt: skip
        got = hydraulics.friction_haaland(reynolds_number=numbers, relative_roughness=roughness)
        expected = [fluids.friction.Haaland(n, roughness) for n in numbers]
        against(
            f"{FORMULAS}.hydraulics.friction_haaland", got=got, expected=expected, rel=1e-9,
            source="fluids 1.3 Haaland",
        )  # fmt: skip


@pytest.mark.cross_model
def test_laminar_friction(against):
    got = hydraulics.friction_factor(
        reynolds_number=np.array([500.0, 2000.0]), relative_roughness=0.0
    )
    expected = [fluids.friction_factor(Re=n) for n in (500.0, 2000.0)]
    against(
        f"{FORMULAS}.hydraulics.friction_factor", got=got, expected=expected, rel=1e-12,
        source="fluids 1.3, laminar 64/Re",
    )  # fmt: skip


@pytest.mark.textbook
def test_oil_in_cast_iron(against):
    # White: rho 900, nu 1e-5, 0.2 m3/s, 200 mm, eps 0.26 mm, 500 m: h_f about 117 m
    loss = hydraulics.line_loss(
        flow=0.2, bore=0.2, length=500.0, density=900.0, viscosity=9e-3, roughness=0.26e-3
    )
    against(
        f"{FORMULAS}.hydraulics.line_loss", got=loss / (900 * 9.81), expected=117.0, abs=0.5,
        source="White, Fluid Mechanics, example 6.7 (statement from memory)",
        note="book reads f from the Moody chart",
    )  # fmt: skip


@pytest.mark.textbook
def test_water_in_stainless(against):
    flow, rho = 6e-3, 999.1
    loss = hydraulics.line_loss(
        flow=flow, bore=0.05, length=60.0, density=rho, viscosity=1.138e-3, roughness=2e-6
    )
    power = pump.hydraulic_power(flow=flow, pressure=loss)
    against(
        f"{FORMULAS}.hydraulics.line_loss", got=loss / 1e3, expected=96.5, rel=0.02,
        source="Cengel & Cimbala, Fluid Mechanics, example 8-3", note="Haaland: within 2 %",
    )  # fmt: skip
    against(
        f"{FORMULAS}.pump.hydraulic_power", got=power, expected=579.0, rel=0.02,
        source="Cengel & Cimbala, example 8-3",
    )  # fmt: skip


@pytest.mark.textbook
def test_fuel_lines_worked(against):
    # 3 m at 300 L/h, smooth 1.5 um; bores as sold under ONE dash size differ 2.4 times in loss
    flow = 300 / 3.6e6
    bores = np.array([0.344, 5 / 16, 13 / 32, 0.438, 3 / 16]) * 0.0254
    got = hydraulics.line_loss(flow=flow, bore=bores, length=3.0, density=745.0, viscosity=0.5e-3)
    expected = [
        fluids.friction.Clamond(745 * 4 * flow / (math.pi * b * 0.5e-3), 1.5e-6 / b)
        * 3.0 / b * 745 / 2 * (4 * flow / (math.pi * b**2)) ** 2
        for b in bores
    ]  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.line_loss", got=got / 1e3, rel=0.02,
        expected=[6.641, 10.509, 3.004, 2.099, 122.27],
        source="Darcy–Weisbach with Colebrook, worked apart (kPa)",
        note="Haaland (1983) claims 2 % of Colebrook",
    )  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.line_loss", got=got, expected=expected, rel=0.02,
        source="fluids 1.3 Clamond in the definition, Haaland's claim of 2 %",
    )  # fmt: skip
    elbow = hydraulics.fittings_loss(flow=flow, bore=0.344 * 0.0254, density=745.0, fittings=0.9)
    against(
        f"{FORMULAS}.hydraulics.fittings_loss", got=elbow / 1e3, expected=0.648, abs=1e-3,
        source="K rho v^2 / 2 by hand, one elbow",
    )  # fmt: skip


@pytest.mark.cross_model
def test_elbow_coefficient(against):
    sizes = np.array([2.067, 1.049, 0.622]) * 0.0254
    got = hydraulics.full_turbulence_friction(bore=sizes)
    against(
        f"{FORMULAS}.hydraulics.full_turbulence_friction", got=got,
        expected=[0.019, 0.022, 0.026], abs=6e-4,
        source="Crane TP-410 (2009), A-27: 2, 1 and 1/2 in pipe", note="table rounded to 0.001",
    )  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.full_turbulence_friction", got=got,
        expected=[fluids.ft_Crane(s) for s in sizes], rel=0.02, source="fluids 1.3 ft_Crane",
    )  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.elbow_loss_coefficient",
        got=hydraulics.elbow_loss_coefficient(bore=0.5 * 0.0254), expected=0.81, abs=0.02,
        source="Crane TP-410, A-29: 30 f_T at 1/2 in",
    )  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.expansion_loss_coefficient",
        got=hydraulics.expansion_loss_coefficient(area_ratio=0.25),
        expected=fluids.diffuser_sharp(Di1=1.0, Di2=2.0), rel=1e-9,
        source="fluids 1.3 diffuser_sharp (Borda–Carnot)",
    )  # fmt: skip


@pytest.mark.textbook
def test_pump_of_crane(against):
    # 100 US gpm at 421 ft of water, 70 % efficient: 15.2 hp
    head = 62.364 * LB / FOOT**3 * 9.80665 * 421 * FOOT
    power = pump.hydraulic_power(flow=100 * GALLON / 60, pressure=head) / 0.70
    against(
        f"{FORMULAS}.pump.hydraulic_power", got=power / 745.6999, expected=15.2, abs=0.05,
        source="Crane TP-410, example 7-15",
    )  # fmt: skip
    ratio = 1700 / 3500
    got = [
        pump.affinity_flow(flow=400.0, speed_ratio=ratio),
        pump.affinity_pressure(pressure=126.0, speed_ratio=ratio),
        pump.affinity_power(power=17.5, speed_ratio=ratio),
    ]
    against(
        f"{FORMULAS}.pump.affinity_flow", got=got, expected=[194.286, 29.726, 2.0053],
        rel=3e-5, source="Crane TP-410, example 7-33",
    )  # fmt: skip


@pytest.mark.textbook
def test_pump_current(against):
    got = [
        pump.electric_current(
            power=pump.hydraulic_power(flow=q / 3.6e6, pressure=p), efficiency=e, voltage=13.5
        )
        for q, p, e in ((255.0, 400e3, 0.30), (340.0, 500e3, 0.25))
    ]
    against(
        f"{FORMULAS}.pump.electric_current", got=got, expected=[6.996, 13.99], rel=1e-3,
        source="Q dp / (eta U) by hand: 28.33 W / 0.30 / 13.5 V and 47.22 W / 0.25 / 13.5 V",
    )  # fmt: skip


@pytest.mark.textbook
def test_suction_of_crane(against):
    # Tank 5 psig, water 60 F (62.364 lb/ft3, 0.256 psia), lift 25 ft, loss 6 ft: 13.887 ft
    rho = 62.364 * LB / FOOT**3
    got = hydraulics.net_positive_suction(
        surface_pressure=(14.696 + 5) * PSI, vapour_pressure=0.256 * PSI, density=rho,
        height=-25 * FOOT, loss=rho * 9.80665 * 6 * FOOT,
    )  # fmt: skip
    against(
        f"{FORMULAS}.hydraulics.net_positive_suction", got=got / (rho * 9.80665) / FOOT,
        expected=13.887, abs=0.01, source="Crane TP-410, example 7-32",
    )  # fmt: skip


@pytest.mark.practice
def test_a_pump_loses_more_flow_than_voltage(against):
    # 13.5 to 12 V costs 11 % speed and about 15 to 25 % of the flow at high pressure
    ratio = pump.speed_ratio(
        voltage=12.0, rated_voltage=13.5, current=14.0, winding_resistance=0.10
    )
    flow = pump.flow_at_voltage(rated_flow=340.0, rated_free_flow=440.0, ratio=ratio)
    against(
        f"{FORMULAS}.pump.flow_at_voltage", got=1 - flow / 340.0, expected=0.20, abs=0.05,
        source="practice: 15 to 25 % of delivered flow at high pressure",
    )  # fmt: skip


@pytest.mark.practice
def test_a_pump_far_too_large_overloads_the_return(against):
    """One rail and return line, two pumps: only the large one lifts the idle rail."""
    pressures = np.linspace(0.0, 800e3, network.NODES)

    def idle_rail(litres_an_hour: float) -> float:
        rated = (np.interp(pressures, [0, 800e3], [1.12, 0.62]) * litres_an_hour / 3.6e6)[:, None]
        supply = network.supply_side(
            pressures=pressures, rated_flow=rated, current=np.full_like(rated, 10.0),
            supply_voltage=13.5, circuit_resistance=0.0, rated_voltage=13.5,
            winding_resistance=0.0,
            loss=lambda q: hydraulics.line_loss(
                flow=q, bore=8e-3, length=3.0, density=745.0, viscosity=0.5e-3
            ),
        )  # fmt: skip
        back = network.return_side(
            highest_flow=float(rated.max()),
            loss=lambda q: hydraulics.line_loss(
                flow=q, bore=6e-3, length=5.0, density=745.0, viscosity=0.5e-3, fittings=14.0
            ),
        )
        point = network.working_point(
            supply=supply, back=back, demand=np.array([[2e-7]]), set_pressure=np.array([[240e3]])
        )
        return float(point.rail_pressure[0, 0])

    against(
        f"{FORMULAS}.network.working_point", got=idle_rail(120.0), expected=240e3, abs=500.0,
        source="practice: a fitting pump leaves the regulator in charge at idle",
    )  # fmt: skip
    assert idle_rail(520.0) > 255e3


@pytest.mark.textbook
def test_reynolds_numbers_of_the_books(against):
    got = [
        hydraulics.reynolds(flow=0.2, bore=0.2, density=900.0, viscosity=9e-3),
        hydraulics.reynolds(flow=6e-3, bore=0.05, density=999.1, viscosity=1.138e-3),
    ]
    against(
        f"{FORMULAS}.hydraulics.reynolds", got=got, expected=[128000, 134000], rel=0.006,
        source="White, example 6.7; Cengel & Cimbala, example 8-3", note="books round to 3 figures",
    )  # fmt: skip


@pytest.mark.authority
def test_a_part_known_at_one_flow(against):
    # Flow coefficient: Cv = Q sqrt(SG/dp), US gpm and psi: 10 gpm at 1 psi is 20 gpm at 4 psi
    got = hydraulics.scaled_loss(flow=20.0, rated_flow=10.0, rated_loss=1.0)
    heavier = hydraulics.scaled_loss(
        flow=10.0, rated_flow=10.0, rated_loss=1.0, density=0.79, rated_density=1.0
    )
    against(
        f"{FORMULAS}.hydraulics.scaled_loss", got=[got, heavier], expected=[4.0, 0.79], rel=1e-12,
        source="IEC 60534, flow coefficient (memory)",
    )  # fmt: skip


@pytest.mark.textbook
def test_even_draw_off(against):
    # Christiansen's factor for a line with many even outlets and loss with the square of flow
    args = {"bore": 8e-3, "length": 0.3, "density": 745.0, "viscosity": 0.5e-3}
    drop = hydraulics.rail_drop(injected=5e-5, passing=0.0, **args)
    whole = hydraulics.line_loss(flow=5e-5, **args)
    outlets = 1000
    factor = 1 / 3 + 1 / (2 * outlets) + 1 / (6 * outlets**2)
    against(
        f"{FORMULAS}.hydraulics.rail_drop", got=drop / whole, expected=factor, abs=1e-3,
        source="Christiansen (1942), multiple outlets, exponent 2 (memory)",
    )  # fmt: skip


@pytest.mark.textbook
def test_voltage_at_the_pump(against):
    got = pump.terminal_voltage(supply_voltage=13.8, current=18.0, circuit_resistance=0.040)
    against(
        f"{FORMULAS}.pump.terminal_voltage", got=got, expected=13.08, rel=1e-12,
        source="13.8 V − 18 A x 40 mohm by hand",
    )  # fmt: skip
    ratio = pump.speed_ratio(voltage=12.0, rated_voltage=13.5, current=15.0)
    against(
        f"{FORMULAS}.pump.speed_ratio", got=ratio, expected=0.889, abs=6e-4,
        source="permanent-magnet motor: speed with voltage, 12/13.5",
    )  # fmt: skip
    # 15 A through 0.1 ohm leave 10.5 of 12 V and 12.0 of 13.5 V: 0.875
    ratio = pump.speed_ratio(
        voltage=12.0, rated_voltage=13.5, current=15.0, winding_resistance=0.1
    )
    against(
        f"{FORMULAS}.pump.speed_ratio", got=ratio, expected=0.875, rel=1e-12,
        source="back voltage by hand: 10.5/12.0",
    )  # fmt: skip
    ratio = 1700 / 3500
    against(
        f"{FORMULAS}.pump.affinity_pressure",
        got=pump.affinity_pressure(pressure=126.0, speed_ratio=ratio), expected=29.726, abs=6e-4,
        source="Crane TP-410, example 7-33",
    )  # fmt: skip
    against(
        f"{FORMULAS}.pump.affinity_power", got=pump.affinity_power(power=17.5, speed_ratio=ratio),
        expected=2.0053, abs=6e-5, source="Crane TP-410, example 7-33",
    )  # fmt: skip


@pytest.mark.textbook
def test_tables_of_the_two_sides(against):
    """Both sides of the network against hand values at one node each."""
    pressures = np.array([0.0, 400e3])
    side = network.supply_side(
        pressures=pressures, rated_flow=np.array([[400.0], [300.0]]) / 3.6e6,
        current=np.array([[8.0], [15.0]]), supply_voltage=12.9, circuit_resistance=0.060,
        rated_voltage=13.5, winding_resistance=0.1, loss=lambda q: 5e12 * q**2,
    )  # fmt: skip
    # at 4 bar: 12.9 − 15 x 0.06 = 12.0 V; speed 10.5/12 = 0.875; 300 − 400 x 0.125 = 250 L/h
    against(
        f"{FORMULAS}.network.supply_side", got=side.flow.values[1, 0] * 3.6e6, expected=250.0,
        rel=1e-9, source="pump at its own terminals, by hand",
    )  # fmt: skip
    # 340 L/h through the 8.738 mm bore of 3 m: by Colebrook (fluids) in the definition
    flow, bore = 340 / 3.6e6, 8.738e-3
    back = network.return_side(
        highest_flow=flow,
        loss=lambda q: hydraulics.line_loss(
            flow=q, bore=bore, length=3.0, density=745.0, viscosity=0.5e-3
        ),
    )
    speed = 4 * flow / (math.pi * bore**2)
    factor = fluids.friction.Clamond(745 * speed * bore / 0.5e-3, 1.5e-6 / bore)
    against(
        f"{FORMULAS}.network.return_side", got=back.loss.values[-1, 0],
        expected=factor * 3.0 / bore * 745 / 2 * speed**2, rel=0.02,
        source="fluids 1.3 Clamond in Darcy–Weisbach; Haaland claims 2 %",
    )  # fmt: skip


@pytest.mark.cross_model
def test_working_point_of_a_quadratic_network(against):
    """Straight pump curve and square losses: a quadratic that has a closed solution."""
    # p = 800 kPa (1 − Q/Qm); supply a Q², way back b Q², no demand: 800k − sQ = (a + b) Q²
    most, a, b = 600 / 3.6e6, 2e12, 9e12
    pressures = np.linspace(0.0, 800e3, network.NODES)
    side = network.supply_side(
        pressures=pressures, rated_flow=(most * (1 - pressures / 800e3))[:, None],
        current=np.ones((network.NODES, 1)), supply_voltage=13.5, circuit_resistance=0.0,
        rated_voltage=13.5, winding_resistance=0.0, loss=lambda q: a * q**2,
    )  # fmt: skip
    back = network.return_side(highest_flow=most, loss=lambda q: b * q**2)
    point = network.working_point(
        supply=side, back=back, demand=np.zeros((1, 1)), set_pressure=np.full((1, 1), 50e3)
    )
    slope = 800e3 / most
    root = np.roots([a + b, slope, -800e3])
    flow = float(root[root > 0][0])
    against(
        f"{FORMULAS}.network.working_point", got=point.rail_pressure[0, 0], expected=b * flow**2,
        abs=network.TOLERANCE, source="closed solution of the quadratic (numpy.roots)",
        note="the solver's own tolerance and the tables' steps",
    )  # fmt: skip


@pytest.mark.textbook
def test_search_on_a_known_root(against):
    # x = cos x at 0.7390851332; x³ = 2 at 1.2599210499
    found, _ = tables.search(
        miss=lambda x: np.array([x[0] - math.cos(x[0]), x[1] ** 3 - 2]), low=np.zeros(2),
        high=np.full(2, 2.0), tolerance=1e-11,
    )  # fmt: skip
    against(
        f"{FORMULAS}.tables.search", got=found, expected=[0.7390851332, 1.2599210499], abs=1e-9,
        source="fixed point of the cosine; cube root of two",
    )  # fmt: skip
