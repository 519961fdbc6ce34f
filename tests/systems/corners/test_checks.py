"""The checks of the corners: what they say of small invented cars, and what they refuse."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.build.thread_marking import parse_thread
from drybuild.build.tyre_marking import parse_marking
from drybuild.findings import NOT_APPLICABLE, Along, FormulaRefused
from drybuild.systems.corners import checks, results, results_holding
from drybuild.systems.corners import checks_clearance as clearance
from drybuild.systems.corners.results_room import room

MM = 1e-3
INCH = 0.0254


def hand(**changed: Any) -> dict[str, Any]:
    """A point at the arch of a car on 6.5Jx16 ET45, taken as found; the state changes nothing."""
    found: dict[str, Any] = dict.fromkeys(
        ("rim_width", "offset", "spacer", "tyre", "section_width", "overall_diameter", "camber",
         "drop_then", "tilts")
    )  # fmt: skip
    found |= {
        "gap": 26 * MM, "over": 60 * MM, "height": 0.366,
        "base_rim_width": 6.5 * INCH, "base_offset": 45 * MM, "base_spacer": 0.0,
        "base_marking": parse_marking("205/50 R16 87V"), "base_section_width": 214 * MM,
        "base_diameter": 0.612, "base_camber": math.radians(-1.0),
        "reach": 107 * MM - 45 * MM, "radius": 0.306, "now_camber": math.radians(-1.0),
        "drop": 0.0, "full_bump": 0.11, "bump_outboard": 3 * MM,
    }  # fmt: skip
    return found | changed


def test_every_injury_check_says_a_word_of_safety_and_every_check_its_source() -> None:
    for check in room.checks:
        assert check.source.document, check.id
        assert check.do, check.id
    assert len(room.checks) >= 25


def test_static_poses_say_what_they_do_not_cover() -> None:
    poses = {check.id: check.pose for check in room.checks}
    for name in ("tyre_upright_gap", "tyre_arm_gap", "tyre_arch_gap"):
        assert "full steering lock, full bump" in poses[f"corners.{name}"]
    for name in ("arm_bump_gap", "arch_bump_gap"):
        assert "full steering lock" in poses[f"corners.{name}"]


def test_nothing_changed_is_as_measured() -> None:
    assert clearance.arch_gap(**hand(over=None)) == pytest.approx(26 * MM)
    assert clearance.arch_gap(**hand()) == pytest.approx(60 * MM)


def test_a_lip_above_the_tread_lets_the_tyre_stand_under_it_until_it_rises() -> None:
    wide = {"reach": 130 * MM, "radius": 0.318}
    assert clearance.arch_gap(**hand(**wide)) > 40 * MM
    assert clearance.arch_bump_gap(**hand(**wide)) < 0.0


def test_the_drop_takes_from_the_room_over_the_tyre() -> None:
    standing = [clearance.arch_gap(**hand(drop=drop)) for drop in (0.0, 0.01, 0.02)]
    assert np.diff(standing) == pytest.approx([-0.01, -0.01], abs=2e-4)


def test_full_bump_is_the_same_whatever_the_drop() -> None:
    assert clearance.arch_bump_gap(**hand(drop=0.0)) == clearance.arch_bump_gap(**hand(drop=0.03))


def test_a_gap_taken_on_the_new_wheel_is_not_moved_again() -> None:
    taken = {
        "rim_width": 8.5 * INCH, "offset": 30 * MM, "spacer": 0.0, "tyre": "245/40 R17 91W",
        "section_width": 248 * MM, "overall_diameter": 0.628, "camber": math.radians(-2.0),
        "drop_then": 0.03,
    }  # fmt: skip
    now = {"reach": (124 - 30) * MM, "radius": 0.314, "drop": 0.03,
           "now_camber": math.radians(-2.0)}  # fmt: skip
    assert clearance.arch_gap(**hand(over=None, **taken, **now)) == pytest.approx(26 * MM)


def test_another_tyre_is_read_from_its_marking() -> None:
    box = clearance.box_then(hand(tyre="225/45 R17 91W", rim_width=7.5 * INCH), clearance.OUTER)
    assert box.radius == pytest.approx(0.317)
    assert box.reach == pytest.approx((225 / 2 - 45) * MM, abs=0.3 * MM)


def test_on_a_stretched_tyre_the_rim_is_the_widest() -> None:
    box = clearance.box_then(hand(rim_width=9.5 * INCH, section_width=225 * MM), clearance.OUTER)
    assert box.reach == pytest.approx((9.5 * 25.4 + 25.4) / 2 * MM - 45 * MM)


def test_the_upright_moves_with_the_wheel() -> None:
    inner = {"reach": (107 + 45) * MM, "gap": 20 * MM, "over": None}
    still = clearance.upright_gap(**hand(**inner))
    dropped = clearance.upright_gap(**hand(**inner, drop=0.04, now_camber=-0.05))
    assert still == pytest.approx(20 * MM)
    assert dropped == pytest.approx(still)


def test_strut_bolts_tilt_the_wheel_against_its_strut() -> None:
    inner = {"reach": (107 + 45) * MM, "gap": 20 * MM, "over": None, "tilts": True, "height": 0.3}
    tilted = clearance.upright_gap(**hand(**inner, now_camber=math.radians(-2.0)))
    assert 20 * MM - tilted == pytest.approx(0.3 * math.radians(1.0), rel=0.05)


def test_a_gap_without_its_wheel_is_refused() -> None:
    with pytest.raises(FormulaRefused, match="offset"):
        clearance.arch_gap(**hand(base_offset=None))


@given(st.floats(0.0, 0.02))
def test_spacer_moves_the_tyre_out_and_only_out(spacer: float) -> None:
    outer = clearance.arch_bump_gap(**hand(over=None, reach=62 * MM + spacer))
    inner = clearance.arm_bump_gap(**hand(over=None, reach=152 * MM - spacer))
    assert clearance.arch_bump_gap(**hand(over=None)) - outer == pytest.approx(spacer, abs=2e-5)
    assert inner - clearance.arm_bump_gap(**hand(over=None, reach=152 * MM)) == pytest.approx(
        spacer, abs=2e-5
    )


def test_a_spacer_that_is_there_must_have_a_thickness() -> None:
    assert results.spacer_thickness(present=None, thickness=None) == 0.0
    assert results.spacer_thickness(present=False, thickness=None) == 0.0
    with pytest.raises(FormulaRefused, match="thickness"):
        results.spacer_thickness(present=True, thickness=None)


def test_design_sizes_grow_more_than_known_ones() -> None:
    known = results.growth(stated_growth=None, stated_width=0.225, stated_diameter=0.634)
    design = results.growth(stated_growth=None, stated_width=None, stated_diameter=None)
    assert known < design == 0.04


def test_clearance_does_not_shrink_where_less_is_known() -> None:
    """A marking alone gives the largest tyre that the regulation lets pass."""
    mark = parse_marking("225/45 R17 91W")
    stated = results.free_radius(marking=mark, diameter=0.634, growth=0.02)
    by_marking = results.free_radius(marking=mark, diameter=0.634, growth=0.04)
    assert by_marking > stated
    assert 2 * by_marking == pytest.approx(0.642, abs=0.0005)


def test_rim_edges_are_judged_as_marked() -> None:
    rims = results_holding.permitted_rims(
        marking=parse_marking("245/40 R18 93Y"), least=None, greatest=None
    )
    scattered = 9.5 * INCH + np.linspace(-0.001, 0.001, 16)
    assert np.all(checks.rim_not_too_wide(rims=rims, rim_width=scattered) == pytest.approx(0.0))
    assert checks.rim_not_too_wide(rims=rims, rim_width=10 * INCH) < 0


def test_a_light_commercial_tyre_needs_its_reference_pressure() -> None:
    with pytest.raises(FormulaRefused, match="load index"):
        results_holding.load_at_pressure(
            marking=parse_marking("215/65 R16C 109/107R"), index_mass=1030.0, pressure=400e3,
            stated_reference=None,
        )  # fmt: skip


def test_v_tyres_carry_less_when_fast_and_say_so_when_the_speed_is_unknown() -> None:
    mark = parse_marking("205/50 R16 87V")
    assert results_holding.load_at_top_speed(
        marking=mark, index_mass=545.0, speed=240 / 3.6
    ) == pytest.approx(545 * 0.91)
    with pytest.raises(FormulaRefused, match="top speed"):
        results_holding.load_at_top_speed(marking=mark, index_mass=545.0, speed=None)
    h_rated = parse_marking("205/50 R16 87H")
    assert results_holding.load_at_top_speed(marking=h_rated, index_mass=545.0, speed=None) == 545


@pytest.mark.parametrize(
    ("marking", "words"), [("205/50 R16", "load index"), ("205/50 R16 45V", "outside the table")]
)
def test_a_load_index_that_is_not_there_is_refused(marking: str, words: str) -> None:
    with pytest.raises(FormulaRefused, match=words):
        results_holding.index_mass(marking=parse_marking(marking))


def ring(**changed: Any) -> float:
    given_ = {
        "bore": 67.1 * MM, "spigot": 54.1 * MM, "spacer": 0.0, "spacer_spigot": None,
        "spigot_length": 9 * MM, "ring": True, "ring_inner": 54.12 * MM,
        "ring_outer": 67.06 * MM,
    } | changed  # fmt: skip
    return float(checks.centred(**given_))


def test_what_centres_the_wheel() -> None:
    assert ring() > 0
    assert ring(ring=None) < 0
    assert ring(bore=54.15 * MM, ring=False) > 0
    assert ring(ring_inner=56.1 * MM) < 0


def test_a_plain_spacer_that_swallows_the_spigot_leaves_nothing_to_centre_on() -> None:
    assert ring(spacer=8 * MM) < 0
    assert ring(spacer=5 * MM) > 0
    assert ring(spacer=20 * MM, spacer_spigot=54.1 * MM) > 0
    with pytest.raises(FormulaRefused, match="spigot"):
        ring(spacer=5 * MM, spigot_length=None)


def engaged(**changed: Any) -> Any:
    given_: dict[str, Any] = {
        "form": "nut", "spacer": 0.0, "bolted_on": None, "seat_depth": 14 * MM,
        "stud_length": 36 * MM, "nut_thread": 16 * MM, "shank_length": None, "hub_depth": None,
    } | changed  # fmt: skip
    return results_holding.thread_engagement(**given_)


def test_thread_that_holds() -> None:
    thread = parse_thread("M12x1.5")
    assert engaged() == pytest.approx(16 * MM)
    assert checks.one_diameter(engagement=engaged(), thread=thread) > 0
    short = engaged(spacer=15 * MM)
    assert checks.one_diameter(engagement=short, thread=thread) < 0
    assert checks.enough_turns(engagement=short, thread=thread) < 0
    assert engaged(spacer=40 * MM) == 0.0


def test_between_table_and_rule_of_thumb() -> None:
    """11 mm of M12x1.5 are 7.3 turns: the table's least is met, one diameter is not."""
    thread = parse_thread("M12x1.5")
    assert checks.enough_turns(engagement=11 * MM, thread=thread) > 0
    assert checks.one_diameter(engagement=11 * MM, thread=thread) < 0


