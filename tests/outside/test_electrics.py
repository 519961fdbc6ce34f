"""Wire, contact and fuse formulas against standards' tables and hand computation."""

from __future__ import annotations

import ht
import numpy as np
import pytest

from drybuild.systems.electrics import formulas

FORMULAS = "drybuild.systems.electrics.formulas"
MM2 = 1e-6


@pytest.mark.authority
def test_class_5_conductors(against):
    sizes = np.array([0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25])
    got = formulas.wire_resistance(section=sizes * MM2, road_vehicle=False)
    against(
        f"{FORMULAS}.wire_resistance", got=got * 1e3,
        expected=[39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780], abs=1e-9,
        source="IEC 60228, class 5, plain copper, ohm/km at 20 °C",
    )  # fmt: skip


@pytest.mark.authority
def test_vehicle_wire_lies_between_solid_copper_and_class_5(against):
    sizes = np.array([0.5, 1.0, 2.5, 6.0, 16.0]) * MM2
    vehicle = formulas.wire_resistance(section=sizes)
    solid = formulas.solid_resistance(section=sizes)
    class_5 = formulas.wire_resistance(section=sizes, road_vehicle=False)
    assert np.all(vehicle > solid)
    assert np.all(vehicle < class_5)
    against(
        f"{FORMULAS}.wire_resistance", got=vehicle * 1e3, expected=[37.1, 18.5, 7.6, 3.14, 1.16],
        abs=1e-9, source="ISO 6722-1, bare copper, mohm/m at 20 °C (memory)",
    )  # fmt: skip


@pytest.mark.authority
def test_american_gauges(against):
    gauges = np.array([20.0, 18, 16, 14, 12, 10, 8])
    area = formulas.awg_area(gauge=gauges)
    against(
        f"{FORMULAS}.awg_area", got=area / MM2,
        expected=[0.5176, 0.8230, 1.3087, 2.0809, 3.3088, 5.2612, 8.3656], abs=6e-5,
        source="ASTM B258, cross-section mm²",
    )  # fmt: skip
    # Circular mils: 10 AWG is 10 380 cmil; one is pi/4 (0.0254 mm)^2
    against(
        f"{FORMULAS}.awg_area", got=area[5] / (np.pi / 4 * 25.4e-6**2), expected=10380, rel=5e-4,
        source="ASTM B258, 10 AWG in circular mils", note="four figures",
    )  # fmt: skip
    against(
        f"{FORMULAS}.solid_resistance", got=formulas.solid_resistance(section=area) * 1e3,
        expected=[33.31, 20.95, 13.17, 8.285, 5.211, 3.277, 2.061], rel=1e-3,
        source="copper wire tables for solid wire, mohm/m at 20 °C",
    )  # fmt: skip


@pytest.mark.authority
def test_copper_with_temperature(against):
    kelvin = np.array([20.0, 40.0, 60.0]) + 273.15
    got = 1 / formulas.resistance_at(resistance_20=1.0, temperature=kelvin)
    against(
        f"{FORMULAS}.resistance_at", got=got, expected=[1.0, 0.926, 0.862], abs=0.003,
        source="IEC 60228 annex B, correction k_t at 20, 40, 60 °C",
    )  # fmt: skip


@pytest.mark.textbook
def test_circuit_by_hand(against):
    # 4 m of 4 mm² feed (4.71) and 1 m of 2.5 mm² earth (7.6), 70 °C, 8 mohm of contacts:
    # (18.84 + 7.6) x (1 + 0.00393 x 50) + 8 = 26.44 x 1.1965 + 8 = 39.635 mohm; at 18 A 0.7134 V
    resistance = formulas.circuit_resistance(
        feed_length=4.0, earth_length=1.0, section=4 * MM2, earth_section=2.5 * MM2,
        conductor_temperature=343.15, contact_resistance=8e-3,
    )  # fmt: skip
    against(
        f"{FORMULAS}.circuit_resistance", got=resistance * 1e3, expected=39.635, abs=6e-4,
        source="hand: both ways in hot copper plus contacts",
    )  # fmt: skip
    against(
        f"{FORMULAS}.voltage_drop",
        got=formulas.voltage_drop(current=18.0, resistance=resistance), expected=0.7134, abs=6e-5,
        source="hand: 18 A x 39.635 mohm",
    )  # fmt: skip


