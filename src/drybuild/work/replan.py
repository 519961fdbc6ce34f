"""The rest of the work planned again from the car as it stands, with as few changes as possible.

What happened is data (``happened``); what is finished comes from the journal (``present``). The new
plan keeps to the old one as far as it can, and every job that moved says where from, where to and
why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from drybuild.examine import OpenBuild
from drybuild.work.examined import plan_examined
from drybuild.work.happened import Happening, after_happenings
from drybuild.work.lessons import Lessons
from drybuild.work.model import NoPlan, Plan, Problem, ToDo
from drybuild.work.wayback import WayBack, ways_back


@dataclass(frozen=True, slots=True)
class Moved:
    """A job that is now in another session. Empty ``before``: it is new; empty ``now``: given up.

    why: in words; what happened, or what it keeps out of the way of.
    """

    job: str
    before: str
    now: str
    why: str


@dataclass(frozen=True)
class Replanned:
    """The plan for what is left. todo: the work as it stands after what happened.

    back: for every session's end at which the car may not drive, the way back to the last state
    in which it may.
    """

    todo: ToDo
    plan: Plan | NoPlan
    moved: tuple[Moved, ...]
    back: tuple[WayBack, ...]


def replan(
    opened: OpenBuild,
    todo: ToDo,
    old: Plan,
    *,
    happened: Iterable[Happening] = (),
    seconds: float = 20.0,
    seed: int = 0,
    suppose: bool | None = None,
) -> Replanned:
    """A plan for the rest, near the old one. todo: as it stands now, before what happened.
    suppose: as ``plan_examined`` has it.

    Raises HappeningRefused for something that names what the work does not know.
    """
    happenings = tuple(happened)
    problem = after_happenings(todo.problem, happenings)
    changed = replace(todo, problem=problem)
    lessons = Lessons(opened.state("now"), opened.registry, problem.jobs)
    plan = plan_examined(
        opened, changed, seconds=seconds, seed=seed, near=old, lessons=lessons, suppose=suppose
    )
    if isinstance(plan, NoPlan):
        return Replanned(changed, plan, (), ())
    moves = moved(todo.problem, problem, old, plan, happenings)
    return Replanned(changed, plan, moves, ways_back(problem, plan, lessons))


def moved(
    before: Problem,
    after: Problem,
    old: Plan,
    new: Plan,
    happened: Iterable[Happening],
    say: Callable[[Happening], str] = str,
) -> tuple[Moved, ...]:
    """Every job whose session changed, with the nearest reason for it.

    say: how what happened is said in a reason.
    """
    was, now = _sessions_of(old), _sessions_of(new)
    gone = {s.id for s in before.sessions} - {s.id for s in after.sessions}
    direct = {name: say(h) for h in happened for name in h.body.values() if isinstance(name, str)}
    found = []
    for job in dict.fromkeys((*was, *now)):
        if was.get(job) == now.get(job) or job in after.done:
            continue
        session = was.get(job, "")
        why = direct.get(job) or direct.get(f"job:{job}") or _why(session, gone, direct)
        found.append(Moved(job, session, now.get(job, ""), why))
    return tuple(found)


def _why(session: str, gone: set[str], direct: dict[str, str]) -> str:
    if not session:
        return "it was not in the plan before"
    if session in gone:
        return f"{session} is over and it was not done"
    if session in direct:
        return direct[session]
    others = ", ".join(dict.fromkeys(direct.values()))
    return f"to make room or to share an opening ({others})" if others else "to share an opening"


def _sessions_of(plan: Plan) -> dict[str, str]:
    return {step.what: step.session for step in plan.steps if step.kind == "job"}