def test_a_bolt_is_measured_by_its_shank_and_its_hub() -> None:
    bolt = engaged(form="bolt", shank_length=28 * MM, hub_depth=20 * MM)
    assert bolt == pytest.approx(14 * MM)
    with pytest.raises(FormulaRefused, match="thread depth of the hub"):
        engaged(form="bolt", shank_length=28 * MM)
    with pytest.raises(FormulaRefused, match="bolted-on"):
        engaged(bolted_on=True)


def test_a_longer_stud_can_meet_the_end_of_a_closed_nut() -> None:
    base = {"form": "nut", "seat_depth": 14 * MM, "spacer": 0.0}
    assert checks.not_bottomed(closed_depth=26 * MM, stud_length=36 * MM, **base) > 0
    assert checks.not_bottomed(closed_depth=26 * MM, stud_length=50 * MM, **base) < 0
    assert checks.not_bottomed(closed_depth=None, stud_length=50 * MM, **base) is NOT_APPLICABLE


def test_threads_that_look_alike_do_not_match() -> None:
    fine, coarse = parse_thread("M12x1.25"), "M12x1.5"
    assert checks.same_thread(form="nut", nut=fine, stud=coarse, hub=None) == -1
    assert checks.same_thread(form="bolt", nut=fine, stud=coarse, hub="M12x1.25") == 1
    with pytest.raises(FormulaRefused, match="studs"):
        checks.same_thread(form="nut", nut=fine, stud=None, hub=None)


