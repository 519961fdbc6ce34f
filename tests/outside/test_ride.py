"""Springs, linkage and damping against books, open data and independent libraries."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy import integrate, optimize

from drybuild.systems.ride import coil, linkage, motion

Against = Callable[..., None]
ROOM = "drybuild.systems.ride."

BARTON = "Barton and Fieldhouse, Automotive Chassis Engineering (Springer, 2018)"
GILLESPIE = "Gillespie, Fundamentals of Vehicle Dynamics (1992)"
TUM = "commonroad-vehicle-models 3.0.2 (TU Munich, 2020)"

# Parameter sets 1 to 3 of that library: sprung mass, a, b, spring rates, damping, track, tyre.
TUM_CARS: dict[str, tuple[float, ...]] = {
    "m_s": (1094.542720290477, 965.7108098804363, 1316.6086552490374),
    "a": (0.88392, 1.1561957064, 1.1507916024),
    "b": (1.50876, 1.4227170936, 1.3211363976),
    "K_sf": (21898.332429625985, 24453.137879749014, 33577.44305875984),
    "K_sr": (21898.332429625985, 19635.504745231297, 39125.020607598424),
    "K_sdf": (1459.3902937206362, 1786.2441002440723, 2405.564099800005),
    "K_sdr": (1459.3902937206362, 1649.0833034887382, 2769.727219182409),
}


def tum(name: str) -> Any:
    return np.array(TUM_CARS[name])


def corner_mass(axle: str) -> Any:
    """Sprung mass over one wheel, from the library's own distances."""
    share = tum("b") if axle == "front" else tum("a")
    return tum("m_s") * share / (2.0 * (tum("a") + tum("b")))


@pytest.mark.textbook
def test_coil_rate_of_two_road_springs(against: Against) -> None:
    # d 12.7 mm, G 79.3 GPa; n printed to two decimals, rates to 0.1 N/mm.
    got = coil.coil_rate(
        wire_diameter=0.0127,
        mean_diameter=np.array([0.120, 0.100]),
        active_coils=np.array([7.73, 6.10]),
        shear_modulus=79.3e9,
    )
    against(
        ROOM + "coil.coil_rate",
        got=got,
        expected=np.array([19.3e3, 42.3e3]),
        abs=50.0,
        source=f"{BARTON}, p. 213",
        note="rates printed to 0.1 N/mm",
    )


@pytest.mark.cross_model
def test_coil_rate_with_curvature(against: Against) -> None:
    # Its test asks for the coils of a 6 N/mm spring, d 6, D 50, G 75 GPa.
    got = coil.coil_rate_curved(
        wire_diameter=0.006, mean_diameter=0.050, active_coils=16.08419, shear_modulus=75e9
    )
    against(
        ROOM + "coil.coil_rate_curved",
        got=got,
        expected=6000.0,
        rel=1e-6,
        source="me-toolbox 0.0.18, test of its helical compression spring",
        note="coils printed to five decimals",
    )


@pytest.mark.cross_model
def test_plain_and_curved_coil_counts_differ_as_the_library_says(against: Against) -> None:
    got = coil.coil_rate(
        wire_diameter=0.006, mean_diameter=0.050, active_coils=16.2, shear_modulus=75e9
    )
    against(
        ROOM + "coil.coil_rate",
        got=got,
        expected=6000.0,
        rel=1e-9,
        source="me-toolbox 0.0.18, form without curvature",
        note="16.2 coils is exact",
    )


@pytest.mark.textbook
def test_coil_stress_of_a_coilover_spring(against: Against) -> None:
    # By hand: 8·72·4000/(π·12³) = 2 304 000 / 5428.672 = 424.413 N/mm2.
    got = coil.coil_stress(force=4000.0, wire_diameter=0.012, mean_diameter=0.072)
    against(
        ROOM + "coil.coil_stress",
        got=got,
        expected=424.413e6,
        abs=500.0,
        source="EN 13906-1:2013, clause 9 (form from memory), worked by hand",
    )


