"""The fuel room run by the kernel on facts written here: what arms, what refuses, what moves."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from drybuild.findings import Evaluation, Fact, Missing, Registry, Verdict
from drybuild.findings.finding import Finding, assess, margins
from drybuild.systems.electrics import room as electrics
from drybuild.systems.fuel import room as fuel
from drybuild.values import DrawnCurve, HowKnown

N = 64
SPEED = np.linspace(1500, 6800, 8) * np.pi / 30
BAROMETER = 92e3
KPA = np.arange(0.0, 900e3, 100e3)
LITRES_H = 1 / 3.6e6


def curve(x: Any, y: Any) -> DrawnCurve:
    return DrawnCurve(np.asarray(x, dtype=float), np.asarray(y, dtype=float))


def operating() -> Any:
    boost = np.linspace(0.2e5, 1.3e5, 8)[:, None] * np.ones(N)
    air = np.linspace(0.03, 0.22, 8)[:, None] * np.ones(N)
    return SimpleNamespace(
        engine_speed=SPEED, manifold_pressure=BAROMETER + boost, dry_air_flow=air, air_flow=air
    )


WETTED = (
    "tank", "pump", "feed_line", "fuel_filter", "fuel_rail", "injectors", "regulator",
    "return_line", "ethanol_sensor",
)  # fmt: skip
FACTS: dict[str, Any] = {
    "breathing.operating": operating(),
    "breathing.air": SimpleNamespace(pressure=BAROMETER, temperature=295.0),
    "breathing.idle_air_flow": 3.2e-3,
    "breathing.peak_manifold_pressure_overshoot": BAROMETER + 1.4e5,
    "engine.idle_manifold_pressure": 33e3, "engine.idle_speed": 88.0,
    "blend.e10.ethanol": np.linspace(0.09, 0.10, N), "blend.e10.used": True,
    "blend.strong.ethanol": np.linspace(0.51, 0.85, N), "blend.strong.used": True,
    "blend.strong.petrol_research_octane": 89.0, "blend.e10.research_octane": 98.0,
    "blend.e10.vapour_pressure": 52e3, "blend.strong.vapour_pressure": 46e3,
    "blend.e10.price": 1.85, "blend.strong.price": 1.35,
    "goal.lambda_full_load": 0.82, "goal.range_wanted": 300e3, "engine.octane_required": 95.0,
    "car.fuel_use": 8.4e-8, "car.fuel_use_ethanol": 0.095,
    "tank.fuel_temperature": 313.15, "tank.usable_volume": 46e-3, "tank.fuel_height": 0.07,
    "pump.curve": curve(KPA, np.linspace(546, 352, 9) * LITRES_H),
    "pump.current_curve": curve(KPA, np.linspace(7.0, 24.0, 9)),
    "pump.rated_voltage": 13.5, "pump.winding_resistance": 0.08, "pump.idle_share": 1.0,
    "pump.relief_pressure": 850e3, "pump.inlet_pressure_needed": 6e3,
    "pump.strainer_loss": 3e3, "pump.strainer_flow": 400 * LITRES_H,
    "feed_line.bore": 9.5e-3, "feed_line.length": 4.4, "feed_line.fittings": 6.0,
    "feed_line.pressure_rating": 3e6, "fuel_filter.rated_flow": 400 * LITRES_H,
    "fuel_filter.rated_loss": 9e3, "fuel_filter.flow_limit": 800 * LITRES_H,
    "fuel_filter.pressure_rating": 1.5e6, "fuel_rail.rails": 1.0,
    "fuel_rail.arrangement": "single", "fuel_rail.bore": 14e-3, "fuel_rail.length": 0.27,
    "fuel_rail.pressure_limit": 1e6, "injectors.count": 4.0,
    "injectors.static_flow": 980 / 60e6, "injectors.rated_pressure": 3e5,
    "injectors.dead_time": curve([8, 12, 14, 16], [2.4e-3, 1.22e-3, 0.95e-3, 0.76e-3]),
    "injectors.smallest_pulse": 1.3e-3, "injectors.pressure_limit": 6e5,
    "regulator.base_pressure": 3e5, "regulator.referenced": True,
    "regulator.open_flow": 400 * LITRES_H, "regulator.open_loss": 0.6e5,
    "return_line.bore": 6e-3, "return_line.length": 4.6, "return_line.fittings": 12.0,
    "return_line.pressure_rating": 6e5, "ethanol_sensor.ethanol_low": 0.0,
    "ethanol_sensor.ethanol_high": 1.0, "ethanol_sensor.in_line": "return",
    "ethanol_sensor.rated_flow": 200 * LITRES_H, "ethanol_sensor.rated_loss": 2e3,
    "alternator.voltage": np.linspace(13.7, 14.1, N), "pump_wire.expected_resistance": 0.035,
    **{f"{place}.present": True for place in WETTED},
    **{f"{place}.ethanol_limit": 1.0 for place in WETTED},
}  # fmt: skip


class Facts:
    """Facts from a dict: what is not in it is missing."""

    def __init__(self, changed: tuple[str, ...] = (), **changes: Any) -> None:
        self.table = {**FACTS, **{k.replace("__", "."): v for k, v in changes.items()}}
        self.changed = changed

    blends = ("e10", "strong")

    def fact(self, address: str) -> Fact | Missing:
        touched = address.startswith(self.changed) if self.changed else False
        value = self.table.get(address)
        if value is None:
            return Missing(address, touched)
        return Fact(address, value, (), HowKnown.CATALOGUE, touched)


def found(check: str, subject: str = "e10", **facts: Any) -> Finding | None:
    changed = facts.pop("changed", ())
    registry = Registry([fuel, electrics])
    evaluation = Evaluation(registry, Facts(changed, **facts), N)
    raw = evaluation.check(registry.checks[check], subject)
    return None if raw is None else assess([raw], margins([raw], N))[0]


def margin(check: str, subject: str = "e10", **facts: Any) -> float:
    finding = found(check, subject, **facts)
    assert finding is not None, check
    assert finding.margin is not None, finding.missing
    return finding.margin.median


BLEND_CHECKS = [c.id for c in fuel.checks if c.per == "blend"]
CAR_CHECKS = [c.id for c in fuel.checks if c.per == "car"]


@pytest.mark.parametrize("check", BLEND_CHECKS)
@pytest.mark.parametrize("blend", ["e10", "strong"])
def test_every_blend_check_measures_when_all_is_known(check, blend):
    finding = found(check, blend)
    assert finding is not None
    assert finding.verdict is not Verdict.UNMEASURED, finding.missing
    assert finding.chance is not None
    assert np.isfinite(finding.slack.median)


@pytest.mark.parametrize("check", CAR_CHECKS)
def test_every_car_check_measures_when_all_is_known(check):
    finding = found(check, "car")
    assert finding is not None
    assert finding.verdict is not Verdict.UNMEASURED, finding.missing


@pytest.mark.parametrize("check", BLEND_CHECKS)
def test_a_fuel_that_is_not_used_makes_no_finding(check):
    assert found(check, "strong", blend__strong__used=False) is None


def test_beginning_to_use_a_fuel_arms_its_checks():
    finding = found("fuel.pump_flow", "strong", changed=("blend.strong.used",))
    assert finding.armed
    assert not found("fuel.pump_flow", "e10", changed=("blend.strong.used",)).armed


def test_a_large_pump_is_enough_at_full_load_and_too_much_at_idle():
    assert found("fuel.pump_flow", "strong").verdict is Verdict.ENOUGH
    assert found("fuel.return_flow", "strong").verdict is Verdict.SHORT
    assert margin("fuel.return_flow", "strong", return_line__bore=8.5e-3) > 0
    assert margin("fuel.return_flow", "strong", pump__idle_share=0.55) > 0
    small = curve(KPA, np.linspace(546, 352, 9) * LITRES_H * 0.55)
    assert margin("fuel.return_flow", "strong", pump__curve=small) > 0
    assert margin("fuel.pump_flow", "strong", pump__curve=small) > 0


def test_high_idle_rail_reaches_the_injectors():
    """One state: the return line's bore moves the idle pulse."""
    narrow = margin("fuel.idle_pulse")
    wide = margin("fuel.idle_pulse", return_line__bore=9e-3)
    assert narrow < wide


