"""Who does what, when it is known what is done when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from drybuild.work.model import Problem, Session, Step
from drybuild.work.solve.tasks import Task
from drybuild.work.solve.timing import presence


@dataclass(frozen=True, slots=True)
class Short:
    """A session whose people cannot be given their tasks one after the other."""

    session: str


def staffed(
    problem: Problem, steps: Iterable[Step], tasks: Mapping[str, Task]
) -> tuple[Step, ...] | Short:
    """The steps with names to each; those that have some keep them.

    Tasks are served in order of start. Each takes, of the people who are free and stay until its
    end, those who may do the fewest other things and leave first. When all arrive or all leave
    together and anybody may do anything, this fails only if nothing else would do.
    """
    found: list[Step] = []
    for session in problem.sessions:
        mine = sorted((s for s in steps if s.session == session.id), key=lambda s: (s.start, s.end))
        served = _session(session, mine, tasks) or _session(session, mine, tasks, backward=True)
        if served is None:
            return Short(session.id)
        found += served
    return tuple(sorted(found, key=lambda s: (s.start, s.end, s.key)))


def _session(
    session: Session, steps: list[Step], tasks: Mapping[str, Task], *, backward: bool = False
) -> list[Step] | None:
    present = presence(session)
    busy: dict[str, list[Step]] = {name: [] for name in present}
    asked = [tasks[s.key].job.who for s in steps if tasks[s.key].job is not None]  # type: ignore[union-attr]
    wanted = {name: sum(name in who for who in asked) for name in present}
    order = sorted(steps, key=lambda s: (-s.end, -s.start)) if backward else steps
    found = []
    for step in order:
        task = tasks[step.key]
        if not task.people or step.who:
            names = step.who
        else:
            free = [n for n in present if _free(present[n], busy[n], step)]
            free.sort(key=lambda n: (wanted[n], sum(len(t) for t in present[n]), n))
            chosen = _chosen(task, free)
            if chosen is None:
                return None
            names = chosen
        for name in names:
            busy[name].append(step)
        found.append(replace(step, who=names))
    return found


def _free(times: list[range], busy: list[Step], step: Step) -> bool:
    inside = any(t.start <= step.start and step.end <= t.stop for t in times)
    return inside and all(s.end <= step.start or step.end <= s.start for s in busy)


def _chosen(task: Task, free: list[str]) -> tuple[str, ...] | None:
    """So many of these as the task holds, with those first who may do it."""
    who = task.job.who if task.job is not None else ()
    able = [name for name in free if name in who] if who else free
    if len(able) >= task.people:
        return tuple(able[: task.people])
    if who and able and len(who) < task.people <= len(free):
        others = [name for name in free if name not in able]
        return (*able, *others)[: task.people]
    return None
