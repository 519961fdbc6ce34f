"""Formulas of the law room: traps, scaling, bad input."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.systems.law import formulas

KMH = 1 / 3.6


def test_a_bigger_tyre_raises_true_speed_at_the_same_indication() -> None:
    before, after = 0.520, 0.507  # turns per metre
    true = formulas.true_speed_after(true_speed=96 * KMH, reading_ratio=after / before)
    assert true / KMH == pytest.approx(98.4615, abs=1e-4)


def test_the_same_tyre_leaves_the_reading_alone() -> None:
    assert formulas.true_speed_after(true_speed=20.0, reading_ratio=1.0) == 20.0


def test_power_to_mass_of_a_round_case() -> None:
    assert formulas.power_to_mass(power=132e3, mass_in_running_order=1100.0) == pytest.approx(120)


def test_more_offset_or_a_spacer_moves_the_flank() -> None:
    edge = formulas.tyre_outer_edge(section_width=0.225, offset=0.032)
    assert edge == pytest.approx(0.0805)
    assert formulas.tyre_outer_edge(section_width=0.225, offset=0.042) == pytest.approx(0.0705)
    spaced = formulas.tyre_outer_edge(section_width=0.225, offset=0.032, spacer=0.005)
    assert spaced == pytest.approx(0.0855)


def test_negative_camber_draws_the_flank_in_and_more_so_higher_up() -> None:
    tilt = {"section_width": 0.225, "offset": 0.032, "camber": np.radians(-2.0)}
    low, high = (formulas.tyre_outer_edge(**tilt, height=h) for h in (0.2, 0.31))
    assert 0.0805 > low > high
    assert formulas.sector_height(free_radius=0.31) < 0.31


def test_lowering_brings_a_body_point_down_and_lifting_up() -> None:
    assert formulas.lowered(height=0.62, drop=0.03) == pytest.approx(0.59)
    assert formulas.lowered(height=0.62, drop=-0.03) == pytest.approx(0.65)
