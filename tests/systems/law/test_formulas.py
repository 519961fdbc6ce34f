"""Formulas of the law room: traps, scaling, bad input."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.law import formulas

KMH = 1 / 3.6


def test_a_bigger_tyre_raises_true_speed_at_the_same_indication() -> None:
    after = formulas.true_speed_after(true_speed=96 * KMH, turns_before=0.520, turns_after=0.507)
    assert after / KMH == pytest.approx(98.4615, abs=1e-4)


def test_the_same_tyre_leaves_the_reading_alone() -> None:
    assert formulas.true_speed_after(true_speed=20.0, turns_before=0.5, turns_after=0.5) == 20.0


def test_one_column_of_turns_cancels_its_own_doubt() -> None:
    turns = np.array([0.50, 0.52, 0.54])
    after = formulas.true_speed_after(true_speed=20.0, turns_before=turns, turns_after=turns * 0.98)
    assert np.ptp(after) < 1e-12


def test_marked_diameter_uses_the_conventional_rim_not_code_times_25_4() -> None:
    got = formulas.marked_diameter(section_width_mm=225, aspect_percent=50, rim_code=17)
    assert got == pytest.approx(0.658)
    assert abs(got - (17 * 25.4 + 225) / 1000) > 1e-3


def test_half_a_millimetre_of_section_height_rounds_up() -> None:
    # 205 × 0.50 = 102.5 → 103
    got = formulas.marked_diameter(section_width_mm=205, aspect_percent=50, rim_code=16)
    assert got == pytest.approx(0.612)


def test_a_rim_code_without_a_conventional_diameter_is_refused() -> None:
    with pytest.raises(ValueError, match="24"):
        formulas.marked_diameter(section_width_mm=285, aspect_percent=30, rim_code=24)


def test_load_table_is_monotone_and_bounded() -> None:
    loads = [formulas.load_of_index(load_index=i) for i in range(60, 111)]
    assert loads == sorted(set(loads))
    for outside in (59, 111):
        with pytest.raises(ValueError, match="60 to 110"):
            formulas.load_of_index(load_index=outside)


def test_a_load_index_one_short_of_half_the_axle_fails() -> None:
    assert formulas.least_load_index(axle_load_limit=1120.0) == 88
    assert formulas.least_load_index(axle_load_limit=1121.0) == 89
    with pytest.raises(ValueError, match="2200"):
        formulas.least_load_index(axle_load_limit=2200.0)


def test_h_stands_between_u_and_v() -> None:
    u, h, v = (formulas.speed_of_symbol(symbol=s) for s in "UHV")
    assert u < h < v


def test_symbols_in_brackets_and_unknown_ones() -> None:
    assert formulas.speed_of_symbol(symbol="(Y)") == formulas.speed_of_symbol(symbol="y")
    with pytest.raises(ValueError, match="X"):
        formulas.speed_of_symbol(symbol="X")


def test_beyond_its_speed_a_tyre_carries_nothing_known() -> None:
    speeds = np.array([180, 210, 211, 240, 241]) * KMH
    share = formulas.load_share_at_speed(symbol="V", top_speed=speeds)
    assert share[1] == 1
    assert share[2] < 1
    assert np.isnan(share[4])
    assert np.isnan(formulas.load_share_at_speed(symbol="S", top_speed=181 * KMH))


def test_power_to_mass_of_a_round_case() -> None:
    assert formulas.power_to_mass(power=132e3, mass_in_running_order=1100.0) == pytest.approx(120)


def test_more_offset_or_a_spacer_moves_the_flank() -> None:
    edge = formulas.tyre_outer_edge(section_width=0.225, offset=0.032)
    assert edge == pytest.approx(0.0805)
    assert formulas.tyre_outer_edge(section_width=0.225, offset=0.042) == pytest.approx(0.0705)
    spaced = formulas.tyre_outer_edge(section_width=0.225, offset=0.032, spacer=0.005)
    assert spaced == pytest.approx(0.0855)


def test_lowering_brings_a_body_point_down_and_lifting_up() -> None:
    assert formulas.lowered(height=0.62, drop=0.03) == pytest.approx(0.59)
    assert formulas.lowered(height=0.62, drop=-0.03) == pytest.approx(0.65)
