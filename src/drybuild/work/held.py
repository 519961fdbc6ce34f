"""What a task holds beside people and real tools, and which two are therefore never at once.

These words are held as tools (``Work.tools``). That nobody has hands where a running engine reaches
them, and that nobody is at a car or in it while an end of it goes up or down, is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from drybuild.work.model import Effect, Job, Problem, Work

WHOLE_CAR = "whole car"
"""Held by what moves, runs, drives or measures the car: no two of these at once."""

TO_ITSELF = "car to itself"
"""Held by what drives it, or lifts or lowers it: nobody else works at it, or in it, meanwhile."""

INTAKE = "intake open"
"""Held by what runs the engine or plugs its intake: no two at once."""

HANDS_IN = "hands in"
"""Held by work at the car, but for that inside it, any number of tasks at once: the engine runs for
none meanwhile. And by what is written through the ignition key."""

INSIDE = ("cabin", "boot")
"""How the regions begin in which hands may be while the engine runs: nowhere else."""

Sort = Literal["alone", "runs", "hands", "people", ""]
"""What a task is to others at the car: has it to itself, runs the engine, has hands in, has people
in it, or only waits."""

NEVER_AT_ONCE: Mapping[Sort, frozenset[Sort]] = {
    "alone": frozenset({"alone", "runs", "hands", "people"}),
    "runs": frozenset({"alone", "runs", "hands"}),
    "hands": frozenset({"alone", "runs"}),
    "people": frozenset({"alone"}),
    "": frozenset(),
}

WHOLE: tuple[Sort, ...] = ("alone", "runs")
"""Sorts of which one task goes on at a time."""


def sort_of(work: Work) -> Sort:
    """What it is to others at the car."""
    if TO_ITSELF in work.tools:
        return "alone"
    if work.engine == "runs":
        return "runs"
    if not work.people:
        return ""
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
        return replace(job, work=replace(job.work, tools=(*job.work.tools, HANDS_IN)))
    return replace(job, work=_near(job.work, job.region, *regions))


def _near(work: Work, *regions: str) -> Work:
    """regions: of what comes off or goes on; of a job, and of what is off for it."""
    outside = any(not region.startswith(INSIDE) for region in regions)
    hands = work.people and work.engine != "runs" and TO_ITSELF not in work.tools and outside
    return replace(work, tools=(*work.tools, HANDS_IN)) if hands else work
