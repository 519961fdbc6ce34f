"""Examine on a small folder with a toy system: uses, holds, unknowns, measuring, fixes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drybuild.build import Change, read_build
from drybuild.examine import examine_state, find_fixes, measure_next, workings
from drybuild.examine.opened import OpenBuild
from drybuild.findings import PRACTICE, Registry, Room, Verdict
from drybuild.journal import Journal, present

BUILD = """\
format = 1
[build]
name = "toy"
driving = true
[[session]]
id = "one"
[[job]]
id = "wheels"
session = "one"
fit = { "wheel.front" = "wide" }
[[adjuster]]
address = "wheel.front.left.offset"
together = ["wheel.front.right.offset"]
title = "offset"
low = "28 mm"
high = "44 mm"
steps = 9
[[adjuster]]
address = "wheel.front"
choices = ["std", "wide", "wider"]
effort = 3
"""
CAR = """\
format = 1
name = "toy car"
[fitted]
wheel = "std"
[car]
wheelbase = "2330 ± 2 mm"
"""
PARTS = """\
format = 1
[part.std]
kind = "wheel"
rim_width = { is = "165 mm", exact = true }
offset = "45 ± 1 mm"
[part.wide]
kind = "wheel"
rim_width = { is = "203 mm", exact = true }
offset = "32 ± 4 mm"
[part.wider]
kind = "wheel"
rim_width = { is = "229 mm", exact = true }
offset = "45 ± 1 mm"
"""

ROOM_OUTSIDE, ROOM_INSIDE = 0.068, 0.140


def toy_registry() -> Registry:
    """Outer side must keep inside the arch, inner side off the arm; the hub bore is a yes or no."""
    room = Room("toy", title="Toy")
    room.result(
        "toy.outer", of=lambda *, rim, offset: rim / 2 - offset, per="corner", kind="length",
        needs={"rim": "wheel.{corner}.rim_width", "offset": "wheel.{corner}.offset"},
        source=PRACTICE, formula="rim/2 − offset",
    )  # fmt: skip
    room.check(
        "toy.arch", title="tyre to arch", per="corner", kind="length",
        needs={"outer": "toy.outer.{corner}"}, slack=lambda *, outer: ROOM_OUTSIDE - outer,
        consequence="damage", stops=("drive",), source=PRACTICE, when_short="it touches the arch",
        do="more offset",
    )  # fmt: skip
    room.check(
        "toy.arm", title="tyre to arm", per="corner", kind="length",
        needs={"rim": "wheel.{corner}.rim_width", "offset": "wheel.{corner}.offset"},
        slack=lambda *, rim, offset: ROOM_INSIDE - (rim / 2 + offset),
        consequence="damage", stops=("run",), source=PRACTICE, when_short="it touches the arm",
    )  # fmt: skip
    room.check(
        "toy.bore", title="hub bore", per="corner", kind="length",
        needs={"bore": "wheel.{corner}.hub_bore"}, slack=lambda *, bore: bore - 0.0595,
        consequence="damage", stops=("full load",), source=PRACTICE,
    )  # fmt: skip
    room.record(
        "toy.nuts", title="nuts tightened", changed=("wheel.*",), stops=("creep",),
        second_person=True, do="tighten them", source=PRACTICE,
    )  # fmt: skip
    return Registry([room])


@pytest.fixture
def opened(tmp_path: Path) -> OpenBuild:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "all.toml").write_text(PARTS, encoding="utf-8")
    return reopened(tmp_path)


def reopened(folder: Path) -> OpenBuild:
    build, journal = read_build(folder), Journal(folder)
    return OpenBuild(build, journal, present(build, journal), toy_registry())


def test_the_car_as_found_is_stopped_by_nothing(opened):
    now = opened.examine("now")
    assert all(u.allowed for u in now.uses)
    assert not any(f.armed for f in now.findings)
    assert now.counts[Verdict.UNMEASURED] == 4  # said, and stopping nothing


def test_a_change_arms_what_it_touches_and_nothing_else(opened):
    finished = opened.examine("finished")
    assert {f.subject for f in finished.findings if f.armed} == {"front.left", "front.right"}


def test_uses_name_their_holds_and_follow_prerequisites(opened):
    state = opened.draft("wider", [Change("fit", "wheel.front", "wider")], start="now")
    done = opened.examine(state)
    assert done.finding("toy.arm", "front.left").verdict is Verdict.SHORT
    run, creep = done.use("run"), done.use("creep")
    assert not run.allowed
    assert run.holds[0].through == ""
    assert not creep.allowed
    assert {h.through for h in creep.holds} == {"run"}
    assert done.use("move").allowed
    assert done.use("turn over").allowed


def test_unmeasured_stops_what_its_check_stops(opened):
    finished = opened.examine("finished")
    held = finished.use("full load")
    assert not held.allowed
    assert "front left: hub bore: nobody has measured wheel hub bore" in held.holds[0].why


def test_records_are_owed_beside_a_plan_and_hold_the_present_car(opened):
    finished = opened.examine("finished")
    assert [o.record for o in finished.use("creep").records_owed] == ["toy.nuts"]
    assert not any(h.kind == "record" for h in finished.use("creep").holds)
    opened.journal.did([Change("fit", "wheel.front", "wide")], who="Ilse", job="wheels")
    again = reopened(opened.build.root)
    now = again.examine("now")
    assert any(h.check == "toy.nuts" for h in now.use("creep").holds)
    assert now.use("turn over").allowed
    evidence = {"value": "110 N·m by the handbook", "tool": "torque wrench", "name": "Ilse"}
    again.journal.did([Change("verify", "toy.nuts", evidence)], who="Ilse")
    released = reopened(opened.build.root).examine("now")
    assert not any(h.check == "toy.nuts" for u in released.uses for h in u.holds)


def test_joint_chance_is_counted_not_multiplied(opened):
    """Left and right share the wheel's offset: together they hold as often as one alone."""
    finished = opened.examine("finished")
    left = finished.finding("toy.arch", "front.left").chance
    assert 0.2 < left < 0.8
    assert finished.use("drive").joint_chance == pytest.approx(left, abs=0.02)
    assert finished.joint_by_system["toy"] <= left + 1e-12


