"""The room's registrations: what its checks say and never say."""

from __future__ import annotations

import re

import numpy as np
import pytest

from drybuild.build.kinds.breathing import CompressorMap
from drybuild.findings import NOT_APPLICABLE, FormulaRefused
from drybuild.systems.breathing import air, checks, room, solve
from drybuild.systems.breathing import results_parts as parts

from .maps import RPM, grid, lines

AIR = air.air_state(temperature=298.15, humidity=0.4, altitude=800.0)
SPEEDS = np.linspace(1500.0, 6800.0, 16) * RPM


@pytest.fixture
def operating():
    return solve.solve(
        air=AIR, engine_speed=SPEEDS, volumetric_efficiency=0.92, displacement=1.8e-3,
        target_pressure=AIR.pressure + 1.2e5, intake_loss=solve.Loss(3e3, 0.2, AIR.density),
        compressor_=solve.Compressor(
            reach=np.linspace(1.2, 5.0, 16)[:, None], map=grid()
        ),
        cooler=solve.ChargeCooler(450.0, 950.0, solve.Loss(7e3, 0.2, 2.3)),
    )  # fmt: skip


def test_no_check_tells_anybody_to_raise_boost_or_advance():
    wrong = re.compile(
        r"\b(raise|increase|more|higher)\b[^.;,]{0,12}\b(boost|advance|ignition)", re.I
    )
    for check in room.checks:
        for text in (check.do, check.when_short, check.safety, check.title):
            assert not wrong.search(text), f"{check.id}: {text}"


def test_checks_state_their_source_and_what_to_do():
    assert len(room.checks) >= 10
    for check in room.checks:
        assert check.do, check.id
        assert check.pose, check.id
        if check.stops:
            assert check.safety, check.id


def test_without_a_turbocharger_its_checks_say_nothing(operating):
    quiet = checks.surge(operating=operating, grid=grid(), target=None, turbo=False)
    assert quiet is NOT_APPLICABLE
    assert checks.boost_goal(peak=1e5, air=AIR, wanted=1e5, turbo=False) is NOT_APPLICABLE
    assert checks.boost_goal(peak=1e5, air=AIR, wanted=None, turbo=True) is NOT_APPLICABLE
    assert checks.exhaust_temperature(
        temperature=1100.0, limit=1200.0, turbo=False
    ) is NOT_APPLICABLE  # fmt: skip


def test_low_speeds_without_boost_are_not_the_worst_point_of_surge(operating):
    along = checks.surge(operating=operating, grid=grid(), target=None, turbo=True)
    calm = operating.pressure_ratio < checks.BOOSTED
    assert np.all(along.slack[calm] == checks.PLENTY)
    assert along.slack.shape == (16, 1)


@pytest.mark.parametrize(
    ("discharge", "meter", "slack"),
    [("vents", True, -1.0), ("vents", False, 1.0), ("returns", True, 1.0)],
)
def test_a_venting_valve_lets_go_air_that_was_metered(discharge, meter, slack):
    got = checks.relief_valve_metered(discharge=discharge, valve=True, meter=meter)
    assert float(got) == slack


def test_correction_is_out_of_range_at_800_m_and_not_asked_of_absolute_boost():
    plain = parts.corrections(air=AIR, turbo_present=True, reference="gauge")
    held = parts.corrections(air=AIR, turbo_present=True, reference="absolute")
    assert checks.correction_in_range(corrections=plain) < 0
    assert checks.correction_in_range(corrections=held) is NOT_APPLICABLE
    assert held.iso1585.value == held.j1349.value == 1.0


def test_an_engine_without_turbocharger_is_corrected_whatever_its_control():
    bare = parts.corrections(air=AIR, turbo_present=False, reference="absolute")
    assert bare.iso1585.value > 1.07


def test_overshoot_sizes_torque_where_the_target_is_reached(operating):
    steady = parts.peak_torque(operating=operating, brake_efficiency=0.33)
    over = parts.peak_torque_overshoot(
        operating=operating, brake_efficiency=0.33, overshoot=0.1e5
    )
    expected = 0.1e5 / float(operating.manifold_pressure.max())
    assert over / steady - 1.0 == pytest.approx(expected, rel=0.02)
    none = parts.peak_torque_overshoot(operating=operating, brake_efficiency=0.33, overshoot=None)
    assert none == steady


def test_full_boost_speed_gives_a_rise_from_half_of_it():
    reach = parts.reach_along(
        speeds=np.array([1500.0, 2250.0, 3000.0]) * RPM, target_ratio=2.4, reach=None,
        full_boost_speed=3000.0 * RPM,
    )  # fmt: skip
    assert reach[:, 0] == pytest.approx([1.0, 1.7, 2.4])


def test_what_nobody_stated_is_named():
    with pytest.raises(FormulaRefused, match=r"turbo\.reach"):
        parts.reach_along(speeds=SPEEDS, target_ratio=2.0, reach=None, full_boost_speed=None)
    with pytest.raises(FormulaRefused, match=r"site\.altitude"):
        parts.air_at_site(
            temperature=290.0, humidity=0.4, altitude=None, barometer=None, weather=None
        )
    with pytest.raises(FormulaRefused, match=r"charge_cooler\.effectiveness, .*face_area"):
        parts.charge_cooler(
            present=True, air=AIR, road_speed=25.0, effectiveness=None, effectiveness_flow=0.2,
            effectiveness_air_speed=8.0, face_area=None, ram_share=0.3, pressure_loss=5e3,
            loss_flow=0.2, loss_pressure=2e5, loss_temperature=350.0,
        )


def test_the_cooler_keeps_its_measured_effectiveness_at_its_measured_point():
    made = parts.charge_cooler(
        present=True, air=AIR, road_speed=25.0, effectiveness=0.78, effectiveness_flow=0.2,
        effectiveness_air_speed=8.0, face_area=0.12, ram_share=0.32, pressure_loss=5e3,
        loss_flow=0.2, loss_pressure=2e5, loss_temperature=350.0,
    )  # fmt: skip
    assert made is not None
    from drybuild.systems.breathing.exchange import effectiveness_crossflow

    hot = 0.2 * 1005.0
    got = effectiveness_crossflow(
        ntu=made.conductance / hot, capacity_ratio=hot / made.cold_capacity
    )
    assert got == pytest.approx(0.78, abs=2e-4)


def test_a_map_is_made_ready_once():
    data = {
        "reference_temperature": "298 K", "reference_pressure": "100 kPa absolute",
        "lines": [
            {
                "speed": f"{line.speed / RPM:.0f} rpm",
                "flow": [f"{w:.5f} kg/s" for w in line.flow],
                "pressure_ratio": line.pressure_ratio, "efficiency": line.efficiency,
            }
            for line in lines()
        ],
    }  # fmt: skip
    read = CompressorMap.model_validate(data)
    first = parts.grid_of(map=read)
    assert parts.grid_of(map=read) is first
    assert first.ratio_top == pytest.approx(grid().ratio_top, rel=1e-6)
    faulty = CompressorMap.model_validate(data | {"lines": data["lines"][:2]})
    with pytest.raises(FormulaRefused, match=r"turbo\.map: a compressor map needs at least 3"):
        parts.grid_of(map=faulty)
