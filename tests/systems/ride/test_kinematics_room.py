"""Hardpoints through a build: they go before curves, and the result says which was used."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

import drybuild
from drybuild.findings import FormulaRefused
from drybuild.systems.ride import results_joints as joints
from drybuild.systems.ride.kinematics.motion import motion_of_linkage
from drybuild.systems.ride.kinematics.smooth import SmoothCurve

DEMO = Path(__file__).parents[3] / "examples" / "plover_scanned"
HARDPOINTS = re.compile(r"\[corner\.front\.hardpoints\]\n(?:\w+ = .*\n)+")

STRUT = """[corner.rear.hardpoints]
layout = "strut"
spring_on = "upright"
damper_on = "upright"
camber_adjuster = "strut bolt"
wheel_centre = { x = "0 mm", y = "727 mm", z = "295 mm" }
lower_front = { x = "150 mm", y = "380 mm", z = "205 mm" }
lower_rear = { x = "-180 mm", y = "390 mm", z = "210 mm" }
lower_outer = { x = "10 mm", y = "690 mm", z = "190 mm" }
strut_top = { x = "-30 mm", y = "560 mm", z = "850 mm" }
strut_foot = { x = "-5 mm", y = "630 mm", z = "400 mm" }
strut_bolt = { x = "0 mm", y = "660 mm", z = "350 mm" }
tie_inner = { x = "-140 mm", y = "370 mm", z = "240 mm" }
tie_outer = { x = "-140 mm", y = "680 mm", z = "225 mm" }
shaft_inner = { x = "0 mm", y = "130 mm", z = "320 mm" }
shaft_outer = { x = "0 mm", y = "700 mm", z = "295 mm" }
spring_body = { x = "-30 mm", y = "560 mm", z = "850 mm" }
spring_foot = { x = "-12 mm", y = "610 mm", z = "530 mm" }
damper_body = { x = "-30 mm", y = "560 mm", z = "850 mm" }
damper_foot = { x = "-5 mm", y = "630 mm", z = "400 mm" }
"""
ARM = """[corner.rear.hardpoints]
layout = "trailing arm"
spring_on = "lower arm"
wheel_centre = { x = "0 mm", y = "727 mm", z = "295 mm" }
arm_inner = { x = "450 mm", y = "250 mm", z = "260 mm" }
arm_outer = { x = "380 mm", y = "620 mm", z = "250 mm" }
spring_body = { x = "60 mm", y = "560 mm", z = "520 mm" }
spring_foot = { x = "60 mm", y = "560 mm", z = "250 mm" }
"""
FIVE = """[corner.rear.hardpoints]
layout = "five links"
wheel_centre = { x = "0 mm", y = "745 mm", z = "305 mm" }
link_1_inner = { x = "280 mm", y = "360 mm", z = "215 mm" }
link_1_outer = { x = "40 mm", y = "685 mm", z = "165 mm" }
link_2_inner = { x = "-90 mm", y = "330 mm", z = "175 mm" }
link_2_outer = { x = "-60 mm", y = "690 mm", z = "185 mm" }
link_3_inner = { x = "130 mm", y = "430 mm", z = "410 mm" }
link_3_outer = { x = "50 mm", y = "655 mm", z = "435 mm" }
link_4_inner = { x = "-140 mm", y = "400 mm", z = "440 mm" }
link_4_outer = { x = "-45 mm", y = "660 mm", z = "450 mm" }
tie_inner = { x = "-200 mm", y = "340 mm", z = "235 mm" }
tie_outer = { x = "-155 mm", y = "675 mm", z = "255 mm" }
"""


def evaluation(folder: Path, change=lambda text: text):
    shutil.copytree(DEMO, folder / "build")
    path = folder / "build" / "car.toml"
    before = path.read_text(encoding="utf-8")
    after = change(before)
    path.write_text(after, encoding="utf-8")
    return drybuild.open_build(folder / "build").examine("finished").evaluation


def mean(found, address):
    outcome = found.get(address)
    assert outcome.known, outcome.missing
    return float(np.mean(outcome.value))


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return evaluation(tmp_path_factory.mktemp("demo"))


def test_the_demo_takes_its_front_from_hardpoints_and_its_rear_from_curves(demo):
    assert demo.get("ride.angles_from.front.left").value == "hardpoints, double wishbone"
    assert demo.get("ride.angles_from.rear.left").value == "measured curve"
    used = demo.get("ride.camber.front.left").facts
    assert "corner.front.left.hardpoints.upper_outer.z" in used
    assert "axle.front.camber_curve" not in used


def test_without_hardpoints_the_curves_serve_and_say_so(demo, tmp_path):
    plain = evaluation(tmp_path, lambda text: HARDPOINTS.sub("", text))
    assert plain.get("ride.angles_from.front.left").value == "measured curve"
    assert "axle.front.camber_curve" in plain.get("ride.camber.front.left").facts
    # the demo's hardpoints were drawn so as to give its curves, within the gauge's doubt
    for name, abs_ in (("camber", 0.002), ("camber_in_bump", 0.003), ("toe", 0.0005)):
        address = f"ride.{name}.front.left"
        assert mean(plain, address) == pytest.approx(mean(demo, address), abs=abs_), name
    assert mean(plain, "ride.wheel_rate.front.left") == pytest.approx(
        mean(demo, "ride.wheel_rate.front.left"), rel=0.02
    )


def test_one_coordinate_short_falls_back_to_the_curve(tmp_path):
    found = evaluation(tmp_path, lambda text: text.replace('upper_outer = { x = "-24 mm", ', (
        "upper_outer = { ")))  # fmt: skip
    assert found.get("ride.angles_from.front.left").value == "measured curve"
    missing = found.get("ride.wishbones_drawn.front.left").missing
    assert missing == {"corner.front.left.hardpoints.upper_outer.x"}


def test_both_sides_of_one_drawing_are_the_same_solution(demo):
    left = demo.get("ride.drawn_corner.front.left").value
    assert demo.get("ride.drawn_corner.front.right").value is left


def test_figures_of_the_drawn_front(demo):
    assert np.degrees(mean(demo, "ride.caster_by_links.front.left")) == pytest.approx(5.5, abs=0.2)
    assert np.degrees(mean(demo, "ride.kpi_by_links.front.left")) == pytest.approx(11.55, abs=0.2)
    assert mean(demo, "ride.spring_ratio_by_links.front.left") == pytest.approx(0.719, abs=0.003)
    assert mean(demo, "ride.bar_ratio_by_links.front.left") == pytest.approx(0.549, abs=0.003)
    assert mean(demo, "ride.roll_centre_by_links.front") == pytest.approx(0.044, abs=0.003)
    assert mean(demo, "ride.bump_outboard_by_links.front.left") < -0.01


@pytest.mark.parametrize(
    ("table", "layout"), [(STRUT, "strut"), (ARM, "trailing arm"), (FIVE, "five links")]
)
def test_every_layout_serves_the_rear(tmp_path, table, layout):
    found = evaluation(tmp_path, lambda text: text + "\n" + table)
    assert found.get("ride.angles_from.rear.right").value == f"hardpoints, {layout}"
    for name in ("camber", "toe", "camber_in_bump", "toe_in_bump"):
        assert np.all(np.isfinite(found.get(f"ride.{name}.rear.left").value)), name
    if layout != "five links":
        assert 0.4 < mean(found, "ride.spring_ratio_by_links.rear.left") < 1.1
    steering = found.get("ride.kpi_by_links.rear.left")
    assert steering.known == (layout != "trailing arm")


def test_a_camber_aim_names_its_price(tmp_path):
    found = evaluation(tmp_path, lambda text: text + "\n" + STRUT)
    drawn = found.get("ride.drawn_corner.rear.left").value
    kinematics = found.get("ride.kinematics.rear.left").value
    assert kinematics.steering.by == "through its joints"
    given = {"drawn": drawn, "camber": -0.02, "toe": 0.002, "by": np.radians(-1.0),
             "loaded_radius": 0.295, "free_radius": 0.305}  # fmt: skip
    bolt = {"bolt_x": 0.0, "bolt_y": 0.66, "bolt_z": 0.35}
    setting = joints.camber_price(adjuster="strut bolt", **given, **bolt)
    assert np.all(joints.tyre_top_outboard(setting=setting) < -0.003)
    assert np.all(np.abs(joints.toe_change(setting=setting)) > 1e-5)
    # the bolt lies 160 mm over the ball joint, the strut's top 660 mm: the strut swings back
    swung = np.radians(1.0) / (1 - 0.16 / 0.66)
    assert np.mean(joints.adjuster_moved(setting=setting)) == pytest.approx(swung, rel=0.03)
    nobody = {"bolt_x": None, "bolt_y": None, "bolt_z": None}
    with pytest.raises(FormulaRefused, match="lower bolt"):
        joints.camber_price(adjuster="strut bolt", **given, **nobody)
    with pytest.raises(FormulaRefused, match="no adjuster"):
        joints.camber_price(adjuster="upper arm in and out", **given, **nobody)


def test_driveshaft_and_anti_effects(tmp_path):
    found = evaluation(tmp_path, lambda text: text + "\n" + STRUT)
    bend = found.get("ride.shaft_bend_in_bump.rear.left").value
    assert np.all((bend > np.radians(3)) & (bend < np.radians(30)))
    # the lower arm is 310 mm, the shaft 570 mm: in bump the shaft is pushed in
    assert np.all(found.get("ride.shaft_plunge_in_bump.rear.left").value < 0)
    kinematics = found.get("ride.kinematics.rear.left").value
    slope = float(np.mean(kinematics.wheel.centre_slope[joints.AT_REST]))
    assert mean(found, "ride.centre_slope.rear.left") == pytest.approx(slope)
    height = mean(found, "ride.cg_height")
    assert mean(found, "ride.anti_squat") == pytest.approx(-slope * 2.33 / height, rel=0.01)
    assert -0.6 < mean(found, "ride.anti_dive") < 0.6
    assert not found.get("ride.shaft_bend_in_bump.front.left").known


def test_a_smooth_curve_is_exact_for_cubics_and_blank_outside():
    x = np.linspace(-0.1, 0.1, 5)
    columns = np.array([1.0, -2.0, 0.5])
    y, slope = (columns * (x**3 + x)[:, None], columns * (3 * x**2 + 1)[:, None])
    curve = SmoothCurve(x, y, slope)
    at = np.array([-0.09, 0.03, 0.1])
    assert curve.at(at) == pytest.approx(columns * (at**3 + at), abs=1e-15)
    assert curve.at(0.03) == pytest.approx(columns * (0.03**3 + 0.03), abs=1e-15)
    assert curve.slope_at(0.03) == pytest.approx(columns * (3 * 0.03**2 + 1), abs=1e-5)
    assert np.isnan(curve.at(np.array([0.11, 0.0, -0.2]))).tolist() == [True, False, True]
    one = SmoothCurve(x, y[:, 0], slope[:, 0])
    assert isinstance(one.at(0.01), float)
    assert one.at(at) == pytest.approx(at**3 + at, abs=1e-15)


def test_between_stations_the_curve_is_as_good_as_solved(demo):
    """Solved anew half way between stations, where a cubic is worst."""
    drawn = demo.get("ride.drawn_corner.front.left").value
    curve = demo.get("ride.camber_by_links.front.left").value
    half = 0.5 * (joints.STATIONS[1:] + joints.STATIONS[:-1])
    solved = motion_of_linkage(linkage=drawn.linkage, travel=half)
    found = demo.get("ride.kinematics.front.left").value
    axis = solved.turned(found.wheel.axis[:, joints.AT_REST, 0])
    exact = -np.arcsin(axis[2])[:, 0]
    between = np.stack([curve.at(np.full(exact.shape[1], z)) for z in half])
    # 0.001 degree, a hundredth of what a gauge shows
    assert np.max(np.abs(between - exact)) < np.radians(0.001)
