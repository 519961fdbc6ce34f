"""Traps, scaling and limits of the corner formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.build.thread_marking import parse_thread
from drybuild.systems.corners import formulas as tyre
from drybuild.systems.corners import formulas_clearance as clearance
from drybuild.systems.corners import formulas_wheel as wheel

MM = 1e-3
INCH = 0.0254


def test_the_three_radii_are_told_apart() -> None:
    free = tyre.free_radius_grown(overall_diameter=0.632, rim_diameter=0.406, growth=0.02)
    rolling = tyre.rolling_radius(overall_diameter=0.632)
    rate = tyre.vertical_rate(
        nominal_width=0.205, aspect_ratio=0.55, rim_code=16, pressure_gauge=220e3
    )
    loaded = tyre.loaded_radius(overall_diameter=0.632, load=3900.0, tyre_rate=rate)
    assert loaded < rolling < 0.316 < free


def test_fifty_series_belongs_with_the_wide_sections() -> None:
    width = tyre.design_section_width(nominal_width=0.225, aspect_ratio=0.50, rim_width=7.0 * INCH)
    assert round(float(width) / MM) == 233


def test_half_a_millimetre_of_section_height_rounds_up() -> None:
    assert tyre.section_height(nominal_width=0.205, aspect_ratio=0.50) == pytest.approx(0.103)
    assert tyre.section_height(nominal_width=0.255, aspect_ratio=0.50) == pytest.approx(0.128)


def test_seventeen_inch_rims_are_neither_conventional_nor_25_4() -> None:
    conventional = tyre.conventional_rim_diameter(rim_code=17)
    seat = tyre.SPECIFIED_RIM_DIAMETER_MM[17] * MM
    assert conventional == pytest.approx(0.432)
    assert seat - conventional == pytest.approx(0.0046)
    assert conventional != pytest.approx(17 * INCH, abs=1e-5)


def test_load_never_exceeds_the_index_however_hard_the_tyre_is_blown_up() -> None:
    loads = tyre.load_at_pressure(
        index_mass=615.0, pressure_gauge=np.array([0.0, 250e3, 350e3]), reference_gauge=250e3
    )
    assert loads[0] == 0.0
    assert loads[1] == loads[2] == 615.0


def test_above_its_symbol_a_tyre_carries_nothing() -> None:
    share = tyre.load_share_at_speed(symbol="H", speed=np.array([210.0, 211.0]) / 3.6)
    assert list(share) == [1.0, 0.0]


def test_h_stands_between_u_and_v() -> None:
    u, h, v = (tyre.symbol_speed(symbol=letter) for letter in "UHV")
    assert u < h < v


def test_rate_rises_with_pressure_and_stays_in_the_usual_range() -> None:
    rates = tyre.vertical_rate(
        nominal_width=0.205,
        aspect_ratio=0.55,
        rim_code=16,
        pressure_gauge=np.array([180e3, 220e3, 260e3]),
    )
    assert np.all(np.diff(rates) > 0)
    assert np.all((rates > 150e3) & (rates < 300e3))


def test_inertia_lies_between_hoops_at_hub_and_tread() -> None:
    inertia = tyre.rotating_inertia(
        wheel_mass=9.0, rim_diameter=0.432, tyre_mass=10.0, overall_diameter=0.634
    )
    assert 0.0 < inertia < 9.0 * 0.216**2 + 10.0 * 0.317**2


@pytest.mark.parametrize("text", ["M12", "12x1.5", "M12x8", "M12-1.5", "1/0-20", ""])
def test_a_thread_without_a_clear_pitch_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"thread .*"):
        parse_thread(text)


def test_an_untabulated_thread_wants_one_diameter() -> None:
    thread = parse_thread("M16x1.5")
    assert wheel.least_turns(diameter=thread.diameter, pitch=thread.pitch) == pytest.approx(
        16 / 1.5
    )


@given(
    width=st.floats(0.15, 0.40),
    offset=st.floats(-0.02, 0.06),
    spacer=st.floats(0.0, 0.03),
    more=st.floats(0.001, 0.02),
)
def test_a_wider_spacer_gives_inside_what_it_takes_outside(
    width: float, offset: float, spacer: float, more: float
) -> None:
    def gaps(spacer_now: float) -> tuple[float, float]:
        side = {"gap": 0.02, "height": 0.2, "camber_then": 0.0, "camber": 0.0, "rise": 0.0,
                "outboard": 0.0}  # fmt: skip
        inner = clearance.moved_side_gap(
            **side, towards=-1.0,
            extent_then=wheel.inner_extent(width=width, offset=offset, spacer=spacer),
            extent=wheel.inner_extent(width=width, offset=offset, spacer=spacer_now),
        )  # fmt: skip
        outer = clearance.moved_side_gap(
            **side, towards=1.0,
            extent_then=wheel.outer_extent(width=width, offset=offset, spacer=spacer),
            extent=wheel.outer_extent(width=width, offset=offset, spacer=spacer_now),
        )  # fmt: skip
        return float(inner), float(outer)

    before, after = gaps(spacer), gaps(spacer + more)
    assert before == (pytest.approx(0.02), pytest.approx(0.02))
    assert after[0] - before[0] == pytest.approx(more)
    assert before[1] - after[1] == pytest.approx(more)


def _arch(**changed: float) -> float:
    given_ = {
        "gap": 0.025, "height": 0.38, "extent_then": 0.062, "camber_then": -0.017,
        "extent": 0.094, "camber": -0.05, "rise": 0.08, "outboard": 0.003, "towards": 1.0,
    } | changed  # fmt: skip
    return float(clearance.moved_side_gap(**given_))


def test_more_negative_camber_gives_room_at_the_arch_and_takes_it_inside() -> None:
    assert _arch(camber=-0.06) > _arch(camber=-0.05)
    assert _arch(towards=-1.0, camber=-0.06) < _arch(towards=-1.0, camber=-0.05)


def test_one_degree_at_the_arch_is_worth_its_lever() -> None:
    gained = _arch(camber=-0.05 - math.radians(1.0)) - _arch()
    lever = 0.38 - 0.08
    assert gained == pytest.approx(lever * math.radians(1.0), rel=0.04)


@given(st.floats(0.001, 0.03))
def test_moving_out_takes_from_the_arch(step: float) -> None:
    assert _arch() - _arch(outboard=0.003 + step) == pytest.approx(step)


def test_nothing_changed_is_the_gap_as_measured() -> None:
    same = {"camber": -0.017, "extent": 0.062, "rise": 0.0, "outboard": 0.0}
    assert _arch(**same) == pytest.approx(0.025)


@given(scale=st.floats(0.2, 5.0))
def test_lengths_scale(scale: float) -> None:
    lengths = {"gap": 0.025, "height": 0.38, "extent_then": 0.062, "extent": 0.094,
               "rise": 0.08, "outboard": 0.003}  # fmt: skip
    scaled = _arch(**{key: value * scale for key, value in lengths.items()})
    assert scaled == pytest.approx(scale * _arch(), abs=1e-12)


def test_a_lip_above_the_tread_touches_only_when_it_is_also_inside() -> None:
    room = clearance.clear_of(
        side_gap=np.array([-0.01, -0.01, 0.004]), over_gap=np.array([0.03, -0.02, -0.02])
    )
    assert list(room) == [0.03, -0.01, 0.004]


def test_columns_of_draws_broadcast() -> None:
    gap = np.linspace(0.02, 0.03, 16)
    moved = clearance.moved_side_gap(
        gap=gap, height=0.38, extent_then=0.062, camber_then=-0.017, extent=0.094,
        camber=np.full(16, -0.05), rise=np.linspace(0.07, 0.09, 16), outboard=0.0, towards=1.0,
    )  # fmt: skip
    assert np.asarray(moved).shape == (16,)
