"""Tyre formulas: size, loads, speed, the three radii, rate and mass. SI in, SI out.

Sizes are held to the design rules that standards print their tables from. A real tyre differs
from its design size; measured figures go before these wherever somebody has them.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from drybuild.values import Array

MM: Final = 1e-3
INCH: Final = 0.0254
GRAVITY: Final = 9.80665

# UN R30, table of conventional rim diameters (mm by code). Not code x 25.4.
CONVENTIONAL_RIM_DIAMETER_MM: Final[dict[float, int]] = {
    10: 254, 11: 279, 12: 305, 13: 330, 14: 356, 15: 381, 16: 406, 17: 432, 18: 457, 19: 483,
    20: 508, 21: 533, 22: 559, 24: 610,
}  # fmt: skip

# ISO 4000-2, table of specified rim diameters (mm by code), 5 degree seats.
SPECIFIED_RIM_DIAMETER_MM: Final = {
    13: 329.4, 14: 354.8, 15: 380.2, 16: 405.6, 17: 436.6, 18: 462.0, 19: 487.4, 20: 512.8,
    21: 538.2, 22: 563.6,
}  # fmt: skip

# UN R30 annex 4 / ISO 4000-1: greatest load (kg) by load index, from 60 up.
_LOAD_KG: Final = (
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365, 375, 387, 400, 412, 425,
    437, 450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730,
    750, 775, 800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060, 1090, 1120, 1150, 1180,
    1215, 1250, 1285, 1320, 1360, 1400,
)  # fmt: skip
LOAD_INDEX_KG: Final = dict(enumerate(_LOAD_KG, start=60))

# UN R30, speed category symbols (km/h).
SYMBOL_SPEED_KMH: Final = {
    "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160,
    "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip


def load_index_mass(*, load_index: int) -> float:
    """Greatest mass one tyre carries by its load index.

    load_index: 60 to 120. Returns kg. Errors: KeyError outside the table. The indices are rounded
    figures, so that no formula gives them: the table is the definition.
    Source: UN R30 annex 4, ISO 4000-1 (load-capacity index).
    """
    return float(LOAD_INDEX_KG[load_index])


def symbol_speed(*, symbol: str) -> float:
    """Speed of a speed category symbol.

    symbol: one letter F to Y. Returns m/s. Errors: KeyError for a letter that is none.
    Source: UN R30 para 2.29, ISO 4000-1.
    """
    return SYMBOL_SPEED_KMH[symbol] / 3.6


def nearest_load_index(*, mass: float) -> int:
    """Load index whose table mass is nearest to ``mass`` (kg), ties to the lower.

    Valid from 250 to 1400 kg. Source: practice of the American tables, which round to the index.
    """
    return min(LOAD_INDEX_KG, key=lambda index: (abs(LOAD_INDEX_KG[index] - mass), index))


def section_height(*, nominal_width: Array, aspect_ratio: Array) -> Array:
    """Design section height H, rounded to a whole millimetre, halves up.

    nominal_width: nominal section width S1 (m); aspect_ratio: H over S1 (0.2 to 0.95).
    Returns m; shapes broadcast. Source: UN R30 para 6.1.2.
    """
    return _whole_mm(nominal_width * aspect_ratio)


def conventional_rim_diameter(*, rim_code: float) -> float:
    """The rim diameter that tyre design sizes are counted from.

    rim_code: 10 to 22, 24. Returns m. Errors: KeyError for a code that the table lacks.
    It differs from code x 25.4 by up to 0.6 mm and from the rim that is made by up to 5 mm.
    Source: UN R30, table of nominal rim diameters.
    """
    return CONVENTIONAL_RIM_DIAMETER_MM[rim_code] * MM


def design_overall_diameter(*, nominal_width: Array, aspect_ratio: Array, rim_code: float) -> Array:
    """Design overall diameter D = d + 2H of a new tyre, inflated, not loaded.

    nominal_width (m), aspect_ratio (1), rim_code (see conventional_rim_diameter). Returns m;
    shapes broadcast. The regulation allows a new tyre to differ (see overall_diameter_limits).
    Source: UN R30 para 6.1.2, ISO 4000-1.
    """
    height = section_height(nominal_width=nominal_width, aspect_ratio=aspect_ratio)
    return conventional_rim_diameter(rim_code=rim_code) + 2.0 * height


def overall_diameter_limits(
    *, nominal_width: Array, aspect_ratio: Array, rim_code: float
) -> tuple[Array, Array]:
    """Least and greatest overall diameter of a radial tyre: d + 2H·0.97 and d + 2H·1.04.

    nominal_width (m), aspect_ratio (1). Returns two lengths in m, to the nearest millimetre.
    Source: UN R30 para 6.1.5.
    """
    height = section_height(nominal_width=nominal_width, aspect_ratio=aspect_ratio)
    base = conventional_rim_diameter(rim_code=rim_code)
    return _whole_mm(base + 2.0 * height * 0.97), _whole_mm(base + 2.0 * height * 1.04)


def measuring_rim_width(*, nominal_width: Array, aspect_ratio: Array) -> Array:
    """Width of the rim on which the section width is defined: K2·S1 to the nearest half inch.

    nominal_width (m), aspect_ratio (0.30 to 0.95). Returns m (half inches x 25.4 mm).
    K2 = 0.70 for 95 to 75, 0.75 for 70 to 60, 0.80 for 55 and 50, 0.85 for 45, 0.90 below.
    Source: ISO 4000-1 design guidelines (from memory).
    """
    aspect = np.asarray(aspect_ratio, dtype=np.float64) + 1e-9
    bands = (aspect >= 0.75, aspect >= 0.60, aspect >= 0.50, aspect >= 0.45)
    factor = np.select(bands, (0.70, 0.75, 0.80, 0.85), 0.90)
    return _half_inches(factor * nominal_width) * INCH


def design_section_width(*, nominal_width: Array, aspect_ratio: Array, rim_width: Array) -> Array:
    """Section width S = S1 + K·(A − A1) on a rim of width A, not rounded.

    nominal_width S1 (m), aspect_ratio (1), rim_width A between bead seats (m). K = 0.4,
    A1 = x·S1 with x = 0.70 for aspect ratio 0.50 and above, 0.85 for 0.45 and below. Returns m;
    shapes broadcast. Good on the permitted rims; a stretched tyre departs from it.
    Source: UN R30 para 6.1.1.1 and its footnote; x from ISO 4000-1 (from memory).
    """
    aspect = np.asarray(aspect_ratio, dtype=np.float64) + 1e-9
    ratio = np.where(aspect >= 0.50, 0.70, 0.85)
    return nominal_width + 0.4 * (rim_width - ratio * nominal_width)


def section_width_on_rim(
    *, section_width: Array, stated_rim_width: Array, rim_width: Array
) -> Array:
    """A section width known on one rim, carried to another: 0.4 mm for each mm of rim.

    All in m; shapes broadcast. Source: UN R30 para 6.1.1.1, K = 0.4.
    """
    return section_width + 0.4 * (rim_width - stated_rim_width)


def permitted_rim_widths(*, nominal_width: Array, aspect_ratio: Array) -> tuple[Array, Array]:
    """Narrowest and widest rim that size tables permit, where the tyre's maker does not say.

    nominal_width (m), aspect_ratio (0.30 to 0.95). Returns two widths in m, half inches. Bands of
    rim over section width: 0.70 to 0.90 (aspect ratio 0.50 up), 0.80 to 0.95 (0.45), 0.85 to 1.00
    (0.40, 0.35), 0.85 to 0.95 (0.30). A pattern fitted to the tables; the maker's list governs.
    Source: bands as in ISO 4000-1 (from memory).
    """
    aspect = np.asarray(aspect_ratio, dtype=np.float64) + 1e-9
    bands = (aspect >= 0.50, aspect >= 0.45, aspect >= 0.35)
    low = np.select(bands, (0.70, 0.80, 0.85), 0.85)
    high = np.select(bands, (0.90, 0.95, 1.00), 0.95)
    return (
        _half_inches(low * nominal_width) * INCH,
        _half_inches(high * nominal_width) * INCH,
    )


def reference_pressure(*, extra_load: bool, p_metric: bool) -> float:
    """Gauge pressure (Pa) at which a passenger tyre carries its load index.

    250 kPa standard, 290 kPa extra load; 240 and 280 kPa in the P system.
    Source: ETRTO Standards Manual, passenger section; American tables (both from memory).
    """
    if p_metric:
        return 280e3 if extra_load else 240e3
    return 290e3 if extra_load else 250e3


def load_at_pressure(
    *, index_mass: Array, pressure_gauge: Array, reference_gauge: Array, exponent: Array = 0.8
) -> Array:
    """Mass a tyre carries at a pressure: m·(p/p_ref)^n, never more than its index mass.

    index_mass (kg), pressures gauge (Pa), exponent 0.8 (0.65 for sizes that tables star, 0.5 in
    the P system). Returns kg; shapes broadcast. Valid from 150 kPa to the reference.
    Source: ETRTO Standards Manual, passenger section, note to the size tables.
    """
    share = np.clip(pressure_gauge / reference_gauge, 0.0, 1.0)
    return index_mass * share**exponent


def p_metric_load(*, nominal_width: float, aspect_ratio: float, rim_code: float,
                  pressure_gauge: float = 240e3) -> float:  # fmt: skip
    """Load (kg) of a P-size tyre of aspect ratio 0.50 and above, before rounding to an index.

    L = 6.67e-5·√p·Sd^1.39·(Dr + Sd), Sd = (0.34848 + 0.6497·A)·S70; mm and kPa in the formula,
    SI here. A P size carries less than the same size without the P.
    Source: American load formula as given in a tyre engineers' forum answer, 2005.
    """
    width, rim = nominal_width / MM, round(rim_code * 25.4)
    deflected = (0.34848 + 0.6497 * aspect_ratio) * width
    return float(6.67e-5 * math.sqrt(pressure_gauge / 1e3) * deflected**1.39 * (rim + deflected))


_REDUCTION: Final = {
    "V": (210.0, 240.0, 0.91),
    "W": (240.0, 270.0, 0.85),
    "Y": (270.0, 300.0, 0.85),
}


def load_share_at_speed(*, symbol: str, speed: Array) -> Array:
    """Share of the index mass that a tyre carries at a speed.

    symbol: speed category; speed (m/s). V: 1 at 210 km/h falling to 0.91 at 240; W: 1 at 240 to
    0.85 at 270; Y: 1 at 270 to 0.85 at 300; others 1 up to the symbol speed. Zero above the
    symbol speed. Returns a share; shape of speed. Source: UN R30 para 2.30 (the figures also in
    Reimpell, Stoll, Betzler, The Automotive Chassis, 10.1.2.6; those for Y from memory).
    """
    kmh = np.asarray(speed, dtype=np.float64) * 3.6
    top = float(SYMBOL_SPEED_KMH[symbol])
    low, high, least = _REDUCTION.get(symbol, (top, top + 1.0, 1.0))
    share = 1.0 - (1.0 - least) * np.clip((kmh - low) / (high - low), 0.0, 1.0)
    return np.where(kmh > top + 1e-9, 0.0, share)


def grown(*, size: Array, growth: Array) -> Array:
    """A new tyre's section width or height after growing in service: size·(1 + growth).

    size (m), growth (share, 0 to 0.04). Returns m. Source: UN R30 para 6.1.4 and 6.1.5 set 1.04
    as the most that a radial tyre may reach against its design size.
    """
    return size * (1.0 + growth)


def free_radius_grown(*, overall_diameter: Array, rim_diameter: Array, growth: Array) -> Array:
    """Free radius for clearance: the section height grows, the rim does not.

    overall_diameter (m) new and inflated; rim_diameter (m) conventional; growth (share).
    Returns m; shapes broadcast. Spinning and age are both in ``growth``. Neither the loaded nor
    the rolling radius may stand in for it. Source: UN R30 para 6.1.5.
    """
    height = (overall_diameter - rim_diameter) / 2.0
    return rim_diameter / 2.0 + grown(size=height, growth=growth)


def vertical_rate(
    *, nominal_width: Array, aspect_ratio: Array, rim_code: Array, pressure_gauge: Array
) -> Array:
    """Vertical spring rate of a belted radial tyre, standing.

    K = 0.00028·p·√[(1.03 − 0.4·A)·S·(2·A·S + d)] + 3.45 in kg/mm with p in kPa, S and d in mm.
    nominal_width S (m), aspect_ratio A (1), rim_code (d = code x 25.4 mm), pressure_gauge (Pa).
    Returns N/m; shapes broadcast. Valid 150 to 350 kPa; real tyres lie within about 10 %.
    Source: Rhyne, Tire Science and Technology 33 (3), 2005 (from memory).
    """
    width, rim = nominal_width / MM, np.asarray(rim_code, dtype=np.float64) * 25.4
    inside = (1.03 - 0.4 * aspect_ratio) * width * (2.0 * aspect_ratio * width + rim)
    per_mm = 0.00028 * (pressure_gauge / 1e3) * np.sqrt(inside) + 3.45
    return per_mm * GRAVITY * 1e3


def loaded_radius(*, overall_diameter: Array, load: Array, tyre_rate: Array) -> Array:
    """Height of the wheel centre over the ground, standing: free radius less load over rate.

    overall_diameter (m) new and inflated, without growth; load (N) on the tyre; tyre_rate (N/m).
    Returns m; shapes broadcast. For ride height; neither for clearance nor for road speed.
    Source: definition of static loaded radius, ISO 4000-1; the rate is taken as constant.
    """
    return overall_diameter / 2.0 - load / tyre_rate


def rolling_radius(*, overall_diameter: Array, factor: Array = 3.05) -> Array:
    """Effective rolling radius from the overall diameter: circumference = factor·D.

    overall_diameter (m), factor 3.05 for radial passenger tyres at 60 km/h (within +1.5/−2.5 %).
    Returns m. For road speed, gearing and tick counts; less than the free radius, more than the
    loaded one. Source: ETRTO Standards Manual, passenger notes (from memory).
    """
    return factor * overall_diameter / (2.0 * math.pi)


def turns_per_metre(*, rolling_radius: Array) -> Array:
    """Wheel turns for each metre of road, 1/(2π·r). rolling_radius (m). Returns 1/m."""
    return 1.0 / (2.0 * math.pi * rolling_radius)


def rotating_inertia(*, wheel_mass: Array, rim_diameter: Array, tyre_mass: Array,
                     overall_diameter: Array) -> Array:  # fmt: skip
    """Inertia about the axle, estimated: each mass at a share of its outer radius.

    Masses (kg), diameters (m). Radius of gyration 0.77 of the rim radius for a cast wheel, 0.86
    of the free radius for a tyre. Returns kg·m²; shapes broadcast. Within about 15 %.
    Source: common shares of weighed and swung wheels (from memory).
    """
    wheel = wheel_mass * (0.77 * rim_diameter / 2.0) ** 2
    tyre = tyre_mass * (0.86 * overall_diameter / 2.0) ** 2
    return wheel + tyre


def equivalent_mass(*, mass: Array, inertia: Array, rolling_radius: Array) -> Array:
    """Mass that would be as hard to speed up if it did not turn: m + I/r².

    mass (kg), inertia (kg·m²), rolling_radius (m). Returns kg; shapes broadcast.
    Source: definition; Wong, Theory of Ground Vehicles, mass factor.
    """
    return mass + inertia / rolling_radius**2


def _whole_mm(length: Array) -> Array:
    return np.floor(np.round(length / MM, 6) + 0.5) * MM


def _half_inches(width: Array) -> Array:
    """Width in inches, to the nearest half, ties up."""
    return np.floor(np.round(width / INCH * 2.0, 9) + 0.5) / 2.0
