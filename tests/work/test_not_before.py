"""What is never before something else that is owed: by day and within it, its wait aside."""

from __future__ import annotations

from dataclasses import replace

import pytest
import saturdays as sat

from drybuild.work.checker import faults
from drybuild.work.library import load, outlines
from drybuild.work.model import Hours, NoPlan, Plan, Problem
from drybuild.work.solve import solve
from drybuild.work.solve.large import solve_large

HALF, ONE = Hours(0.5, 0.5, 0.5), Hours(1, 1, 1)


def owed(hours: tuple[float, float], *, not_before: tuple[str, ...] = ("start",)) -> Problem:
    """A start of an hour, then an hour that needs nobody, and a look of half an hour; a drain of
    an hour has both to be done. hours: of the two Saturdays."""
    start, look = sat.clearing("start", ONE), sat.clearing("look", HALF)
    assert start.clearing is not None
    assert look.clearing is not None
    waits = replace(start.clearing.work, wait=1.0)
    looks = replace(look.clearing.work, not_before=not_before)
    effects = [
        replace(start, clearing=replace(start.clearing, work=waits)),
        replace(look, clearing=replace(look.clearing, work=looks)),
    ]
    days = [
        sat.saturday(n, people=("Ilse",), hours=long) for n, long in enumerate(hours, start=1)
    ]
    drain = sat.job("drain", ONE, causes=("start", "look"), sessions=("sat-1",))
    return sat.problem(jobs=[drain], effects=effects, sessions=days)


def when(plan: Plan | NoPlan, key: str) -> tuple[str, int]:
    assert isinstance(plan, Plan), plan
    return next((step.session, step.start) for step in plan.steps if step.key == key)


def test_a_look_waits_for_the_day_of_the_start():
    """The first Saturday has room for drain and look, not for the start."""
    free = solve(owed((1.5, 4), not_before=()))
    held = solve(owed((1.5, 4)))
    assert when(free, "clear:look")[0] == "sat-1"
    assert when(held, "clear:look") > when(held, "clear:start")
    assert when(held, "clear:look")[0] == "sat-2"
    assert isinstance(held, Plan)
    assert not faults(owed((1.5, 4)), held)


def test_within_a_day_it_comes_after_without_its_wait():
    """Two and a half hours hold all of it one after the other, and no hour between."""
    made = owed((2.5, 0.25))
    plan = solve(made)
    assert isinstance(plan, Plan)
    assert not faults(made, plan)
    order = [step.key for step in plan.steps]
    assert order == ["job:drain", "clear:start", "clear:look"]


def test_the_checker_finds_what_is_before_it_by_itself():
    made = owed((1.5, 4))
    plan = solve(owed((1.5, 4), not_before=()))
    assert isinstance(plan, Plan)
    assert [f for f in faults(made, plan) if "comes before start is cleared" in f]


def test_large_plans_hold_to_it_too():
    made = owed((1.5, 4))
    plan = solve_large(made, seconds=5)
    assert isinstance(plan, Plan)
    assert not faults(made, plan)
    assert when(plan, "clear:look")[0] == "sat-2"


@pytest.fixture(params=outlines())
def library(request: pytest.FixtureRequest):
    return load(request.param)


def test_a_map_is_written_once_fuel_oil_and_coolant_are_in(library):
    place = library.place("map")
    assert place is not None
    assert place.not_before == ("fuel_leak", "turbo_oil", "coolant_low")


def test_nobody_turns_over_an_engine_with_its_fuel_open_or_its_mount_off(library):
    names = ["pump_module", "fuel_tank", "fuel_filter", "fuel_rail", "engine_mounts"]
    names += [n for n in ("pendulum_mount", "pitch_stop") if n in library.components]
    stops = {name: library.components[name].stops for name in names}
    assert [name for name, uses in stops.items() if "turn over" not in uses] == []
    assert library.effects["fuel_leak"].stops == ("turn over",)


def test_a_dump_pipe_goes_on_a_turbocharger_that_is_on(library):
    assert ("turbo:on",) in library.components["dump_pipe"].refit_needs