def test_offset_says_nothing_of_the_room_at_the_spokes() -> None:
    assert checks.spoke_gap(
        spokes=40 * MM, spacer=5 * MM, face=42 * MM, radius=0.18
    ) == pytest.approx(3 * MM)
    assert "offset" not in {n for c in room.checks if c.id == "corners.caliper_spoke_gap"
                            for n in c.needs}  # fmt: skip


def test_a_spoke_map_is_taken_at_its_worst_within_the_caliper() -> None:
    spokes = SimpleNamespace(
        x=np.array([0.10, 0.15, 0.18, 0.20]), y=np.array([50.0, 45.0, 40.0, 10.0]) * MM
    )
    along = checks.spoke_gap(spokes=spokes, spacer=0.0, face=38 * MM, radius=0.185)
    assert isinstance(along, Along)
    assert along.slack.min() == pytest.approx(2 * MM)
    with pytest.raises(FormulaRefused, match="radius"):
        checks.spoke_gap(spokes=spokes, spacer=0.0, face=38 * MM, radius=0.05)


def test_rolling_match_asks_only_all_wheel_drive() -> None:
    radii = {"front_left": 0.305, "front_right": 0.305, "rear_left": 0.311, "rear_right": 0.311}
    assert checks.rolling_match(drive="rear", limit=None, **radii) is NOT_APPLICABLE
    assert checks.rolling_match(drive="all", limit=None, **radii) < 0
    assert checks.rolling_match(drive="all", limit=0.03, **radii) > 0


