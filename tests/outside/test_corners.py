"""Tyres against size tables, rules of load and speed, and the trade."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from drybuild.build.tyre_marking import parse_marking
from drybuild.systems.corners import formulas as tyre

Against = Callable[..., None]

TYRE = "drybuild.systems.corners.formulas."
MM = 1e-3
INCH = 0.0254
ETRTO = "ETRTO Standards Manual, passenger car tyres, metric designation (from memory)"

# size, measuring rim (in), section width (mm), overall diameter (mm), permitted rims (in)
SIZES = [
    ("175/65R14", 5.0, 177, 584, 5.0, 6.0),
    ("185/65R15", 5.5, 189, 621, 5.0, 6.5),
    ("195/50R15", 6.0, 201, 577, 5.5, 7.0),
    ("195/55R15", 6.0, 201, 595, 5.5, 7.0),
    ("205/60R16", 6.0, 209, 652, 5.5, 7.5),
    ("225/55R16", 7.0, 233, 654, 6.0, 8.0),
    ("225/50R17", 7.0, 233, 658, 6.0, 8.0),
    ("205/45R17", 7.0, 206, 616, 6.5, 7.5),
    ("225/45R17", 7.5, 225, 634, 7.0, 8.5),
    ("235/45R17", 8.0, 236, 644, 7.5, 9.0),
    ("225/40R18", 8.0, 230, 637, 7.5, 9.0),
    ("245/40R18", 8.5, 248, 653, 8.0, 9.5),
    ("255/40R18", 9.0, 260, 661, 8.5, 10.0),
    ("255/35R18", 9.0, 260, 635, 8.5, 10.0),
    ("275/35R18", 9.5, 278, 649, 9.0, 11.0),
    ("235/35R19", 8.5, 241, 647, 8.0, 9.5),
    ("255/35R19", 9.0, 260, 661, 8.5, 10.0),
    ("285/30R18", 10.0, 290, 629, 9.5, 10.5),
]


def _size(text: str) -> dict[str, float]:
    mark = parse_marking(text)
    return {
        "nominal_width": mark.section_width_mm * MM,
        "aspect_ratio": mark.aspect_percent / 100,
    }


def _diameter(text: str) -> float:
    code = parse_marking(text).rim_code
    return float(tyre.design_overall_diameter(**_size(text), rim_code=code))


@pytest.mark.authority
def test_overall_diameters_of_the_size_table(against: Against) -> None:
    against(
        TYRE + "design_overall_diameter",
        got=np.array([_diameter(row[0]) for row in SIZES]),
        expected=np.array([row[3] for row in SIZES]) * MM,
        abs=1e-6,
        source=ETRTO,
        note="printed to 1 mm; code x 25.4 mm would miss 9 of 18 rows",
    )


@pytest.mark.authority
def test_section_widths_of_the_size_table(against: Against) -> None:
    got = [tyre.design_section_width(**_size(row[0]), rim_width=row[1] * INCH) for row in SIZES]
    against(
        TYRE + "design_section_width",
        got=np.array(got),
        expected=np.array([row[2] for row in SIZES]) * MM,
        abs=0.5 * MM,
        source=ETRTO,
        note="printed to 1 mm",
    )


@pytest.mark.authority
def test_measuring_rims_of_the_size_table(against: Against) -> None:
    against(
        TYRE + "measuring_rim_width",
        got=np.array([float(tyre.measuring_rim_width(**_size(row[0]))) for row in SIZES]),
        expected=np.array([row[1] for row in SIZES]) * INCH,
        abs=1e-9,
        source=ETRTO,
        note="half inches, exact",
    )


@pytest.mark.authority
def test_permitted_rims_of_the_size_table(against: Against) -> None:
    got = [[float(side) for side in tyre.permitted_rim_widths(**_size(row[0]))] for row in SIZES]
    against(
        TYRE + "permitted_rim_widths",
        got=np.array(got),
        expected=np.array([row[4:6] for row in SIZES]) * INCH,
        abs=1e-9,
        source=ETRTO,
        note="half inches, exact; the bands were fitted to rows of this table",
    )


@pytest.mark.authority
def test_largest_and_least_diameter_in_service(against: Against) -> None:
    got = [
        tyre.overall_diameter_limits(**_size(size), rim_code=code)
        for size, code in (("205/55R16", 16), ("225/45R17", 17))
    ]
    against(
        TYRE + "overall_diameter_limits",
        got=np.array(got, dtype=float),
        expected=np.array([[625, 641], [628, 642]]) * MM,
        abs=1e-6,
        source="UN R30, para 6.1.5 limits as printed in size tables (from memory)",
        note="whole millimetres",
    )


@pytest.mark.authority
def test_widest_section_in_service(against: Against) -> None:
    against(
        TYRE + "grown",
        got=tyre.grown(size=np.array([214.0, 225.0]) * MM, growth=0.04),
        expected=np.array([223, 234]) * MM,
        abs=0.5 * MM,
        source="ETRTO Standards Manual, maximum overall width in service (from memory)",
        note="printed to 1 mm",
    )


@pytest.mark.authority
def test_grown_free_radius_meets_the_diameter_in_service(against: Against) -> None:
    got = tyre.free_radius_grown(
        overall_diameter=np.array([0.632, 0.634]), rim_diameter=np.array([0.406, 0.432]),
        growth=0.04,
    )  # fmt: skip
    against(
        TYRE + "free_radius_grown",
        got=2 * got,
        expected=np.array([641, 642]) * MM,
        abs=1.0 * MM,
        source="ETRTO Standards Manual, maximum overall diameter in service (from memory)",
        note="printed to 1 mm, rounded up",
    )


@pytest.mark.authority
def test_section_width_on_a_wider_rim(against: Against) -> None:
    against(
        TYRE + "section_width_on_rim",
        got=tyre.section_width_on_rim(
            section_width=0.225, stated_rim_width=7.5 * INCH, rim_width=np.array([8.0, 8.5]) * INCH
        ),
        expected=np.array([0.230, 0.235]),
        abs=0.5 * MM,
        source="tyre distributor's technical data, note on section width: 5 mm for each half inch",
        note="rule printed to 1 mm",
    )


FRENCH_ORDER = "French order of 24 October 1994 on tyres (NOR EQUS9401799A), annex I"


@pytest.mark.authority
def test_load_index_table(against: Against) -> None:
    rows = """60 250 61 257 62 265 63 272 64 280 65 290 66 300 67 307 68 315 69 325 70 335 71 345
    72 355 73 365 74 375 75 387 76 400 77 412 78 425 79 437 80 450 81 462 82 475 83 487 84 500
    85 515 86 530 87 545 88 560 89 580 90 600 91 615 92 630 93 650 94 670 95 690 96 710 97 730
    98 750 99 775 100 800 101 825 102 850 103 875 104 900 105 925 106 950 107 975 108 1000
    109 1030 110 1060 111 1090 112 1120 113 1150 114 1180 115 1215 116 1250 117 1285 118 1320
    119 1360 120 1400"""
    numbers = [int(word) for word in rows.split()]
    against(
        TYRE + "load_index_mass",
        got=np.array([tyre.load_index_mass(load_index=i) for i in numbers[::2]]),
        expected=np.array(numbers[1::2], dtype=float),
        abs=1e-9,
        source=FRENCH_ORDER,
        note="whole table from 60 to 120, exact",
    )


@pytest.mark.authority
def test_speed_symbols(against: Against) -> None:
    table = {"F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150,
             "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240}  # fmt: skip
    against(
        TYRE + "symbol_speed",
        got=np.array([tyre.symbol_speed(symbol=letter) * 3.6 for letter in table]),
        expected=np.array(list(table.values()), dtype=float),
        abs=1e-9,
        source="French order of 24 October 1994 on tyres (NOR EQUS9401799A), annex II",
        note="exact; H stands between U and V",
    )


@pytest.mark.authority
def test_symbols_above_v(against: Against) -> None:
    against(
        TYRE + "symbol_speed",
        got=np.array([tyre.symbol_speed(symbol=letter) * 3.6 for letter in "WY"]),
        expected=np.array([270.0, 300.0]),
        abs=1e-9,
        source="UN R30 para 2.29 (from memory)",
    )


@pytest.mark.authority
def test_load_at_reduced_pressure(against: Against) -> None:
    pressures = np.arange(180, 251, 10) * 1e3
    against(
        TYRE + "load_at_pressure",
        got=tyre.load_at_pressure(
            index_mass=615.0, pressure_gauge=pressures, reference_gauge=250e3
        ),
        expected=np.array([475, 495, 515, 535, 555, 575, 595, 615], dtype=float),
        abs=2.5,
        source="ETRTO Standards Manual, passenger section, loads by pressure for load index 91",
        note="printed to 5 kg",
    )


@pytest.mark.authority
def test_reference_pressures(against: Against) -> None:
    kinds = [(False, False), (True, False), (False, True)]
    against(
        TYRE + "reference_pressure",
        got=np.array([tyre.reference_pressure(extra_load=x, p_metric=p) for x, p in kinds]),
        expected=np.array([250e3, 290e3, 240e3]),
        abs=0.5e3,
        source="ETRTO Standards Manual and American tables, reference pressures (from memory)",
    )


@pytest.mark.practice
def test_an_extra_load_94_carries_less_than_a_standard_91_at_250_kpa(against: Against) -> None:
    extra = tyre.load_at_pressure(
        index_mass=tyre.load_index_mass(load_index=94),
        pressure_gauge=250e3,
        reference_gauge=tyre.reference_pressure(extra_load=True, p_metric=False),
    )
    against(
        TYRE + "load_at_pressure",
        got=bool(extra < tyre.load_index_mass(load_index=91)),
        expected=True,
        source="trade warning on swapping standard for extra-load tyres",
    )


@pytest.mark.practice
def test_p_sizes_round_to_the_index_that_they_are_marked_with(against: Against) -> None:
    marked = {"P205/55R16": 89, "P225/60R16": 97, "P195/65R15": 89, "P185/70R14": 87,
              "P215/65R15": 95, "P225/50R17": 93}  # fmt: skip
    got = [
        tyre.nearest_load_index(
            mass=tyre.p_metric_load(**_size(text), rim_code=parse_marking(text).rim_code)
        )
        for text in marked
    ]
    against(
        TYRE + "p_metric_load",
        got=np.array(got),
        expected=np.array(list(marked.values())),
        abs=0.5,
        source="load indices marked on P-size tyres on sale (from memory)",
        note="P205/55R16 is 89, 205/55R16 is 91",
    )
    against(
        TYRE + "nearest_load_index",
        got=np.array(got),
        expected=np.array(list(marked.values())),
        abs=0.5,
        source="load indices marked on P-size tyres on sale (from memory)",
    )


@pytest.mark.textbook
def test_load_falls_with_speed_for_v_and_w(against: Against) -> None:
    kmh = np.array([200.0, 210.0, 225.0, 240.0])
    against(
        TYRE + "load_share_at_speed",
        got=tyre.load_share_at_speed(symbol="V", speed=kmh / 3.6),
        expected=np.array([1.0, 1.0, 0.955, 0.91]),
        abs=0.0005,
        source="Reimpell, Stoll, Betzler, The Automotive Chassis, 10.1.2.6",
        note="V; printed to a half percent",
    )
    kmh = np.array([240.0, 255.0, 270.0])
    against(
        TYRE + "load_share_at_speed",
        got=tyre.load_share_at_speed(symbol="W", speed=kmh / 3.6),
        expected=np.array([1.0, 0.925, 0.85]),
        abs=0.0005,
        source="Reimpell, Stoll, Betzler, The Automotive Chassis, 10.1.2.6",
        note="W",
    )


@pytest.mark.practice
def test_turns_per_mile_of_the_trade_rule(against: Against) -> None:
    sizes = ["195/65R15", "205/55R16", "225/45R17", "245/40R18"]
    inches = np.array([_diameter(text) for text in sizes]) / INCH
    radius = tyre.rolling_radius(overall_diameter=inches * INCH)
    against(
        TYRE + "rolling_radius",
        got=2 * math.pi * radius,
        expected=1609.344 / (20800 / inches),
        rel=0.005,
        source="tyre catalogues: turns per mile are about 20,800 over the diameter in inches",
        note="rule rounded to three figures",
    )
    against(
        TYRE + "turns_per_metre",
        got=tyre.turns_per_metre(rolling_radius=radius) * 1609.344,
        expected=20800 / inches,
        rel=0.005,
        source="tyre catalogues: turns per mile are about 20,800 over the diameter in inches",
    )


@pytest.mark.practice
def test_19_to_18_with_matching_profile_hardly_changes_the_rolling_radius(
    against: Against,
) -> None:
    pairs = [("255/35R19", "255/40R18"), ("235/35R19", "235/40R18"), ("225/35R19", "225/40R18")]
    change = [
        tyre.rolling_radius(overall_diameter=_diameter(b))
        / tyre.rolling_radius(overall_diameter=_diameter(a))
        for a, b in pairs
    ]
    against(
        TYRE + "rolling_radius",
        got=np.array(change),
        expected=np.ones(3),
        abs=0.01,
        source="fact of the trade: one inch less rim, five points more aspect ratio",
        note="hardly is taken as 1 %",
    )


@pytest.mark.practice
def test_which_18_inch_tyres_sit_square_on_nine_and_a_half_inches(against: Against) -> None:
    words = []
    for text in ("245/40R18", "255/40R18", "265/35R18"):
        low, high = (float(x) / INCH for x in tyre.permitted_rim_widths(**_size(text)))
        words.append("edge" if math.isclose(high, 9.5) else "square" if low < 9.5 < high else "no")
    against(
        TYRE + "permitted_rim_widths",
        got=tuple(words),
        expected=("edge", "square", "square"),
        source="fact of the trade on 9.5-inch rims",
    )


@pytest.mark.textbook
def test_standing_height_and_rate_of_a_205_55_16(against: Against) -> None:
    source = "Reimpell, The Automotive Chassis, static radii of European tyres (from memory)"
    size = _size("205/55R16")
    rate = tyre.vertical_rate(**size, rim_code=16, pressure_gauge=250e3)
    against(
        TYRE + "vertical_rate",
        got=rate,
        expected=615 * 9.80665 / (0.316 - 0.290),
        rel=0.20,
        source=source,
        note="radius known to 5 mm of 26 mm deflection",
    )
    against(
        TYRE + "loaded_radius",
        got=tyre.loaded_radius(
            overall_diameter=0.632, load=np.array([615.0, 400.0]) * 9.80665, tyre_rate=rate
        ),
        expected=np.array([0.290, 0.300]),
        abs=0.005,
        source=source,
        note="full load and usual road load",
    )
