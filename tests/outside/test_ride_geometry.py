"""Ride formulas held to exact geometry and statics of a corner, a bar and a rigid body."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, optimize

from drybuild.systems.ride import alignment, coil, linkage, masses, roll

Against = Callable[..., None]
ROOM = "drybuild.systems.ride."

# A spring leaning on a swinging arm, in metres: the arm turns about the origin, wheel at 0.38,
# spring foot at 0.27 along the arm, top mount on the body. Wheel travel z, + up.
ARM, FOOT, TOP = 0.38, 0.27, np.array([0.17, 0.30])
TAPE = 1e-3  # what a tape reads: the straight-line motion ratio is good to that


def length(z: float) -> float:
    """Distance from spring foot to top mount, exactly."""
    angle = math.asin(z / ARM)
    return float(np.linalg.norm(TOP - FOOT * np.array([math.cos(angle), math.sin(angle)])))


def ratio(z: float, h: float = 1e-4) -> float:
    """Motion ratio by differences: how much the spring shortens per wheel travel."""
    return (length(z - h) - length(z + h)) / (2 * h)


def slope(z: float, h: float = 1e-3) -> float:
    return (ratio(z + h) - ratio(z - h)) / (2 * h)


@pytest.mark.cross_model
def test_spring_length_along_the_travel(against: Against) -> None:
    travel = np.array([-0.06, -0.03, 0.03, 0.06])
    got = linkage.seat_distance_at(
        seat_distance=length(0.0), motion_ratio=ratio(0.0), slope=slope(0.0), travel=travel
    )
    against(
        ROOM + "linkage.seat_distance_at",
        got=got,
        expected=np.array([length(z) for z in travel]),
        abs=TAPE,
        source="exact geometry of a spring on a swinging arm",
        note="straight-line motion ratio over ±60 mm, to what a tape reads",
    )


@pytest.mark.cross_model
def test_squeeze_is_the_motion_ratio_summed(against: Against) -> None:
    travel = np.array([-0.08, 0.05, 0.11])
    expected = [
        integrate.quad(
            lambda z: float(linkage.motion_ratio_at(motion_ratio=0.72, slope=0.4, travel=z)), 0, t
        )[0]
        for t in travel
    ]
    against(
        ROOM + "linkage.spring_squeeze",
        got=linkage.spring_squeeze(motion_ratio=0.72, slope=0.4, travel=travel),
        expected=np.array(expected),
        rel=1e-10,
        source="scipy.integrate.quad of the motion ratio over wheel travel",
    )


@pytest.mark.cross_model
def test_a_short_spring_is_loose_at_full_droop(against: Against) -> None:
    """Free lengths around the exact seat distance at 70 mm of droop: loose, just held, held."""
    exact = length(-0.07)
    seats = linkage.seat_distance_at(
        seat_distance=length(0.0), motion_ratio=ratio(0.0), slope=slope(0.0), travel=-0.07
    )
    free = exact + np.array([-0.008, 0.0, 0.012])
    against(
        ROOM + "coil.captive_squeeze",
        got=coil.captive_squeeze(free_length=free, held_length=seats),
        expected=np.array([-0.008, 0.0, 0.012]),
        abs=TAPE,
        source="exact geometry of a spring on a swinging arm",
        note="to what a tape reads",
    )


@pytest.mark.cross_model
def test_coils_meet_before_the_stop_or_not(against: Against) -> None:
    exact = length(0.09)
    seats = linkage.seat_distance_at(
        seat_distance=length(0.0), motion_ratio=ratio(0.0), slope=slope(0.0), travel=0.09
    )
    solid = exact - np.array([-0.005, 0.010])
    against(
        ROOM + "coil.coil_bind_room",
        got=coil.coil_bind_room(length_at_bump=seats, solid=solid),
        expected=np.array([-0.005, 0.010]),
        abs=2 * TAPE,
        source="exact geometry of a spring on a swinging arm",
        note="90 mm of travel, to twice what a tape reads",
    )


@pytest.mark.cross_model
def test_seat_distance_from_load_against_least_energy(against: Against) -> None:
    """Where a loaded arm comes to rest, found as the least of spring energy less work of load."""
    rate, free, weight = 26e3, 0.453, 2400.0
    rest = optimize.minimize_scalar(
        lambda z: 0.5 * rate * (free - length(z)) ** 2 - weight * z,
        bounds=(-0.1, 0.12),
        method="bounded",
        options={"xatol": 1e-10},
    ).x
    got = linkage.seat_distance_found(
        free_length=free, spring_rate=rate, sprung_weight=weight, motion_ratio=ratio(rest)
    )
    against(
        ROOM + "linkage.seat_distance_found",
        got=got,
        expected=length(rest),
        abs=1e-6,
        source="scipy.optimize.minimize_scalar on the energy of a loaded swinging arm",
        note="differences over 0.1 mm",
    )


@pytest.mark.cross_model
def test_another_spring_on_the_same_arm(against: Against) -> None:
    """From one spring to a stiffer, shorter one: the drop by least energy, exactly."""
    rate, free, weight = 26e3, 0.453, 2400.0
    new_rate, new_free = 44e3, 0.376

    def rest(k: float, f: float) -> float:
        found = optimize.minimize_scalar(
            lambda z: 0.5 * k * (f - length(z)) ** 2 - weight * z,
            bounds=(-0.1, 0.12), method="bounded", options={"xatol": 1e-10},
        )  # fmt: skip
        return float(found.x)

    before = rest(rate, free)
    seats = linkage.seat_distance_found(
        free_length=free, spring_rate=rate, sprung_weight=weight, motion_ratio=ratio(before)
    )
    drop = linkage.rest_travel(
        spring_rate=new_rate,
        squeeze_at_zero=linkage.squeeze_between_seats(free_length=new_free, seat_distance=seats),
        sprung_weight=weight,
        motion_ratio=ratio(before),
        slope=slope(before),
    )
    assert 0.02 < drop < 0.04  # inside the bounds of the search, and worth a test
    against(
        ROOM + "linkage.squeeze_between_seats",
        got=drop,
        expected=rest(new_rate, new_free) - before,
        abs=TAPE,
        source="least energy of a loaded swinging arm, two springs",
        note="to what a tape reads",
    )


@pytest.mark.cross_model
def test_a_longer_damper_gives_wheel_travel(against: Against) -> None:
    """A damper in place of the spring: how far the wheel hangs with 8 mm more of it."""
    end = 0.07
    exact = -optimize.brentq(lambda z: length(z) - length(-end) - 0.008, -0.12, 0.0)
    got = linkage.travel_with_parts(travel=end, gained_at_damper=0.008, motion_ratio=ratio(-end))
    against(
        ROOM + "linkage.travel_with_parts",
        got=got,
        expected=exact,
        abs=TAPE,
        source="scipy.optimize.brentq on the exact geometry",
        note="to what a tape reads",
    )


@pytest.mark.practice
def test_travel_left_is_what_the_tape_says(against: Against) -> None:
    """Hub to lip: 380 as found, 352 after the drop, 270 on the solid stop: 82 of 110 are left."""
    got = linkage.travel_left(full_travel=0.380 - 0.270, rest=0.380 - 0.352)
    against(
        ROOM + "linkage.travel_left",
        got=got,
        expected=0.352 - 0.270,
        abs=1e-9,
        source="trade: hub to arch lip, standing and on the stop",
    )


@pytest.mark.authority
def test_permitted_stress_at_solid_length(against: Against) -> None:
    # 0.56 of a wire of 1900 N/mm2, by hand
    against(
        ROOM + "coil.permitted_solid_stress",
        got=coil.permitted_solid_stress(tensile_strength=1900e6),
        expected=1064e6,
        rel=1e-9,
        source="EN 13906-1:2013, clause 10 (from memory): 0.56·Rm",
    )


@pytest.mark.practice
def test_solid_length_is_a_stack_of_wires(against: Against) -> None:
    """Six and a half coils of 12 mm wire, ends ground: 78 mm, less than 1 % paint."""
    against(
        ROOM + "coil.solid_length",
        got=coil.solid_length(total_coils=6.5, wire_diameter=0.012),
        expected=0.078,
        rel=0.01,
        source="trade: coils laid one on another",
    )


@pytest.mark.textbook
def test_wheel_angle_after_height_and_adjuster(against: Against) -> None:
    """A swing axle's camber is known exactly: −asin(z/600), plus what the bolt is turned by."""
    found = -math.asin(0.0 / 0.6) + math.radians(-0.5)
    got = alignment.angle_after(
        found=found,
        change=alignment.angle_change(change=-1.0 / 0.6, start=0.0, end=0.03),
        set_by=math.radians(1.0),
        was_set_by=math.radians(-0.5),
    )
    against(
        ROOM + "alignment.angle_after",
        got=math.degrees(got),
        expected=-math.degrees(math.asin(0.03 / 0.6)) + 1.0,
        abs=0.002,
        source="closed form of the swing axle",
        note="third order of 30/600",
    )


