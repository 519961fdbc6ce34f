"""Fade, swept faces and balance held to integrators, closed forms and textbooks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, optimize

from drybuild.systems.brakes import formulas as f

Against = Callable[..., None]
FADE = "drybuild.systems.brakes.formulas.fade."
SWEPT = "drybuild.systems.brakes.formulas.swept."
GILLESPIE = "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 3 (from memory)"


@pytest.mark.cross_model
def test_stops_in_a_row_against_an_integrator(against: Against) -> None:
    # dT/dt = −T/τ between stops, a jump of 60 K at each
    rise, interval, cooling, above, expected = 60.0, 25.0, 260.0, 0.0, []
    for _ in range(8):
        above += rise
        expected.append(above)
        run = integrate.solve_ivp(
            lambda t, y: -y / cooling, (0, interval), [above], rtol=1e-11, atol=1e-12
        )
        above = run.y[0, -1]
    got = f.stop_by_stop(rise=rise, stops=8, interval=interval, cooling=cooling)
    against(
        FADE + "stop_by_stop", got=got, expected=np.array(expected), rel=1e-8,
        source="scipy.integrate.solve_ivp, Newton's cooling",
    )  # fmt: skip


@pytest.mark.textbook
def test_the_last_stop_is_the_closed_form(against: Against) -> None:
    got = f.stop_by_stop(rise=55.0, stops=5, interval=25.0, cooling=300.0)[-1]
    kept = np.exp(-25 / 300)
    against(
        FADE + "stop_by_stop", got=got, expected=55.0 * (1 - kept**5) / (1 - kept), rel=1e-12,
        source="Limpert, Brake Design and Safety, ch. 3, repeated braking (from memory)",
        note="sum of a geometric series",
    )  # fmt: skip


@pytest.mark.textbook
def test_friction_kept_by_hand(against: Against) -> None:
    against(
        FADE + "friction_kept", got=f.friction_kept(friction=0.30, friction_cold=0.40),
        expected=0.75, rel=1e-12, source="definition, by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_ideal_share_by_hand(against: Against) -> None:
    # 55 % in front, h/L = 0.2: 0.55 + 0.2·z
    got = f.ideal_front_share(
        front_load=7150.0, rear_load=5850.0, cg_height=0.52, wheelbase=2.6,
        rate=np.array([0.0, 0.5, 0.9]),
    )  # fmt: skip
    against(
        FADE + "ideal_front_share", got=got, expected=np.array([0.55, 0.65, 0.73]), rel=1e-12,
        source=f"{GILLESPIE}, by hand",
    )  # fmt: skip


@pytest.mark.cross_model
def test_meeting_rate_is_where_both_axles_use_the_same_grip(against: Against) -> None:
    loads = {"front_load": 7150.0, "rear_load": 5850.0, "cg_height": 0.52, "wheelbase": 2.6}

    def apart(z: float) -> float:
        front, rear = f.axle_loads(**loads, rate=z)
        force = z * 13000.0
        return float(0.72 * force / front - 0.28 * force / rear)

    got = f.meeting_rate(share=0.72, **loads)
    against(
        FADE + "meeting_rate", got=got, expected=optimize.brentq(apart, 0.2, 1.5), rel=1e-9,
        source="scipy.optimize.brentq on the adhesion used by both axles",
    )  # fmt: skip


@pytest.mark.cross_model
def test_swept_area_of_a_ring(against: Against) -> None:
    ring = integrate.dblquad(lambda r, a: r, 0, 2 * np.pi, 0.155 - 0.050, 0.155)[0]
    against(
        SWEPT + "swept_area", got=f.swept_area(outer_diameter=0.310, pad_height=0.050),
        expected=2 * ring, rel=1e-9, source="scipy.integrate.dblquad over the ring, twice",
    )  # fmt: skip


@pytest.mark.textbook
def test_pressure_heat_growth_and_gap_by_hand(against: Against) -> None:
    # 20106 N on 56 cm2 is 3.5904 MPa
    against(
        SWEPT + "pad_pressure", got=f.pad_pressure(clamp=20106.2, pad_area=56e-4) / 1e6,
        expected=3.5904, abs=5e-5, source="definition; clamp of the caliper in Limpert's form",
    )  # fmt: skip
    # 540.123 kJ, 70 % on two discs of 0.08168 m2: 2.3144 MJ/m2
    against(
        SWEPT + "heat_per_area",
        got=f.heat_per_area(energy=540.123e3, share=0.7, swept=0.08168) / 1e6, expected=2.3144,
        abs=5e-5, source="Limpert, ch. 3 (from memory), by hand",
    )  # fmt: skip
    # 180 mm of aluminium, 23e-6 per kelvin, 150 K hotter: 0.621 mm
    grown = f.heat_growth(size=0.180, rise=150.0, expansion=23e-6)
    against(
        SWEPT + "heat_growth", got=1e3 * grown, expected=0.621, abs=5e-4,
        source="linear expansion, Bosch Automotive Handbook (from memory), by hand",
    )  # fmt: skip
    gap = f.template_gap(barrel=0.1875, caliper=0.180, caliper_growth=grown)
    against(
        SWEPT + "template_gap", got=1e3 * gap, expected=6.879, abs=5e-4, source="geometry, by hand",
    )  # fmt: skip
