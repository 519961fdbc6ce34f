"""Work that is done lying under the car: its cards say so, whoever raised it, on whatever day."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.work.evidence import job_of
from drybuild.work.model import Problem, Step
from drybuild.work.openings import conditions

UNDER = (
    "Under the car only while it stands on stands or on a lift, never on a jack: look at them and "
    "rock it by hand before anybody goes under."
)
"""Common practice, no source."""

_BEGINS = "Under the car only"
"""How a caution of the library begins that says it already."""

_BELOW = ("under", "gearbox", "driveline", "tank")
"""Words of regions that are reached from below where the car has to be up for them."""


def with_under(problem: Problem, steps: Iterable[Step], said: tuple[str, ...]) -> tuple[str, ...]:
    """Cautions of a card, with that of the car overhead in front where a task of it is below."""
    if any(line.startswith(_BEGINS) for line in said):
        return said
    return (UNDER, *said) if any(_below(problem, step) for step in steps) else said


def _below(problem: Problem, step: Step) -> bool:
    off = [c.name for c in conditions(problem, step) if c.kind == "off"]
    if not any(name.startswith("raised_") for name in off):
        return False
    components = [problem.components[n] for n in (*off, step.what) if n in problem.components]
    job = job_of(problem, step)
    regions = [c.region for c in components] + ([job.region] if job is not None else [])
    return any(word in region for region in regions for word in _BELOW)
