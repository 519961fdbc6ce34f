"""Alignment by hand, corner weights and weighing held to geometry, statics and other solvers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy import optimize
from scipy.spatial.transform import Rotation

from drybuild.systems.ride import corner_weights, masses, toe

Against = Callable[..., None]
ROOM = "drybuild.systems.ride."
deg = np.radians


@pytest.mark.practice
def test_toe_length_of_the_workshop_note(against: Against) -> None:
    # A note writes =DEGREES(ASIN(4/727.7)); angles worked out to six figures.
    got = toe.toe_length(
        toe=deg(np.array([0.314943, 0.265382, 0.140984, 0.260279])),
        measured_over=np.array([0.7277, 0.4318, 0.4064, 0.6604]),
    )
    against(
        ROOM + "toe.toe_length", got=got, expected=np.array([4e-3, 2e-3, 1e-3, 3e-3]), rel=4e-6,
        source="workshop note on toe, =DEGREES(ASIN(4/727.7))",
        note="angles to 1e-6 deg; the reverse of the note",
    )  # fmt: skip


def _crooked_car() -> tuple[dict[str, tuple[float, float, float]], float, float]:
    """Hubs (x forward, y left, heading to the left) of a car that stands askew between strings."""
    askew, wheelbase, half = deg(0.3), 2.33, 0.7225
    toes = {"front.left": deg(0.1), "front.right": deg(0.2), "rear.left": deg(0.25),
            "rear.right": deg(-0.05)}  # fmt: skip
    turned = Rotation.from_euler("z", askew)
    hubs = {}
    for name, inwards in toes.items():
        front, left = name.startswith("front"), name.endswith("left")
        at = turned.apply([wheelbase if front else 0.0, half if left else -half, 0.0])
        hubs[name] = (at[0], at[1], askew + (-inwards if left else inwards))
    return hubs, wheelbase, askew


def _gaps(hub: tuple[float, float, float], side: float, over: float) -> tuple[float, float, float]:
    """Front, rear and hub gaps to a string at y = ±1 m."""
    _, y, heading = hub
    tip = Rotation.from_euler("z", heading).apply([over / 2, 0.0, 0.0])
    return tuple(1.0 - side * value for value in (y + tip[1], y - tip[1], y))  # type: ignore[return-value]


@pytest.mark.cross_model
def test_toe_by_string_of_a_car_that_stands_askew(against: Against) -> None:
    hubs, wheelbase, _ = _crooked_car()
    gaps = {n: _gaps(h, 1.0 if n.endswith("left") else -1.0, 0.45) for n, h in hubs.items()}
    lean = toe.string_lean(
        front_left=gaps["front.left"][2], front_right=gaps["front.right"][2],
        rear_left=gaps["rear.left"][2], rear_right=gaps["rear.right"][2], wheelbase=wheelbase,
    )  # fmt: skip
    got = [
        toe.toe_by_string(
            front_gap=g[0], rear_gap=g[1], over=0.45, lean=lean if n.endswith("left") else -lean
        )
        for n, g in gaps.items()
    ]
    against(
        ROOM + "toe.toe_by_string", got=np.degrees(got), expected=np.array([0.1, 0.2, 0.25, -0.05]),
        abs=2e-5, source="scipy.spatial.transform.Rotation: a car placed askew between strings",
        note="the strings' gaps shorten by the cosine of 0.3 deg, 1.4e-5",
    )  # fmt: skip


@pytest.mark.cross_model
def test_lean_of_the_strings(against: Against) -> None:
    hubs, wheelbase, askew = _crooked_car()
    hub = {n: _gaps(h, 1.0 if n.endswith("left") else -1.0, 0.45)[2] for n, h in hubs.items()}
    got = toe.string_lean(
        front_left=hub["front.left"], front_right=hub["front.right"], rear_left=hub["rear.left"],
        rear_right=hub["rear.right"], wheelbase=wheelbase,
    )  # fmt: skip
    against(
        ROOM + "toe.string_lean", got=got, expected=askew, rel=2e-5,
        source="scipy.spatial.transform.Rotation: a car placed askew between strings",
        note="wheelbase along the string is shorter by the cosine",
    )  # fmt: skip


@pytest.mark.practice
def test_total_toe_by_gauge(against: Against) -> None:
    # 1500 mm in front, 1504 behind at 727.7 mm: 4 mm of toe-in, 0.314943 deg, 18.8966 minutes
    got = toe.toe_by_gauge(front=1.500, rear=1.504, over=0.7277)
    against(
        ROOM + "toe.toe_by_gauge", got=np.degrees(got) * 60.0, expected=18.8966, abs=1e-4,
        source="workshop note on toe, =DEGREES(ASIN(4/727.7))",
    )  # fmt: skip


def _camber_on_plate(caster: float, kpi: float, camber: float, yaw: float) -> float:
    """Camber (− top in) of the left wheel, its axis turned about the steering axis until the
    plate shows yaw (+ to the left); x forward, y left, z up."""
    steering = np.array([-np.tan(caster), -np.tan(kpi), 1.0])
    steering /= np.linalg.norm(steering)
    axle = np.array([0.0, np.cos(camber), -np.sin(camber)])  # outboard end falls with + camber

    def turned(angle: float) -> Any:
        return Rotation.from_rotvec(angle * steering).apply(axle)

    def plate(angle: float) -> float:
        end = turned(angle)
        return float(np.arctan2(-end[0], end[1]) - yaw)

    end = turned(optimize.brentq(plate, -1.2, 1.2, xtol=1e-14))
    return float(-np.arcsin(end[2]))


@pytest.mark.cross_model
def test_caster_by_turn_plates(against: Against) -> None:
    casters, got = [3.0, 6.0, 10.0], []
    for caster in casters:
        out, into = (_camber_on_plate(deg(caster), 0.0, 0.0, deg(y)) for y in (20.0, -20.0))
        got.append(np.degrees(toe.caster_by_plates(camber_in=into, camber_out=out, steer=deg(20))))
    against(
        ROOM + "toe.caster_by_plates", got=np.array(got), expected=np.array(casters), rel=1e-9,
        source="scipy.spatial.transform.Rotation about a leaning axis",
    )  # fmt: skip


@pytest.mark.cross_model
def test_kingpin_inclination_and_camber_disturb_it_little(against: Against) -> None:
    out, into = (_camber_on_plate(deg(6.0), deg(12.0), deg(-1.0), deg(y)) for y in (20.0, -20.0))
    got = toe.caster_by_plates(camber_in=into, camber_out=out, steer=deg(20.0))
    against(
        ROOM + "toe.caster_by_plates", got=np.degrees(got), expected=6.0, rel=0.03,
        source="scipy.spatial.transform.Rotation, 12 deg of inclination, -1 deg of camber",
        note="the method's own error, as its description says",
    )  # fmt: skip


@pytest.mark.practice
def test_thrust_total_and_cross(against: Against) -> None:
    # Rear toe 0°20' left, 0°08' right: total 0°28', thrust 0°06' to the right (by hand).
    left, right = deg(20 / 60), deg(8 / 60)
    against(
        ROOM + "toe.thrust_angle", got=np.degrees(toe.thrust_angle(left=left, right=right)) * 60,
        expected=6.0, abs=1e-9, source="definition of the thrust line, workshop practice",
    )  # fmt: skip
    against(
        ROOM + "toe.total_toe", got=np.degrees(toe.total_toe(left=left, right=right)) * 60,
        expected=28.0, abs=1e-9, source="definition of total toe, workshop practice",
    )  # fmt: skip
    against(
        ROOM + "toe.cross", got=np.degrees(toe.cross(left=deg(-1.2), right=deg(-0.9))),
        expected=-0.3, abs=1e-9, source="cross-camber: left less right, workshop practice",
    )  # fmt: skip


@pytest.mark.practice
def test_set_back_as_an_angle(against: Against) -> None:
    # 5 mm over a 1445 mm track: atan(5/1445) = 0.19825 deg, by hand to five figures
    got = toe.set_back(left=2.335, right=2.330, track_width=1.445)
    against(
        ROOM + "toe.set_back", got=np.degrees(got), expected=0.19825, abs=5e-6,
        source="geometry: arc tangent by hand",
    )  # fmt: skip


@pytest.mark.cross_model
def test_caster_with_pitch_is_a_rotation(against: Against) -> None:
    axis = Rotation.from_euler("y", -0.7, degrees=True).apply([-np.tan(deg(5.0)), 0.0, 1.0])
    got = toe.caster_with_pitch(found=deg(5.0), pitch=deg(0.7))
    against(
        ROOM + "toe.caster_with_pitch", got=got, expected=np.arctan2(-axis[0], axis[2]),
        rel=1e-12, source="scipy.spatial.transform.Rotation about the transverse axis",
    )  # fmt: skip


WHEELS = np.array([22e3, 22.5e3, 21e3, 20.5e3])
TYRES = np.array([210e3, 205e3, 220e3, 215e3])
TRACKS = {"front_track": 1.445, "rear_track": 1.480}
BASE, BARS = 2.33, {"front_bar": 9e3, "rear_bar": 5e3}


def _energy_loads(lift: Any) -> Any:
    """Change of the loads by the least elastic energy: three moves of the body, four of hubs."""
    rows = np.array([[1, 0.7225, 0], [1, -0.7225, 0], [1, 0.74, -BASE], [1, -0.74, -BASE]])

    def squeezes(x: Any) -> tuple[Any, Any, Any]:
        body, hub = rows @ x[:3], x[3:]
        return body - hub, hub, body

    def energy(x: Any) -> float:
        extension, hub, _ = squeezes(x)
        springs = 0.5 * np.sum(WHEELS * (lift - extension) ** 2)
        tyres = 0.5 * np.sum(TYRES * hub**2)
        bars = 0.5 * 9e3 * (extension[0] - extension[1]) ** 2
        bars += 0.5 * 5e3 * (extension[2] - extension[3]) ** 2
        return float(springs + tyres + bars)

    start = np.zeros(7)
    # Quadratic: slope and matrix are exact from unit moves; then one solve by least squares.
    unit = np.eye(7)
    first = np.array([(energy(a) - energy(-a)) / 2 for a in unit])
    curved = np.array([[energy(a + b) - energy(a) - energy(b) + energy(start) for b in unit]
                       for a in unit])  # fmt: skip
    found = np.linalg.lstsq(curved, -first, rcond=None)[0]
    return -TYRES * found[3:]


@pytest.mark.cross_model
def test_loads_after_one_perch_was_raised(against: Against) -> None:
    lift = np.array([0.010, 0.0, 0.0, 0.0])
    got = corner_weights.load_change(
        lift=lift, wheel_rates=WHEELS, tyre_rates=TYRES, **TRACKS, wheelbase=BASE, **BARS
    )
    against(
        ROOM + "corner_weights.load_change", got=got, expected=_energy_loads(lift), abs=1e-5,
        source="least elastic energy, numpy least squares",
        note="1e-5 N of some 50: rounding of energies of 1e5 J",
    )  # fmt: skip


@pytest.mark.textbook
def test_equal_corners_give_a_quarter_of_the_warp(against: Against) -> None:
    # Four equal wheels on a rectangle: one perch up by h leaves k·h/4 on each, ± by diagonal.
    k, kt, h = 20e3, 200e3, 0.008
    got = corner_weights.load_change(
        lift=np.array([h, 0, 0, 0]), wheel_rates=np.full(4, k), tyre_rates=np.full(4, kt),
        front_track=1.5, rear_track=1.5, wheelbase=2.5,
    )  # fmt: skip
    series = k * kt / (k + kt)
    against(
        ROOM + "corner_weights.load_change", got=got,
        expected=series * h / 4 * np.array([1, -1, -1, 1]), rel=1e-9,
        source="statics of a table with one leg too long", note="closed form",
    )  # fmt: skip


@pytest.mark.cross_model
def test_perches_for_a_cross_share_do_what_they_should(against: Against) -> None:
    loads = np.array([280.0, 271.0, 262.0, 267.0]) * 9.80665
    aim = corner_weights.warp_load(loads=loads, cross_wanted=0.5, **TRACKS)
    rise = np.array([0.004, 0.004, 0.004, 0.004])
    lift = corner_weights.perch_lift(
        load_wanted=aim, body_rise=rise, wheel_rates=WHEELS, tyre_rates=TYRES, **BARS
    )
    against(
        ROOM + "corner_weights.perch_lift", got=_energy_loads(lift), expected=aim, abs=1e-5,
        source="least elastic energy, numpy least squares",
    )  # fmt: skip
    after = loads + aim
    against(
        ROOM + "corner_weights.warp_load", got=(after[0] + after[3]) / after.sum(), expected=0.5,
        abs=1e-12, source="statics: the diagonals by hand",
    )  # fmt: skip
    assert aim.sum() == pytest.approx(0.0, abs=1e-9)
    assert aim[0] * 0.7225 - aim[1] * 0.7225 + aim[2] * 0.74 - aim[3] * 0.74 == pytest.approx(
        0.0, abs=1e-9
    )


@pytest.mark.practice
def test_cross_share_by_hand(against: Against) -> None:
    # 600 + 480 on one diagonal of 2100 lb: 51.43 % to two decimals
    got = corner_weights.cross_share(fl=600.0, fr=560.0, rl=460.0, rr=480.0)
    against(
        ROOM + "corner_weights.cross_share", got=100 * got, expected=51.43, abs=5e-3,
        source="definition of cross weight, by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_a_kilogram_on_the_scales_moves_the_height_found(against: Against) -> None:
    got = corner_weights.cg_height_per_mass(mass=1400.0, wheelbase=2.6, lift=0.5)
    against(
        ROOM + "corner_weights.cg_height_per_mass", got=1e3 * got, expected=9.477, abs=5e-4,
        source="axle-lift method, university handout; body builder guideline, same method",
        note="9.477 mm/kg worked out from the method, four figures",
    )  # fmt: skip


@pytest.mark.textbook
def test_height_by_lifting_an_axle(against: Against) -> None:
    got = masses.cg_height_by_lifting(
        mass=1400.0, wheelbase=2.6, lift=0.5, load_gain=22.15917, loaded_radius=0.310
    )
    against(
        ROOM + "masses.cg_height_by_lifting", got=1e3 * got, expected=520.0, abs=0.01,
        source="axle-lift method, university handout; body builder guideline, same method",
    )  # fmt: skip