def test_smallest_pulse_unknown_is_unmeasured_and_named():
    finding = found("fuel.idle_pulse", injectors__smallest_pulse=None)
    assert finding.verdict is Verdict.UNMEASURED
    assert finding.missing == ("injectors.smallest_pulse",)


def test_wire_length_unknown_still_lets_the_pump_be_judged_on_what_is_expected():
    finding = found("fuel.pump_flow")
    assert "pump_wire.expected_resistance" in finding.facts
    drop = found("electrics.pump_wire_drop", "car")
    assert drop.verdict is Verdict.UNMEASURED
    assert "pump_wire.feed_length" in drop.missing


def test_nobody_said_anything_of_the_wire():
    finding = found("fuel.pump_flow", pump_wire__expected_resistance=None)
    assert finding.verdict is Verdict.UNMEASURED
    # either the expected resistance or all of the wire would do: the fewest facts are asked for
    assert "pump_wire.expected_resistance" in finding.missing


def test_hot_fuel_takes_from_the_pump():
    cool, hot = (margin("fuel.pump_flow", tank__fuel_temperature=t) for t in (288.15, 328.15))
    assert hot < cool


def test_boost_eats_an_unreferenced_rail():
    held = margin("fuel.injector_duty")
    eaten = margin("fuel.injector_duty", regulator__referenced=False)
    assert eaten < held - 0.1


