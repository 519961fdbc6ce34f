"""What others do in the same minutes that this work has to wait for.

A plan has a running engine, or a jack at the other end, beside other work where a day leaves no
room to have them one after the other (``solve.orderly``). Then the cards of both say so: hands stay
out of the bay and nobody is under the car while it runs. Common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from drybuild.work.ends import work_of
from drybuild.work.model import Plan, Problem, Step

NEAR = ("engine", "under", "gearbox", "nose", "tank")
"""How the regions begin in which hands are in the bay, under the car or at the fuel."""

RUNS = (
    "{who} has the engine running {when} ({what}): nobody is under the car, in the bay or at open "
    "fuel then. This waits, or that does."
)
RUNNING = (
    "{who} works in the bay, under the car or at the fuel {when} ({what}): the engine runs only "
    "when all hands are out. This waits, or that does."
)
JACK = (
    "{who} lifts or lowers the other end {when} ({what}): one end after the other, never both at "
    "once, the wheels of the end that stands chocked."
)


def near(problem: Problem, step: Step) -> bool:
    """Whether hands are where a running engine reaches them."""
    if step.kind in ("take", "refit"):
        regions: Iterable[str] = (problem.components[step.what].region,)
    else:
        off = (c for need in work_of(problem, step).needs for way in need for c in way)
        regions = [
            problem.components[c.name].region
            for c in off if c.kind == "off" and c.name in problem.components
        ]  # fmt: skip
    return any(region.startswith(NEAR) for region in regions)


def runs(problem: Problem, step: Step) -> bool:
    """Whether the engine runs for it."""
    return work_of(problem, step).engine == "runs"


def at_once(problem: Problem, one: Step, other: Step) -> bool:
    """Whether one runs the engine and hands of the other are where it reaches them."""
    if not (one.who and other.who):
        return False
    return (runs(problem, one) and not runs(problem, other) and near(problem, other)) or (
        runs(problem, other) and not runs(problem, one) and near(problem, one)
    )


def meanwhile(problem: Problem, plan: Plan, steps: Iterable[Step]) -> Iterator[tuple[str, Step]]:
    """What is to be said on the card of these steps, each with the step of others that it is of."""
    mine = tuple(steps)
    others = [s for s in plan.steps if s not in mine and s.who and s.end > s.start]
    said: set[tuple[str, Step]] = set()
    for step in mine:
        for other in others:
            if not (step.start < other.end and other.start < step.end) or not step.who:
                continue
            for words in _of(problem, step, other):
                if (words, other) not in said:
                    said.add((words, other))
                    yield words, other


def _of(problem: Problem, step: Step, other: Step) -> Iterator[str]:
    if at_once(problem, step, other):
        yield RUNS if runs(problem, other) else RUNNING
    if "jack" in set(work_of(problem, step).apart) & set(work_of(problem, other).apart):
        yield JACK
