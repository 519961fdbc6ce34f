"""Linkage kinematics held to closed forms: planar linkages, wheel angles, textbook figures."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import sympy
from scipy.interpolate import CubicHermiteSpline
from scipy.spatial.transform import Rotation

from drybuild.systems.ride.kinematics import curves, linkage, motion, solve, wheel
from drybuild.systems.ride.kinematics.smooth import between_stations

Against = Callable[..., None]
ROOM = "drybuild.systems.ride.kinematics."
EXACT = 1e-9


def planar(**points: tuple[float, float]) -> dict[str, tuple[float, float, float]]:
    """A corner that moves in a plane: hinge lines along x, the tie rod a copy of the lower arm."""
    made: dict[str, tuple[float, float, float]] = {}
    for name, (y, z) in points.items():
        if name.endswith("_inner"):
            made[name.replace("inner", "front")] = (0.15, y, z)
            made[name.replace("inner", "rear")] = (-0.15, y, z)
        else:
            made[name] = (0.0, y, z)
    made["tie_inner"] = (0.12, *points["lower_inner"])
    made["tie_outer"] = (0.12, *points["lower_outer"])
    return made


@pytest.mark.cross_model
def test_planar_four_bar(against: Against) -> None:
    """Circle met with circle by computer algebra, 30 digits; camber against wheel travel."""
    points = {
        "lower_inner": ("0.36", "0.20"),
        "lower_outer": ("0.70", "0.185"),
        "upper_inner": ("0.43", "0.45"),
        "upper_outer": ("0.655", "0.47"),
        "wheel_centre": ("0.74", "0.30"),
    }
    p = {name: sympy.Matrix([sympy.Rational(v) for v in value]) for name, value in points.items()}
    t = sympy.symbols("t", real=True)
    lower = p["lower_outer"] - p["lower_inner"]
    swing = sympy.Matrix([[sympy.cos(t), -sympy.sin(t)], [sympy.sin(t), sympy.cos(t)]])
    joint = p["lower_inner"] + swing * lower
    upper, rod = p["upper_outer"] - p["upper_inner"], p["upper_outer"] - p["lower_outer"]
    between = p["upper_inner"] - joint
    square = between.dot(between)
    along = (rod.dot(rod) - upper.dot(upper) + square) / (2 * square)
    high = sympy.sqrt(rod.dot(rod) / square - along**2)
    # the upper joint lies outboard of the line from the lower joint to the upper hinge
    top = joint + along * between + high * sympy.Matrix([between[1], -between[0]])
    angle = sympy.atan2(rod[0], rod[1]) - sympy.atan2((top - joint)[0], (top - joint)[1])
    hub = p["wheel_centre"] - p["lower_outer"]
    rise = joint[1] + sympy.sin(angle) * hub[0] + sympy.cos(angle) * hub[1]
    camber, heights = [], []
    for number in (-0.25, -0.1, 0.05, 0.15, 0.28):
        at = {t: sympy.Rational(str(number))}
        camber.append(float(-angle.evalf(30, subs=at)))
        heights.append(float((rise - p["wheel_centre"][1]).evalf(30, subs=at)))
    made = planar(**{n: (float(y), float(z)) for n, (y, z) in points.items()})
    found = motion.motion_of_linkage(linkage=linkage.double_wishbone(**made), travel=heights)
    got = curves.wheel_curves(motion=found, camber=0.0, toe=0.0, loaded_radius=0.3)
    against(
        ROOM + "curves.wheel_curves",
        got=got.camber[:, 0, 0],
        expected=np.array(camber),
        rel=EXACT,
        source="planar four-bar in closed form, sympy at 30 digits",
        note="camber over about ±90 mm",
    )
    assert np.max(np.abs(got.toe)) < 1e-12


@pytest.mark.textbook
def test_equal_parallel_arms(against: Against) -> None:
    """Arms of 350 mm, alike and level: no camber, scrub of L − sqrt(L² − z²), no roll centre."""
    made = planar(
        lower_inner=(0.35, 0.20),
        lower_outer=(0.70, 0.20),
        upper_inner=(0.35, 0.45),
        upper_outer=(0.70, 0.45),
        wheel_centre=(0.75, 0.30),
    )
    travel = np.array([-0.05, -0.025, 0.0, 0.025, 0.05])
    found = motion.motion_of_linkage(linkage=linkage.double_wishbone(**made), travel=travel)
    got = curves.wheel_curves(motion=found, camber=0.0, toe=0.0, loaded_radius=0.30)
    source = "closed form of equal and parallel arms"
    wanted = -(0.35 - np.sqrt(0.35**2 - travel**2))
    some = [0, 1, 3, 4]
    against(
        ROOM + "curves.wheel_curves",
        got=got.half_track_change[some, 0, 0],
        expected=wanted[some],
        rel=EXACT,
        source=source,
        note="half-track change",
    )
    against(
        ROOM + "curves.wheel_curves",
        got=got.half_track_change[3:, 0, 0] * -1e3,
        expected=np.array([0.893999, 3.589838]),
        abs=5e-7,
        source=source,
        note="mm, as printed",
    )
    against(
        ROOM + "wheel.camber_of",
        got=got.camber[:, 0, 0],
        expected=np.zeros(5),
        abs=1e-12,
        source=source,
    )
    against(
        ROOM + "wheel.roll_centre_height",
        got=got.roll_centre_height[2],
        expected=[[0.0]],
        abs=1e-12,
        source=source,
        note="level arms: on the ground",
    )
    assert np.all(np.abs(got.front_instant_centre[0, 2]) > 1e9)


@pytest.mark.textbook
def test_swing_axle(against: Against) -> None:
    """Pivot (100, 300), wheel centre (700, 300), radius 300 mm: camber −asin(z/600)."""
    travel = np.array([-0.05, -0.025, 0.025, 0.05])
    found = motion.motion_of_arm(
        pivot_inner=(0.1, 0.1, 0.3),
        pivot_outer=(-0.1, 0.1, 0.3),
        wheel_centre=(0.0, 0.7, 0.3),
        travel=np.append(travel, 0.0)[[0, 1, 4, 2, 3]],
    )
    got = curves.wheel_curves(motion=found, camber=0.0, toe=0.0, loaded_radius=0.3)
    source = "closed form of a swing axle"
    some = [0, 1, 3, 4]
    against(
        ROOM + "motion.motion_of_arm",
        got=got.camber[some, 0, 0],
        expected=-np.arcsin(travel / 0.6),
        rel=EXACT,
        source=source,
        note="camber",
    )
    against(
        ROOM + "motion.motion_of_arm",
        got=np.degrees(got.camber[some, 0, 0]),
        expected=np.array([4.780192, 2.388015, -2.388015, -4.780192]),
        abs=5e-7,
        source=source,
        note="camber, degrees as printed",
    )
    against(
        ROOM + "wheel.contact_point",
        got=got.half_track_change[[0, 4], 0, 0] * 1e3,
        expected=np.array([-27.087, 22.913]),
        abs=5e-4,
        source=source,
        note="half-track change, mm as printed",
    )
    against(
        ROOM + "wheel.roll_centre_height",
        got=got.roll_centre_height[2],
        expected=[[0.35]],
        rel=EXACT,
        source=source,
    )
    against(
        ROOM + "wheel.front_instant_centre",
        got=got.front_instant_centre[:, 2, 0, 0],
        expected=np.array([0.1, 0.3]),
        rel=EXACT,
        source=source,
        note="the pivot",
    )
    against(
        ROOM + "wheel.camber_rate",
        got=got.camber_rate[some, 0, 0],
        expected=-1 / np.sqrt(0.36 - travel**2),
        rel=EXACT,
        source=source,
        note="slope of −asin(z/600)",
    )


@pytest.mark.textbook
def test_planar_strut(against: Against) -> None:
    """Top (560, 850), lower arm (350, 200) to (700, 190), contact (750, 0) mm."""
    made = planar(
        lower_inner=(0.35, 0.20),
        lower_outer=(0.70, 0.19),
        strut_top=(0.56, 0.85),
        strut_foot=(0.63, 0.52),
        wheel_centre=(0.75, 0.30),
    )
    built = linkage.strut_and_arm(**made)
    found = motion.motion_of_linkage(linkage=built, travel=0.0)
    got = curves.wheel_curves(motion=found, camber=0.0, toe=0.0, loaded_radius=0.30)
    source = "closed form of a planar strut, millimetres"
    place = got.front_instant_centre[:, 0, 0, 0] * 1e3
    against(
        ROOM + "wheel.front_instant_centre",
        got=place,
        expected=np.array([-2165.4676, 271.8705]),
        abs=5e-5,
        source=source,
    )
    against(
        ROOM + "wheel.roll_centre_height",
        got=got.roll_centre_height[0, 0, 0] * 1e3,
        expected=69.9383,
        abs=5e-5,
        source=source,
    )
    steering = curves.steering_by_joints(
        curves=got,
        lower=found.at(built.arm[:, 0]),
        upper=np.array(made["strut_top"])[:, None, None, None],
    )
    against(
        ROOM + "wheel.kingpin_inclination",
        got=math.degrees(steering.kingpin_inclination[0, 0, 0]),
        expected=11.97613,
        abs=5e-6,
        source=source,
    )
    against(
        ROOM + "wheel.ground_offsets",
        got=steering.scrub_radius[0, 0, 0] * 1e3,
        expected=9.69697,
        abs=5e-6,
        source=source,
    )
    against(
        ROOM + "curves.steering_by_joints",
        got=steering.scrub_radius[0, 0, 0],
        expected=0.05 - 0.14 * 0.19 / 0.66,
        rel=EXACT,
        source=source,
    )


@pytest.mark.textbook
def test_trail_and_anti_dive_and_ackermann(against: Against) -> None:
    caster = math.radians(6.0)
    direction = np.array([-math.sin(caster), 0.0, math.cos(caster)])
    hub, axis = np.array([0.0, 0.74, 0.31]), np.array([0.0, 1.0, 0.0])
    _, trail = wheel.ground_offsets(
        point=hub, direction=direction, contact=hub - [0.0, 0.0, 0.31], axis=axis
    )
    against(
        ROOM + "wheel.ground_offsets",
        got=float(trail) * 1e3,
        expected=32.5823,
        abs=5e-5,
        source="geometry: trail = R·tan(caster), 310 mm and 6°",
    )
    against(
        ROOM + "wheel.caster_angle",
        got=float(wheel.caster_angle(direction=direction)),
        expected=caster,
        rel=EXACT,
        source="geometry: trail = R·tan(caster), 310 mm and 6°",
    )
    # a side-view instant centre 2 m behind the contact and 0.15 m up
    spin = np.array([0.0, -1.0, 0.0])
    velocity = np.cross(spin, np.array([2.0, 0.0, -0.15]))
    slope = wheel.path_slope(velocity=velocity)
    book = "Gillespie, Fundamentals of Vehicle Dynamics, ch. 7; Milliken, ch. 17"
    got = wheel.anti_dive(slope=slope, brake_share=0.65, wheelbase=2.6, cg_height=0.52)
    against(
        ROOM + "wheel.anti_dive",
        got=100 * float(got),
        expected=24.375,
        abs=5e-4,
        source=book,
        note="per cent, front brake share 0.65, instant centre 150 up, 2000 behind",
    )
    against(ROOM + "wheel.path_slope", got=float(slope), expected=0.075, rel=EXACT, source=book)
    side = wheel.side_instant_centre(centre=np.zeros(3), velocity=velocity, spin=spin)
    against(
        ROOM + "wheel.side_instant_centre",
        got=side,
        expected=np.array([-2.0, 0.15]),
        rel=EXACT,
        source=book,
    )
    # at the rear the same centre lies ahead and the force points the same way
    behind = wheel.path_slope(velocity=np.cross(-spin, np.array([-2.0, 0.0, -0.15])))
    got = wheel.anti_lift(slope=behind, brake_share=0.35, wheelbase=2.6, cg_height=0.52)
    against(
        ROOM + "wheel.anti_lift",
        got=100 * float(got),
        expected=35 * 0.075 * 5,
        abs=1e-9,
        source=book,
        note="mirrored, rear brake share 0.35",
    )
    got = wheel.anti_squat(slope=behind, drive_share=1.0, wheelbase=2.6, cg_height=0.52)
    against(
        ROOM + "wheel.anti_squat",
        got=float(got),
        expected=0.375,
        rel=EXACT,
        source=book,
        note="tan(angle)·L/h",
    )
    inner = np.radians([10.0, 20.0, 30.0])
    outer = wheel.ackermann_outer(inner=inner, kingpin_track=1.5, wheelbase=2.6)
    against(
        ROOM + "wheel.ackermann_outer",
        got=np.degrees(outer),
        expected=np.array([9.092845, 16.741608, 23.41709]),
        abs=5e-6,
        source="Ackermann's condition, cot(outer) − cot(inner) = w/L",
    )


@pytest.mark.cross_model
def test_wheel_axis_and_its_angles(against: Against) -> None:
    """Wheel axis by rotating a vector; the slopes of its angles by differences."""
    camber, toe = math.radians(-2.5), math.radians(0.7)
    # toe turns about the vertical, front edge in; camber about the wheel's own heading, top in
    turn = Rotation.from_euler("ZX", [-toe, -camber]).as_matrix()
    expected = turn @ np.array([0.0, 1.0, 0.0])
    axis = wheel.wheel_axis(camber=camber, toe=toe)
    source = "scipy Rotation of the wheel's axis"
    against(ROOM + "wheel.wheel_axis", got=axis, expected=expected, abs=1e-15, source=source)
    against(
        ROOM + "wheel.camber_of",
        got=float(wheel.camber_of(axis=expected)),
        expected=camber,
        rel=EXACT,
        source=source,
    )
    against(
        ROOM + "wheel.toe_of",
        got=float(wheel.toe_of(axis=expected)),
        expected=toe,
        rel=EXACT,
        source=source,
    )
    spin, step = np.array([0.3, -0.2, 0.5]), 1e-5
    near = [Rotation.from_rotvec(spin * h).as_matrix() @ axis for h in (-step, step)]
    for name, angle, rate in (
        ("toe_rate", wheel.toe_of, wheel.toe_rate),
        ("camber_rate", wheel.camber_of, wheel.camber_rate),
    ):
        slope = (float(angle(axis=near[1])) - float(angle(axis=near[0]))) / (2 * step)
        against(
            ROOM + f"wheel.{name}",
            got=float(rate(axis=axis, spin=spin)),
            expected=slope,
            abs=1e-9,
            source=source,
            note="slope by differences",
        )
    gibbs = np.array([[0.1], [-0.2], [0.05]])
    size = float(np.linalg.norm(gibbs))
    other = Rotation.from_rotvec((gibbs[:, 0] / size) * 2 * math.atan(size)).as_matrix()
    against(
        ROOM + "solve.turn_matrix",
        got=solve.turn_matrix(gibbs=gibbs)[:, :, 0],
        expected=other,
        abs=1e-15,
        source="scipy Rotation from a rotation vector",
    )


@pytest.mark.cross_model
def test_contact_is_the_lowest_point(against: Against) -> None:
    """Lowest of ten thousand points round the wheel's middle circle."""
    axis = wheel.wheel_axis(camber=math.radians(-3.0), toe=math.radians(1.2))
    hub, radius = np.array([0.0, 0.75, 0.31]), 0.305
    first = np.cross(axis, [1.0, 0.0, 0.0])
    first /= np.linalg.norm(first)
    second = np.cross(axis, first)
    angle = np.linspace(0, 2 * np.pi, 1_000_001)[:, None]
    ring = hub + radius * (np.cos(angle) * first + np.sin(angle) * second)
    got = wheel.contact_point(centre=hub, axis=axis, radius=radius)
    against(
        ROOM + "wheel.contact_point",
        got=got,
        expected=ring[np.argmin(ring[:, 2])],
        abs=radius * 2 * np.pi / 1e6,
        source="lowest of a million points on the circle",
    )


@pytest.mark.cross_model
def test_between_stations(against: Against) -> None:
    rng = np.random.default_rng(4)
    x, y, slope = np.linspace(-0.1, 0.1, 7), rng.normal(size=(7, 5)), rng.normal(size=(7, 5))
    at = np.array([-0.1, -0.071, 0.0, 0.04, 0.1])
    spline = CubicHermiteSpline(x, y, slope)
    against(
        ROOM + "smooth.between_stations",
        got=between_stations(x=x, y=y, slope=slope, at=at),
        expected=np.array([spline(z)[k] for k, z in enumerate(at)]),
        abs=1e-13,
        source="scipy.interpolate.CubicHermiteSpline",
    )