@pytest.mark.textbook
def test_curvature_factor_at_index_six(against: Against) -> None:
    # (6 + 0.5)/(6 − 0.75) = 1.238095; the older factor of Wahl is 1.2525 at the same index.
    got = coil.curvature_factor(spring_index=6.0)
    against(
        ROOM + "coil.curvature_factor",
        got=got,
        expected=1.2525,
        rel=0.015,
        source="Wahl's factor (4w − 1)/(4w − 4) + 0.615/w at w = 6",
        note="the two forms are known to lie within 1.5 % of each other from w = 4",
    )


@pytest.mark.cross_model
def test_spring_energy_is_the_work_of_closing_it(against: Against) -> None:
    rate, free, held = 42e3, 0.300, 0.221
    work, _ = integrate.quad(lambda x: rate * x, 0.0, free - held)
    got = coil.spring_energy(rate=rate, free_length=free, held_length=held)
    against(
        ROOM + "coil.spring_energy",
        got=got,
        expected=work,
        rel=1e-12,
        source="scipy.integrate.quad of force over travel",
    )


@pytest.mark.textbook
def test_wheel_rate_is_spring_over_wheel_squared(against: Against) -> None:
    # A 60 N/mm spring at 0.7 gives 29.4 N/mm. The other way round it would give 122.
    got = linkage.wheel_rate(spring_rate=60e3, motion_ratio=0.7)
    against(
        ROOM + "linkage.wheel_rate",
        got=got,
        expected=29.4e3,
        abs=50.0,
        source="circle-track technical article on motion ratio",
    )


@pytest.mark.textbook
def test_motion_ratio_of_a_lower_arm(against: Against) -> None:
    # Arm 19.0 in long, mount 3.0 in short of the ball joint: per inch of wheel, 16/19 of spring.
    got = linkage.motion_ratio_from_travels(spring_travel=16.0, wheel_travel=19.0)
    against(
        ROOM + "linkage.motion_ratio_from_travels",
        got=got,
        expected=0.84211,
        abs=5e-6,
        source="circle-track technical article on motion ratio",
    )


@pytest.mark.textbook
def test_rate_wanted_at_the_arm_for_a_rate_at_the_wheel(against: Against) -> None:
    got = linkage.wheel_rate(spring_rate=846.0, motion_ratio=0.84211)
    against(
        ROOM + "linkage.wheel_rate",
        got=got,
        expected=600.0,
        rel=0.002,
        source="circle-track technical article: 600 lb/in at the wheel needs 846 at the arm",
        note="846 is printed without decimals",
    )


@pytest.mark.cross_model
def test_wheel_rate_on_a_real_arm_needs_both_terms(against: Against) -> None:
    """A spring leaning on a swinging arm: force at the wheel by virtual work, then its slope."""
    arm, mount, top = 0.40, 0.26, np.array([0.16, 0.34])
    rate, free = 40e3, 0.42

    def length(z: float) -> float:
        angle = math.asin(z / arm)
        foot = mount * np.array([math.cos(angle), math.sin(angle)])
        return float(np.linalg.norm(top - foot))

    def slope(f: Callable[[float], float], z: float, h: float = 1e-5) -> float:
        return (f(z + h) - f(z - h)) / (2 * h)

    def energy(z: float) -> float:
        return 0.5 * rate * (free - length(z)) ** 2

    z = 0.03
    wheel = slope(lambda q: slope(energy, q, 1e-4), z, 1e-4)
    ratio = -slope(length, z)
    ratio_slope = slope(lambda q: -slope(length, q, 1e-4), z, 1e-4)
    force = rate * (free - length(z))
    got = linkage.wheel_rate(
        spring_rate=rate, motion_ratio=ratio, spring_force=force, slope=ratio_slope
    )
    first_term_alone = linkage.wheel_rate(spring_rate=rate, motion_ratio=ratio)
    assert abs(float(first_term_alone) / wheel - 1.0) > 0.05  # the trap is worth a test
    against(
        ROOM + "linkage.wheel_rate",
        got=got,
        expected=wheel,
        rel=1e-4,
        source="second derivative of the spring's energy over wheel travel, by differences",
        note="differences over 0.1 mm",
    )