@pytest.mark.cross_model
def test_share_of_an_axle_by_moments(against: Against) -> None:
    """A mass ahead of the front axle, between the axles, and behind the rear: two equations."""
    wheelbase = 2.33
    behind = np.array([-0.6, 0.9, 2.7])
    expected = [np.linalg.solve([[1.0, 1.0], [0.0, wheelbase]], [1.0, x])[0] for x in behind]
    against(
        ROOM + "masses.axle_share_at",
        got=masses.axle_share_at(behind_front_axle=behind, wheelbase=wheelbase),
        expected=np.array(expected),
        rel=1e-12,
        source="numpy, force and moment balance of a beam on two supports",
    )


@pytest.mark.cross_model
def test_height_of_several_masses(against: Against) -> None:
    m, h = (1080.0, 170.0, -68.0), (0.452, 0.52, 0.29)
    against(
        ROOM + "masses.mixed_height",
        got=masses.mixed_height(masses=m, heights=h),
        expected=float(np.average(h, weights=m)),
        rel=1e-12,
        source="numpy.average with weights",
    )


@pytest.mark.practice
def test_body_against_floor_and_hub(against: Against) -> None:
    """Lip over floor: 297 + 380 as found, 304 + 352 now. The tyre gave back 7 of the 28 mm."""
    got = masses.body_down(
        suspension_down=0.380 - 0.352, loaded_radius=0.304, loaded_radius_found=0.297
    )
    against(
        ROOM + "masses.body_down",
        got=got,
        expected=(0.297 + 0.380) - (0.304 + 0.352),
        abs=1e-9,
        source="trade: arch lip over the floor, before and after",
    )


