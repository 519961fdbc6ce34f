"""Records along a plan: which hand checks its work makes owed, and which of them it means to make.

A plan counts on the records that its own cards make (bled, aligned, tightened); until somebody has
written them down they are owed all the same. So both are kept apart: owed still, and counted on.
"""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.build import Change, State
from drybuild.build.errors import ChangeRefused
from drybuild.examine import OpenBuild, Owed
from drybuild.examine.uses import records_owed
from drybuild.work.ends import work_of
from drybuild.work.lessons import Lessons
from drybuild.work.model import Job, Problem, Step


def job_of(problem: Problem, step: Step) -> Job | None:
    """The job or clearing that a step is; None for what is taken off or put back."""
    if step.kind == "job":
        return problem.jobs[step.what]
    return problem.effects[step.what].clearing if step.kind == "clear" else None


def changes_of(problem: Problem, step: Step) -> tuple[Change, ...]:
    """What a step makes of the car; what it opens and closes on the way is the plan's account."""
    job = job_of(problem, step)
    found = job.changes if job is not None else ()
    return tuple(change for change in found if change.kind not in ("open", "close"))


def unseen(opened: OpenBuild, problem: Problem, steps: Iterable[Step]) -> tuple[Owed, ...]:
    """Hand checks that are owed as the car stands and stop what these steps have it do, but for
    those that the steps make themselves: an engine that is started before its fuel was looked at.
    """
    asked, makes = set[str](), set[str]()
    for step in steps:
        needs = (c for need in work_of(problem, step).needs for way in need for c in way)
        asked |= {use for c in needs if c.kind == "use" for use in problem.stopping(c.name)}
        makes |= {c.target for c in changes_of(problem, step) if c.kind == "verify"}
    owed = records_owed(opened.present.state, opened.registry)
    return tuple(o for o in owed if asked & set(o.stops) and o.record not in makes)


def car_after(
    lessons: Lessons, problem: Problem, steps: Iterable[Step], *, verified: bool = True
) -> State:
    """The present car after these steps, in the order in which they end.

    verified: with the records that they make. Where the Changes do not suit that order, they are
    taken in the build's, the records last. Raises ChangeRefused when neither goes.
    """
    order = sorted(steps, key=lambda step: step.end)
    changes = [change for step in order for change in changes_of(problem, step)]
    if not verified:
        changes = [change for change in changes if change.kind != "verify"]
    try:
        return lessons.start.after(changes, "planned")
    except ChangeRefused:
        done = {step.what for step in order if step.kind == "job"}
        rest = [c for j in lessons.jobs.values() if j.id in done for c in j.changes
                if c.kind not in ("open", "close", "verify")]  # fmt: skip
        made = [change for change in changes if change.kind == "verify"]
        return lessons.start.after([*rest, *made], "planned")


def owed_after(
    lessons: Lessons, problem: Problem, steps: Iterable[Step]
) -> tuple[tuple[Owed, ...], tuple[Owed, ...]]:
    """Records that are owed still after these steps, and those that the steps mean to have made."""
    chosen = tuple(steps)
    owed = records_owed(car_after(lessons, problem, chosen), lessons.registry)
    bare = records_owed(car_after(lessons, problem, chosen, verified=False), lessons.registry)
    still = {one.record for one in owed}
    return owed, tuple(one for one in bare if one.record not in still)


def made_by(
    lessons: Lessons, problem: Problem, before: Iterable[Step], steps: Iterable[Step]
) -> tuple[Owed, ...]:
    """Records that these steps make, of those that are owed when they do.

    before: the steps of the plan beside them; of each those count that are over when it begins.
    """
    mine = sorted(steps, key=lambda one: one.end)
    others = [step for step in before if step not in mine]
    made: dict[str, Owed] = {}
    for place, step in enumerate(mine):
        so_far = [*(other for other in others if other.end <= step.start), *mine[:place]]
        changes = changes_of(problem, step)
        wanted = {change.target for change in changes if change.kind == "verify"}
        if wanted:
            rest = [change for change in changes if change.kind != "verify"]
            state = car_after(lessons, problem, so_far).after(rest)
            owed = records_owed(state, lessons.registry)
            made.update({one.record: one for one in owed if one.record in wanted})
    return tuple(made.values())
