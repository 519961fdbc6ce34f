"""What rules are held against, as plain functions: keyword-only, SI floats or arrays."""

from __future__ import annotations

import math
from typing import Final

from drybuild.values import Array

# Rim diameters of the standard by code, mm: conventional figures, not code × 25.4
# (UN R30, para 2 and ISO 4000-1; recalled).
RIM_DIAMETER_MM: Final[dict[int, int]] = {
    10: 254, 12: 305, 13: 330, 14: 356, 15: 381, 16: 406, 17: 432, 18: 457, 19: 483,
    20: 508, 21: 533, 22: 559,
}  # fmt: skip


def marked_diameter(*, section_width_mm: float, aspect_percent: float, rim_code: float) -> float:
    """Design overall diameter (m) of a marked size: d + 2H, H to the whole mm (half up).

    section_width_mm, aspect_percent, rim_code: as marked (mm, %, code). d is the conventional rim
    diameter. Valid for rim codes 10, 12 to 22; raises ValueError otherwise.
    Source: UN R30 para 6.1.2 (recalled).
    """
    if rim_code not in RIM_DIAMETER_MM:
        raise ValueError(f"no conventional rim diameter for code {rim_code:g}")
    section_height = math.floor(section_width_mm * aspect_percent / 100.0 + 0.5 + 1e-9)
    return (RIM_DIAMETER_MM[int(rim_code)] + 2 * section_height) / 1000.0


def true_speed_after(*, true_speed: Array, reading_ratio: Array) -> Array:
    """True speed (m/s) at the same indication after tyres, gearing or setting changed.

    true_speed: measured at that indication before (m/s); reading_ratio: reading now over reading
    before at one true speed (1). The instrument counts turns, so its own error stays what it was:
    a tyre change is not the speedometer's error. Valid for instruments that count wheel or
    gearbox turns and read in proportion near that speed. Source: definition.
    """
    return true_speed / reading_ratio


def power_to_mass(*, power: Array, mass_in_running_order: Array) -> Array:
    """Power-to-mass ratio in kW/t, as noise rules use it. power in W, mass in kg, both > 0.

    Source: UN R51.03 para 2 (recalled): PMR = P / m_ro × 1000 with P in kW, m in kg.
    """
    return (power / 1000.0) / mass_in_running_order * 1000.0


def tyre_outer_edge(*, section_width: Array, offset: Array, spacer: Array = 0.0) -> Array:
    """How far the tyre's outer flank stands outboard of the hub face (m).

    section_width: of the tyre on its actual rim (m); offset: hub face to rim centre line, +
    outboard face (m); spacer: thickness (m). Upright wheel: camber is not in it.
    Source: definition of offset (ISO 4000-2).
    """
    return section_width / 2.0 - offset + spacer


def lowered(*, height: Array, drop: Array) -> Array:
    """Height of a body point (m) after the body came down by ``drop`` (m, + down). Definition."""
    return height - drop
