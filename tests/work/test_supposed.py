"""What nobody knows yet is supposed while planning, named, refusable; what is computed is not."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import tomlkit
from small_demo import copy_with
from supposed_car import CAPTIVE, JOBS, car, hand, planned

from drybuild.cli import main
from drybuild.findings import Consequence, Verdict
from drybuild.findings.finding import RECALLED, RESTS_ON_ASSUMED
from drybuild.show.no_plan import no_plan_text
from drybuild.values import HowKnown
from drybuild.work.answer import answer
from drybuild.work.as_json import plan_json
from drybuild.work.at_hand import AtHand
from drybuild.work.examined import plan_examined
from drybuild.work.lessons import Lessons
from drybuild.work.model import NoPlan, Plan
from drybuild.work.plan_file import keep, read
from drybuild.work.schemas import answers_schema
from drybuild.work.sheets import sheets


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return car(tmp_path_factory.mktemp("unmeasured"), None)


@pytest.fixture(scope="module")
def at_car(folder: Path) -> AtHand:
    return hand(folder)


@pytest.fixture(scope="module")
def plan(at_car: AtHand) -> Plan:
    found = planned(at_car)
    assert isinstance(found, Plan), found
    return found


def test_what_nobody_measured_is_supposed_and_named(at_car: AtHand, plan: Plan) -> None:
    named = {one.check: one for one in plan.supposed}
    captive = named[CAPTIVE]
    assert captive.subjects == ("front.left", "front.right", "rear.left", "rear.right")
    assert captive.waits_for == "measuring"
    assert "nobody has measured spring free length" in captive.why
    assert captive.before == "2026-12-07T07:00"
    assert captive.chance is None
    first = plan.measure[0]
    assert first.note_as == "part.tolland_spring_36_helper.free_length"
    assert first.bears_on > 10
    assert all(m.bears_on <= len(named) for m in plan.measure)
    lessons = Lessons(at_car.opened.state("now"), at_car.opened.registry, at_car.lessons.jobs)
    for end in plan.ends:
        holds = lessons.stopped("drive", end.done)
        assert {h.check for h in holds if h.waits_for} <= set(named)
        if any(need.session == end.session for need in at_car.todo.problem.needs):
            assert all(h.waits_for for h in holds)


def test_nothing_is_released_by_it(at_car: AtHand, plan: Plan) -> None:
    """Where the car is needed, the standing itself stays stopped, and so do cards and tags."""
    said = answer(at_car.opened, at_car.todo, plan, lessons=at_car.lessons)
    waiting = [needed for needed in said.needed if needed.supposed]
    assert waiting
    for needed in waiting:
        assert not needed.met
        assert needed.stopped_by == ()
        assert "drive" in needed.standing.stopped
    found = sheets(at_car.opened, at_car.todo, plan, lessons=at_car.lessons)
    last = list(found.ends.values())[-1]
    assert "drive" in last.stopped
    assert any("spring free length" in stop.why for stop in last.stops)


def test_the_owner_may_refuse_it(at_car: AtHand) -> None:
    found = planned(at_car, suppose=False)
    assert isinstance(found, NoPlan)
    assert "nothing was to be supposed" in found.why[-1]
    waiting = {c.check for c in found.clauses if c.waits_for}
    assert CAPTIVE in waiting
    assert found.measure  # a reading is asked for, and no cure of what a reading may settle
    assert not any(one.what.partition(" ")[0] in waiting for one in found.relax)
    text = no_plan_text(found, at_car.todo.problem, folder="car", name="car")
    assert "nobody has measured" not in text
    assert "do without drive after" in text
    given_up = next(one for one in found.relax if one.kind == "need")
    assert "stopped" not in given_up.words  # what to do is short; why it must be stands behind it
    assert "(" not in given_up.words
    assert " drive is stopped: " in given_up.why
    assert re.search(r"Do first; \d+ checks wait for a reading\n  measure .*, free length \(", text)


def test_the_build_may_refuse_it_for_good(tmp_path: Path) -> None:
    folder = car(tmp_path, None)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    build = tomlkit.parse(text).unwrap()
    build["work"]["suppose"] = False
    (folder / "build.toml").write_text(tomlkit.dumps(build), encoding="utf-8")
    at_car = hand(folder)
    found = plan_examined(at_car.opened, at_car.todo, seconds=5, lessons=at_car.lessons)
    assert isinstance(found, NoPlan)
    assert "nothing was to be supposed" in found.why[-1]


def test_what_is_computed_and_falls_short_is_never_supposed(tmp_path: Path) -> None:
    found = planned(hand(car(tmp_path, "120 mm")))
    assert isinstance(found, NoPlan)
    assert "ride.bump_travel" in {clause.check for clause in found.clauses}
    assert not any("supposed" in why for why in found.why)


def test_a_plan_that_does_without_supposes_nothing(tmp_path: Path) -> None:
    folder = copy_with(tmp_path, ("bar-links", "intake"), ("sat-1", "sat-2"))
    found = planned(hand(folder))
    assert isinstance(found, Plan)
    assert (found.supposed, found.measure) == ((), ())


def test_it_is_kept_with_the_plan_and_printed_for_other_programs(
    at_car: AtHand, folder: Path, plan: Plan
) -> None:
    problem = at_car.todo.problem
    keep(at_car.opened, problem, plan)
    kept = read(at_car.opened, problem)
    assert kept is not None
    assert (kept.plan.supposed, kept.plan.measure) == (plan.supposed, plan.measure)
    said = answer(at_car.opened, at_car.todo, plan, lessons=at_car.lessons)
    data = json.loads(json.dumps(plan_json(said, build="car", version="1")))
    jsonschema.validate(data, answers_schema())
    assert [row["check"] for row in data["supposed"]] == [one.check for one in plan.supposed]
    (monday, *_) = data["needed"]
    assert not monday["met"]
    assert monday["stopped_by"] == []
    assert "spring free length" in monday["supposed"][0]["why"]


def test_the_command_says_it_before_anything_else_and_may_be_told_not_to(
    folder: Path, plan: Plan, at_car: AtHand, capsys: pytest.CaptureFixture[str]
) -> None:
    keep(at_car.opened, at_car.todo.problem, plan)
    assert main(["plan", str(folder)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    many = len({one.check for one in plan.supposed})
    assert f"SUPPOSED while planning: {many} checks come out well" in text
    assert text.index("SUPPOSED") < text.index("What the car may do when it is needed")
    named = "Tolland 36 N/mm, 244 mm, rear, with helper spring, free length"
    assert f"measure first: {named} (tape, 5 min)" in text
    assert "no chance of a day covers what is supposed" in text
    assert "a supposition releases nothing" in text
    assert not re.search(r"\bsafe\b|\bpassed\b|OK to drive", text)
    assert main(["plan", str(folder), "--suppose-nothing", "--seconds", "2"]) == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "no plan meets every need" in text
    assert "nothing was to be supposed" in text
    assert "the plan in the folder stays as it was" in text


def test_when_supposing_does_not_help_either_the_answer_names_what_is_left(tmp_path: Path) -> None:
    """Two sessions are too short for it, whatever the springs turn out to be."""
    folder = car(tmp_path, None)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    build = tomlkit.parse(text).unwrap()
    build["session"] = build["session"][:2]
    (folder / "build.toml").write_text(tomlkit.dumps(build), encoding="utf-8")
    found = planned(hand(folder))
    assert isinstance(found, NoPlan)
    assert "was supposed to turn out well" in found.why[-1]
    assert any(one.startswith("cannot be kept: drive on ") for one in found.why)
    assert CAPTIVE not in {clause.check for clause in found.clauses}
    assert all("nobody has measured" not in one.words for one in found.relax)


@pytest.mark.parametrize(
    ("changes", "waits_for"),
    [
        ({"verdict": Verdict.SHORT, "chance": 0.0}, ""),
        ({"verdict": Verdict.ENOUGH, "chance": 1.0}, ""),
        ({"verdict": Verdict.UNMEASURED, "chance": None}, "measuring"),
        ({"why": RESTS_ON_ASSUMED, "chance": 1.0}, "a better word"),
        ({"why": RECALLED, "chance": 0.97}, "reading the rule"),
        ({"chance": 0.7}, "narrowing"),
        ({"chance": 0.4}, ""),
        ({"chance": 0.7, "lowest_known": HowKnown.CATALOGUE}, ""),
        ({"chance": 0.7, "consequence": Consequence.NUISANCE}, ""),
        ({"chance": 0.7, "armed": False}, ""),
    ],
)
def test_only_what_is_not_known_waits_for_something(
    at_car: AtHand, changes: dict[str, Any], waits_for: str
) -> None:
    findings = at_car.lessons.with_columns(JOBS).findings
    plain = next(f for f in findings if f.check == CAPTIVE)
    unsure = plain.but(
        verdict=Verdict.UNSURE, consequence=Consequence.INJURY, armed=True, why="",
        lowest_known=HowKnown.ASSUMED,
    )  # fmt: skip
    assert unsure.but(**changes).waits_for == waits_for