@pytest.mark.cross_model
def test_rest_position_against_a_root_finder(against: Against) -> None:
    rng = np.random.default_rng(7)
    n = 40
    rate = rng.uniform(18e3, 60e3, n)
    ratio = rng.uniform(0.55, 0.95, n)
    slope = rng.uniform(-0.6, 0.6, n)
    weight = rng.uniform(1800.0, 3800.0, n)
    # lengths such that the answer lies within 60 mm of where the car was
    answer_near = rng.uniform(-0.05, 0.05, n)
    free = 0.30 + rng.uniform(-0.03, 0.03, n)
    squeeze = weight / (rate * (ratio + slope * answer_near)) - (
        ratio * answer_near + 0.5 * slope * answer_near**2
    )
    seats = free - squeeze
    got = linkage.rest_travel(
        spring_rate=rate,
        squeeze_at_zero=linkage.squeeze_between_seats(free_length=free, seat_distance=seats),
        sprung_weight=weight, motion_ratio=ratio, slope=slope,
    )  # fmt: skip

    def balance(z: float, i: int) -> float:
        moved = ratio[i] * z + 0.5 * slope[i] * z * z
        force: float = rate[i] * (free[i] - seats[i] + moved) * (ratio[i] + slope[i] * z)
        return force - float(weight[i])

    roots = [
        optimize.brentq(balance, a - 0.02, a + 0.02, args=(i,), xtol=1e-13)
        for i, a in enumerate(answer_near)
    ]
    against(
        ROOM + "linkage.rest_travel",
        got=got,
        expected=np.array(roots),
        abs=1e-9,
        source="scipy.optimize.brentq on the force balance",
        note="40 random corners; tolerance is the stop of Newton's method",
    )


@pytest.mark.practice
def test_usual_lowering_springs_drop_a_road_car_as_the_trade_says(against: Against) -> None:
    """About 20 mm is mild and 30 to 40 mm large: three sets of springs on one light corner."""
    weight, ratio = 2400.0, 0.72
    seats = linkage.seat_distance_found(
        free_length=0.340, spring_rate=24e3, sprung_weight=weight, motion_ratio=ratio
    )
    # Free lengths as sold: 1.3 times the rate, 47 mm shorter; 1.75 times, 84 mm shorter.
    got = linkage.rest_travel(
        spring_rate=np.array([31e3, 42e3]),
        squeeze_at_zero=linkage.squeeze_between_seats(
            free_length=np.array([0.293, 0.256]), seat_distance=seats
        ),
        sprung_weight=weight,
        motion_ratio=ratio,
    )
    against(
        ROOM + "linkage.rest_travel",
        got=got,
        expected=np.array([0.020, 0.035]),
        abs=0.005,
        source="trade: 20 mm is mild, 30 to 40 mm large",
    )


@pytest.mark.textbook
def test_ride_rate_with_the_tyre_in_series(against: Against) -> None:
    against(
        ROOM + "linkage.series_rate",
        got=linkage.series_rate(first=25e3, second=200e3),
        expected=22222.2,
        abs=0.05,
        source=f"{GILLESPIE}, ch. 5 (from memory)",
    )


@pytest.mark.textbook
def test_one_hertz_is_a_quarter_metre_of_deflection(against: Against) -> None:
    # 9.78 in of static deflection gives 1 Hz, whatever the mass.
    deflection = 9.78 * 0.0254
    got = motion.natural_frequency(rate=300.0 * 9.80665 / deflection, mass=300.0)
    against(
        ROOM + "motion.natural_frequency",
        got=got,
        expected=1.0,
        rel=0.0006,
        source="Ortiz, chassis newsletter, January 2002",
        note="9.78 in is printed to 0.01 in",
    )


