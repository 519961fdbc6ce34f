"""Cooling: what follows from what."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.findings import NOT_APPLICABLE
from drybuild.systems.cooling import checks, formulas, results, room
from drybuild.values import DrawnCurve

CURVE = DrawnCurve(np.array([0.5, 2.0, 6.0, 12.0]), np.array([190.0, 590.0, 1230.0, 1640.0]))


class _Power:
    power = np.array([[100e3], [200e3]])


class _Load:
    @staticmethod
    def force(speed):
        return 150.0 + 0.4 * speed**2


def full_load(**changes):
    given = {
        "power": _Power, "ratio": 0.5, "share": 0.5, "road_speed": 25.0, "hot_day": 306.0,
        "rise": 5.0, "conductance": CURVE, "ram_share": 0.2, "fan_air_speed": 3.0, "fan": True,
    } | changes  # fmt: skip
    return float(results.coolant_at_full_load(**given)[0])


def test_air_warmed_by_the_charge_cooler_warms_the_coolant_as_much():
    assert full_load(rise=12.0) - full_load(rise=5.0) == pytest.approx(7.0)


def test_more_power_and_less_air_are_hotter():
    assert full_load(share=0.6) > full_load() > full_load(road_speed=40.0)


def test_a_slow_climb_lives_on_the_fan():
    given = {
        "mass": 1250.0, "gradient": 0.1, "speed": 8.0, "road_load": _Load,
        "driveline_efficiency": 0.92, "ratio": 0.85, "hot_day": 306.0, "conductance": CURVE,
        "ram_share": 0.2, "fan_air_speed": 3.0,
    }  # fmt: skip
    with_fan = results.coolant_on_climb(**given, fan=True)
    without = results.coolant_on_climb(**given, fan=False)
    assert without > with_fan + 3.0


def test_a_standing_car_without_a_fan_is_not_judged_by_it():
    given = {"air_flow": 3e-3, "hot_day": 306.0, "conductance": CURVE, "fan_air_speed": 3.0}
    assert results.coolant_standing(**given, fan=False) is NOT_APPLICABLE
    assert results.coolant_standing(**given, fan=True) > 306.0
    assert checks.fan_holds(temperature=350.0, limit=388.0, fan=False) is NOT_APPLICABLE


def test_face_speeds_beyond_the_measured_curve_are_unknown():
    assert np.isnan(full_load(road_speed=80.0))


def test_no_conductance_never_settles():
    assert formulas.fluid_temperature(sink=300.0, heat=1e3, conductance=0.0) == np.inf


def test_oil_stands_on_its_coolant_or_on_the_air():
    given = {
        "power": _Power, "ratio": 0.07, "share": 0.5, "conductance": 250.0, "coolant": 365.0,
        "hot_day": 306.0,
    }  # fmt: skip
    by_coolant = results.oil_at_full_load(**given, medium="coolant")
    by_air = results.oil_at_full_load(**given, medium="air")
    assert by_coolant - by_air == pytest.approx(59.0)


def test_the_room_offers_its_checks_and_records():
    assert len(room.checks) >= 3
    assert {r.id for r in room.records} == {"cooling.filled", "cooling.bled"}
    for check in room.checks:
        assert check.do
        assert check.pose
