"""The brakes room against the world."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from drybuild.systems.brakes import formulas as f

ROOM = "drybuild.systems.brakes.formulas"
KMH = 1 / 3.6


@pytest.mark.textbook
def test_energy_of_a_stop(against):
    against(
        f"{ROOM}.heat.stop_energy",
        got=f.stop_energy(mass=750.0, speed=24.0),
        expected=216e3,
        rel=1e-9,
        source="school physics exercise with solution: 750 kg from 24 m/s, 216 kJ",
        note="exact in the printed figures",
    )


@pytest.mark.textbook
def test_one_stop_rise_small_car(against):
    energy = f.stop_energy(mass=750.0, speed=24.0)
    against(
        f"{ROOM}.heat.one_stop_rise",
        got=f.one_stop_rise(
            energy=energy, share=1.0, disc_mass=15.0, discs=1.0, heat_capacity=450.0
        ),
        expected=32.0,
        abs=0.5,
        source="the same exercise: 15 kg of iron at 450 J/(kg K) warm by 32 K",
        note="answer printed to the kelvin",
    )


@pytest.mark.textbook
def test_one_stop_rise_four_discs_us_units(against):
    """3000 lb at 60 mph into four 10 lb rotors, c 0.130 BTU/(lb F): 90.3 F as printed."""
    pound, foot, mile, btu = 0.45359237, 0.3048, 1609.344, 1055.056
    speed = 60 * mile / 3600
    energy = f.stop_energy(mass=3000 * pound, speed=speed)
    # The note works with 32.15 ft/s² and 0.0013 BTU per ft·lbf; so do we, to compare like for like.
    energy_as_printed = energy / (pound * 9.80665 * foot) * (32.174 / 32.15) * 0.0013 * btu
    rise = f.one_stop_rise(
        energy=energy_as_printed,
        share=1.0,
        disc_mass=10 * pound,
        discs=4.0,
        heat_capacity=0.130 * btu / pound * 1.8,
    )
    against(
        f"{ROOM}.heat.one_stop_rise",
        got=rise * 1.8,
        expected=90.3,
        rel=2e-3,
        source="engineering note on how hot brakes get: 469.7 BTU, 90.3 F",
        note="with the note's own rounded constants (32.15 ft/s2, 0.0013 BTU/ft lb)",
    )


@pytest.mark.authority
def test_longest_stop_from_100(against):
    against(
        f"{ROOM}.balance.longest_stop",
        got=f.longest_stop(speed=100 * KMH),
        expected=70.0,
        abs=0.05,
        source="UN R13-H annex 3, 2.1.1: 100 km/h, 70 m (from memory)",
        note="printed to the metre",
    )


@pytest.mark.authority
def test_mean_deceleration_belongs_to_the_distance(against):
    """70 m less the 0.1 v of the build-up time leave v²/2a with a = 6.43 m/s²."""
    v = 100 * KMH
    braking = float(f.longest_stop(speed=v)) - 0.1 * 100
    between = braking * (0.8**2 - 0.1**2)  # distance from 0.8 v to 0.1 v at constant deceleration
    against(
        f"{ROOM}.balance.mean_deceleration",
        got=f.mean_deceleration(speed=v, distance=between),
        expected=6.43,
        abs=0.005,
        source="UN R13-H annex 3, 2.1.1: at least 6.43 m/s2 (from memory)",
        note="printed to 0.01",
    )


@pytest.mark.authority
def test_least_rate_of_annex_5(against):
    against(
        f"{ROOM}.balance.least_rate",
        got=f.least_rate(adhesion=np.array([0.2, 0.5, 0.8])),
        expected=np.array([0.1, 0.31, 0.52]),
        abs=1e-9,
        source="UN R13-H annex 5, 3.1: z >= 0.1 + 0.7 (k - 0.2) (from memory)",
        note="exact",
    )


@pytest.mark.textbook
def test_brake_torque_two_40_mm_pistons_a_side(against):
    area = f.piston_area_one_side(piston_diameter=0.040, piston_count=4.0, opposed=True)
    against(
        f"{ROOM}.hydraulics.brake_torque",
        got=f.brake_torque(
            friction=0.4, line_pressure=80e5, piston_area=area, effective_radius=0.12
        ),
        expected=1930.19,
        rel=1e-5,
        source="Limpert, Brake Design and Safety; Bosch Automotive Handbook: T = 2 mu p A r",
        note="recalled formula, worked by hand: 2 x 0.4 x 80 bar x 2513.27 mm2 x 0.12 m",
    )


@pytest.mark.textbook
def test_clamp_of_two_40_mm_pistons(against):
    against(
        f"{ROOM}.hydraulics.clamp_force",
        got=f.clamp_force(line_pressure=80e5, piston_area=2513.27e-6),
        expected=20106.2,
        rel=1e-5,
        source="Limpert, Brake Design and Safety: p A, two 40 mm pistons at 80 bar",
        note="printed to 0.1 N",
    )


@pytest.mark.practice
def test_opposed_four_and_sliding_two_clamp_alike(against):
    """Four pistons in an opposed caliper clamp as two of the same size in a sliding one."""
    against(
        f"{ROOM}.hydraulics.piston_area_one_side",
        got=f.piston_area_one_side(piston_diameter=0.040, piston_count=4.0, opposed=True),
        expected=f.piston_area_one_side(piston_diameter=0.040, piston_count=2.0, opposed=False),
        rel=1e-12,
        source="trade rule: count the pistons of one side",
        note="exact",
    )


@pytest.mark.textbook
def test_best_share_makes_both_axles_use_the_same(against):
    """With forces shared as the loads are, both axles use just the braking rate (by hand)."""
    front, rear = f.axle_loads(
        front_load=6000.0, rear_load=5000.0, cg_height=0.5, wheelbase=2.5, rate=0.7
    )
    # by hand: moved = 0.7 * 0.5/2.5 * 11000 = 1540
    against(
        f"{ROOM}.balance.axle_loads",
        got=np.array([front, rear]),
        expected=np.array([7540.0, 3460.0]),
        rel=1e-12,
        source="moment balance, UN R13-H annex 5, 2 (N1, N2; from memory), worked by hand",
        note="exact",
    )


@pytest.mark.textbook
def test_adhesion_used_equals_rate_at_the_ideal_share(against):
    against(
        f"{ROOM}.balance.adhesion_used",
        got=f.adhesion_used(force=np.array([0.7 * 7540.0, 0.7 * 3460.0]), load=[7540.0, 3460.0]),
        expected=np.array([0.7, 0.7]),
        rel=1e-12,
        source="UN R13-H annex 5, 2: f = T/N (from memory): ideal share uses f = z on both axles",
        note="exact",
    )


@pytest.mark.textbook
def test_endless_row_of_stops(against):
    """A long row tends to rise / (1 - exp(-t/tau)); t = tau ln 2 gives exactly twice one stop."""
    against(
        f"{ROOM}.heat.after_stops",
        got=f.after_stops(rise=50.0, stops=60.0, interval=300.0 * np.log(2), cooling=300.0),
        expected=100.0,
        rel=1e-12,
        source="Limpert, Brake Design and Safety, ch. 3: limit of repeated braking (from memory)",
        note="limit by hand; 2^-60 is left",
    )


@pytest.mark.textbook
def test_descent_tends_to_power_over_shed(against):
    """1200 kg, 8 %, 36 km/h, no drag: 1200·9.80665·0.08·10 = 9414 W; half over 2 x 20 W/K."""
    against(
        f"{ROOM}.heat.descent_rise",
        got=f.descent_rise(
            mass=1200.0, height=8000.0, road_length=100e3, speed=10.0, drag=0.0, share=0.5,
            discs=2.0, shed=20.0, cooling=200.0,
        ),
        expected=9414.384 * 0.5 / 40,
        rel=1e-9,
        source="energy balance worked by hand",
        note="50 time constants: steady",
    )  # fmt: skip


@pytest.mark.textbook
def test_stroke_of_a_bore(against):
    """A one-inch bore (506.7 mm²) moves 5.067 cm³ in 10 mm."""
    against(
        f"{ROOM}.hydraulics.rod_stroke",
        got=f.rod_stroke(volume=5.067e-6, bore=0.0254),
        expected=0.010,
        rel=1e-4,
        source="geometry, worked by hand: pi/4 x 25.4 mm squared = 506.7 mm2",
        note="area to four figures",
    )


@pytest.mark.textbook
def test_pedal_to_line_pressure(against):
    """500 N x 4 x 5 on 20 mm bore: 10000 N on 314.159 mm² = 31.83 MPa."""
    against(
        f"{ROOM}.hydraulics.line_pressure",
        got=f.line_pressure(pedal_force=500.0, pedal_ratio=4.0, servo_gain=5.0, bore=0.020),
        expected=10000 / (pi * 100e-6),
        rel=1e-9,
        source="force balance, worked by hand",
        note="exact",
    )


@pytest.mark.textbook
def test_swept_ring_acts_near_its_middle(against):
    """Outer 140, inner 100 mm: (2/3)(ro³ - ri³)/(ro² - ri²) = 121.11 mm with even pressure."""
    against(
        f"{ROOM}.hydraulics.sweep_radius",
        got=f.sweep_radius(outer_diameter=0.280, pad_height=0.040),
        expected=2 / 3 * (0.14**3 - 0.10**3) / (0.14**2 - 0.10**2),
        rel=0.01,
        source="Shigley, Mechanical Engineering Design, ch. 16: even pressure on a ring (memory)",
        note="the two classic assumptions differ by less than 1 % for such a pad",
    )


@pytest.mark.textbook
def test_valve_holds_back_above_its_knee(against):
    """Knee 30 bar, slope 0.3: 80 bar in front give 30 + 0.3·50 = 45 bar behind."""
    against(
        f"{ROOM}.hydraulics.rear_pressure",
        got=f.rear_pressure(front_pressure=np.array([20e5, 80e5]), knee=30e5, slope=0.3),
        expected=np.array([20e5, 45e5]),
        rel=1e-12,
        source="characteristic of a pressure-reducing valve, Limpert, ch. 7 (memory), by hand",
        note="exact",
    )


@pytest.mark.textbook
def test_pressure_for_a_rate_above_the_knee(against):
    """20 cm² in front, 10 behind, knee 30 bar, slope 0.3, 10 kN, z = 0.93.

    20e-4 p + 10e-4 (30e5 + 0.3 (p - 30e5)) = 9300 N: 23e-4 p = 9300 - 2100.
    """
    against(
        f"{ROOM}.balance.pressure_for_rate",
        got=f.pressure_for_rate(
            rate=0.93, weight=10e3, front_per_pressure=20e-4, rear_per_pressure=10e-4,
            knee=30e5, slope=0.3,
        ),
        expected=(9300 - 2100) / 23e-4,
        rel=1e-12,
        source="force balance at the braked car, worked by hand",
        note="exact",
    )  # fmt: skip


@pytest.mark.textbook
def test_force_at_the_road(against):
    """1930 N·m on a 0.31 m tyre hold 6226 N; on 0.33 m 5849 N."""
    against(
        f"{ROOM}.balance.force_per_pressure",
        got=f.force_per_pressure(torque_per_pressure=1930.0, rolling_radius=np.array([0.31, 0.33])),
        expected=np.array([6226.0, 5848.0]),
        abs=0.6,
        source="moment balance of a wheel, worked by hand",
        note="whole newtons",
    )


@pytest.mark.authority
def test_side_difference_as_inspectors_reckon_it(against):
    """2100 and 3000 N: 30 %, the limit of the periodic inspection."""
    against(
        f"{ROOM}.balance.side_difference",
        got=f.side_difference(left=2100.0, right=3000.0),
        expected=0.30,
        abs=1e-12,
        source="Directive 2014/45/EU annex I, 1.2.1: over 30 % of the higher is a fault (memory)",
        note="exact",
    )


@pytest.mark.textbook
def test_share_and_deceleration_of_two_axles(against):
    """7 kN in front and 3 kN behind brake 1000 kg with 10 m/s²; the front has 70 %."""
    share = f.front_share(front_force=7e3, rear_force=3e3)
    against(
        f"{ROOM}.balance.front_share", got=share, expected=0.7, abs=1e-12,
        source="definition of brake force distribution, Limpert, ch. 7 (memory)", note="exact",
    )  # fmt: skip
    against(
        f"{ROOM}.balance.deceleration", got=f.deceleration(force=10e3, mass=1000.0),
        expected=10.0, abs=1e-12, source="Newton's second law", note="exact",
    )  # fmt: skip


@pytest.mark.textbook
def test_disc_cools_with_its_time_constant(against):
    """6 kg of iron (460) shedding 9.2 W/K: 300 s."""
    against(
        f"{ROOM}.heat.cooling_time",
        got=f.cooling_time(disc_mass=6.0, heat_capacity=460.0, shed=9.2),
        expected=300.0,
        rel=1e-12,
        source="lumped capacity: tau = m c/(h A), Incropera, ch. 5 (memory), worked by hand",
        note="exact",
    )


@pytest.mark.textbook
def test_fluid_of_a_caliper(against):
    """Two 40 mm pistons a side, 0.2 mm a pad: 2 x 2513 mm² x 0.2 mm = 1.005 cm³, and the give."""
    against(
        f"{ROOM}.hydraulics.fluid_moved",
        got=f.fluid_moved(
            piston_area=2513.27e-6, pad_travel=0.2e-3, give=0.5e-6 / 100e5, line_pressure=100e5
        ),
        expected=1.5053e-6,
        rel=1e-4,
        source="geometry, worked by hand",
        note="four figures",
    )


@pytest.mark.practice
def test_fluid_boils_after_standing(against):
    """A disc at 500 °C over 20 °C air with a third passed on: 180 °C, over wet glycol fluid."""
    against(
        f"{ROOM}.heat.fluid_temperature",
        got=f.fluid_temperature(air=293.15, disc_rise=480.0, passed_on=1 / 3) - 273.15,
        expected=180.0,
        abs=0.5,
        source="trade: hot brakes and old fluid (wet boiling point 155 °C) boil after standing",
        note="worked by hand",
    )
