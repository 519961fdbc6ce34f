"""What is checked before a card is closed: nothing that nobody undid."""

from __future__ import annotations

from collections.abc import Iterator

from drybuild.build.fixings import ROOT
from drybuild.findings import AXLES
from drybuild.work.model import Notes, Plan, Step, ToDo

WHEELS_HELD = ("wheel nuts", "wheel bolts")
"""How a line begins that asks for the figure of what only comes off with a wheel."""


def to_check(todo: ToDo, plan: Plan, steps: tuple[Step, ...]) -> tuple[str, ...]:
    """Lines of all these steps, each once. A car that is let down has its wheels tightened
    where a wheel of that end was off or went on while it stood up, and only there."""
    found: dict[str, None] = {}
    for step in steps:
        for line in _notes(todo, step).verify:
            held = step.kind == "refit" and line.startswith(WHEELS_HELD)
            if not held or lets_down(todo, plan, step):
                found[line] = None
    return tuple(found)


def lets_down(todo: ToDo, plan: Plan, step: Step) -> set[str]:
    """Axles that a task puts on the ground with wheels that were off or went on meanwhile."""
    asks = any(line.startswith(WHEELS_HELD) for line in _notes(todo, step).verify)
    if step.kind != "refit" or not asks:
        return set()
    return _ends(step) & _undone(todo, plan, step)


def _undone(todo: ToDo, plan: Plan, down: Step) -> set[str]:
    """Axles of which a wheel is taken off or put on while the car stands up; both where it stood
    up before the plan: nobody knows what was done then."""
    up = [s.start for s in plan.steps if s.key == f"take:{down.what}" and s.start < down.start]
    if not up:
        return set(AXLES)
    joints = {f"{ROOT}.{axle}": axle for axle in AXLES}
    meanwhile = (s for s in plan.steps if max(up) <= s.start <= down.start)
    return {joints[name] for s in meanwhile for name in _named(todo, s) if name in joints}


def _named(todo: ToDo, step: Step) -> Iterator[str]:
    """Joints of a task; what is taken off has those with which it goes on again."""
    for key in (step.key, f"refit:{step.what}"):
        yield from todo.notes.get(key, Notes("")).joints


def _ends(step: Step) -> set[str]:
    """The end of the car that a step's name speaks of, else both."""
    return {axle for axle in AXLES if axle in step.what.split("_")} or set(AXLES)


def _notes(todo: ToDo, step: Step) -> Notes:
    return todo.notes.get(step.key, Notes(""))
