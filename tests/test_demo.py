"""The demo build (invented) holds the conflicts it was made for, and as found it is stopped by
nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

import drybuild
from drybuild.findings import Verdict

DEMO = Path(__file__).parents[1] / "examples" / "plover"


@pytest.fixture(scope="module")
def car():
    return drybuild.open_build(DEMO)


@pytest.fixture(scope="module")
def finished(car):
    return car.examine("finished")


@pytest.fixture(scope="module")
def now(car):
    return car.examine("now")


def verdicts(examination, check):
    return {f.subject: f.verdict for f in examination.findings if f.check == check}


def test_as_driven_in_nothing_recorded_stops_it(now):
    assert [u.use for u in now.uses if not u.allowed] == []
    assert not any(f.armed for f in now.findings)


def test_about_25_parts_over_every_system(car, finished):
    state = finished.state
    changed = {state.fitted[p] for p in state.fitted if state.place_changed(p)} - {None}
    assert 22 <= len(changed) <= 45
    armed = {f.system for f in finished.findings if f.armed}
    assert armed == {f.system for f in finished.findings}


def test_the_rear_tyre_touches_at_full_bump_and_only_there(finished):
    found = verdicts(finished, "corners.arch_bump_gap")
    assert {s for s, v in found.items() if v is Verdict.SHORT} == {"rear.left", "rear.right"}
    assert {s for s, v in found.items() if v is Verdict.ENOUGH} == {"front.left", "front.right"}
    for check in ("corners.tyre_arch_gap", "corners.tyre_arm_gap", "corners.tyre_upright_gap"):
        assert set(verdicts(finished, check).values()) == {Verdict.ENOUGH}, check


def test_the_spring_is_loose_at_full_droop(finished):
    found = verdicts(finished, "ride.spring_captive")
    assert found["rear.left"] is Verdict.SHORT
    assert found["front.left"] is Verdict.ENOUGH


def test_the_pump_is_big_enough_and_too_big(finished):
    assert set(verdicts(finished, "fuel.pump_flow").values()) == {Verdict.ENOUGH}
    assert set(verdicts(finished, "fuel.return_flow").values()) == {Verdict.SHORT}


def test_the_map_expects_other_injectors_and_stops_run(finished):
    assert set(verdicts(finished, "calibration.injector_flow").values()) == {Verdict.SHORT}
    run = finished.use("run")
    assert not run.allowed
    assert any(h.check == "calibration.injector_flow" for h in run.holds)


def test_the_clutch_is_too_close_to_call(finished):
    assert set(verdicts(finished, "driveline.clutch").values()) == {Verdict.UNSURE}


def test_the_speed_reading_is_against_the_law_and_stops_drive_alone(finished):
    found = finished.finding("law.speedometer_low", "car")
    assert found.verdict is Verdict.SHORT
    assert found.stopped_uses == {"drive"}


def test_three_things_nobody_has_measured(finished):
    missing = {a for f in finished.findings if f.armed for a in f.missing}
    kinds = {a.split(".")[0] + "." + a.split(".")[-1] for a in missing}
    assert len({f.check for f in finished.findings if f.armed and f.missing}) == 3, kinds


def test_each_conflict_can_be_cured_by_what_the_build_allows(car, finished):
    for check, subject in (
        ("corners.arch_bump_gap", "rear.left"),
        ("ride.spring_captive", "rear.left"),
        ("fuel.return_flow", "e10"),
        ("calibration.injector_flow", "car"),
        ("driveline.clutch", "car"),
    ):
        fixes = car.fixes(finished, finished.finding(check, subject))
        assert fixes, check
        assert fixes[0].after.verdict is Verdict.ENOUGH


def test_measure_next_names_the_unmeasured(car, finished):
    named = {m.input for m in car.measure_next(finished)}
    missing = {a for f in finished.findings if f.armed for a in f.missing}
    assert named & missing


def test_no_finding_is_outside_its_range_without_saying_so(finished):
    for f in finished.findings:
        if f.margin is None:
            assert f.missing
