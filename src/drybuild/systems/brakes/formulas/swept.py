"""Sizes of the rubbing faces, and the caliper against the wheel's barrel when hot.

Plain functions in SI units; arguments broadcast.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

# Linear expansion per kelvin (Bosch Automotive Handbook, material tables, from memory).
ALUMINIUM_EXPANSION = 23e-6
IRON_EXPANSION = 10.5e-6


def swept_area(*, outer_diameter: Array, pad_height: Array) -> Array:
    """Area of disc that the pads sweep, both faces, m²: 2·π·(ro² − ri²).

    outer_diameter m of the ring, pad_height m along the radius, the pad reaching the edge.
    Source: geometry.
    """
    outer = np.asarray(outer_diameter) / 2.0
    inner = outer - pad_height
    return 2.0 * np.pi * (np.square(outer) - np.square(inner))


def pad_pressure(*, clamp: Array, pad_area: Array) -> Array:
    """Pressure of a pad on its disc, Pa: clamp (N) over the area of one pad (m²).

    Source: definition.
    """
    return clamp / np.asarray(pad_area)


def heat_per_area(*, energy: Array, share: Array, swept: Array, discs: Array = 2.0) -> Array:
    """Energy of one stop per swept area, J/m².

    energy J of the whole car, share of the axle 0..1, swept m² of one disc with both faces.
    Source: definition, as in Limpert, Brake Design and Safety, ch. 3 (from memory).
    """
    return energy * share / (discs * np.asarray(swept))


def heat_growth(*, size: Array, rise: Array, expansion: Array) -> Array:
    """How much longer a part is when hot, m: size·α·ΔT.

    size m cold, rise K above when it was measured, expansion 1/K. Source: linear expansion.
    """
    return size * np.asarray(expansion) * rise


def template_gap(
    *, barrel: Array, caliper: Array, caliper_growth: Array = 0.0, barrel_growth: Array = 0.0
) -> Array:
    """Room between the wheel's barrel and a caliper's outline at one place along the axle, m.

    barrel, caliper m from the axis at that place; growths m of each when hot. The caliper grows
    outwards with its bracket, the wheel too, but it runs much cooler. Flex of the wheel and loose
    bearings are not in it; balance weights belong to the gap wanted.
    Source: geometry.
    """
    return barrel + barrel_growth - caliper - caliper_growth
