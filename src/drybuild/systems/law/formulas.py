"""What rules are held against, as plain functions: keyword-only, SI floats or arrays."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from drybuild.values import Array

KMH: Final = 1.0 / 3.6

# Rim diameters of the standard by code, mm: conventional figures, not code × 25.4
# (UN R30, para 2 and ISO 4000-1; recalled).
RIM_DIAMETER_MM: Final[dict[int, int]] = {
    10: 254, 12: 305, 13: 330, 14: 356, 15: 381, 16: 406, 17: 432, 18: 457, 19: 483,
    20: 508, 21: 533, 22: 559,
}  # fmt: skip

# Load index 60 to 110 → kg (ISO 4000-1, UN R30 annex; French order of 24 October 1994, annex I).
LOAD_KG: Final = (
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365, 375, 387, 400, 412,
    425, 437, 450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690,
    710, 730, 750, 775, 800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060,
)  # fmt: skip
FIRST_LOAD_INDEX: Final = 60

# Speed symbol → km/h (UN R30 para 2; French order of 24 October 1994, annex II, up to V).
SYMBOL_KMH: Final[dict[str, int]] = {
    "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200,
    "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip

# From this speed (km/h) the load falls linearly to this share at the symbol's own speed
# (UN R30 para 2.30; V and W read in Reimpell, Stoll, Betzler, 10.1.2.6; Y recalled).
_FALL: Final[dict[str, tuple[int, float]]] = {"V": (210, 0.91), "W": (240, 0.85), "Y": (270, 0.85)}


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


def true_speed_after(*, true_speed: Array, turns_before: Array, turns_after: Array) -> Array:
    """True speed (m/s) at the same indication after the rolling circumference changed.

    true_speed: measured at that indication before (m/s); turns: turns of the wheel that drives
    the indication per metre (1/m), before and after. The instrument counts turns, so its own
    error stays what it was: a tyre change is not the speedometer's error. Valid for instruments
    that count wheel or gearbox turns. Source: definition.
    """
    return true_speed * turns_before / turns_after


def load_of_index(*, load_index: int) -> float:
    """Load (kg) that a single tyre of this load index carries. Valid 60 to 110, by table.

    Source: ISO 4000-1; UN R30 annex 4; French order of 24 October 1994, annex I.
    """
    row = load_index - FIRST_LOAD_INDEX
    if not 0 <= row < len(LOAD_KG):
        raise ValueError(f"load index {load_index} lies outside the table, 60 to 110")
    return float(LOAD_KG[row])


def least_load_index(*, axle_load_limit: float) -> int:
    """Least load index whose load is at least half an axle's limit (kg), single fitment.

    Valid up to 2120 kg. Source: UN R142 para 5.2.2 (recalled), table as in ``load_of_index``.
    """
    for row, load in enumerate(LOAD_KG):
        if load >= axle_load_limit / 2.0:
            return FIRST_LOAD_INDEX + row
    raise ValueError(f"no load index up to 110 carries half of {axle_load_limit:g} kg")


def speed_of_symbol(*, symbol: str) -> float:
    """Speed (m/s) that a speed symbol stands for. Raises ValueError for an unknown letter.

    Source: UN R30 para 2 speed category table; French order of 24 October 1994, annex II.
    """
    letter = symbol.strip().strip("()").upper()
    if letter not in SYMBOL_KMH:
        raise ValueError(f"no speed symbol {symbol!r}; known: {' '.join(SYMBOL_KMH)}")
    return SYMBOL_KMH[letter] * KMH


def load_share_at_speed(*, symbol: str, top_speed: Array) -> Array:
    """Share of the rated load that a V, W or Y tyre carries at a car's top speed (m/s).

    1 up to 210 (V), 240 (W), 270 (Y) km/h, then linear to 0.91, 0.85, 0.85 at the symbol's own
    speed; NaN above that. Other symbols: 1 up to their speed, NaN above.
    Source: UN R30 para 2.30; Reimpell, Stoll, Betzler, The Automotive Chassis, 10.1.2.6.
    """
    letter = symbol.strip().strip("()").upper()
    end = speed_of_symbol(symbol=letter)
    start_kmh, share_at_end = _FALL.get(letter, (SYMBOL_KMH[letter], 1.0))
    start = start_kmh * KMH
    speed = np.asarray(top_speed, dtype=np.float64)
    fall = np.interp(speed, [start, end], [1.0, share_at_end]) if end > start else 1.0
    return np.where(speed <= end * (1 + 1e-12), fall, np.nan)


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
