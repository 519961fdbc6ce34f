"""What rules are held against, as plain functions: keyword-only, SI floats or arrays."""

from __future__ import annotations

import math

import numpy as np

from drybuild.values import Array


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


def tyre_outer_edge(
    *,
    section_width: Array,
    offset: Array,
    spacer: Array = 0.0,
    camber: Array = 0.0,
    height: Array = 0.0,
) -> Array:
    """How far the tyre's outer flank stands outboard of the hub face (m), at a height.

    section_width: of the tyre on its actual rim (m); offset: hub face to rim centre line, + face
    outboard (m); spacer: thickness (m); camber: − top in (rad); height over the wheel axis (m).
    S/2 − ET + spacer + height·sin(camber). Good to a tenth of a millimetre below 5°.
    Source: definition of offset (ISO 4000-2); geometry.
    """
    return section_width / 2.0 - offset + spacer + height * np.sin(camber)


def sector_height(*, free_radius: Array) -> Array:
    """Lowest height (m) over the wheel axis at which a guard must cover the tread: 50° behind.

    free_radius (m). r·cos 50°; camber draws the flank in least there.
    Source: Regulation (EU) 1009/2010, annex II: 30° before to 50° behind the wheel centre.
    """
    return free_radius * math.cos(math.radians(50.0))


def lowered(*, height: Array, drop: Array) -> Array:
    """Height of a body point (m) after the body came down by ``drop`` (m, + down). Definition."""
    return height - drop