@pytest.mark.cross_model
def test_frequency_with_the_tyre_against_the_quarter_car(against: Against) -> None:
    """Body mode of the full two-mass model: the series form is its usual short cut."""
    sprung, unsprung = corner_mass("front")[1], 63.7921826056784 / 2
    spring, tyre = tum("K_sf")[1], 158294.1398119115
    stiffness = np.array([[spring, -spring], [-spring, spring + tyre]])
    modes = np.linalg.eigvals(np.linalg.solve(np.diag([sprung, unsprung]), stiffness))
    body = math.sqrt(min(modes.real)) / (2 * math.pi)
    got = motion.natural_frequency(rate=linkage.series_rate(first=spring, second=tyre), mass=sprung)
    against(
        ROOM + "motion.natural_frequency",
        got=got,
        expected=body,
        rel=0.01,
        source=f"numpy eigenvalues of the two-mass model, {TUM}, set 2",
        note="the short cut leaves out the unsprung mass: under 1 % on a car",
    )


@pytest.mark.cross_model
def test_damping_of_published_parameter_sets_follows_their_rule(against: Against) -> None:
    """Sets 2 and 3 were made with 0.35 front and 0.40 rear of critical damping."""
    got = motion.damping_ratio(
        wheel_damping_rate=np.array([tum("K_sdf")[1:], tum("K_sdr")[1:]]),
        rate=np.array([tum("K_sf")[1:], tum("K_sr")[1:]]),
        mass=np.array([corner_mass("front")[1:], corner_mass("rear")[1:]]),
    )
    against(
        ROOM + "motion.damping_ratio",
        got=got,
        expected=np.array([[0.35, 0.35], [0.40, 0.40]]),
        abs=0.0005,
        source=TUM,
        note="the library's dampers are round shares of critical damping",
    )


@pytest.mark.cross_model
def test_damping_ratio_against_a_decaying_motion(against: Against) -> None:
    """Let go of a corner in a simulation and read the ratio off two crests."""
    mass, rate, damping = 260.0, 22e3, 1400.0
    crest = integrate.solve_ivp(
        lambda t, y: [y[1], -(rate * y[0] + damping * y[1]) / mass],
        (0.0, 3.0),
        [0.05, 0.0],
        events=lambda t, y: y[1],
        rtol=1e-10,
        atol=1e-12,
    ).y_events[0][:, 0]
    decrement = math.log(abs(crest[1] / crest[2]))  # half a period
    seen = decrement / math.hypot(math.pi, decrement)
    got = motion.damping_ratio(wheel_damping_rate=damping, rate=rate, mass=mass)
    against(
        ROOM + "motion.damping_ratio",
        got=got,
        expected=seen,
        rel=1e-5,
        source="scipy.integrate.solve_ivp, logarithmic decrement",
        note="tolerance of the integration",
    )


@pytest.mark.cross_model
def test_wheel_damping_takes_the_same_work_per_cycle(against: Against) -> None:
    """A damper softer in bump than in rebound, over one cycle of the wheel at 1.4 Hz, 20 mm."""
    bump, rebound, ratio, swing, omega = 900.0, 2600.0, 0.8, 0.020, 2 * math.pi * 1.4

    def power(t: float) -> float:
        shaft = ratio * swing * omega * math.cos(omega * t)
        return (bump if shaft > 0 else rebound) * shaft**2

    period = 2 * math.pi / omega
    work, _ = integrate.quad(power, 0.0, period, points=[period / 4, 3 * period / 4])
    against(
        ROOM + "motion.wheel_damping",
        got=motion.wheel_damping(bump=bump, rebound=rebound, motion_ratio=ratio),
        expected=work / (math.pi * omega * swing**2),
        rel=1e-9,
        source="scipy.integrate.quad: equivalent linear damper, work over π·ω·x²",
    )