@pytest.mark.practice
def test_wire_drop_per_foot_rule(against):
    # The installers' rule in US units: drop = 21.6 (two ways 10.8 ohm cmil/ft) x A x ft / cmil;
    # 10 AWG (10 380 cmil), 15 ft one way, 20 A: 0.624 V, at about 25 °C
    area = float(formulas.awg_area(gauge=10.0))
    one_way = formulas.solid_resistance(section=area) * 15 * 0.3048
    resistance = formulas.resistance_at(resistance_20=2 * one_way, temperature=298.15)
    against(
        f"{FORMULAS}.voltage_drop",
        got=formulas.voltage_drop(current=20.0, resistance=resistance), expected=0.624, rel=0.03,
        source="installers' rule with 10.8 ohm cmil/ft (memory)", note="10.4 to 10.8 in use",
    )  # fmt: skip


@pytest.mark.authority
def test_fuse_rule(against):
    against(
        f"{FORMULAS}.fuse_needed", got=formulas.fuse_needed(current=18.0), expected=24.0, abs=0.01,
        source="fuse makers' guide: 75 % of rating at room temperature; 18 A needs 24 A",
    )  # fmt: skip
    got = formulas.fuse_load_slack(rating=25.0, current=18.0)
    against(
        f"{FORMULAS}.fuse_load_slack", got=got, expected=0.75, abs=1e-12,
        source="the same guide: a 25 A fuse carries 18.75 A",
    )  # fmt: skip


@pytest.mark.practice
def test_wire_current_of_the_tables(against):
    # 2.5 mm² single wire in free air, 40 °C around, PVC to 90 °C: tables give about 26 to 38 A
    got = formulas.wire_current_limit(
        section=2.5 * MM2, outer_diameter=3.6e-3, ambient_temperature=313.15,
        insulation_temperature=363.15,
    )  # fmt: skip
    against(
        f"{FORMULAS}.wire_current_limit", got=got, expected=32.0, abs=6.0,
        source="practice: single thin-wall vehicle wire, current tables (memory)",
    )  # fmt: skip


@pytest.mark.textbook
def test_wire_temperature_closes_the_heat_balance(against):
    # At the temperature found, heat made equals heat shed: checked with the definitions alone
    found = formulas.conductor_temperature(
        current=18.0, section=2.5 * MM2, outer_diameter=3.6e-3, ambient_temperature=333.15
    )
    made = 18.0**2 * 7.6e-3 * (1 + 0.00393 * (found - 293.15))
    shed = 16.0 * np.pi * 3.6e-3 * (found - 333.15)
    against(
        f"{FORMULAS}.conductor_temperature", got=made, expected=shed, rel=1e-9,
        source="heat balance, 7.6 mohm/m",
    )  # fmt: skip


@pytest.mark.cross_model
def test_heat_transfer_of_a_thin_wire(against):
    """The figure for one wire in still air: free convection and radiation by an own model."""
    diameter, warm, air = 3.6e-3, 353.15, 318.15
    film = (warm + air) / 2
    conductivity, viscosity, diffusivity = 0.0285, 1.87e-5, 2.65e-5  # air at 62 °C
    rayleigh = 9.81 / film * (warm - air) * diameter**3 / (viscosity * diffusivity)
    nusselt = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(
        Pr=viscosity / diffusivity, Gr=rayleigh * diffusivity / viscosity
    )
    free = nusselt * conductivity / diameter
    radiated = 0.9 * 5.670374e-8 * (warm**2 + air**2) * (warm + air)
    section, current = 2.5 * MM2, 18.0
    got = formulas.conductor_temperature(
        current=current, section=section, outer_diameter=diameter, ambient_temperature=air
    )
    expected = formulas.conductor_temperature(
        current=current, section=section, outer_diameter=diameter, ambient_temperature=air,
        heat_transfer=free + radiated,
    )  # fmt: skip
    against(
        f"{FORMULAS}.conductor_temperature", got=got, expected=expected, abs=6.0,
        source="ht 1.2, Churchill and Chu on a horizontal cylinder, with radiation",
        note="our figure is the lower one, so the wire comes out warmer",
    )  # fmt: skip
    assert got > expected


@pytest.mark.practice
def test_allowed_drop_of_main_consumers(against):
    got = formulas.allowed_drop(supply_voltage=12.5, share=0.04)
    against(
        f"{FORMULAS}.allowed_drop", got=got, expected=0.5, abs=0.005,
        source="Bosch Automotive Handbook, cable sizing: 0.5 V for main consumers (memory)",
    )  # fmt: skip
