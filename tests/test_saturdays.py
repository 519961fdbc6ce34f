"""The demo of the work (invented): six Saturdays, and a car that is needed on Mondays."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

import drybuild
from drybuild.examine.schemas import schemas
from drybuild.work.answer import answer
from drybuild.work.checker import faults
from drybuild.work.examined import plan_examined
from drybuild.work.greedy import by_region
from drybuild.work.lessons import Lessons
from drybuild.work.model import NoPlan, Plan
from drybuild.work.openings import compare
from drybuild.work.reading import to_do

SATURDAYS = Path(__file__).parents[1] / "examples" / "plover_saturdays"
SCHEMAS = schemas()


@pytest.fixture(scope="module")
def car():
    return drybuild.open_build(SATURDAYS)


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_it_keeps_the_present_schemas_beside_it(name):
    kept = json.loads((SATURDAYS / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    assert kept == SCHEMAS[name], "run: drybuild schema --write examples/plover_saturdays/schema"


@pytest.mark.parametrize(
    "path", sorted(p.relative_to(SATURDAYS) for p in SATURDAYS.rglob("*.toml")), ids=str
)
def test_its_files_suit_their_schema(path):
    text = (SATURDAYS / path).read_text(encoding="utf-8")
    name = "parts" if path.parent.name == "parts" else path.stem
    data = json.loads(json.dumps(tomllib.loads(text), default=str))
    assert jsonschema.Draft202012Validator(SCHEMAS[name]).is_valid(data)
    assert text.startswith(f"#:schema {'../' if name == 'parts' else ''}schema/{name}.json\n")


def test_nothing_calculated_stops_the_finished_car(car):
    finished = car.examine("finished")
    assert {use.use for use in finished.uses if not use.allowed} == set()
    assert finished.use("drive").records_owed, "hand checks are still for people to make"


def test_as_driven_in_nothing_recorded_stops_it(car):
    assert all(use.allowed for use in car.examine("now").uses)


# ---- what fits together only together

TOGETHER = [
    # done, what it lacks, the check that stops drive until then
    ({"springs-front"}, {"bar-links"}, "ride.bar_link_swing"),
    ({"springs-rear"}, {"bar-links"}, "ride.bar_link_swing"),
    ({"front-brakes"}, {"wheels", "rear-arms", "speed-reading"}, "corners.caliper_barrel_gap"),
    ({"wheels", "rear-arms"}, {"speed-reading"}, "law.speedometer_low"),
    ({"wheels", "speed-reading"}, {"rear-arms"}, "corners.arch_bump_gap"),
    ({"pump", "pump-wiring", "feed-line"}, {"return-line"}, "fuel.return_flow"),
    ({"pump", "return-line"}, {"feed-line", "pump-wiring"}, "electrics.wire_current"),
    ({"injectors", "ethanol-sensor"}, {"first-map"}, "calibration.injector_flow"),
    ({"injectors", "first-map"}, {"ethanol-sensor"}, "calibration.ethanol_sensor"),
]


@pytest.fixture(scope="module")
def todo(car):
    return to_do(car)


@pytest.fixture(scope="module")
def lessons(car, todo):
    return Lessons(car.state("now"), car.registry, todo.problem.jobs)


@pytest.mark.parametrize(("done", "lacks", "check"), TOGETHER)
def test_half_of_it_stops_drive_and_all_of_it_does_not(lessons, done, lacks, check):
    assert check in {hold.check for hold in lessons.stopped("drive", done)}
    assert lessons.stopped("drive", done | lacks) == ()


def test_a_lesson_names_what_is_done_and_what_would_lift_it(lessons):
    found = [c for c in lessons.clauses("drive", {"front-brakes"}) if "barrel" in c.check]
    assert found
    for clause in found:
        assert clause.done == {"front-brakes"}
        assert clause.not_done == {"wheels"}


def test_about_25_jobs_and_the_parts_come_when_their_makers_say(todo):
    problem = todo.problem
    assert len(problem.jobs) == 25
    assert problem.at(problem.jobs["turbo"].earliest).date().isoformat() == "2026-12-30"
    assert problem.jobs["rack"].sessions == ("shop",)
    assert todo.unpriced == {}
    assert "undertray" not in problem.components, "as work.toml says"
    assert {need.use for need in problem.needs} == {"drive"}
    assert all(problem.at(need.until).weekday() == 0 for need in problem.needs)
    assert sum(len(s.people) for s in problem.sessions if s.id == "sat-3") == 3


# ---- the plan


@pytest.fixture(scope="module")
def plan(car, todo, lessons):
    found = plan_examined(car, todo, seconds=90, lessons=lessons)  # until proven, on a busy machine
    assert isinstance(found, Plan), found
    return found


@pytest.fixture(scope="module")
def said(car, todo, plan, lessons):
    return answer(car, todo, plan, lessons=lessons)


def test_an_independent_checker_finds_no_fault(todo, plan):
    assert faults(todo.problem, plan) == ()


def test_every_job_is_done_once_and_nothing_is_left_off_or_owed(todo, plan):
    done = [step.what for step in plan.steps if step.kind == "job"]
    assert sorted(done) == sorted(todo.problem.jobs)
    assert plan.ends[-1].off == frozenset()
    owed = {n for n in plan.ends[-1].pending if not todo.problem.effects[n].between}
    assert owed == set()


def test_the_car_may_drive_on_every_monday(todo, said):
    assert len(said.needed) == 6
    for day in said.needed:
        assert day.met, (todo.problem.at(day.need.until), day.standing.stopping("drive"))


def test_no_plan_needs_fewer_hours_and_of_those_none_is_done_sooner(plan):
    for aim in plan.aims:
        assert 0 < aim.bound == aim.value
    assert plan.aim("finish").value <= 8


def test_shared_openings_save_hours_over_one_region_after_the_other(todo, plan):
    """Though each region has days as long as it takes, and every part and tool at once."""
    problem = replace(todo.problem, clauses=plan.clauses)
    other = by_region(problem)
    assert isinstance(other, Plan), other
    found = compare(problem, plan, other)
    assert 0.03 < found.saved_share < 0.3
    saved = {row.key: row.saved for row in found.rows}
    assert sum(saved.values()) == pytest.approx(found.other_hours - found.hours)
    assert saved["open:fuel_pressure"] > 0
    assert saved["clear:brakes_open"] > 0


def without(tools, todo):
    sessions = tuple(replace(s, tools=s.tools - tools) for s in todo.problem.sessions)
    return replace(todo, problem=replace(todo.problem, sessions=sessions))


@pytest.mark.parametrize(
    ("tools", "words"),
    [
        ({"strings", "alignment rack"}, "have strings for alignment measured and set"),
        ({"spring compressor"}, "have spring compressor for front springs"),
    ],
)
def test_an_impossible_use_is_said_with_what_would_help(car, todo, lessons, tools, words):
    found = plan_examined(car, without(tools, todo), seconds=20, lessons=lessons)
    assert isinstance(found, NoPlan)
    assert not found.open
    assert any(one.kind == "tool" and words in one.words for one in found.relax), found.relax


def test_there_is_a_way_back_from_every_day_that_opens_the_car(todo, plan, said):
    """A day that takes off only what a car may drive without needs none."""
    components, stopping = todo.problem.components, todo.problem.stopping("drive")
    opening = {
        step.session
        for step in plan.steps
        if step.kind == "take" and set(components[step.what].stops) & stopping
    }
    assert len(opening) >= 3
    assert {way.session for way in said.back} >= opening
    assert all(way.steps or way.why for way in said.back)


def last(plan, kind, what):
    return max(s.end for s in plan.steps if (s.kind, s.what) == (kind, what))


def first(plan, kind, what):
    return min(s.start for s in plan.steps if (s.kind, s.what) == (kind, what))


def clearings(plan, effect):
    return [s for s in plan.steps if s.key == f"clear:{effect}"]


def test_rubber_bushes_are_tightened_laden(todo, plan):
    """With the wheels on and the car down, after the units are back."""
    for axle in ("front", "rear"):
        for step in clearings(plan, f"bushes_{axle}"):
            up = [f"raised_{end}" for end in ("front", "rear")] + [f"wheels_{axle}"]
            for component in up:
                taken = [s for s in plan.steps if s.key == f"take:{component}"]
                back = [s for s in plan.steps if s.key == f"refit:{component}"]
                before = sum(s.end <= step.start for s in taken)
                assert before == sum(s.end <= step.start for s in back), component
        assert clearings(plan, f"bushes_{axle}")


def test_alignment_and_the_rack_come_after_the_height(plan):
    for job in ("springs-front", "springs-rear", "rear-arms"):
        assert last(plan, "job", job) <= max(s.start for s in clearings(plan, "alignment"))
        assert last(plan, "job", job) <= first(plan, "job", "rack")


def test_wheel_nuts_are_gone_over_on_a_later_day_after_distance(todo, plan):
    order = {session.id: n for n, session in enumerate(todo.problem.sessions)}
    refits = [s for s in plan.steps if s.key in ("refit:wheels_front", "refit:wheels_rear")]
    assert clearings(plan, "wheels_again")
    for step in clearings(plan, "wheels_again"):
        before = [s for s in refits if s.end <= step.start]
        assert before
        assert max(order[s.session] for s in before) < order[step.session]


def test_fuel_pressure_is_let_off_before_anything_of_it_is_opened(plan):
    for kind, what in (
        ("take", "fuel_rail"), ("take", "pump_module"), ("job", "feed-line"), ("job", "regulator"),
    ):  # fmt: skip
        begun = first(plan, kind, what)
        let_off = [s for s in plan.steps if s.key == "take:fuel_pressure" and s.end <= begun]
        assert let_off, what


def test_springs_are_squeezed_only_while_the_compressor_is_lent(todo, plan):
    for job in ("springs-front", "springs-rear"):
        step = next(s for s in plan.steps if s.key == f"job:{job}")
        assert "spring compressor" in todo.problem.session(step.session).tools


def test_what_is_spent_by_the_end_of_a_month_stays_within(todo, plan):
    for budget in todo.problem.budgets:
        spent = sum(
            todo.problem.jobs[s.what].price
            for s in plan.steps
            if s.kind == "job" and s.session in budget.sessions
        )
        assert spent <= budget.most
