"""How the car stands along a plan that is written down by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from types import SimpleNamespace

import making_todo as making

from drybuild.journal import WorkEntry
from drybuild.work.checker import faults
from drybuild.work.model import (
    Clause,
)
from drybuild.work.sheets import as_came_off
from drybuild.work.standing import (
    NOTHING_LIFTS,
    PASSES,
    Standing,
    Stop,
    at_end,
    standing,
)

SAT_1 = 36


def test_the_plan_written_by_hand_holds():
    assert faults(making.problem(), making.plan()) == ()


def test_off_and_pending_follow_from_the_steps():
    problem, plan = making.problem(), making.plan()
    after_springs = standing(problem, plan, SAT_1 + 11)
    assert after_springs.off == ("raised", "wheels_front", "bumper_front", "charge_pipes")
    # the cooler's job has ended, its sealant cures; the brakes are not open before their job begins
    assert after_springs.pending == ("sealant",)
    assert standing(problem, plan, SAT_1 + 12).pending == ("sealant", "brakes_open")
    assert standing(problem, plan, SAT_1 + 24).pending == ("sealant", "fuel_open")
    assert standing(problem, plan, SAT_1 + 24).done == (
        "charge-cooler", "springs-front", "front-brakes", "injectors",
    )  # fmt: skip


def test_a_task_under_way_counts_as_the_worse_of_before_and_after():
    problem, plan = making.problem(), making.plan()
    taking, putting_back = SAT_1 + 3, SAT_1 + 13  # half way through the bumper, off and on
    assert "bumper_front" in standing(problem, plan, taking).off
    assert "bumper_front" in standing(problem, plan, putting_back).off
    assert "bumper_front" not in standing(problem, plan, SAT_1 + 14).off
    bleeding = standing(problem, plan, SAT_1 + 22)
    assert "brakes_open" in bleeding.pending


def test_at_the_end_of_a_session_two_reckonings_agree():
    problem, plan = making.problem(), making.plan()
    for end in plan.ends:
        found = at_end(problem, plan, end.session)
        assert (frozenset(found.off), frozenset(found.pending), frozenset(found.done)) == (
            end.off, end.pending, end.done,
        )  # fmt: skip


def test_what_passes_by_itself_says_when():
    problem, plan = making.problem(), making.plan()
    stop = next(s for s in at_end(problem, plan, "sat-1").stops if s.what == "sealant")
    # the job ends at 11:30, and it cures for 12 h
    assert (stop.lift, stop.passes) == (PASSES, datetime(2026, 12, 5, 23, 30))
    assert "sealant" not in standing(problem, plan, SAT_1 + 10 + 48).pending


def test_what_lifts_a_hold_is_the_next_step_that_does():
    problem, plan = making.problem(), making.plan()
    stops = {s.what: s for s in at_end(problem, plan, "sat-1").stops}
    assert stops["fuel_rail"].by is not None
    assert stops["fuel_rail"].by.key == "refit:fuel_rail"
    assert stops["fuel_open"].by is not None
    assert stops["fuel_open"].by.key == "clear:fuel_open"
    assert stops["fuel_open"].uses == ("turn over",)
    # what stops nothing is no stop, though it is pending
    assert "wheels_settle" not in stops


def test_an_effect_that_a_job_clears_names_that_job():
    problem, plan = making.problem(), making.plan()
    cured = replace(problem.jobs["first-map"], clears=("fuel_open",))
    changed = replace(problem, jobs={**problem.jobs, "first-map": cured})
    without = replace(plan, steps=tuple(s for s in plan.steps if s.key != "clear:fuel_open"))
    stops = {s.what: s for s in at_end(changed, without, "sat-1").stops}
    assert stops["fuel_open"].by is not None
    assert stops["fuel_open"].by.key == "job:first-map"
    assert "fuel_open" not in at_end(changed, without, "sat-2").pending


def test_a_clause_speaks_where_nothing_is_examined():
    problem = replace(
        making.problem(),
        clauses=(
            Clause("run", frozenset({"injectors"}), frozenset({"first-map"}), "other injectors",
                   "calibration.injector_flow", "car"),
            Clause("drive", frozenset({"injectors"}), frozenset(), "nothing for it", "x", "car"),
        ),
    )  # fmt: skip
    plan = making.plan()
    stops = {s.why: s for s in at_end(problem, plan, "sat-1").stops if s.kind == "jobs"}
    assert stops["other injectors"].uses == ("run",)
    assert stops["other injectors"].lift == "first map flashed"
    assert stops["other injectors"].by is not None
    assert stops["nothing for it"].lift == NOTHING_LIFTS
    left = [s.why for s in at_end(problem, plan, "sat-2").stops if s.kind == "jobs"]
    assert left == ["nothing for it"]


def test_a_stopped_use_stops_those_that_need_it():
    stop = Stop(("run", "creep"), "off", "x", "y")
    car = Standing(0, (), (), (), (stop,))
    assert stop.roots == ("run",)  # creep needs run
    assert car.stopped == {"run", "creep", "drive", "full load", "compete"}
    assert car.open_uses == ("move", "turn over")
    assert car.stopping("drive") == (stop,)
    assert car.stopping("move") == ()
    both = Stop(("move", "turn over", "drive"), "off", "x", "y")
    assert both.roots == ("move", "turn over")


def test_the_checks_speak_of_the_state_of_that_moment(lessons):
    problem, plan = making.problem(), making.plan()
    before = {s.what for s in standing(problem, plan, SAT_1 + 16, lessons=lessons).stops}
    after = {s.what for s in standing(problem, plan, SAT_1 + 20, lessons=lessons).stops}
    flashed = {s.what for s in at_end(problem, plan, "sat-2", lessons=lessons).stops}
    assert "calibration.injector_flow" in after - before - flashed


def test_what_is_off_is_numbered_as_the_record_says_it_came_off():
    problem, plan = making.problem(), making.plan()
    ends = {"sat-1": standing(problem, plan, SAT_1 + 11)}
    takes = {s.what: s for s in plan.steps if s.kind == "take" and s.start < SAT_1 + 11}
    entries = {
        name: WorkEntry(n, "", "Ilse", "done", f"take:{name}")
        for n, name in enumerate(("wheels_front", "raised"), 7)
    }  # fmt: skip
    journal = SimpleNamespace(work=lambda: tuple(entries.values()))
    done = {takes[name]: entry for name, entry in entries.items()}
    at = replace(problem, sessions=tuple(
        replace(s, end=SAT_1 + 11) if s.id == "sat-1" else s for s in problem.sessions
    ))  # fmt: skip
    found = as_came_off(at, plan, ends, journal, done)["sat-1"].off
    assert found == ("wheels_front", "raised", "bumper_front", "charge_pipes")
    before = replace(plan, steps=tuple(s for s in plan.steps if s not in done))
    assert as_came_off(at, before, ends, journal)["sat-1"].off == found
    nothing = SimpleNamespace(work=tuple)
    assert as_came_off(at, plan, ends, nothing)["sat-1"].off == ends["sat-1"].off
