"""Wheels, threads and what a wheel moves, against thread tables, geometry and the trade."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from drybuild.build.thread_marking import parse_thread
from drybuild.systems.corners import formulas as tyre
from drybuild.systems.corners import formulas_clearance as clearance
from drybuild.systems.corners import formulas_wheel as wheel

Against = Callable[..., None]

TYRE = "drybuild.systems.corners.formulas."
WHEEL = "drybuild.systems.corners.formulas_wheel."
CLEAR = "drybuild.systems.corners.formulas_clearance."
MM = 1e-3
INCH = 0.0254


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
