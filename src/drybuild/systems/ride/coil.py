"""Coil springs: rate, stress, lengths, stored energy.

All functions take SI numbers or arrays that broadcast and return the same.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

# Shear modulus of cold-coiled spring wire to EN 10270-2, from EN 13906-1:2013 (from memory).
SPRING_WIRE_SHEAR_MODULUS = 79.5e9


def coil_rate(
    *,
    wire_diameter: Array,
    mean_diameter: Array,
    active_coils: Array,
    shear_modulus: Array = SPRING_WIRE_SHEAR_MODULUS,
) -> Array:
    """Rate of a cylindrical coil spring, N/m.

    wire_diameter, mean_diameter (centre to centre of the wire) in m, active_coils a number,
    shear_modulus in Pa; shapes broadcast. Valid for round wire, constant pitch, spring index
    D/d from 4 to 20. The curvature of the wire is left out, as the standard does; see
    `coil_rate_curved` for the form that keeps it (lower by 0.5/(D/d)²).
    Source: EN 13906-1:2013, clause 9 (from memory).
    """
    return (
        np.asarray(shear_modulus)
        * wire_diameter**4
        / (8.0 * np.asarray(mean_diameter) ** 3 * active_coils)
    )[()]


def coil_rate_curved(
    *,
    wire_diameter: Array,
    mean_diameter: Array,
    active_coils: Array,
    shear_modulus: Array = SPRING_WIRE_SHEAR_MODULUS,
) -> Array:
    """Rate of a coil spring with the curvature of the wire kept, N/m.

    Same arguments as `coil_rate`; lower than it by the factor 1 + 0.5/w², w = D/d. It is the
    lower of the two, so the more careful one for travel left.
    Source: energy method, as in spring design textbooks.
    """
    index = mean_diameter / np.asarray(wire_diameter)
    plain = coil_rate(
        wire_diameter=wire_diameter,
        mean_diameter=mean_diameter,
        active_coils=active_coils,
        shear_modulus=shear_modulus,
    )
    return (plain / (1.0 + 0.5 / index**2))[()]


def curvature_factor(*, spring_index: Array) -> Array:
    """Stress correction factor k of a coil spring, dimensionless.

    spring_index w = mean diameter / wire diameter, above 0.75 (usual 4 to 20).
    Source: EN 13906-1:2013, clause 9 (from memory): k = (w + 0.5)/(w − 0.75).
    """
    return (spring_index + 0.5) / (spring_index - 0.75)


def coil_stress(*, force: Array, wire_diameter: Array, mean_diameter: Array) -> Array:
    """Uncorrected shear stress in the wire, Pa: τ = 8·D·F/(π·d³).

    force in N, diameters in m. The uncorrected stress is the one that EN 13906-1 holds against
    the permitted stress at solid length; use `curvature_factor` for fatigue.
    Source: EN 13906-1:2013, clauses 9 and 10 (from memory).
    """
    stress: Array = 8.0 * mean_diameter * force / (np.pi * np.asarray(wire_diameter) ** 3)
    return stress


def permitted_solid_stress(*, tensile_strength: Array) -> Array:
    """Permitted shear stress at solid length of a cold-coiled spring, Pa.

    tensile_strength of the wire in Pa. Source: EN 13906-1:2013, clause 10 (from memory): 0.56·Rm.
    """
    return 0.56 * tensile_strength


def solid_length(*, total_coils: Array, wire_diameter: Array) -> Array:
    """Length of a coil spring squeezed solid, m, for closed and ground ends.

    total_coils counts the dead end coils too; wire_diameter in m. With ends left unground add
    one and a half wires. Source: EN 13906-1:2013, clause 8 (from memory): Lc = nt·d.
    """
    return total_coils * wire_diameter


def spring_energy(*, rate: Array, free_length: Array, held_length: Array) -> Array:
    """Energy stored in a spring held at a length, J; none when it is loose.

    rate in N/m, lengths in m. Linear spring. A restrained spring can hurt at any figure: the
    number tells how much is let go, never that it is little enough.
    Source: mechanics, E = k·x²/2.
    """
    squeeze = np.maximum(np.asarray(free_length) - held_length, 0.0)
    energy: Array = 0.5 * rate * squeeze**2
    return energy


def captive_squeeze(
    *, free_length: Array, held_length: Array, helper_free_length: Array = 0.0
) -> Array:
    """How far a spring is still squeezed between its seats at full droop, m; below 0 it is loose.

    free_length of the main spring, held_length between the seats at full droop, and the free
    length of a helper spring in the same stack (0 without one), all in m.
    Source: geometry.
    """
    return free_length + helper_free_length - held_length


def coil_bind_room(
    *, length_at_bump: Array, solid: Array, helper_solid_length: Array = 0.0
) -> Array:
    """Room left between the coils when the wheel is at full bump, m; below 0 the coils meet first.

    length_at_bump is the distance between the seats with the bump stop solid, `solid` the
    solid length of the main spring, helper_solid_length that of a helper under it.
    Source: geometry.
    """
    return length_at_bump - solid - helper_solid_length