def test_the_biggest_unknown_is_the_one_that_varies(opened):
    f = opened.examine("finished").finding("toy.arch", "front.left")
    assert f.verdict is Verdict.UNSURE
    assert f.unknowns[0].input == "wheel.front.left.offset"
    assert f.unknowns[0].share == pytest.approx(1.0, abs=0.02)


def test_a_reading_narrows_and_settles(opened):
    before = opened.examine("finished").finding("toy.arch", "front.left")
    opened.journal.did([Change("fit", "wheel.front", "wide")], who="Ilse", job="wheels")
    opened.journal.note("wheel.front.left.offset", {"is": "35 mm", "by": "vernier"}, who="Ilse")
    after = reopened(opened.build.root).examine("finished").finding("toy.arch", "front.left")
    width = before.margin.high - before.margin.low
    assert after.margin.high - after.margin.low < width / 5
    assert after.verdict is Verdict.ENOUGH


def test_measure_next_finds_the_measurement_that_settles(opened):
    first = measure_next(opened.examine("finished"))
    names = {m.input for m in first}
    assert "wheel.front.left.offset" in names
    assert "wheel.front.left.hub_bore" in names
    best = next(m for m in first if m.input == "wheel.front.left.offset")
    assert 0 < best.settles <= 4
    assert best.minutes > 0
    assert best.how
    # one part that is not on the car yet is measured once, in the hand, under its own id
    assert best.note_as == "part.wide.offset"
    assert not best.both_sides


def test_measure_next_is_empty_when_nothing_is_open(opened):
    room = Room("toy", title="Toy")
    room.check(
        "toy.sure", title="sure", kind="length", needs={"x": "car.wheelbase"},
        slack=lambda *, x: x, consequence="damage", stops=(), source=PRACTICE,
    )  # fmt: skip
    done = examine_state(opened.state("finished"), Registry([room]))
    assert measure_next(done) == ()


def test_a_fix_is_the_smallest_that_holds_and_spoils_nothing(opened):
    finished = opened.examine("finished")
    fixes = find_fixes(finished, finished.finding("toy.arch", "front.left"))
    assert fixes
    first = fixes[0]
    assert first.after.verdict is Verdict.ENOUGH
    assert {c.target for c in first.changes} == {
        "wheel.front.left.offset", "wheel.front.right.offset",
    }  # fmt: skip
    again = opened.examine(opened.draft("check", first.changes))
    assert again.finding("toy.arch", "front.left").verdict is Verdict.ENOUGH
    assert again.finding("toy.arm", "front.left").verdict is Verdict.ENOUGH
    # by hand: the arch wants more than 33.5 mm, the arm less than 38.5; of 28, 30 … 44 with
    # ± 1 mm of doubt 34 is too close to call and 36 is the first that is enough
    set_to = again.evaluation.get("wheel.front.left.offset").value
    assert np.median(set_to) == pytest.approx(0.036, abs=1e-4)


def test_what_no_adjuster_can_mend_has_no_fix(opened):
    finished = opened.examine("finished")
    assert find_fixes(finished, finished.finding("toy.bore", "front.left")) == ()


def test_workings_go_from_facts_to_margin(opened):
    finished = opened.examine("finished")
    steps = workings(finished, finished.finding("toy.arch", "front.left"))
    assert [s.address for s in steps] == ["toy.outer.front.left", "toy.arch"]
    assert steps[0].formula == "rim/2 − offset"
    assert {line.name for line in steps[0].inputs} == {"rim", "offset"}
    assert "32" in next(line.text for line in steps[0].inputs if line.name == "offset")
    assert "margin" in steps[-1].result


def test_draws_and_order_change_nothing(opened):
    first, second = opened.examine("finished"), opened.examine("finished")
    assert first.findings == second.findings
    assert first.uses == second.uses


def test_states_have_names(opened):
    assert opened.state("after:one").fitted["wheel.front.left"] == "wide"
    assert opened.state("as found").fitted["wheel.front.left"] == "std"


def test_an_open_component_stops_run_and_creep(opened):
    state = opened.draft("open", [Change("open", "charge_cooler")], start="now")
    done = opened.examine(state)
    assert not done.use("run").allowed
    assert not done.use("creep").allowed
    assert done.use("turn over").allowed


def test_a_car_that_is_not_driving_is_said_so(tmp_path, opened):
    root = opened.build.root
    text = (root / "build.toml").read_text(encoding="utf-8")
    text = text.replace("driving = true", "driving = false")
    (root / "build.toml").write_text(text, encoding="utf-8")
    now = reopened(root).examine("now")
    assert not now.use("drive").allowed
    assert now.use("creep").allowed


def test_workings_call_an_aim_an_aim_and_what_is_measured_measured(opened):
    aim = Change("set", "wheel.front.left.offset", "30 mm")
    state = opened.examine(opened.draft("aim", [aim], start="now"))
    by_side = {
        side: {
            line.name: line.known
            for line in workings(state, state.finding("toy.arm", f"front.{side}"))[-1].inputs
        }
        for side in ("left", "right")
    }
    assert by_side["left"]["offset"] == "set as an aim, not measured"
    assert by_side["left"]["rim"] == by_side["right"]["rim"]
    assert "aim" not in by_side["right"]["offset"]
