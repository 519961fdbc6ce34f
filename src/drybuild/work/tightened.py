"""Where a joint is brought to its figure: a card asks for it once, on the task that does it.

A part's place, the arm that goes back and the bushes that are tightened laden may all name one
bolt. Its figure is written down where it is reached: the last of these in one opening. What holds a
wheel is tightened on the ground, so with the task that lets that end down. What is gone over again
after some kilometres has its own figure there, and takes none from the work before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from drybuild.build.fixings import ROOT as HOLDS_THE_WHEEL
from drybuild.examine.tightening import ROOTS
from drybuild.findings import AXLES
from drybuild.work.evidence import job_of
from drybuild.work.model import Notes, Plan, Problem, Step, ToDo
from drybuild.work.to_check import lets_down

Named = tuple[str, str]
"""Root and axle of a joint; no axle: as the library calls it, to be looked up."""


def tightened(todo: ToDo, plan: Plan, step: Step) -> tuple[Named, ...]:
    """Joints that are brought to their figure with a task of a plan."""
    found: dict[Named, None] = {}
    for axle in sorted(lets_down(todo, plan, step), key=AXLES.index):
        found[HOLDS_THE_WHEEL, axle] = None
    for one in _named(todo, step):
        if not _later(todo, plan, step, one):
            found[one] = None
    return tuple(found)


def _later(todo: ToDo, plan: Plan, step: Step, one: Named) -> bool:
    """Whether a later task of the same opening brings a joint to its figure."""
    after = sorted((s for s in plan.steps if s.start >= step.end), key=lambda s: (s.start, s.key))
    if step.kind == "refit" and one[0] == HOLDS_THE_WHEEL:
        down = (lets_down(todo, plan, s) for s in _until_off(todo, after, one))
        return any(one[1] in axles for axles in down)
    if step.kind == "clear":
        return False
    kinds = ("clear",) if step.kind == "refit" else ("refit", "clear")
    return any(
        s.kind in kinds and not _again(todo.problem, s) and one in _named(todo, s)
        for s in _until_off(todo, after, one)
    )


def _until_off(todo: ToDo, after: Sequence[Step], one: Named) -> Iterator[Step]:
    """Tasks until the joint is undone once more."""
    for step in after:
        if step.kind == "take" and one in _named(todo, replace(step, kind="refit")):
            return
        yield step


def _again(problem: Problem, step: Step) -> bool:
    """Whether a task goes over what was tightened kilometres ago."""
    return step.kind == "clear" and problem.effects[step.what].between > 0


def _named(todo: ToDo, step: Step) -> list[Named]:
    """Joints of a task as the library names them: ``wheel_nuts``, ``wheel_nuts.front``."""
    if step.kind == "take":
        return []
    names = todo.notes.get(step.key, Notes("")).joints
    return [one for name in names for one in _axles(todo.problem, step, name)]


def _axles(problem: Problem, step: Step, name: str) -> list[Named]:
    """Without an axle, the one that the work's name or region speaks of, else both. What is no
    joint of the build is kept as it is said, to be looked up."""
    root, _, axle = name.partition(".")
    if root not in ROOTS:
        return [(name.replace("_", " "), "")]
    if axle in AXLES:
        return [(root, axle)]
    job = job_of(problem, step)
    region = job.region if job is not None else problem.components[step.what].region
    spoken = f"{step.what} {region}".replace("_", " ").replace("-", " ").split()
    said = [one for one in AXLES if one in spoken]
    return [(root, one) for one in said or AXLES]