def test_stronger_blend_takes_more_duty_pump_and_distance():
    for check in ("fuel.injector_duty", "fuel.pump_flow", "fuel.range"):
        assert margin(check, "strong") < margin(check, "e10")
    assert margin("fuel.octane", "strong") > margin("fuel.octane", "e10")


def test_a_part_proof_to_ten_per_cent_is_short_on_the_strong_fuel_only():
    limit = {"feed_line__ethanol_limit": 0.10}
    assert found("fuel.ethanol_fit_feed_line", "e10", **limit).verdict is Verdict.ENOUGH
    assert found("fuel.ethanol_fit_feed_line", "strong", **limit).verdict is Verdict.SHORT
    by_material = {"feed_line__ethanol_limit": None, "feed_line__wetted": ("PTFE", "NBR")}
    assert found("fuel.ethanol_fit_feed_line", "strong", **by_material).verdict is Verdict.SHORT
    nobody = {"feed_line__ethanol_limit": None}
    assert found("fuel.ethanol_fit_feed_line", **nobody).verdict is Verdict.UNMEASURED


def test_parts_that_are_not_there():
    assert found("fuel.sensor_range", ethanol_sensor__present=False) is None
    assert found("fuel.ethanol_fit_ethanol_sensor", ethanol_sensor__present=False) is None
    assert found("fuel.filter_pressure", "car", fuel_filter__present=False) is None
    # without a return line its loss is not counted, and its facts are not asked for
    bare = {"return_line__present": False, "return_line__bore": None}
    assert margin("fuel.return_flow", **bare) > margin("fuel.return_flow")


def test_a_return_line_that_is_there_and_unmeasured_is_named():
    finding = found("fuel.return_flow", return_line__bore=None)
    assert finding.verdict is Verdict.UNMEASURED
    assert finding.missing == ("return_line.bore",)


def test_a_filter_that_is_there_and_unknown_is_named():
    finding = found("fuel.supply_loss", fuel_filter__rated_loss=None)
    assert finding.verdict is Verdict.UNMEASURED
    assert finding.missing == ("fuel_filter.rated_loss",)


def test_octane_needs_the_pump_or_the_petrol():
    finding = found("fuel.octane", blend__e10__research_octane=None)
    assert finding.verdict is Verdict.UNMEASURED


def test_a_pump_that_cannot_feed_the_engine_is_short_not_silent():
    weak = curve(KPA, np.linspace(110, 40, 9) * LITRES_H)
    finding = found("fuel.pump_flow", "strong", pump__curve=weak)
    assert finding.verdict is Verdict.SHORT
    # and the injectors are then judged at the pressure that is left
    assert found("fuel.injector_duty", "strong", pump__curve=weak).verdict is Verdict.SHORT


def test_wider_doubt_of_the_return_bore_never_makes_short_enough():
    steady = found("fuel.return_flow", return_line__bore=6.0e-3)
    spread = found("fuel.return_flow", return_line__bore=6.0e-3 + np.linspace(-1, 1, N) * 0.4e-3)
    assert steady.verdict is Verdict.SHORT
    assert spread.verdict is not Verdict.ENOUGH


def test_an_injector_rating_is_on_test_fluid():
    """The same cc/min on a denser test fluid is a larger injector."""
    heptane = margin("fuel.injector_duty")
    heavy = margin("fuel.injector_duty", injectors__test_density=780.0)
    assert heavy > heptane


def test_cost_and_range_follow_energy():
    registry = Registry([fuel, electrics])
    evaluation = Evaluation(registry, Facts(), N)
    use = evaluation.get("fuel.use.e10").value
    far = evaluation.get("fuel.range.e10").value
    cost = evaluation.get("fuel.cost.e10").value
    np.testing.assert_allclose(far, 46e-3 / use)
    np.testing.assert_allclose(cost, 1.85 * use * 1e8)
    assert np.median(use) == pytest.approx(8.4e-8, rel=0.003)


def test_records_name_the_places_and_the_fire():
    for record in fuel.records:
        if record.id != "fuel.content_read":
            assert "extinguisher" in record.safety
        assert {"value", "name"} <= set(record.evidence)
