"""Corners against the world: size tables, load rules, thread tables, geometry and the trade."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from drybuild.build.thread_marking import parse_thread
from drybuild.build.tyre_marking import parse_marking
from drybuild.systems.corners import formulas as tyre
from drybuild.systems.corners import formulas_clearance as clearance
from drybuild.systems.corners import formulas_wheel as wheel

Against = Callable[..., None]

TYRE = "drybuild.systems.corners.formulas."
WHEEL = "drybuild.systems.corners.formulas_wheel."
CLEAR = "drybuild.systems.corners.formulas_clearance."
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


@pytest.mark.practice
def test_inertia_of_a_common_wheel(against: Against) -> None:
    against(
        TYRE + "rotating_inertia",
        got=tyre.rotating_inertia(
            wheel_mass=8.5, rim_diameter=0.4064, tyre_mass=9.0, overall_diameter=0.632
        ),
        expected=0.815,
        rel=0.15,
        source="wheel inertia commonly assumed in road-load models (from memory)",
        note="masses of a 16-inch wheel and tyre",
    )


@pytest.mark.textbook
def test_a_hoop_weighs_double_and_a_disc_half_as_much_again(against: Against) -> None:
    mass, radius = 12.0, 0.3
    against(
        TYRE + "equivalent_mass",
        got=tyre.equivalent_mass(
            mass=mass, inertia=np.array([1.0, 0.5]) * mass * radius**2, rolling_radius=radius
        ),
        expected=np.array([24.0, 18.0]),
        rel=1e-12,
        source="mechanics texts: rolling hoop and rolling disc",
    )


@pytest.mark.authority
def test_threads(against: Against) -> None:
    got = [parse_thread(text) for text in ("M12x1.5", "M14 x 1.25", "1/2-20 UNF")]
    against(
        "drybuild.build.thread_marking.parse_thread",
        got=np.array(got),
        expected=np.array([[12.0, 1.5], [14.0, 1.25], [12.7, 1.27]]) * MM,
        abs=1e-9,
        source="ISO 261 and ASME B1.1 (1/2 in, 20 threads to the inch)",
    )


@pytest.mark.authority
def test_least_turns_table(against: Against) -> None:
    source = "wheel hardware maker's installation table"
    names = ["M12x1.5", "M12x1.25", "M14x1.5", "M14x1.25", "1/2-20"]
    threads = [parse_thread(name) for name in names]
    table = np.array([6.5, 8.0, 7.5, 9.0, 8.0])
    against(
        WHEEL + "least_turns",
        got=np.array(
            [wheel.least_turns(diameter=thread.diameter, pitch=thread.pitch) for thread in threads]
        ),
        expected=table,
        abs=0.01,
        source=source,
    )
    against(
        WHEEL + "turns",
        got=np.array(
            [
                wheel.turns(engagement=length * MM, pitch=thread.pitch)
                for length, thread in zip((9.75, 10.0, 11.25), threads[:3], strict=True)
            ]
        ),
        expected=table[:3],
        abs=0.01,
        source=source,
        note="the same table in millimetres",
    )


@pytest.mark.practice
def test_a_five_millimetre_spacer_costs_five_millimetres_of_thread(against: Against) -> None:
    engaged = wheel.thread_engagement(
        shank=28 * MM, taken_up=np.array([15.0, 20.0, 25.0, 30.0]) * MM, thread_length=12 * MM
    )
    against(
        WHEEL + "thread_engagement",
        got=engaged / (1.5 * MM),
        expected=np.array([8.0, 8 / 1.5, 2.0, 0.0]),
        abs=1e-6,
        source="hand computation: 28 mm stud, 15 mm seat, nut with 12 mm thread, 5 mm steps",
        note="with no spacer the nut is full, one more millimetre of stud adds nothing",
    )


@pytest.mark.practice
def test_backspace_chart(against: Against) -> None:
    width = wheel.wheel_overall_width(rim_width=np.array([7.0, 8.0, 9.0]) * INCH)
    against(
        WHEEL + "backspace",
        got=wheel.backspace(overall_width=width, offset=35 * MM) / INCH,
        expected=np.array([5.38, 5.88, 6.38]),
        abs=0.005,
        source="offset and backspace charts of the wheel trade",
        note="charts print two decimals and count the wheel one inch wider than its rim",
    )
    against(
        WHEEL + "wheel_overall_width",
        got=width / INCH,
        expected=np.array([8.0, 9.0, 10.0]),
        abs=0.05,
        source="offset and backspace charts of the wheel trade",
    )


@pytest.mark.practice
def test_extents_of_an_eight_inch_wheel_at_35(against: Against) -> None:
    given = {"width": 228.6 * MM, "offset": 35 * MM, "spacer": 0.0}
    against(
        WHEEL + "inner_extent",
        got=wheel.inner_extent(**given),
        expected=149.3 * MM,
        abs=0.05 * MM,
        source="offset and backspace charts of the wheel trade",
    )
    against(
        WHEEL + "outer_extent",
        got=wheel.outer_extent(**given),
        expected=(228.6 - 149.3) * MM,
        abs=0.05 * MM,
        source="offset and backspace charts of the wheel trade",
        note="overall width less backspace",
    )


@pytest.mark.authority
def test_track_grows_by_twice_the_offset_lost(against: Against) -> None:
    side = wheel.track_change(offset_before=45 * MM, offset=35 * MM, spacer_before=0.0, spacer=0.0)
    against(
        WHEEL + "track_change",
        got=2 * side,
        expected=20 * MM,
        abs=1e-9,
        source="Government of South Australia, fact sheet on passenger car track",
    )


@pytest.mark.textbook
def test_bolt_circles_from_neighbouring_studs(against: Against) -> None:
    spacing = np.array([4, 5, 6])
    against(
        WHEEL + "bolt_circle",
        got=np.array([float(wheel.bolt_circle(count=int(n), spacing=1.0)) for n in spacing]),
        expected=np.array([math.sqrt(2), 1.7013016, 2.0]),
        abs=5e-7,
        source="geometry of the regular polygon",
        note="one page prints 1.7012 for five studs, a cut-off digit",
    )


@pytest.mark.authority
def test_rims_are_not_code_times_25_4(against: Against) -> None:
    codes = np.array([14, 15, 16, 17, 18, 19])
    seat = np.where(codes <= 16, codes * 25.4 - 0.8, codes * 25.4 + 4.8)
    against(
        WHEEL + "rim_outer_diameter",
        got=np.array([wheel.rim_outer_diameter(rim_code=int(c)) for c in codes]),
        expected=(seat + 2 * 17.3) * MM,
        abs=0.05 * MM,
        source="ISO 4000-2, specified rim diameters and J flange (from memory)",
        note="table printed to 0.1 mm",
    )


@pytest.mark.textbook
def test_scrub_change_by_crossing_the_steering_axis_with_the_ground(against: Against) -> None:
    kpi, hub_to_axis = math.radians(12.0), 0.04

    def scrub(outboard: float, radius: float) -> float:
        # the axis leans in at the top: at the ground it stands further out than at the hub
        axis_at_ground = -hub_to_axis + radius * math.tan(kpi)
        return outboard - axis_at_ground

    against(
        WHEEL + "scrub_change",
        got=wheel.scrub_change(outboard=0.013, radius_growth=0.009, kpi=kpi),
        expected=scrub(0.013, 0.306) - scrub(0.0, 0.297),
        abs=1e-9,
        source="steering geometry, hand computation",
    )


def _corners(extent: float, radius: float, camber: float, towards: float) -> np.ndarray:
    """Side line of the tilted box, bottom and top, as (towards obstacle, up), by rotation."""
    turn = Rotation.from_euler("z", -camber).as_matrix()[:2, :2]
    side = np.array([[towards * extent, -radius], [towards * extent, radius]])
    turned = side @ turn.T
    turned[:, 0] *= towards
    return turned


@pytest.mark.cross_model
@pytest.mark.parametrize("towards", [1.0, -1.0])
@pytest.mark.parametrize("camber", [-4.0, -1.0, 0.0, 2.5])
def test_side_of_a_tilted_tyre(against: Against, camber: float, towards: float) -> None:
    gamma, extent, radius, height = math.radians(camber), 0.095, 0.31, 0.24
    low, high = _corners(extent, radius, gamma, towards)
    share = brentq(lambda t: low[1] + t * (high[1] - low[1]) - height, 0.0, 1.0)
    against(
        CLEAR + "side_position",
        got=clearance.side_position(extent=extent, height=height, camber=gamma, towards=towards),
        expected=low[0] + share * (high[0] - low[0]),
        abs=1e-9,
        source="scipy rotation and root finding on the side of the box",
    )
    against(
        CLEAR + "top_position",
        got=clearance.top_position(radius=radius, extent=extent, camber=gamma, towards=towards),
        expected=high[1],
        abs=1e-9,
        source="scipy rotation of the shoulder",
    )


@pytest.mark.cross_model
@pytest.mark.parametrize("towards", [1.0, -1.0])
def test_a_gap_moved_to_another_wheel_is_the_gap_found_there(
    against: Against, towards: float
) -> None:
    # One obstacle fixed to the body; the hub moves 70 mm up and 3 mm out, the wheel changes.
    body = np.array([towards * 0.125, 0.36])
    then = {"extent": 0.085, "radius": 0.306, "camber": math.radians(-0.8)}
    now = {"extent": 0.104, "radius": 0.316, "camber": math.radians(-2.6)}

    def gaps(box: dict[str, float], hub: np.ndarray) -> tuple[float, float]:
        low, high = _corners(box["extent"], box["radius"], box["camber"], towards)
        away = (body - hub) * np.array([towards, 1.0])
        share = (away[1] - low[1]) / (high[1] - low[1])
        return float(away[0] - (low[0] + share * (high[0] - low[0]))), float(away[1] - high[1])

    side_then, over_then = gaps(then, np.zeros(2))
    side_now, over_now = gaps(now, np.array([0.003, 0.070]))
    side = clearance.moved_side_gap(
        gap=side_then, height=0.36, extent_then=then["extent"], camber_then=then["camber"],
        extent=now["extent"], camber=now["camber"], rise=0.070, outboard=0.003, towards=towards,
    )  # fmt: skip
    over = clearance.moved_over_gap(
        gap=over_then, radius_then=then["radius"], extent_then=then["extent"],
        camber_then=then["camber"], radius=now["radius"], extent=now["extent"],
        camber=now["camber"], rise=0.070, towards=towards,
    )  # fmt: skip
    source = "scipy rotation: obstacle and tyre placed before and after"
    against(CLEAR + "moved_side_gap", got=side, expected=side_now, abs=1e-9, source=source)
    against(CLEAR + "moved_over_gap", got=over, expected=over_now, abs=1e-9, source=source)
    against(
        CLEAR + "clear_of",
        got=clearance.clear_of(side_gap=side, over_gap=over),
        expected=max(side_now, over_now),
        abs=1e-9,
        source=source,
    )
