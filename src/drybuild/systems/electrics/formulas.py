"""Wires, contacts, fuses, relays and the alternator. SI; wire size in m2 (1 mm² = 1e-6 m2)."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

# Maximum resistance at 20 °C, ohm/m, against nominal cross-section, m2. IEC 60228 as reproduced
# by cable makers (read); ISO 6722-1 bare copper from memory.
SECTIONS = np.array([0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0]) * 1e-6
ISO_6722 = np.array([37.1, 24.7, 18.5, 12.7, 7.6, 4.71, 3.14, 1.82, 1.16, 0.743]) * 1e-3
IEC_60228_CLASS_5 = np.array([39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.3, 1.91, 1.21, 0.78]) * 1e-3
IEC_60228_CLASS_2 = np.array([36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727]) * 1e-3
COPPER_RESISTIVITY = 17.241e-9  # ohm m at 20 °C, annealed, IEC 60028
COPPER_TEMPERATURE_FACTOR = 0.00393  # 1/K from 20 °C, IEC 60028


def awg_area(*, gauge: Array) -> Array:
    """Cross-section of a solid American wire gauge, m2: d = 0.127 mm·92^((36−n)/39).

    gauge n, with 0, −1, −2, −3 for 1/0 … 4/0. A stranded wire of the same gauge is close to it.
    Source: ASTM B258 (definition).
    """
    diameter = 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)
    return np.pi / 4 * diameter**2


def solid_resistance(*, section: Array, resistivity: Array = COPPER_RESISTIVITY) -> Array:
    """Resistance per length of solid copper at 20 °C, ohm/m. section m2. Source: IEC 60028."""
    return resistivity / section


def wire_resistance(*, section: Array, road_vehicle: bool = True) -> Array:
    """Greatest resistance per length of stranded copper wire at 20 °C, ohm/m.

    section m2, 0.5 to 25 mm²: at the standard sizes the table's figure (ISO 6722-1 bare copper,
    or IEC 60228 class 5), between them on a straight line in logarithms; NaN outside.
    """
    table = ISO_6722 if road_vehicle else IEC_60228_CLASS_5
    found = np.exp(np.interp(np.log(section), np.log(SECTIONS), np.log(table)))
    # the least slack for a size typed in mm² and turned into m2
    inside = (section >= SECTIONS[0] * (1 - 1e-9)) & (section <= SECTIONS[-1] * (1 + 1e-9))
    return np.where(inside, found, np.nan)


def resistance_at(*, resistance_20: Array, temperature: Array) -> Array:
    """Resistance of copper at a conductor temperature (K): R20·(1 + 0.00393·(T − 293.15)).

    Valid −40 to 200 °C. Source: IEC 60028; IEC 60228 annex B divides by k_t instead.
    """
    return resistance_20 * (1 + COPPER_TEMPERATURE_FACTOR * (temperature - 293.15))


def circuit_resistance(
    *,
    feed_length: Array,
    earth_length: Array,
    section: Array,
    earth_section: Array,
    conductor_temperature: Array,
    contact_resistance: Array = 0.0,
) -> Array:
    """Resistance of a consumer's whole circuit, ohm: feed and earth wire in hot copper, contacts.

    Lengths m, sections m2. An earth lead counts like the feed; where the body carries the current
    its own small resistance belongs to ``contact_resistance`` (fuse, relay, plugs, earth point).
    Source: Ohm's law; ISO 6722-1 resistances.
    """
    wire = feed_length * wire_resistance(section=section) + earth_length * wire_resistance(
        section=earth_section
    )
    return resistance_at(resistance_20=wire, temperature=conductor_temperature) + contact_resistance


def voltage_drop(*, current: Array, resistance: Array) -> Array:
    """Voltage lost in a circuit of this resistance (both ways), V. Source: Ohm's law."""
    return current * resistance


def allowed_drop(*, supply_voltage: Array, share: Array) -> Array:
    """Voltage that a circuit may lose: a share of the supply. Source: practice (3 to 4 %)."""
    return supply_voltage * share


def conductor_temperature(
    *,
    current: Array,
    section: Array,
    outer_diameter: Array,
    ambient_temperature: Array,
    heat_transfer: Array = 16.0,
) -> Array:
    """Steady temperature of a wire carrying current all the time, K.

    I²·R(T) = h·π·d·(T − T_ambient), solved for T since R rises with T. outer_diameter m over the
    insulation; heat_transfer W/(m2 K): about 16 for one thin wire in still air, half in a bundle or
    tube. Infinite (as np.inf) where the wire would run away. Source: heat balance; h from memory.
    """
    warm = current**2 * wire_resistance(section=section)
    shed = heat_transfer * np.pi * outer_diameter
    start = ambient_temperature - 293.15
    left = shed - warm * COPPER_TEMPERATURE_FACTOR
    rise = warm * (1 + COPPER_TEMPERATURE_FACTOR * start)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left > 0, ambient_temperature + rise / left, np.inf)


def fuse_needed(*, current: Array, share: Array = 0.75) -> Array:
    """Least fuse rating for a continuous current, A: the current over 75 %.

    Source: fuse makers' guide at room temperature; derate further where it is hot.
    """
    return current / share


def fuse_load_slack(*, rating: Array, current: Array, share: Array = 0.75) -> Array:
    """Room below the fuse's continuous load, A: share·rating − current."""
    return share * rating - current


def wire_current_limit(
    *,
    section: Array,
    outer_diameter: Array,
    ambient_temperature: Array,
    insulation_temperature: Array,
    heat_transfer: Array = 16.0,
) -> Array:
    """Current that brings a wire just to its insulation's temperature, A.

    Arguments as in ``conductor_temperature``. Source: heat balance, ISO 6722 temperature classes.
    """
    hot = resistance_at(
        resistance_20=wire_resistance(section=section), temperature=insulation_temperature
    )
    rise = insulation_temperature - ambient_temperature
    return np.sqrt(np.maximum(heat_transfer * np.pi * outer_diameter * rise / hot, 0.0))