def test_snap_in_valves_have_their_speed() -> None:
    assert checks.valve_speed(valve="clamp-in", speed=70.0) is NOT_APPLICABLE
    assert checks.valve_speed(valve="snap-in", speed=230 / 3.6) < 0


def test_bolt_circle_from_neighbouring_studs() -> None:
    found = results_holding.hub_bolt_circle(stated=None, spacing=58.78 * MM, count=5)
    assert found == pytest.approx(100 * MM, abs=0.05 * MM)
    with pytest.raises(FormulaRefused, match="bolt circle"):
        results_holding.hub_bolt_circle(stated=None, spacing=58.78 * MM, count=None)


def test_sizes_of_the_placard() -> None:
    placard = results_holding.original_tyres(markings=("205/50 R16 87V", "215/45 R17 87W"))
    assert placard.smallest_diameter == pytest.approx(0.612)
    assert placard.largest_diameter == pytest.approx(0.626)
    assert placard.widest == pytest.approx(0.215)


@given(drop=st.floats(0.0, 0.05), camber=st.floats(-4.0, 1.0), seed=st.integers(0, 2**16))
def test_columns_agree_with_a_loop_over_draws(drop: float, camber: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    gaps, cambers = 0.026 + 0.001 * rng.normal(size=8), np.radians(camber + rng.normal(size=8))
    together = clearance.arch_gap(**hand(gap=gaps, now_camber=cambers, drop=drop))
    single = [
        clearance.arch_gap(**hand(gap=float(g), now_camber=float(c), drop=drop))
        for g, c in zip(gaps, cambers, strict=True)
    ]
    assert together == pytest.approx(single, abs=1e-12)
