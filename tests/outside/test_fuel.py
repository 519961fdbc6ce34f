"""What the fuel is, pure and blended, against tables, atoms and handbooks."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.fuel import properties

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
