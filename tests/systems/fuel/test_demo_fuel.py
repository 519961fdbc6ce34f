"""The demo's honest conflict: a pump enough at full load, too much for the way back at idle."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from drybuild.build.build import job_changes, read_build
from drybuild.build.drawn import DrawnFacts
from drybuild.build.state import Change, State
from drybuild.findings import Evaluation, Verdict
from drybuild.findings.finding import Finding, assess, margins
from drybuild.systems import registry
from drybuild.values import Draws

DEMO = Path(__file__).parents[3] / "examples" / "plover"
N = 512


@cache
def finished() -> State:
    build = read_build(DEMO)
    state = build.base_state
    for job in build.jobs:
        state = state.after(job_changes(job))
    return state


def finding(check: str, subject: str, state: State) -> Finding:
    draws, rooms = Draws(N), registry()
    base = Evaluation(rooms, DrawnFacts(state.base, draws), N)
    raw = Evaluation(rooms, DrawnFacts(state, draws), N, base=base).check(
        rooms.checks[check], subject
    )
    assert raw is not None, check
    return assess([raw], margins([raw], N))[0]


@pytest.mark.parametrize("blend", ["e10", "blend70"])
def test_enough_at_full_load_too_much_at_idle(blend):
    assert finding("fuel.pump_flow", blend, finished()).verdict is Verdict.ENOUGH
    assert finding("fuel.injector_duty", blend, finished()).verdict is Verdict.ENOUGH
    idle = finding("fuel.return_flow", blend, finished())
    assert idle.verdict is Verdict.SHORT
    assert idle.armed
    assert -idle.slack.median > 0.5e5  # clearly: more than half a bar over what is allowed


@pytest.mark.parametrize(
    "cure",
    [
        Change("fit", "return_line", "loft_return_line_8"),
        Change("fit", "pump", "quern_340"),
        Change("set", "pump.idle_share", {"is": 0.6, "exact": True}),
    ],
    ids=str,
)
def test_cures(cure):
    cured = finished().after([cure])
    for blend in ("e10", "blend70"):
        assert finding("fuel.return_flow", blend, cured).verdict is Verdict.ENOUGH
        assert finding("fuel.pump_flow", blend, cured).verdict is Verdict.ENOUGH


def test_what_nobody_measured():
    assert finding("fuel.idle_pulse", "e10", finished()).missing == ("injectors.smallest_pulse",)
    assert finding("electrics.pump_wire_drop", "car", finished()).missing == (
        "pump_wire.feed_length",
    )


def test_as_driven_in_it_is_sound_on_its_own_fuel():
    base = finished().base
    for check in registry().checks.values():
        if check.room == "fuel" and check.id != "fuel.sensor_range":
            subject = "e10" if check.per == "blend" else "car"
            if check.id == "fuel.ethanol_fit_ethanol_sensor":
                continue  # the car as driven in has none
            assert finding(check.id, subject, base).verdict is Verdict.ENOUGH, check.id


def test_standard_parts_are_not_proof_to_the_strong_fuel():
    keep = finished().after(
        [Change("fit", "feed_line", "plover_feed_line"), Change("fit", "pump", "plover_pump")]
    )
    for place in ("feed_line", "pump"):
        assert finding(f"fuel.ethanol_fit_{place}", "blend70", keep).verdict is Verdict.SHORT
    assert finding("fuel.pump_flow", "blend70", keep).verdict is Verdict.SHORT


@pytest.mark.parametrize(
    ("length", "verdict"), [("3.0 m", Verdict.ENOUGH), ("5.5 m", Verdict.SHORT)]
)
def test_measuring_the_wire_settles_the_drop(length, verdict):
    measured = finished().after([Change("set", "pump_wire.feed_length", length)])
    assert finding("electrics.pump_wire_drop", "car", measured).verdict is verdict
