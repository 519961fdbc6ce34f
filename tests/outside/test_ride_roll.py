"""Roll, load transfer, alignment and masses against worked examples and a rigid car."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from drybuild.systems.ride import alignment, masses, roll

Against = Callable[..., None]
ROOM = "drybuild.systems.ride."

BARTON = "Barton and Fieldhouse, Automotive Chassis Engineering (Springer, 2018)"
TUM = "commonroad-vehicle-models 3.0.2 (TU Munich, 2020)"


@pytest.mark.textbook
def test_bar_roll_stiffness_in_inch_units(against: Against) -> None:
    """Q = 1e4·T²·K²·(D⁴ − d⁴)/(R²·L/2), lb·in per degree, lengths in inches.

    L is the half of the bar here written L/2; its rounded 1e4 hides a modulus of 11.5e6 psi.
    """
    inch, pound = 0.0254, 4.4482216152605
    track, ratio, bar, bore, arm, length = 56.0, 0.6, 0.875, 0.5, 8.0, 34.0
    published = 1e4 * track**2 * ratio**2 * (bar**4 - bore**4) / (arm**2 * length / 2)
    got = roll.bar_roll_stiffness(
        end_rate=roll.bar_end_rate(
            diameter=bar * inch, bore=bore * inch, centre_length=length * inch,
            arm=arm * inch, shear_modulus=11.5e6 * pound / inch**2,
        ),
        motion_ratio=ratio,
        track_width=track * inch,
    )  # fmt: skip
    against(
        ROOM + "roll.bar_roll_stiffness",
        got=got * (math.pi / 180.0) / (pound * inch),
        expected=published,
        rel=0.015,
        source="Staniforth, Race and Rally Car Source Book, as quoted",
        note="its coefficient is rounded from 9852 to 10000",
    )


@pytest.mark.textbook
def test_bar_rate_with_bending_arms(against: Against) -> None:
    # K = 500000·D⁴/(0.4244·A²·B + 0.2264·C³), lb/in; D 1, A 8, B 36, C 10 in: 415.207.
    inch, pound = 0.0254, 4.4482216152605
    psi = pound / inch**2
    got = roll.bar_end_rate(
        diameter=inch, centre_length=36 * inch, arm=8 * inch, arm_length=10 * inch,
        shear_modulus=12.0e6 * psi, young_modulus=30.0e6 * psi,
    )  # fmt: skip
    against(
        ROOM + "roll.bar_end_rate",
        got=got / (pound / inch),
        expected=500000 / (0.4244 * 8**2 * 36 + 0.2264 * 10**3),
        rel=2e-4,
        source="Puhn, How to Make Your Car Handle (1976), from memory",
        note="coefficients printed to four digits",
    )


@pytest.mark.textbook
def test_spring_roll_stiffness(against: Against) -> None:
    against(
        ROOM + "roll.spring_roll_stiffness",
        got=roll.spring_roll_stiffness(wheel_rate=25e3, track_width=1.5) * math.pi / 180,
        expected=490.87,
        abs=0.005,
        source="Milliken and Milliken, k·t²/2: 25 N/mm at 1.5 m (from memory)",
    )


@pytest.mark.cross_model
def test_axle_roll_stiffness_against_a_rolled_axle(against: Against) -> None:
    """Body held at 1 degree over free wheels: solve the heights of both wheels, take the couple."""
    track, spring, tyre, bar_end, ratio = 1.45, 24e3, 200e3, 30e3, 0.6
    angle = math.radians(1.0)
    body = np.array([angle, -angle]) * track / 2  # height of the body over each wheel, bump +
    bar = bar_end * ratio**2 * np.array([[1.0, -1.0], [-1.0, 1.0]])
    suspension = spring * np.eye(2) + bar
    # wheels find heights w with suspension·(body − w) = tyre·w
    wheels = np.linalg.solve(suspension + tyre * np.eye(2), suspension @ body)
    couple = float((tyre * wheels) @ np.array([1.0, -1.0])) * track / 2
    got = roll.axle_roll_stiffness(
        springs=roll.spring_roll_stiffness(wheel_rate=spring, track_width=track),
        bar=roll.bar_roll_stiffness(end_rate=bar_end, motion_ratio=ratio, track_width=track),
        tyre_rate=tyre,
        track_width=track,
    )
    against(
        ROOM + "roll.axle_roll_stiffness",
        got=got,
        expected=couple / angle,
        rel=1e-9,
        source="numpy, equilibrium of two wheels, bar ends and a tilted body",
    )


@pytest.mark.textbook
def test_roll_gradient_of_the_worked_example(against: Against) -> None:
    got = roll.roll_gradient(sprung_mass=1280.0, arm=0.365, stiffness=28650.0, gravity=9.81)
    against(
        ROOM + "roll.roll_gradient",
        got=got,
        expected=0.0194,
        abs=0.00005,
        source=f"{BARTON}, p. 174, eq. 3.18",
        note="printed 0.0194 rad/(m/s²), 10.9 degrees per g",
    )


@pytest.mark.textbook
def test_load_transfer_of_a_rigid_car(against: Against) -> None:
    # 1400 kg at 0.9 g, h 0.52, t 1.5: 436.8 kg.
    got = roll.total_load_transfer(
        mass=1400.0, acceleration=0.9 * 9.80665, cg_height=0.52, track_width=1.5
    )
    against(
        ROOM + "roll.total_load_transfer",
        got=got,
        expected=4283.54,
        abs=0.005,
        source="statics: 1400 × 0.9 × 9.80665 × 0.52 / 1.5 by hand",
    )


@pytest.mark.cross_model
def test_both_axles_together_move_what_a_rigid_car_moves(against: Against) -> None:
    """With equal tracks, and roll moment of the shifted body included, the parts add to m·a·h/t."""
    track, d_f, d_r = 1.45, 30e3, 22e3
    ms_f, ms_r, mu_f, mu_r = 500.0, 480.0, 70.0, 75.0
    rc_f, rc_r, hu, h = 0.06, 0.12, 0.3, 0.5
    share = ms_f / (ms_f + ms_r)
    arm = roll.roll_arm(
        cg_height=h, front_share=share, roll_centre_front=rc_f, roll_centre_rear=rc_r
    )
    gradient = roll.roll_gradient(sprung_mass=ms_f + ms_r, arm=arm, stiffness=d_f + d_r)
    moved = sum(
        roll.axle_load_transfer(
            gradient=gradient, axle_stiffness=k, axle_sprung_mass=ms, roll_centre_height=rc,
            axle_unsprung_mass=mu, unsprung_height=hu, track_width=track,
        )
        for k, ms, rc, mu in ((d_f, ms_f, rc_f, mu_f), (d_r, ms_r, rc_r, mu_r))
    )  # fmt: skip
    rigid = roll.total_load_transfer(
        mass=1.0, acceleration=1.0, track_width=track,
        cg_height=(ms_f + ms_r) * h + (mu_f + mu_r) * hu,
    )  # fmt: skip
    # the body leans out: its weight moves by d·roll, which a rigid car does not have
    lean = (ms_f + ms_r) * 9.80665 * arm * gradient / track
    against(
        ROOM + "roll.axle_load_transfer",
        got=moved,
        expected=rigid + lean,
        rel=1e-12,
        source="moment balance of the whole car about the ground",
    )


@pytest.mark.textbook
def test_toe_as_a_length_needs_its_diameter(against: Against) -> None:
    got = alignment.toe_angle(
        toe_length=np.array([4e-3, 2e-3, 1e-3, 3e-3]),
        measured_over=np.array([0.7277, 0.4318, 0.4064, 0.6604]),
    )
    against(
        ROOM + "alignment.toe_angle",
        got=np.degrees(got),
        expected=np.array([0.314943, 0.265382, 0.140984, 0.260279]),
        abs=1e-4,
        source="workshop note: DEGREES(ASIN(4/727.7)) and its rim-diameter form",
    )


@pytest.mark.textbook
def test_camber_gain_of_a_swing_axle(against: Against) -> None:
    """Closed form: pivot 600 mm in from the wheel centre, camber −asin(z/600)."""
    gain = -math.asin(50 / 600) / 0.050
    got = alignment.angle_change(change=gain, start=0.0, end=np.array([-0.025, 0.025]))
    against(
        ROOM + "alignment.angle_change",
        got=np.degrees(got),
        expected=np.array([2.388015, -2.388015]),
        abs=0.005,
        source="closed form of the swing axle, asin(25/600)",
        note="the straight form departs by the third order of z/600: 0.002 degrees",
    )


@pytest.mark.practice
def test_an_adjustable_arm_brings_a_lowered_wheel_back(against: Against) -> None:
    """A lower arm offers about ±2.5 degrees: a 35 mm drop on wishbones leaves it room to −1.5."""
    lowered = alignment.angle_after(
        found=math.radians(-1.2),
        change=alignment.angle_change(change=math.radians(-1.1) / 0.050, start=0.0, end=0.035),
    )
    left = alignment.reach_left(
        aim=math.radians(-1.5), without=lowered, range_each_way=math.radians(2.5)
    )
    # by hand: −1.2 − 1.1·35/50 = −1.97; 2.5 − 0.47 = 2.03
    against(
        ROOM + "alignment.reach_left",
        got=math.degrees(left),
        expected=2.03,
        abs=0.005,
        source="trade: ±2.5 degrees of camber on an adjustable lower arm",
    )


@pytest.mark.practice
def test_beam_moves_ten_centimetres_at_ten_metres_for_one_per_cent(against: Against) -> None:
    """Front 30 mm lower than the rear over 2.33 m: the beam falls 12.9 cm at 10 m."""
    pitch = alignment.body_pitch(front_down=0.040, rear_down=0.010, wheelbase=2.33)
    against(
        ROOM + "alignment.beam_fall",
        got=alignment.beam_fall(pitch=pitch) * 10.0,
        expected=-0.129,
        abs=0.0005,
        source="trade: 1 % of aim is 10 cm at 10 m; 30/2330 is 1.29 %",
    )


@pytest.mark.practice
def test_pitch_is_the_difference_of_drops_over_the_wheelbase(against: Against) -> None:
    """30 mm over 2330 mm by hand: 1.2876 %, 0.7376 degrees; equal drops turn nothing."""
    got = alignment.body_pitch(
        front_down=np.array([0.040, 0.030, 0.010]),
        rear_down=np.array([0.010, 0.030, 0.040]),
        wheelbase=2.33,
    )
    against(
        ROOM + "alignment.body_pitch",
        got=np.degrees(got),
        expected=np.array([-0.7376, 0.0, 0.7376]),
        abs=1e-4,
        source="trade: headlamp pitch is the difference of the drops over the wheelbase",
    )


@pytest.mark.textbook
def test_height_of_the_centre_of_gravity_by_lifting(against: Against) -> None:
    """Forward statics of a tilted car with a known centre: 520 mm must come back."""
    mass, wheelbase, radius, lift, height = 1400.0, 2.6, 0.310, 0.5, 0.520
    theta = math.asin(lift / wheelbase)
    # The centre moves back by (h − r)·tan θ relative to the contact points along the car.
    gain = mass * (height - radius) * math.tan(theta) / wheelbase
    assert gain == pytest.approx(22.15917, abs=5e-6)
    got = masses.cg_height_by_lifting(
        mass=mass, wheelbase=wheelbase, lift=lift, load_gain=22.15917, loaded_radius=radius
    )
    against(
        ROOM + "masses.cg_height_by_lifting",
        got=got,
        expected=height,
        abs=1e-5,
        source="body builders' method of weighing with one axle lifted 500 mm",
    )


@pytest.mark.cross_model
def test_corner_mass_of_published_parameter_sets(against: Against) -> None:
    """Sprung corner from the tyre's load; the library states sprung and unsprung separately."""
    m, uf, a, b = 1093.2952334674046, 63.7921826056784, 1.1561957064, 1.4227170936
    # load on a front tyre: sprung share by distances, plus its own half of the unsprung axle
    load = 9.80665 * (965.7108098804363 * b / (a + b) + uf) / 2
    assert m == pytest.approx(965.7108098804363 + 2 * uf, abs=1e-3)
    got = masses.corner_sprung_mass(corner_load=load, unsprung_mass=uf / 2)
    against(
        ROOM + "masses.corner_sprung_mass",
        got=got,
        expected=266.3784,
        abs=5e-5,
        source=f"{TUM}, set 2",
    )
