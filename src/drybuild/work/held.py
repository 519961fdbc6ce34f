"""What a task holds beside people and real tools, and which two are therefore never at once.

These words are held as tools (``Work.tools``). That nobody has hands where a running engine reaches
them, and that one end of a car goes up or down at a time, is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from drybuild.work.model import Effect, Job, Problem, Work

WHOLE_CAR = "whole car"
"""Held by what moves, runs, drives or measures the car: no two of these at once."""

TO_ITSELF = "car to itself"
"""Held by what drives it: nobody else works at it meanwhile."""

INTAKE = "intake open"
"""Held by what runs the engine or plugs its intake: no two at once."""

ONE_END = "one end at a time"
"""Held by what lifts or lowers the car: no two at once."""

HANDS_IN = "hands in"
"""Held by work at the car, but for that inside it, any number of tasks at once: the engine runs for
none meanwhile."""

BELOW = "below"
"""Held by those of them that are under the car: nobody lifts or lowers an end meanwhile, nor while
somebody is inside."""

AT_KEY = "at the key"
"""Held by what is written through the ignition key: nobody turns the engine over meanwhile, nor
lifts or lowers an end."""

INSIDE = ("cabin", "boot")
"""How the regions begin in which hands may be while the engine runs: nowhere else, no jack."""

UNDER = ("under", "gearbox")
"""What is in the regions of which nobody may be at work while an end goes up or down."""

Sort = Literal["alone", "runs", "lifts", "below", "hands", "people", ""]
"""What a task is to others at the car: has it to itself, runs the engine, lifts or lowers an end,
is below or at the key, has hands in, has people in it, or only waits."""

NEVER_AT_ONCE: Mapping[Sort, frozenset[Sort]] = {
    "alone": frozenset({"alone", "runs", "lifts", "below", "hands", "people"}),
    "runs": frozenset({"alone", "runs", "lifts", "below", "hands"}),
    "lifts": frozenset({"alone", "runs", "lifts", "below", "people"}),
    "below": frozenset({"alone", "runs", "lifts"}),
    "hands": frozenset({"alone", "runs"}),
    "people": frozenset({"alone", "lifts"}),
    "": frozenset(),
}

WHOLE: tuple[Sort, ...] = ("alone", "runs", "lifts")
"""Sorts of which one task goes on at a time."""


def sort_of(work: Work) -> Sort:
    """What it is to others at the car."""
    if TO_ITSELF in work.tools:
        return "alone"
    if work.engine == "runs":
        return "runs"
    if not work.people:
        return ""
    if ONE_END in work.tools:
        return "lifts"
    if BELOW in work.tools or AT_KEY in work.tools:
        return "below"
    return "hands" if HANDS_IN in work.tools else "people"


def with_hands(problem: Problem) -> Problem:
    """The problem in which what has hands in holds that; so does what is written through the key,
    for nobody turns an engine over meanwhile."""
    components = {
        name: replace(c, take=_near(c.take, c.region), refit=_near(c.refit, c.region))
        for name, c in problem.components.items()
    }
    effects = {name: _effect(problem, e) for name, e in problem.effects.items()}
    jobs = {name: _job(problem, job) for name, job in problem.jobs.items()}
    return replace(problem, components=components, effects=effects, jobs=jobs)


def _effect(problem: Problem, effect: Effect) -> Effect:
    if effect.clearing is None:
        return effect
    return replace(effect, clearing=_job(problem, effect.clearing))


def _job(problem: Problem, job: Job) -> Job:
    off = {c.name for need in job.work.needs for way in need for c in way if c.kind == "off"}
    regions = [problem.components[name].region for name in off & problem.components.keys()]
    if job.kind == "flash":
        return replace(job, work=replace(job.work, tools=(*job.work.tools, AT_KEY)))
    return replace(job, work=_near(job.work, job.region, *regions))


def _near(work: Work, *regions: str) -> Work:
    """regions: of what comes off or goes on; of a job, and of what is off for it."""
    outside = any(not region.startswith(INSIDE) for region in regions)
    hands = work.people and work.engine != "runs" and outside
    if not hands:
        return work
    below = ONE_END not in work.tools and any(part in r for r in regions for part in UNDER)
    return replace(work, tools=(*work.tools, HANDS_IN, *([BELOW] if below else ())))
