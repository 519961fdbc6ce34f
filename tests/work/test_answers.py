"""What is said of a plan, as text and as JSON, on two plans that one can write out by hand."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from types import SimpleNamespace

import jsonschema
import pytest
import small

from drybuild.show.no_plan import no_plan_text
from drybuild.show.planning import plan_text, way_back_lines
from drybuild.show.work_list import NO_GAIN, aim_text, idle_text
from drybuild.work.answer import Answer, Needed
from drybuild.work.as_json import no_plan_json, plan_json
from drybuild.work.model import Aim, Clause, NoPlan, Relaxation, ToDo
from drybuild.work.openings import compare, openings
from drybuild.work.risk.outlook import Left
from drybuild.work.schemas import answers_schema
from drybuild.work.standing import Stop, at_end, standing
from drybuild.work.wayback import WayBack

NEVER = re.compile(r"\bsafe\b|\bpassed\b|OK to drive|!", re.IGNORECASE)
SCHEMA = answers_schema()


def said(plan, other, problem=None):
    problem = problem or small.problem()
    back = (WayBack("sat-1", 38, "", plan.steps[3:], ("cooler",), 1.5),)
    return Answer(
        ToDo(problem, {}), plan,
        tuple(Needed(n, standing(problem, plan, n.until)) for n in problem.needs),
        tuple((s.id, at_end(problem, plan, s.id)) for s in problem.sessions),
        openings(problem, plan), other, compare(problem, plan, other), back,
    )  # fmt: skip


@pytest.fixture
def good():
    return said(small.together(), small.apart())


@pytest.fixture(autouse=True)
def _screen(monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")


def test_the_days_of_need_come_first_then_who_does_what(good):
    text = plan_text(good, folder="car", name="Car")
    assert text.index("Mon 7 Dec, 09:00") < text.index("Sat 5 Dec, 09:00 to 17:00")
    assert "drive: nothing in the plan and nothing calculated stops it" in text
    lines = text.splitlines()
    cooler = next(line for line in lines if line.endswith("oil cooler"))
    assert cooler.split() == ["09:30", "1", "h", "Ilse", "oil", "cooler"]
    assert "Marten" in next(line for line in lines if line.endswith("oil line"))
    assert not NEVER.search(text)


def test_a_day_with_nothing_to_do_is_named(good):
    plan = good.plan
    first = replace(plan, steps=tuple(replace(s, session="sat-1") for s in plan.steps))
    said = idle_text(small.problem(), first)
    assert said == f"nothing is planned for Sat 12 Dec ({NO_GAIN})"
    every = [replace(plan.steps[0], session=s.id) for s in small.problem().sessions]
    assert idle_text(small.problem(), replace(plan, steps=tuple(every))) == ""


def test_a_check_without_an_answer_is_named_at_the_sessions_end(good):
    name, car = good.ends[0]
    stop = Stop(("full load",), "check", "nobody has measured the wire", "", what="a.b",
                waits_for="measuring")  # fmt: skip
    ends = ((name, replace(car, stops=(stop,))), *good.ends[1:])
    text = plan_text(replace(good, ends=ends), folder="car", name="Car")
    assert "then stopped: full load: nobody has measured the wire" in text
    many = tuple(replace(stop, what=f"a.{n}") for n in range(5))
    ends = ((name, replace(car, stops=many)), *good.ends[1:])
    text = " ".join(plan_text(replace(good, ends=ends), folder="car", name="Car").split())
    assert "5 checks that nobody can answer yet, as nobody has measured the wire" in text


def test_the_plan_says_the_chance_of_all_of_it_and_what_is_likeliest_left(good):
    left = (Left("job:cooler", "oil cooler", "sat-2", 0.4), Left("job:x", "hose", "sat-2", 0.1))
    sure = SimpleNamespace(finished=0.33, left=left)
    text = " ".join(
        plan_text(replace(good, outlook=sure), folder="car", name="Car").split()
    )
    assert "all of it done within these work sessions: 33 in 100" in text
    assert "likeliest left undone: oil cooler, 40 in 100" in text
    assert "drybuild quote car" in text


def test_both_plans_are_shown_part_by_part(good):
    text = plan_text(good, folder="car", name="Car")
    assert "a day of its own as long as it takes: about 4.5 person-hours" in " ".join(text.split())
    assert "the plan saves 1 h, 22%" in " ".join(text.split())
    assert re.search(r"splash guard\s+once in place of 2, \+1 h", text)


def test_hours_and_finish_carry_their_bounds(good):
    text = plan_text(good, folder="car", name="Car")
    assert "about 3.5 person-hours: no plan that meets every need does with fewer" in text
    far = replace(good.plan.aims[0], bound=3.0)
    open_ended = replace(good, plan=replace(good.plan, aims=(far, good.plan.aims[1])))
    text = plan_text(open_ended, folder="car", name="Car")
    assert "about 3.5 person-hours: none goes below about 3; up to 14 % may still be had" in text


def test_a_use_that_is_stopped_says_why():
    plan = small.together()
    cut = replace(plan, steps=plan.steps[:-2])
    text = plan_text(said(cut, plan), folder="car", name="Car")
    assert "drive: stopped: off: splash guard; oil is out" in text
    assert "stays off: splash guard" in text


def test_the_way_back_is_always_there(good):
    text = " ".join(plan_text(good, folder="car", name="Car", everything=True).split())
    assert "Sat 5 Dec, 09:30, back to as the car is now: about 1.5 person-hours, 2 steps" in text
    assert "taken back: oil cooler" in text
    assert "fill the oil" in text.split("The way back")[1]


def test_what_was_learned_names_jobs_by_their_titles(good):
    text = plan_text(good, folder="car", name="Car")
    assert "drive: no oil goes through it" in text
    assert "so with: oil line; not before: oil cooler" in text


def test_what_the_names_in_brackets_are_for_is_said_once(good):
    assert "[sat-1]" in plan_text(good, folder="car", name="Car")
    lines = plan_text(good, folder="car", name="Car").splitlines()
    assert "in [ ]: a session: drybuild cards car --session sat-1" in lines
    told = tuple(replace(clause, check="oil.flow") for clause in good.plan.clauses)
    plan = replace(good.plan, clauses=told)
    lines = plan_text(replace(good, plan=plan), folder="car", name="Car").splitlines()
    session = "in [ ]: a session: drybuild cards car --session sat-1"
    assert f"{session}; a check: drybuild workings car oil.flow" in lines


def test_its_json_keeps_to_the_schema_and_adds_up(good):
    data = json.loads(json.dumps(plan_json(good, build="Car", version="1"), allow_nan=False))
    jsonschema.validate(data, SCHEMA)
    steps = [step for session in data["sessions"] for step in session["steps"]]
    assert sum(step["person_hours"] for step in steps) == data["aims"][0]["value"] == 3.5
    assert data["sessions"][0]["then"]["off"] == []
    assert data["sessions"][0]["then"]["allowed"][-1] == "compete"
    assert data["against_regions"]["parts"][0]["saved_hours"] == 1.0


def test_the_schema_would_notice(good):
    data = plan_json(good, build="Car", version="1")
    for spoiled in (data | {"format": 2}, data | {"more": 1}, data | {"aims": [{"name": "cost"}]}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoiled, SCHEMA)


def test_a_way_back_names_the_day_and_not_the_session():
    ways = (
        WayBack("sat-2", 700, "sat-1", (), (), 1.5),
        WayBack("sat-2", 700, "gone-1", (), (), 1.5),
    )
    text = "\n".join(way_back_lines(small.problem(), ways, everything=False))
    assert "back to as after Sat 5 Dec: " in text
    assert "back to as after gone-1: " in text  # a session that build.toml has no more


@pytest.mark.parametrize(("bound", "said"), [(80.0, "none goes below"), (44.0, "not found out")])
def test_a_bound_far_below_is_not_said_to_be_had(bound, said):
    assert said in aim_text(small.problem(), Aim("hours", 93.0, bound, "h"))


def test_no_plan_says_why_and_what_would_help():
    relax = (
        Relaxation("need", "sat-1", "the car is not needed on Monday 7 December"),
        Relaxation("time", "sat-1", "an hour more on Saturday 5 December"),
    )
    clause = Clause("drive", frozenset({"line"}), frozenset(), "no oil", "oil.flow", "car")
    none = NoPlan(("the work of sat-1 is longer than the day",), relax, (clause,))
    text = no_plan_text(none, small.problem(), folder="car", name="Car")
    assert text.index("the car is not needed") < text.index("an hour more")
    assert "[oil.flow]" in text
    assert "in [ ]: a check: drybuild workings car oil.flow" in text
    assert "try: drybuild fix car oil.flow car" in text
    bare = no_plan_text(
        NoPlan(("no plan meets every need",), relax), small.problem(), folder="car", name="Car"
    )
    assert bare.count("no plan meets every need") == 1
    assert "Why" not in bare
    assert "nothing that the plan had to learn" not in bare
    jsonschema.validate(no_plan_json(none, build="Car", version="1"), SCHEMA)
    assert not NEVER.search(text)
