"""Fuel formulas against tables, handbooks, worked examples and an independent library."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest

from drybuild.systems.fuel import hydraulics, injection, network, properties, pump, tables

FORMULAS = "drybuild.systems.fuel"
BTU_PER_LB = 2326.0  # J/kg
LB, GALLON, FOOT, PSI = 0.45359237, 3.785411784e-3, 0.3048, 6894.757293


def blend(volume: float) -> dict[str, float]:
    """Properties of an anhydrous blend by volume, with the reference petrol and ethanol."""
    mass = properties.ethanol_mass_fraction(ethanol_volume_fraction=volume)
    ethanol, petrol = properties.ETHANOL, properties.PETROL

    def mixed(name: str) -> float:
        return properties.by_mass(
            ethanol_mass_fraction=mass,
            ethanol_value=getattr(ethanol, name),
            petrol_value=getattr(petrol, name),
        )

    return {
        "mass": mass,
        "mole": properties.ethanol_mole_fraction(ethanol_mass_fraction=mass),
        "density": properties.blend_density(ethanol_volume_fraction=volume),
        "stoich": mixed("stoich"),
        "heating_value": mixed("heating_value"),
        "latent_heat": mixed("latent_heat"),
        "oxygen": mixed("oxygen"),
    }


# --- properties -------------------------------------------------------------------------------


@pytest.mark.textbook
def test_stoichiometric_ratio_by_oxygen_balance(against):
    # By hand: C2H5OH + 3 O2, C8H18 + 12.5 O2, C7H8 + 9 O2, CH3OH + 1.5 O2, each O2 with 3.7742
    # of the rest of dry air (20.946 %), so air = O2 moles x 138.283 g.
    per_oxygen = 28.9647 / 0.20946
    by_hand = [
        3 * per_oxygen / 46.069,
        12.5 * per_oxygen / 114.232,
        9 * per_oxygen / 92.141,
        1.5 * per_oxygen / 32.042,
    ]
    got = [
        properties.stoich_by_atoms(carbon=c, hydrogen=h, oxygen=o)
        for c, h, o in ((2, 6, 1), (8, 18, 0), (7, 8, 0), (1, 4, 1))
    ]
    against(
        f"{FORMULAS}.properties.stoich_by_atoms", got=got, expected=by_hand, rel=5e-5,
        source="oxygen balance written out by hand", note="molar masses to 0.001 g/mol",
    )  # fmt: skip


@pytest.mark.textbook
def test_stoichiometric_ratio_printed(against):
    got = [
        properties.stoich_by_atoms(carbon=2, hydrogen=6, oxygen=1),
        properties.stoich_by_atoms(carbon=8, hydrogen=18),
    ]
    against(
        f"{FORMULAS}.properties.stoich_by_atoms", got=got, expected=[9.00, 15.13], abs=0.006,
        source="Heywood (1988), table D.4 (memory)", note="printed to 0.01",
    )  # fmt: skip


@pytest.mark.authority
def test_tabulated_stoichiometric_ratio_agrees_with_the_atoms(against):
    against(
        f"{FORMULAS}.properties.PureFuel", got=properties.ETHANOL.stoich,
        expected=9.0, abs=0.05, source="US DOE AFDC, fuel property comparison, table 2",
    )  # fmt: skip
    # CH1.87 is a usual mean petrol; the table's 14.7 is rounded from a calculated ratio
    got = properties.stoich_by_atoms(carbon=1, hydrogen=1.87)
    against(
        f"{FORMULAS}.properties.stoich_by_atoms", got=got, expected=14.7, abs=0.15,
        source="US DOE AFDC, fuel property comparison, table 2", note="hydrogen of petrol varies",
    )  # fmt: skip


@pytest.mark.authority
def test_heating_values_of_the_table(against):
    # Btu/lb times 2326 and Btu/gal over the gallon: two printed columns, one density each
    fuels = (properties.PETROL, properties.ETHANOL)
    against(
        f"{FORMULAS}.properties.PureFuel", got=[f.heating_value for f in fuels],
        expected=[18676 * BTU_PER_LB, 11585 * BTU_PER_LB], abs=0.05e6,
        source="US DOE AFDC, Properties of Fuels, notes (d)",
    )  # fmt: skip
    per_litre = [f.heating_value * f.density / 1e9 for f in fuels]
    printed = [v * 1055.056 / GALLON / 1e9 for v in (116090, 76330)]
    against(
        f"{FORMULAS}.properties.PureFuel", got=per_litre, expected=printed, rel=0.006,
        source="US DOE AFDC, Properties of Fuels, per gallon column",
        note="the table's ethanol density is 0.5 % under that of pure ethanol",
    )  # fmt: skip


@pytest.mark.authority
def test_latent_heat_and_density_of_ethanol(against):
    against(
        f"{FORMULAS}.properties.PureFuel", got=properties.ETHANOL.latent_heat,
        expected=396 * BTU_PER_LB, abs=0.5 * BTU_PER_LB, source="US DOE AFDC table 2, 396 Btu/lb",
    )  # fmt: skip
    against(
        f"{FORMULAS}.properties.PureFuel", got=properties.ETHANOL.density,
        expected=6.61 * LB / GALLON, abs=2.0, source="US DOE AFDC table 2, 6.61 lb/gal at 60 °F",
    )  # fmt: skip


@pytest.mark.measured
def test_latent_heat_of_half_ethanol(against):
    against(
        f"{FORMULAS}.properties.by_mass", got=blend(0.5)["latent_heat"], expected=675e3,
        rel=0.10, source="NREL, OSTI 1242469 (2016): E50 blends 650 to 700 kJ/kg",
        note="the paper gives under 10 % for its own method",
    )  # fmt: skip


@pytest.mark.authority
def test_oxygen_of_ten_per_cent_ethanol(against):
    # EN 228 and US practice: 10 % ethanol by volume is 3.7 % oxygen by mass, 15 % is about 5.5
    got = [100 * blend(0.10)["oxygen"], 100 * blend(0.15)["oxygen"]]
    against(
        f"{FORMULAS}.properties.ethanol_mass_fraction", got=got, expected=[3.7, 5.5], abs=0.05,
        source="NREL, effect of ethanol blending on RVP (2012): E10 is 3.7 % oxygen by mass",
    )  # fmt: skip


@pytest.mark.textbook
def test_blend_table_from_one_litre(against):
    """One litre weighed out by hand: another way round than the formulas."""
    rows = []
    for volume in (0.10, 0.15, 0.50, 0.51, 0.83, 0.85):
        grams_ethanol, grams_petrol = volume * 793.7, (1 - volume) * 745.0
        moles_ethanol, moles_petrol = grams_ethanol / 46.068, grams_petrol / 105.0
        air = 9.0 * grams_ethanol + 14.7 * grams_petrol
        heat = 26.95 * grams_ethanol + 43.44 * grams_petrol
        grams = grams_ethanol + grams_petrol
        by_hand = [
            grams_ethanol / grams,
            moles_ethanol / (moles_ethanol + moles_petrol),
            grams,
            air / grams,
            heat / grams * 1e6,
        ]
        got = blend(volume)
        rows.append(
            (
                [got[k] for k in ("mass", "mole", "density", "stoich", "heating_value")],
                by_hand,
            )
        )
    against(
        f"{FORMULAS}.properties.ethanol_mole_fraction", got=[r[0] for r in rows],
        expected=[r[1] for r in rows], rel=1e-9, source="one litre of blend, weighed by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_printed_blend_table(against):
    printed = {  # mass, mole, density, stoich, MJ/kg
        0.10: (0.1058, 0.2125, 749.9, 14.097, 41.695),
        0.15: (0.1583, 0.3000, 752.3, 13.798, 40.830),
        0.50: (0.5158, 0.7083, 769.4, 11.760, 34.934),
        0.85: (0.8579, 0.9322, 786.4, 9.810, 29.293),
    }
    for volume, row in printed.items():
        got = blend(volume)
        values = [
            got["mass"], got["mole"], got["density"], got["stoich"], got["heating_value"] / 1e6
        ]  # fmt: skip
        against(
            f"{FORMULAS}.properties.by_mass", got=values, expected=row, rel=5e-4,
            source="US DOE AFDC fuel values, computed apart", note="table printed to 4 figures",
        )  # fmt: skip


@pytest.mark.authority
def test_octane_by_moles(against):
    # Against Australian E85 (70 to 85 % by volume): RON at least 100, MON at least 87 is met by
    # an 91 RON / 82 MON petrol, and by volume the rise is steep: half of it comes by E23
    x10, x85 = blend(0.10)["mole"], blend(0.85)["mole"]
    got = [
        properties.blend_octane(ethanol_mole_fraction=x, petrol_octane=88.6, ethanol_octane=108.6)
        for x in (x10, x85)
    ]
    # Hand: 88.6 + 20 x moles
    against(
        f"{FORMULAS}.properties.blend_octane", got=got,
        expected=[88.6 + 20 * 0.2125, 88.6 + 20 * 0.9322], abs=0.002,
        source="Anderson et al., Energy & Fuels 24 (2010) 6576: linear in moles",
    )  # fmt: skip
    low = properties.blend_octane(
        ethanol_mole_fraction=blend(0.70)["mole"], petrol_octane=91.0, ethanol_octane=108.6
    )
    assert low >= 100.0  # Fuel Standard (Ethanol E85) Determination 2012: RON min 100


@pytest.mark.measured
def test_density_of_ethanol_and_petrol_parts_with_temperature(against):
    celsius = np.array([0.0, 15.0, 20.0, 25.0, 40.0, 60.0])
    got = properties.density_at(
        density_15=793.86, temperature=celsius + 273.15, ethanol_volume_fraction=1.0
    )
    against(
        f"{FORMULAS}.properties.density_at", got=got,
        expected=[806.57, 793.86, 789.60, 785.31, 772.29, 754.28], abs=1.0,
        source="CoolProp 8.0.0, ethanol at 300 kPa",
    )  # fmt: skip
    got = properties.density_at(density_15=696.5, temperature=celsius + 273.15)
    against(
        f"{FORMULAS}.properties.density_at", got=got,
        expected=[708.7, 696.5, 692.4, 688.3, 675.9, 658.8], rel=0.01,
        source="iso-octane, thermo 0.6.1", note="a pure paraffin swells less than petrol",
    )  # fmt: skip


@pytest.mark.measured
def test_viscosity_with_temperature(against):
    kelvin = np.array([0.0, 20.0, 40.0, 60.0]) + 273.15
    got = properties.viscosity_at(viscosity_20=1.194e-3, slope=1724.0, temperature=kelvin)
    against(
        f"{FORMULAS}.properties.viscosity_at", got=got * 1e3,
        expected=[1.788, 1.186, 0.818, 0.584], rel=0.03,
        source="DIPPR equation, Perry 8th ed., ethanol",
    )  # fmt: skip
    got = properties.viscosity_at(viscosity_20=0.506e-3, slope=1067.0, temperature=kelvin)
    against(
        f"{FORMULAS}.properties.viscosity_at", got=got * 1e3,
        expected=[0.661, 0.506, 0.401, 0.327], rel=0.03,
        source="DIPPR equation, Perry 8th ed., iso-octane",
    )  # fmt: skip


@pytest.mark.measured
def test_vapour_pressure_with_temperature(against):
    kelvin = np.array([20.0, 25.0, 40.0]) + 273.15
    got = properties.vapour_pressure_at(vapour_pressure_38=107.4e3, temperature=kelvin)
    against(
        f"{FORMULAS}.properties.vapour_pressure_at", got=got / 1e3,
        expected=[56.57, 68.36, 115.7], rel=0.01, source="n-pentane, CoolProp 8.0.0",
    )  # fmt: skip
    got = properties.vapour_pressure_at(
        vapour_pressure_38=15.93e3, temperature=kelvin, ethanol_volume_fraction=1.0
    )
    against(
        f"{FORMULAS}.properties.vapour_pressure_at", got=got / 1e3,
        expected=[5.899, 7.886, 17.99], rel=0.03, source="DIPPR equation, Perry 8th ed., ethanol",
    )  # fmt: skip


@pytest.mark.textbook
def test_more_fuel_for_the_same_air(against):
    got = blend(0.85)
    volume = properties.fuel_against_petrol_volume(stoich=got["stoich"], density=got["density"])
    against(
        f"{FORMULAS}.properties.fuel_against_petrol_volume", got=[volume, 14.7 / got["stoich"]],
        expected=[1.42, 1.50], abs=0.005, source="trade figures for 85 % ethanol, DOE fuel values",
    )  # fmt: skip


@pytest.mark.practice
def test_a_lambda_is_a_different_ratio_on_another_fuel(against):
    got = [
        properties.air_fuel_ratio(lambda_ratio=0.80, stoich=s)
        for s in (14.7, blend(0.85)["stoich"])
    ]
    against(
        f"{FORMULAS}.properties.air_fuel_ratio", got=got, expected=[11.76, 7.848], abs=5e-4,
        source="hand: 0.80 x 14.7 and 0.80 x 9.81",
    )  # fmt: skip


@pytest.mark.textbook
def test_tank_mixing_by_hand(against):
    # 20 L of E10 in the tank hold 2.0 L ethanol. Adding v of E85 for E30:
    # 2.0 + 0.85 v = 0.30 (20 + v)  ->  v = 4 / 0.55 = 7.2727 L
    got = properties.volume_to_add(
        present_volume=20.0, present_fraction=0.10, added_fraction=0.85, wanted_fraction=0.30
    )
    against(
        f"{FORMULAS}.properties.volume_to_add", got=got, expected=80 / 11, rel=1e-12,
        source="ethanol balance by hand",
    )  # fmt: skip
    # 50 L tank, 10 L of E10 in it, to be full at E30: 15 L ethanol wanted, 1 L there; 40 L room
    # with h of E85 and 40 - h of E10: 0.85 h + 0.1 (40 - h) = 14 -> h = 10 / 0.75
    low, high = properties.top_up(
        tank_volume=50.0, present_volume=10.0, present_fraction=0.10,
        low_fraction=0.10, high_fraction=0.85, wanted_fraction=0.30,
    )  # fmt: skip
    against(
        f"{FORMULAS}.properties.top_up", got=[low, high], expected=[40 - 40 / 3, 40 / 3],
        rel=1e-12, source="ethanol balance by hand",
    )  # fmt: skip


# --- injectors --------------------------------------------------------------------------------


@pytest.mark.textbook
def test_injector_flow_with_the_root_of_pressure(against):
    kpa = np.array([200.0, 250.0, 300.0, 350.0, 400.0, 500.0, 600.0])
    got = injection.volume_flow(
        rated_flow=1.0, rated_difference=300e3, test_density=700.0, difference=kpa * 1e3,
        fuel_density=700.0,
    )  # fmt: skip
    expected = [math.exp(0.5 * math.log(k / 300)) for k in kpa]
    against(
        f"{FORMULAS}.injection.volume_flow", got=got, expected=expected, rel=1e-9,
        source="orifice equation, by logarithms",
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.volume_flow", got=got[[0, 4]], expected=[0.8165, 1.1547], abs=6e-5,
        source="orifice factor table",
    )  # fmt: skip


@pytest.mark.textbook
def test_rating_on_test_fluid(against):
    # n-heptane 684, petrol 745: mass up by the root of the ratio, volume down by it
    common = dict(rated_flow=1.0, rated_difference=3e5, test_density=684.0, difference=3e5)
    mass = injection.mass_flow(fuel_density=745.0, **common) / 684.0
    volume = injection.volume_flow(fuel_density=745.0, **common)
    against(
        f"{FORMULAS}.injection.mass_flow", got=[mass, volume], expected=[1.04364, 0.95819],
        abs=6e-6, source="orifice equation, computed apart",
    )  # fmt: skip


@pytest.mark.textbook
def test_pounds_an_hour_and_cc_a_minute(against):
    densities = np.array([719.7, 684.0, 745.0, 789.4, 786.4])
    got = injection.rated_volume_flow(rated_mass_flow=LB / 3600, test_density=densities)
    against(
        f"{FORMULAS}.injection.rated_volume_flow", got=got * 60e6,
        expected=[10.504, 11.052, 10.148, 9.577, 9.613], abs=1e-3,
        source="unit identity: 453.59237 g / 60 / density", note="the trade's 10.5 is one fluid",
    )  # fmt: skip


@pytest.mark.textbook
def test_duty_worked_example(against):
    # 0.5 L cylinder, VE 0.95 at 2.18994 kg/m3, lambda 0.80, ratio 14.7, 1000 cc/min, 7000 rpm
    air = 0.5e-3 * 0.95 * 2.18994
    fuel = air / (0.80 * 14.7)
    speed = 7000 * math.pi / 30
    window = injection.injection_window(engine_speed=speed)
    flow = injection.mass_flow(
        rated_flow=1000 / 60e6, rated_difference=3e5, test_density=745.0, difference=3e5,
        fuel_density=745.0,
    )  # fmt: skip
    pulse = injection.pulse_width(fuel_mass=fuel, injector_flow=flow, dead_time=0.9e-3)
    got = [window * 1e3, pulse * 1e3, injection.duty(pulse=pulse, window=window)]
    against(
        f"{FORMULAS}.injection.duty", got=got, expected=[17.1429, 8.0238, 0.46806],
        rel=1e-4, source="worked by hand: 120/7000 s; 88.454 mg / 12.4167 g/s + 0.9 ms",
    )  # fmt: skip


@pytest.mark.textbook
def test_injector_sizing(against):
    grams_per_joule = 1e-3 / 3.6e6
    got = [
        injection.static_flow_needed(
            power=p, specific_fuel=b * grams_per_joule, injectors=4, duty_limit=d, density=rho
        )
        * 60e6
        for p, b, d, rho in (
            (300e3, 330, 0.85, 745.0),
            (300e3, 460, 0.85, 786.4),
            (200e3, 300, 0.80, 745.0),
        )
    ]
    against(
        f"{FORMULAS}.injection.static_flow_needed", got=got, expected=[651.4, 860.21, 419.46],
        abs=0.05, source="P x bsfc / (60 n duty), by hand in g/min",
    )  # fmt: skip
    # 400 hp at 0.55 lb/(hp h): 64.7 lb/h a cylinder
    pounds = (
        injection.static_flow_needed(
            power=400 * 745.6999, specific_fuel=0.55 * LB / (745.6999 * 3600), injectors=4,
            duty_limit=0.85, density=1.0,
        )
        * 3600
        / LB
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.static_flow_needed", got=pounds, expected=64.706, abs=1e-3,
        source="the same in US units: 400 x 0.55 / 4 / 0.85 lb/h",
    )  # fmt: skip


@pytest.mark.textbook
def test_regulator_follows_the_manifold(against):
    held = [
        injection.rail_set_pressure(
            base_pressure=300e3, manifold_absolute=100e3 + g, barometric_pressure=100e3,
            referenced=True,
        )
        for g in (150e3, -60e3)
    ]  # fmt: skip
    against(
        f"{FORMULAS}.injection.rail_set_pressure", got=held, expected=[450e3, 240e3], rel=1e-12,
        source="definition of a 1:1 referenced regulator",
    )  # fmt: skip
    left = injection.pressure_difference(
        rail_gauge=400e3, manifold_absolute=250e3, barometric_pressure=100e3
    )
    against(
        f"{FORMULAS}.injection.pressure_difference", got=left, expected=250e3, rel=1e-12,
        source="unreferenced rail of 4 bar at 1.5 bar boost, by hand",
    )  # fmt: skip


@pytest.mark.practice
def test_dead_time_rises_with_pressure(against):
    got = injection.dead_time_at(
        dead_time=1e-3, difference=np.array([300e3, 450e3]), rated_difference=300e3,
        pressure_slope=0.3,
    )  # fmt: skip
    against(
        f"{FORMULAS}.injection.dead_time_at", got=got, expected=[1.0e-3, 1.15e-3], rel=1e-9,
        source="injector opens against the fuel: more pressure, more dead time",
    )  # fmt: skip


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


# --- the smaller formulas -----------------------------------------------------------------------


@pytest.mark.textbook
def test_density_of_blends_by_weighing(against):
    volumes = np.array([0.10, 0.15, 0.50, 0.85])
    against(
        f"{FORMULAS}.properties.blend_density",
        got=properties.blend_density(ethanol_volume_fraction=volumes),
        expected=[749.9, 752.3, 769.4, 786.4], abs=0.06,
        source="one litre weighed by hand: 79.37 + 670.5 g, 119.055 + 633.25 g, …",
    )  # fmt: skip


@pytest.mark.measured
def test_viscosity_of_the_pure_ends(against):
    kelvin = np.array([20.0, 40.0]) + 273.15
    got = [
        properties.blend_viscosity(ethanol_mass_fraction=w, temperature=kelvin) * 1e3
        for w in (1.0, 0.0)
    ]
    against(
        f"{FORMULAS}.properties.blend_viscosity", got=got[0], expected=[1.186, 0.818], rel=0.03,
        source="DIPPR equation, Perry 8th ed., ethanol",
    )  # fmt: skip
    against(
        f"{FORMULAS}.properties.blend_viscosity", got=got[1][0], expected=0.475, abs=0.075,
        source="petrol between 0.40 and 0.55 mPa s at 20 °C (US DOE AFDC table 2 and iso-octane)",
    )  # fmt: skip


@pytest.mark.textbook
def test_two_fuels_in_one_tank(against):
    # 30 L of E10 (3.0 L) and 10 L of E85 (8.5 L): 11.5 of 40 L
    got = properties.mixed_fraction(
        first_volume=30.0, first_fraction=0.10, second_volume=10.0, second_fraction=0.85
    )
    against(
        f"{FORMULAS}.properties.mixed_fraction", got=got, expected=11.5 / 40, rel=1e-12,
        source="ethanol balance by hand",
    )  # fmt: skip


@pytest.mark.practice
def test_fewer_miles_on_strong_fuel(against):
    def per_volume(volume: float) -> float:
        return blend(volume)["heating_value"] * blend(volume)["density"]

    use = properties.fuel_use_on_blend(
        fuel_use=8e-8, heating_value_volume=np.array([per_volume(0.51), per_volume(0.83)]),
        known_volume=per_volume(0.10),
    )  # fmt: skip
    against(
        f"{FORMULAS}.properties.fuel_use_on_blend", got=1 - 8e-8 / use, expected=[0.15, 0.27],
        abs=0.02, source="US DOE/EPA: 15 to 27 % fewer miles a gallon, 51 to 83 % (memory)",
    )  # fmt: skip
    against(
        f"{FORMULAS}.properties.tank_range",
        got=properties.tank_range(usable_volume=46e-3, fuel_use=8.4e-8) / 1e3, expected=547.6,
        abs=0.05, source="46 L at 8.4 L/100 km, by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_window_and_fuel_of_one_injection(against):
    rpm = np.array([6000.0, 7000.0, 8000.0])
    window = injection.injection_window(engine_speed=rpm * math.pi / 30)
    against(
        f"{FORMULAS}.injection.injection_window", got=window * 1e3,
        expected=[20.0, 17.1429, 15.0], abs=6e-5, source="120/rpm seconds for 720°",
    )  # fmt: skip
    # four cylinders of 88.454 mg at 7000 rpm are 88.454 mg x 4 x 3500/60 = 20.639 g/s
    got = injection.fuel_per_injection(
        fuel_flow=20.6393e-3, engine_speed=7000 * math.pi / 30, injectors=4
    )
    against(
        f"{FORMULAS}.injection.fuel_per_injection", got=got * 1e6, expected=88.454, abs=1e-3,
        source="cylinder filling by hand, 3500 cycles a minute",
    )  # fmt: skip
    pulse = injection.pulse_width(
        fuel_mass=88.454e-6, injector_flow=12.4167e-3, dead_time=0.9e-3
    )
    against(
        f"{FORMULAS}.injection.pulse_width", got=pulse * 1e3, expected=8.0238, abs=1e-3,
        source="88.454 mg / 12.4167 g/s + 0.9 ms by hand",
    )  # fmt: skip


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
