"""Spring stacks, bump rubbers, damper curves, body swings and load transfer held to the world."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from scipy import integrate, interpolate, linalg, optimize

from drybuild.systems.ride import body_modes, damper_curve, roll, stacks, transfer
from drybuild.values import DrawnCurve

Against = Callable[..., None]
ROOM = "drybuild.systems.ride."
SHIGLEY = "Shigley, Mechanical Engineering Design: springs in series (from memory)"
DEN_HARTOG = "Den Hartog, Mechanical Vibrations, ch. 8, equivalent damping (from memory)"
GILLESPIE = "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 5"
TUM = "commonroad-vehicle-models 3.0.2 (TU Munich, 2020), parameter set 2"

SQUEEZE = np.array([0.0, 0.03, 0.06, 0.09, 0.12])
FORCE = np.array([0.0, 600.0, 1450.0, 2700.0, 4500.0])
PROGRESSIVE = DrawnCurve(SQUEEZE, FORCE)


@pytest.mark.cross_model
def test_squeeze_and_rate_of_a_progressive_spring(against: Against) -> None:
    force = np.array([300.0, 1000.0, 2000.0, 4000.0])
    line = interpolate.make_interp_spline(SQUEEZE, FORCE, k=1)
    against(
        ROOM + "stacks.squeeze_on_curve", got=stacks.squeeze_on_curve(
            curve=PROGRESSIVE, force=force),
        expected=np.array([optimize.brentq(lambda s, f=f: line(s) - f, 0, 0.12) for f in force]),
        rel=1e-9, source="scipy.interpolate and brentq: the curve read backwards",
    )  # fmt: skip
    at = stacks.squeeze_on_curve(curve=PROGRESSIVE, force=force)
    against(
        ROOM + "stacks.rate_on_curve", got=stacks.rate_on_curve(curve=PROGRESSIVE, force=force),
        expected=line.derivative()(at), rel=1e-9, source="scipy.interpolate, derivative",
    )  # fmt: skip


@pytest.mark.cross_model
def test_each_draw_reads_its_own_curve(against: Against) -> None:
    scale = np.array([0.9, 1.0, 1.1])
    drawn = DrawnCurve(SQUEEZE, FORCE[:, None] * scale)
    got = stacks.squeeze_on_curve(curve=drawn, force=2000.0)
    against(
        ROOM + "stacks.squeeze_on_curve", got=got,
        expected=np.interp(2000.0 / scale, FORCE, SQUEEZE), rel=1e-12, source="numpy.interp",
    )  # fmt: skip


@pytest.mark.textbook
def test_two_springs_in_series_until_the_helper_is_solid(against: Against) -> None:
    # 36 and 12 N/mm: 9 N/mm together; the helper of 35 mm is solid at 420 N, 46.667 mm squeezed.
    given = {"main_rate": 36e3, "helper_rate": 12e3, "helper_travel": 0.035}
    against(
        ROOM + "stacks.stack_rate", got=stacks.stack_rate(force=np.array([419.0, 421.0]), **given),
        expected=np.array([9e3, 36e3]), rel=1e-12, source=SHIGLEY, note="exact by hand",
    )  # fmt: skip
    against(
        ROOM + "stacks.helper_solid_force", got=stacks.helper_solid_force(
            helper_rate=12e3, helper_travel=0.035),
        expected=420.0, rel=1e-12, source=SHIGLEY, note="exact by hand",
    )  # fmt: skip
    force = np.array([210.0, 420.0, 1500.0])
    squeeze = stacks.stack_squeeze(
        force=force, main_squeeze=force / 36e3, helper_rate=12e3, helper_travel=0.035
    )
    # 210/9000, 420/9000, 35 mm + 1500/36000
    against(
        ROOM + "stacks.stack_squeeze", got=1e3 * squeeze,
        expected=np.array([23.3333, 46.6667, 76.6667]), abs=5e-5, source=SHIGLEY,
        note="worked by hand to four decimals",
    )  # fmt: skip


@pytest.mark.cross_model
def test_force_of_a_stack_is_the_squeeze_read_backwards(against: Against) -> None:
    def squeezed(force: float) -> float:
        # Two springs and a stop as a statics problem: what each gives under the force.
        return force / 36e3 + min(force / 12e3, 0.035)

    at = np.array([0.01, 0.04, 0.05, 0.09])
    against(
        ROOM + "stacks.linear_stack_force", got=stacks.linear_stack_force(
            squeeze=at, main_rate=36e3, helper_rate=12e3, helper_travel=0.035),
        expected=np.array([optimize.brentq(lambda f, s=s: squeezed(f) - s, 0, 1e4) for s in at]),
        rel=1e-9, source="scipy.optimize.brentq on the statics of two springs and a stop",
    )  # fmt: skip


@pytest.mark.cross_model
def test_rest_on_a_progressive_spring(against: Against) -> None:
    # Potential energy of spring and weight is least where the car rests.
    ratio, slope, at_zero, weight = 0.75, 0.4, 0.045, 2100.0
    curve = interpolate.make_interp_spline(SQUEEZE, FORCE, k=1)

    def slope_of_energy(z: float) -> float:
        squeeze = at_zero + integrate.quad(lambda x: ratio + slope * x, 0, z)[0]
        return float(curve(squeeze)) * (ratio + slope * z) - weight

    got = stacks.rest_on_stack(
        squeeze_under=lambda *, force: stacks.squeeze_on_curve(curve=PROGRESSIVE, force=force),
        squeeze_at_zero=at_zero, sprung_weight=weight, motion_ratio=ratio, slope=slope,
    )  # fmt: skip
    against(
        ROOM + "stacks.rest_on_stack", got=got,
        expected=optimize.brentq(slope_of_energy, -0.02, 0.08, xtol=1e-13), rel=1e-8,
        source="scipy: force balance with the motion ratio integrated",
    )  # fmt: skip


@pytest.mark.textbook
def test_preload_rubber_and_wheel_force_by_hand(against: Against) -> None:
    # 36 N/mm held 8 mm short of free: 288 N. Rubber 500 N at 10 mm, 1500 N at 20: 1000 N at 15.
    against(
        ROOM + "stacks.preload", got=stacks.preload(
            force_rate=36e3, free_length=np.array([0.254, 0.240]), held_length=0.246),
        expected=np.array([288.0, 0.0]), abs=1e-9, source="Hooke's law, by hand",
    )  # fmt: skip
    rubber = DrawnCurve(np.array([0.0, 0.01, 0.02]), np.array([0.0, 500.0, 1500.0]))
    against(
        ROOM + "stacks.rubber_force", got=stacks.rubber_force(
            curve=rubber, squeeze=np.array([-0.005, 0.005, 0.015])),
        expected=np.array([0.0, 250.0, 1000.0]), abs=1e-9, source="its table, by hand",
    )  # fmt: skip
    against(
        ROOM + "stacks.force_at_wheel", got=stacks.force_at_wheel(
            spring_force=4000.0, motion_ratio=0.7, rubber=1000.0, rubber_ratio=0.8),
        expected=3600.0, rel=1e-12, source="virtual work, by hand: 4000·0.7 + 1000·0.8",
    )  # fmt: skip
    against(
        ROOM + "stacks.perch_for_height", got=stacks.perch_for_height(
            rise=0.010, motion_ratio=0.72),
        expected=7.2e-3, rel=1e-12, source="virtual work, by hand: 10 mm at the wheel, MR 0.72",
    )  # fmt: skip


@dataclass
class Law:
    """Force over speed as a function, sampled closely."""

    force: Callable[[Any], Any]

    def __post_init__(self) -> None:
        self.x = np.linspace(0.0, 0.5, 2001)
        self.y = self.force(self.x)

    def at(self, xq: Any) -> Any:
        return self.force(np.asarray(xq))


@pytest.mark.textbook
def test_equivalent_damping_of_textbook_laws(against: Against) -> None:
    # c·v gives c; a·v² gives 8/(3π)·a·V; constant F gives 4F/(π·V).
    laws = (lambda v: 1500.0 * v, lambda v: 8000.0 * v**2, lambda v: 120.0 + 0.0 * v)
    got = [damper_curve.equivalent_damping(curve=Law(law), peak_speed=0.3) for law in laws]
    against(
        ROOM + "damper_curve.equivalent_damping", got=np.array(got),
        expected=np.array([1500.0, 8 / (3 * np.pi) * 8000.0 * 0.3, 4 * 120.0 / (np.pi * 0.3)]),
        rel=1e-9, source=DEN_HARTOG,
    )  # fmt: skip


@pytest.mark.cross_model
def test_equivalent_damping_of_a_damper_that_blows_off(against: Against) -> None:
    speed = np.array([0.02, 0.05, 0.13, 0.26, 0.52])
    force = np.array([70.0, 220.0, 420.0, 560.0, 780.0])
    curve = DrawnCurve(speed, force[:, None] * np.array([1.0, 1.1]))
    v = 0.4

    def power(t: float) -> float:
        s = v * np.sin(t)
        return float(np.interp(s, np.append(0, speed), np.append(0, force)) * s)

    taken = integrate.quad(power, 0, np.pi / 2, points=list(np.arcsin(speed[:4] / v)))[0]
    # Energy of a quarter turn of c·v·v is c·V²·π/4.
    expected = taken / (v**2 * np.pi / 4)
    against(
        ROOM + "damper_curve.equivalent_damping",
        got=damper_curve.equivalent_damping(curve=curve, peak_speed=v),
        expected=expected * np.array([1.0, 1.1]), rel=1e-7,
        source="scipy.integrate.quad: energy per quarter turn",
    )  # fmt: skip


@pytest.mark.textbook
def test_damping_at_one_speed_by_hand(against: Against) -> None:
    # 420 N at 0.13 m/s through MR 0.7: 3230.77·0.49 = 1583.08 N·s/m
    got = damper_curve.damping_at_speed(force=420.0, shaft_speed=0.13, motion_ratio=0.7)
    against(
        ROOM + "damper_curve.damping_at_speed", got=got, expected=1583.08, abs=5e-3,
        source="virtual work, by hand",
    )  # fmt: skip
    against(
        ROOM + "damper_curve.rebound_over_bump",
        got=damper_curve.rebound_over_bump(rebound=1050.0, bump=420.0), expected=2.5, rel=1e-12,
        source="definition, by hand",
    )  # fmt: skip


# Set 2 of that library: spring rates of one wheel with the tyre in series, masses, distances.
M_S, A, B, I_Y, I_X = 965.7108098804363, 1.1561957064, 1.4227170936, 1565.8179, 207.2652
K_T, K_F, K_R = 158294.14, 24453.137879749014, 19635.504745231297


@pytest.mark.cross_model
def test_bounce_and_pitch_of_a_library_car(against: Against) -> None:
    front, rear = (2 * k * K_T / (k + K_T) for k in (K_F, K_R))
    got = body_modes.bounce_and_pitch(
        front_rate=front, rear_rate=rear, to_front=A, to_rear=B, sprung_mass=M_S,
        pitch_inertia=I_Y,
    )  # fmt: skip
    stiff = np.array([[front + rear, rear * B - front * A],
                      [rear * B - front * A, front * A**2 + rear * B**2]])  # fmt: skip
    squares = linalg.eigh(stiff, np.diag([M_S, I_Y]), eigvals_only=True)
    against(
        ROOM + "body_modes.bounce_and_pitch", got=np.array(got),
        expected=np.sqrt(squares) / (2 * np.pi), rel=1e-9,
        source=f"scipy.linalg.eigh on masses and rates of {TUM}",
    )  # fmt: skip


@pytest.mark.cross_model
def test_roll_frequency_of_a_library_car(against: Against) -> None:
    # A pendulum held up by springs, swung by an integrator; its period read from the zero.
    stiff, arm, g = 52e3, 0.55, 9.80665
    inertia = I_X + M_S * arm**2

    def swing(_: float, y: Any) -> Any:
        return [y[1], -(stiff * y[0] - M_S * g * arm * np.sin(y[0])) / inertia]

    def level(_: float, y: Any) -> float:
        return float(y[0])

    level.direction = -1  # type: ignore[attr-defined]
    run = integrate.solve_ivp(swing, (0, 2), [1e-4, 0], events=level, rtol=1e-11, atol=1e-15)
    got = body_modes.roll_frequency(
        stiffness=stiff, sprung_mass=M_S, arm=arm, roll_inertia=I_X
    )
    against(
        ROOM + "body_modes.roll_frequency", got=got, expected=1 / (4 * run.t_events[0][0]),
        rel=1e-6, source=f"scipy.integrate.solve_ivp on masses of {TUM}",
    )  # fmt: skip


@pytest.mark.textbook
def test_flat_ride_by_its_rule(against: Against) -> None:
    # 1.2 and 1.4 Hz over 2.5 m: 1/1.2 − 1/1.4 = 0.119048 s, 21.0 m/s
    got = body_modes.flat_ride_speed(front=1.2, rear=1.4, wheelbase=2.5)
    against(
        ROOM + "body_modes.flat_ride_speed", got=got, expected=21.0, rel=1e-9,
        source=f"{GILLESPIE}, Olley's reasoning (from memory), by hand",
    )  # fmt: skip
    against(
        ROOM + "body_modes.flat_ride_ratio",
        got=body_modes.flat_ride_ratio(front=1.2, rear=1.5), expected=1.25, rel=1e-12,
        source=f"{GILLESPIE}, Olley's rule (from memory), by hand",
    )  # fmt: skip


def _car() -> dict[str, Any]:
    """A car of 1400 kg whose centre stands at 0.52 m, track 1.5 m on both axles."""
    unsprung, radius = 140.0, 0.30
    sprung = 1400.0 - unsprung
    height = (1400.0 * 0.52 - unsprung * radius) / sprung
    front, rear = 0.55 * sprung, 0.45 * sprung
    z = (0.05, 0.09)
    arm = roll.roll_arm(
        cg_height=height, front_share=0.55, roll_centre_front=z[0], roll_centre_rear=z[1]
    )
    springs, bars, tyres = (28e3, 24e3), (20e3, 6e3), (230e3, 240e3)
    stiff = [
        (s + b) * t / (s + b + t) for s, b, t in zip(springs, bars, tyres, strict=True)
    ]
    gradient = roll.roll_gradient(sprung_mass=sprung, arm=arm, stiffness=sum(stiff))
    parts = [
        transfer.transfer_parts(
            gradient=gradient, axle_stiffness=stiff[i], springs=springs[i], bar=bars[i],
            axle_sprung_mass=(front, rear)[i], roll_centre_height=z[i],
            axle_unsprung_mass=unsprung / 2, unsprung_height=radius, track_width=1.5,
        )
        for i in (0, 1)
    ]  # fmt: skip
    return {"parts": parts, "gradient": gradient, "sprung": sprung, "arm": arm,
            "springs": springs, "bars": bars}  # fmt: skip


@pytest.mark.textbook
def test_parts_add_to_the_load_transfer_of_the_whole(against: Against) -> None:
    car = _car()
    lean = transfer.lean_moment(
        gradient=car["gradient"], sprung_mass=car["sprung"], arm=car["arm"]
    )
    whole = sum(part.total for part in car["parts"]) - lean / 1.5
    # 1400 kg at 0.9 g, 0.52 m high, 1.5 m wide: 4283.54 N
    against(
        ROOM + "transfer.transfer_parts", got=whole * 0.9 * 9.80665, expected=4283.54, abs=5e-3,
        source="statics, m·a·h/t; less what the leaning body adds", note="two decimals",
    )  # fmt: skip
    # The same body as a rigid one displaced sideways by φ·d adds m·g·φ·d.
    shift = np.sin(car["gradient"] * 1e-3) * car["arm"] * 1e3
    against(
        ROOM + "transfer.lean_moment", got=lean, expected=car["sprung"] * 9.80665 * shift,
        rel=1e-9, source="statics of a mass moved sideways by d·sin φ",
    )  # fmt: skip


@pytest.mark.textbook
def test_springs_and_bar_share_as_they_are_stiff(against: Against) -> None:
    car = _car()
    got = np.array([part.springs / part.bar for part in car["parts"]])
    against(
        ROOM + "transfer.transfer_parts", got=got, expected=np.array([28 / 20, 24 / 6]), rel=1e-9,
        source="springs in parallel, by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_inner_wheel_and_share_by_hand(against: Against) -> None:
    # 7000 N on the axle, 500 N per m/s² at 6 m/s²: 3500 − 3000 = 500 N left
    got = transfer.inner_wheel_load(axle_load=7000.0, transfer=500.0, acceleration=6.0)
    against(
        ROOM + "transfer.inner_wheel_load", got=got, expected=500.0, rel=1e-12,
        source="statics, by hand",
    )  # fmt: skip
    against(
        ROOM + "transfer.share_change",
        got=transfer.share_change(front_share=0.56, front_share_found=0.58), expected=-0.02,
        rel=1e-9, source="definition, by hand",
    )  # fmt: skip
