"""Fuel and blend properties by ethanol content: volume, mass and mole fractions told apart.

Blends are ideal: volumes add at 15 °C. Real ethanol and petrol expand by up to 0.2 % on mixing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.values import Array

# Atomic masses, g/mol: IUPAC 2021 abridged.
CARBON, HYDROGEN, OXYGEN = 12.011, 1.008, 15.999
# Dry air as in ISO 2533 and CIPM-2007: 28.9647 g/mol, 20.946 % oxygen by mole.
AIR_MOLAR_MASS, AIR_OXYGEN = 28.9647, 0.20946
GAS_CONSTANT = 8.314462618


@dataclass(frozen=True)
class PureFuel:
    """One component of a blend, SI. ``stoich`` as printed in fuel tables (real air, rounded)."""

    density: float  # kg/m3 at 15 °C
    molar_mass: float  # kg/mol
    stoich: float  # kg air per kg fuel
    heating_value: float  # J/kg, lower
    latent_heat: float  # J/kg
    oxygen: float  # kg/kg
    research_octane: float
    motor_octane: float
    viscosity: float  # Pa s at 20 °C
    viscosity_slope: float  # K, of ln(viscosity) against 1/T
    vapour_slope: float  # K, of ln(vapour pressure) against 1/T, negative sign left out


# Ethanol: density CoolProp (Schroeder et al. 2014), stoichiometric ratio and heating value US DOE
# AFDC property table, latent heat as there (396 Btu/lb), octane Anderson et al. 2010.
ETHANOL = PureFuel(
    density=793.7, molar_mass=46.068e-3, stoich=9.0, heating_value=26.95e6, latent_heat=921e3,
    oxygen=OXYGEN / (2 * CARBON + 6 * HYDROGEN + OXYGEN), research_octane=108.6,
    motor_octane=89.7, viscosity=1.194e-3, viscosity_slope=1724.0, vapour_slope=5158.0,
)  # fmt: skip
# A reference petrol without ethanol: US DOE AFDC table (14.7, 43.44 MJ/kg, 0.745 kg/L, 100 to
# 105 g/mol); a real pump's base petrol is stated in its [[blend]] where it is known better.
PETROL = PureFuel(
    density=745.0, molar_mass=105e-3, stoich=14.7, heating_value=43.44e6, latent_heat=350e3,
    oxygen=0.0, research_octane=95.0, motor_octane=85.0, viscosity=0.50e-3,
    viscosity_slope=1067.0, vapour_slope=3323.0,
)  # fmt: skip


@dataclass(frozen=True)
class FuelProperties:
    """A blend at its declared ethanol content. Each figure is a float or (N,), SI.

    ``density`` at 15 °C; ``heating_value`` lower; ratios and heat per kg of fuel.
    """

    ethanol_volume_fraction: Array
    ethanol_mass_fraction: Array
    ethanol_mole_fraction: Array
    stoich: Array
    density: Array
    heating_value: Array
    latent_heat: Array
    oxygen: Array


@dataclass(frozen=True)
class HotFuel:
    """A blend at the hottest fuel temperature of the tank: kg/m3, Pa s, K. Floats or (N,)."""

    density: Array
    viscosity: Array
    temperature: Array


def stoich_by_atoms(*, carbon: Array, hydrogen: Array, oxygen: Array = 0.0) -> Array:
    """Stoichiometric air-fuel mass ratio of CxHyOz in real dry air.

    carbon, hydrogen, oxygen: atoms in the formula. Returns kg/kg. Valid for fuels of C, H, O.
    Real air (28.9647 g/mol, 20.946 % O2); the older O2 + 3.76 N2 convention gives 0.7 % less.
    Source: atom balance, Heywood, Internal Combustion Engine Fundamentals (1988), ch. 3.
    """
    air = (carbon + hydrogen / 4 - oxygen / 2) * AIR_MOLAR_MASS / AIR_OXYGEN
    return air / (CARBON * carbon + HYDROGEN * hydrogen + OXYGEN * oxygen)


def ethanol_mass_fraction(
    *,
    ethanol_volume_fraction: Array,
    petrol_density: Array = PETROL.density,
    ethanol_density: Array = ETHANOL.density,
) -> Array:
    """Mass fraction of ethanol in a blend declared by volume.

    Fractions 0..1, densities kg/m3 at the same temperature. Ideal mixing (error below 0.2 %).
    Source: definition.
    """
    ethanol = ethanol_volume_fraction * ethanol_density
    return ethanol / (ethanol + (1 - ethanol_volume_fraction) * petrol_density)


def ethanol_mole_fraction(
    *,
    ethanol_mass_fraction: Array,
    petrol_molar_mass: Array = PETROL.molar_mass,
    ethanol_molar_mass: Array = ETHANOL.molar_mass,
) -> Array:
    """Mole fraction of ethanol from its mass fraction. Molar masses kg/mol.

    The petrol's mean molar mass (100 to 108 g/mol) moves E10 by about ±0.007. Source: definition.
    """
    ethanol = ethanol_mass_fraction / ethanol_molar_mass
    return ethanol / (ethanol + (1 - ethanol_mass_fraction) / petrol_molar_mass)


def by_mass(*, ethanol_mass_fraction: Array, ethanol_value: Array, petrol_value: Array) -> Array:
    """Mass-weighted property of a blend: stoichiometric ratio, heating value, latent heat, oxygen.

    Exact for quantities per kilogram without interaction; latent heat is within about 10 %
    (NREL, OSTI 1242469, 2016, measured E50 at 650 to 700 kJ/kg). Source: definition.
    """
    return ethanol_mass_fraction * ethanol_value + (1 - ethanol_mass_fraction) * petrol_value


def blend_density(
    *,
    ethanol_volume_fraction: Array,
    petrol_density: Array = PETROL.density,
    ethanol_density: Array = ETHANOL.density,
) -> Array:
    """Density of a blend, kg/m3, at the temperature of the two densities. Ideal mixing.

    Source: definition; real blends are up to 0.2 % lighter.
    """
    return (
        ethanol_volume_fraction * ethanol_density + (1 - ethanol_volume_fraction) * petrol_density
    )


def density_at(
    *, density_15: Array, temperature: Array, ethanol_volume_fraction: Array = 0.0
) -> Array:
    """Liquid density at a temperature, kg/m3, from that at 15 °C.

    temperature in K, valid −10 to 70 °C. Petrol after the volume correction for gasolines of API
    MPMS 11.1 (1980) table 54B: α = 346.4228/ρ² + 0.43884/ρ (from memory); ethanol
    α = 1.096e-3/K about 15 °C (CoolProp 8, Schroeder 2014); a blend mixes α by volume. Errors
    about 0.5 %.
    """
    petrol_density = np.maximum(
        (density_15 - ethanol_volume_fraction * ETHANOL.density)
        / np.maximum(1 - ethanol_volume_fraction, 1e-3),
        600.0,
    )
    petrol = 346.4228 / petrol_density**2 + 0.43884 / petrol_density
    slope = ethanol_volume_fraction * 1.096e-3 + (1 - ethanol_volume_fraction) * petrol
    step = slope * (temperature - 288.15)
    return density_15 * np.exp(-step * (1 + 0.8 * step))


def blend_octane(
    *, ethanol_mole_fraction: Array, petrol_octane: Array, ethanol_octane: Array
) -> Array:
    """Octane number of a blend, linear in MOLE fraction (research or motor, both alike).

    Within about 1 to 2 numbers; the 2020 refinement adds an interaction per base fuel, not used
    here. Source: Anderson, Kramer, Mueller, Wallington, Energy & Fuels 24 (2010) 6576.
    """
    return (1 - ethanol_mole_fraction) * petrol_octane + ethanol_mole_fraction * ethanol_octane


def viscosity_at(*, viscosity_20: Array, slope: Array, temperature: Array) -> Array:
    """Dynamic viscosity at a temperature by Andrade's equation, Pa s.

    slope in K of ln μ against 1/T; temperature K, valid 0 to 60 °C within about 2 %.
    Source: Andrade (1930); constants fitted to CoolProp 8 (ethanol) and to the DIPPR equation
    for iso-octane (petrol).
    """
    return viscosity_20 * np.exp(slope * (1 / temperature - 1 / 293.15))


def blend_viscosity(
    *,
    ethanol_mass_fraction: Array,
    temperature: Array,
    petrol_viscosity_20: Array = PETROL.viscosity,
) -> Array:
    """Dynamic viscosity of a blend, Pa s: logarithmic mixing by mass at the temperature (K).

    Arrhenius' mixing rule; rough, ±15 %, which moves a line's loss by about ±3 %.
    Source: Arrhenius (1887), from memory.
    """
    ethanol = viscosity_at(
        viscosity_20=ETHANOL.viscosity, slope=ETHANOL.viscosity_slope, temperature=temperature
    )
    petrol = viscosity_at(
        viscosity_20=petrol_viscosity_20, slope=PETROL.viscosity_slope, temperature=temperature
    )
    return np.exp(
        ethanol_mass_fraction * np.log(ethanol) + (1 - ethanol_mass_fraction) * np.log(petrol)
    )


def vapour_pressure_at(
    *, vapour_pressure_38: Array, temperature: Array, ethanol_volume_fraction: Array = 0.0
) -> Array:
    """Absolute vapour pressure of a fuel at a temperature (K), Pa, from that at 37.8 °C.

    Clausius–Clapeyron with the slope of the light ends: 3323 K for petrol (n-pentane), 5158 K
    for ethanol, mixed by volume above half ethanol only (below it the light ends rule). Never
    mix vapour pressures of the pure fuels by mole: the blend is a positive azeotrope.
    Valid 0 to 60 °C; Reid's vapour pressure (vapour to liquid 4:1) lies some per cent under the
    true one. Source: slopes from CoolProp 8; mixing of slopes is ours.
    """
    share = np.clip(2 * ethanol_volume_fraction - 1, 0.0, 1.0)
    slope = share * ETHANOL.vapour_slope + (1 - share) * PETROL.vapour_slope
    return vapour_pressure_38 * np.exp(slope * (1 / 310.93 - 1 / temperature))


def fuel_against_petrol_volume(
    *, stoich: Array, density: Array, petrol_stoich: Array = PETROL.stoich,
    petrol_density: Array = PETROL.density,
) -> Array:  # fmt: skip
    """Fuel volume a blend needs over the petrol's, same air and same lambda.

    Source: definition (1.42 for 85 % ethanol by volume).
    """
    return (petrol_stoich * petrol_density) / (stoich * density)


def air_fuel_ratio(*, lambda_ratio: Array, stoich: Array) -> Array:
    """Air-fuel mass ratio of a named fuel at a lambda. Meaningless without the fuel's stoich."""
    return lambda_ratio * stoich


