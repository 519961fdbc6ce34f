"""The rest of the work planned again from the car as it stands, with as few changes as possible.

What happened is data (``happened``); what is finished comes from the journal (``present``). The new
plan keeps to the old one as far as it can, and every job that moved says where from, where to and
why.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace

from drybuild.examine import OpenBuild
from drybuild.work.checker import faults
from drybuild.work.ends import ends_of, work_of
from drybuild.work.examined import plan_examined
from drybuild.work.happened import Happening, after_happenings
from drybuild.work.lessons import Lessons
from drybuild.work.model import QUARTERS_AN_HOUR, NoPlan, Plan, Problem, Step, ToDo
from drybuild.work.openings import openings
from drybuild.work.planned import EXPLAINING, Stage, telling_solver
from drybuild.work.wayback import WayBack, ways_back

MOST_SERVED = 2
"""Jobs that tasks moved for, named before the rest is counted."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A job that is now in another session. Empty ``before``: it is new; empty ``now``: given up.

    why: in words; what happened, or what it keeps out of the way of.
    """

    job: str
    before: str
    now: str
    why: str


@dataclass(frozen=True, slots=True)
class TasksMoved:
    """Tasks that are no jobs and are now in another session: what is taken off, refitted, cleared.

    keys: as ``Step.key``. Empty ``before``: they come once more than they did. why: in words: what
    happened, or the jobs that they are done for; empty where neither is known.
    """

    keys: tuple[str, ...]
    before: str
    now: str
    why: str = ""


@dataclass(frozen=True)
class Replanned:
    """The plan for what is left. todo: the work as it stands after what happened.

    tasks: what moved beside jobs. back: for every session's end at which the car may not drive,
    the way back to the last state in which it may.
    """

    todo: ToDo
    plan: Plan | NoPlan
    moved: tuple[Moved, ...]
    back: tuple[WayBack, ...]
    tasks: tuple[TasksMoved, ...] = ()


def replan(
    opened: OpenBuild,
    todo: ToDo,
    old: Plan,
    *,
    happened: Iterable[Happening] = (),
    seconds: float = 40.0,
    seed: int = 0,
    suppose: bool | None = None,
    say: Callable[[Happening], str] = str,
    done: Collection[Step] | None = None,
    tell: Callable[[Stage], None] = lambda stage: None,
) -> Replanned:
    """A plan for the rest, near the old one. todo: as it stands now, before what happened.
    suppose: as ``plan_examined`` has it. say: how what happened is said in a reason. done: steps of
    the old plan that were done as planned, where nothing else is new since: then the rest stays
    as it is, if it still keeps every rule. tell: hears where planning stands.

    Raises HappeningRefused for something that names what the work does not know.
    """
    happenings = tuple(happened)
    problem = after_happenings(todo.problem, happenings)
    changed = replace(todo, problem=problem)
    lessons = Lessons(opened.state("now"), opened.registry, problem.jobs)
    plan: Plan | NoPlan | None = None
    if done is not None and all(one.kind == "worked" for one in happenings):
        plan = rest_of(problem, old, done)
    plan = plan or plan_examined(
        opened, changed, seconds=seconds, seed=seed, near=old, lessons=lessons, suppose=suppose,
        solver=telling_solver(tell), explains=lambda: tell(EXPLAINING),
    )  # fmt: skip
    if isinstance(plan, NoPlan):
        return Replanned(changed, plan, (), ())
    moves = moved(todo.problem, problem, old, plan, happenings, say)
    tasks = moved_tasks(todo.problem, problem, old, plan, happenings, say)
    return Replanned(changed, plan, moves, ways_back(problem, plan, lessons), tasks)


def rest_of(problem: Problem, old: Plan, done: Collection[Step]) -> Plan | None:
    """What is left of a plan of which some steps were done as planned; None where that is no plan
    for ``problem``. The bounds stay: a better rest would have made a better whole."""
    taught = replace(problem, clauses=tuple(dict.fromkeys((*problem.clauses, *old.clauses))))
    try:
        left = [_with_ways(problem, step) for step in old.steps if step not in done]
        rest = replace(old, steps=tuple(left), ends=ends_of(problem, left))
        hours = _hours_of(problem, left)
    except KeyError:  # of a task or a session that is no more
        return None
    spent = old.aim("hours").value - hours
    used = {step.session for step in left}
    last = max((k for k, s in enumerate(problem.sessions, 1) if s.id in used), default=0)
    value = {"hours": hours, "finish": float(last)}
    less = {"hours": spent, "finish": 0.0}
    aims = tuple(
        replace(
            aim, value=value[aim.name],
            bound=min(value[aim.name], max(0.0, aim.bound - less[aim.name])),
        )
        for aim in old.aims
    )  # fmt: skip
    rest = replace(rest, aims=aims)
    return None if faults(taught, rest) else rest


def _with_ways(problem: Problem, step: Step) -> Step:
    """A step with a way for each requirement that still has several: those it had, where it can."""
    several = [r for r in work_of(problem, step).needs if len(r) > 1]
    ways = tuple(next((w for w in step.ways if w in r), r[0]) for r in several)
    return replace(step, ways=ways)


def _hours_of(problem: Problem, steps: Iterable[Step]) -> float:
    """Person-hours."""
    held = sum(work_of(problem, step).people * (step.end - step.start) for step in steps)
    return held / QUARTERS_AN_HOUR


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
    gone, direct = _gone(before, after), _named(happened, say)
    found = []
    for job in dict.fromkeys((*was, *now)):
        if was.get(job) == now.get(job) or job in after.done:
            continue
        session = was.get(job, "")
        why = direct.get(job) or direct.get(f"job:{job}") or _why(session, gone, direct)
        found.append(Moved(job, session, now.get(job, ""), why))
    return tuple(found)


def moved_tasks(
    before: Problem,
    after: Problem,
    old: Plan,
    new: Plan,
    happened: Iterable[Happening],
    say: Callable[[Happening], str] = str,
) -> tuple[TasksMoved, ...]:
    """What of the rest changed its session, those that went the same way together.

    What the old plan had more often was done since, or is not wanted: nothing is said of it.
    """
    was, now = _turns_of(old), _turns_of(new)
    gone, direct = _gone(before, after), _named(happened, say)
    found: dict[tuple[str, str, str], list[str]] = {}
    for key, turns in now.items():
        earlier, later = list(was.get(key, ())), []
        for session in turns:
            if session in earlier:
                earlier.remove(session)
            else:
                later.append(session)
        for n, session in enumerate(reversed(later)):  # what was done since came first
            left = earlier[-1 - n] if n < len(earlier) else ""
            why = direct.get(key) or (_known(left, gone, direct) if left else "")
            why = why or (_open_now(after, key) if session == turns[0] else "")
            found.setdefault((left, session, why), []).append(key)
    return tuple(
        TasksMoved(tuple(keys), left, session, why or _served(after, new, keys, session))
        for (left, session, why), keys in found.items()
    )


def _open_now(problem: Problem, key: str) -> str:
    """That what is put back is off the car as it stands, or what is cleared is owed: what was
    written down made it so."""
    kind, _, what = key.partition(":")
    if kind == "refit" and what in problem.off:
        return "it is off or open now"
    return "it is owed now" if kind == "clear" and what in problem.pending else ""


def _served(problem: Problem, plan: Plan, keys: Collection[str], session: str) -> str:
    """For which jobs of a session a plan has these taken off or put back in it; empty for none."""
    parts = {key.partition(":")[2] for key in keys if key.startswith(("take:", "refit:"))}
    when = {step.what: step for step in plan.steps if step.kind == "job"}
    titles: dict[str, None] = {}
    for one in openings(problem, plan):
        ends = {step.session for step in (one.taken, one.refitted) if step is not None}
        if one.component not in parts or session not in ends:
            continue
        there = [n for n in one.serves if n in when and when[n].session == session]
        titles |= dict.fromkeys(problem.jobs[name].title for name in there)
    named, more = list(titles), len(titles) - MOST_SERVED
    if more > 0:
        return f"for {', '.join(named[:MOST_SERVED])} and {more} more"
    return f"for {' and '.join(named)}" if named else ""


def _gone(before: Problem, after: Problem) -> set[str]:
    return {s.id for s in before.sessions} - {s.id for s in after.sessions}


def _named(happened: Iterable[Happening], say: Callable[[Happening], str]) -> dict[str, str]:
    """What happened, by each name in it."""
    return {name: say(h) for h in happened for name in h.body.values() if isinstance(name, str)}


def _why(session: str, gone: set[str], direct: dict[str, str]) -> str:
    if not session:
        return "it was not in the plan before"
    known = _known(session, gone, direct)
    if known:
        return known
    others = ", ".join(dict.fromkeys(direct.values()))
    return f"to make room or to share an opening ({others})" if others else "to share an opening"


def _known(session: str, gone: set[str], direct: dict[str, str]) -> str:
    """What is known of a session that something left; empty for nothing."""
    if session in gone:
        return f"{session} is over and it was not done"
    return direct.get(session, "")


def _sessions_of(plan: Plan) -> dict[str, str]:
    return {step.what: step.session for step in plan.steps if step.kind == "job"}


def _turns_of(plan: Plan) -> dict[str, list[str]]:
    """Session by session, what is no job, as often as it comes."""
    found: dict[str, list[str]] = {}
    for step in plan.steps:
        if step.kind != "job":
            found.setdefault(step.key, []).append(step.session)
    return found