@pytest.mark.cross_model
def test_clearance_of_a_point_under_a_tilting_body(against: Against) -> None:
    """A rigid body set down 30 mm in front and 12 at the rear, point 1.1 m behind the front."""
    wheelbase, behind, found = 2.33, 1.1, 0.152
    front, rear = 0.030, 0.012
    tilt = math.asin((rear - front) / wheelbase)  # line of the axles, exact length kept
    exact = found - front - behind * math.sin(tilt)
    got = masses.clearance_left(
        clearance_found=found, front_down=front, rear_down=rear,
        front_share=masses.axle_share_at(behind_front_axle=behind, wheelbase=wheelbase),
    )  # fmt: skip
    against(
        ROOM + "masses.clearance_left",
        got=got,
        expected=exact,
        abs=1e-6,
        source="rotation of a rigid body about its front axle",
    )


@pytest.mark.cross_model
def test_roll_arm_over_a_sloping_axis(against: Against) -> None:
    front_mass, rear_mass, wheelbase = 560.0, 440.0, 2.33
    behind = wheelbase * rear_mass / (front_mass + rear_mass)
    axis = float(np.interp(behind, [0.0, wheelbase], [0.03, 0.11]))
    got = roll.roll_arm(
        cg_height=0.46,
        front_share=front_mass / (front_mass + rear_mass),
        roll_centre_front=0.03,
        roll_centre_rear=0.11,
    )
    against(
        ROOM + "roll.roll_arm",
        got=got,
        expected=0.46 - axis,
        rel=1e-12,
        source="numpy.interp of the roll axis under the centre of gravity",
    )


@pytest.mark.textbook
def test_load_transfer_is_shared_by_roll_stiffness(against: Against) -> None:
    """Roll centres on the ground, no unsprung mass: the share is that of the stiffnesses."""
    stiff = {"front": 36e3, "rear": 24e3}
    gradient = roll.roll_gradient(sprung_mass=1000.0, arm=0.45, stiffness=60e3)
    moved = {
        axle: roll.axle_load_transfer(
            gradient=gradient, axle_stiffness=k, axle_sprung_mass=500.0, roll_centre_height=0.0,
            axle_unsprung_mass=0.0, unsprung_height=0.3, track_width=1.45,
        )
        for axle, k in stiff.items()
    }  # fmt: skip
    against(
        ROOM + "roll.front_share",
        got=roll.front_share(front=moved["front"], rear=moved["rear"]),
        expected=0.6,
        rel=1e-12,
        source="Gillespie, Fundamentals of Vehicle Dynamics, ch. 6: 36/(36 + 24)",
    )


@pytest.mark.textbook
def test_force_in_the_links_of_a_wound_up_bar(against: Against) -> None:
    """By hand: ends 6 mm apart on a 200 mm arm twist 0.03 rad; torque is G·J/L of it.

    J = π·20⁴/32 = 15708 mm⁴; 79500·15708/820·0.03 = 45687 N·mm; over 200 mm: 228.4 N.
    """
    rate = roll.bar_end_rate(diameter=0.020, centre_length=0.820, arm=0.200)
    got = roll.bar_link_force(
        end_rate=rate, motion_ratio=0.6, travel_left=0.030, travel_right=0.020
    )
    against(
        ROOM + "roll.bar_link_force",
        got=got,
        expected=228.4,
        abs=0.05,
        source="strength of materials: twist of a round bar, by hand",
    )