def mixed_fraction(
    *, first_volume: Array, first_fraction: Array, second_volume: Array, second_fraction: Array
) -> Array:
    """Ethanol volume fraction after two fuels are put in one tank. Volumes m3. Ideal mixing."""
    total = first_volume + second_volume
    return (first_volume * first_fraction + second_volume * second_fraction) / total


def volume_to_add(
    *, present_volume: Array, present_fraction: Array, added_fraction: Array, wanted_fraction: Array
) -> Array:
    """Volume of a second fuel that brings a tank to the wanted ethanol fraction, m3.

    NaN where the second fuel cannot do it (its fraction lies on the wrong side of the wanted
    one). Fractions by volume, 0..1. Source: volume balance, ideal mixing.
    """
    gap = wanted_fraction - present_fraction
    reach = np.asarray(added_fraction - wanted_fraction, dtype=float)
    reached = np.asarray(gap, dtype=float) == 0
    with np.errstate(divide="ignore", invalid="ignore"):
        volume = np.where(reached, 0.0, present_volume * gap / reach)
    return np.where(np.isfinite(volume) & (volume >= 0), volume, np.nan)


def top_up(
    *, tank_volume: Array, present_volume: Array, present_fraction: Array,
    low_fraction: Array, high_fraction: Array, wanted_fraction: Array,
) -> tuple[Array, Array]:  # fmt: skip
    """Volumes (m3) of a low and a high blend that fill a tank at the wanted ethanol fraction.

    Both NaN where no such pair exists. Pump blends vary (an "E85" pump may hold 51 to 85 %):
    give ``high_fraction`` as draws to see the doubt in what results. Source: volume balance.
    """
    room = np.asarray(tank_volume - present_volume, dtype=float)
    ethanol = wanted_fraction * tank_volume - present_fraction * present_volume
    with np.errstate(divide="ignore", invalid="ignore"):
        high = (ethanol - low_fraction * room) / (high_fraction - low_fraction)
    low = room - high
    tiny = 1e-12
    good = (high >= -tiny) & (low >= -tiny) & (room >= 0)
    return np.where(good, np.abs(low), np.nan), np.where(good, np.abs(high), np.nan)


def fuel_use_on_blend(
    *, fuel_use: Array, heating_value_volume: Array, known_volume: Array
) -> Array:
    """Fuel use (m3/m) on a blend from that on a fuel of known heating value per volume (J/m3).

    Equal engine efficiency assumed: true within some per cent in part load. Source: definition.
    """
    return fuel_use * known_volume / heating_value_volume


def tank_range(*, usable_volume: Array, fuel_use: Array) -> Array:
    """Distance on a tank, m. usable_volume m3, fuel_use m3/m. Source: definition."""
    return usable_volume / fuel_use
