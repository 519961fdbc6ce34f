"""Job cards of a plan: what is wanted at the car for one stretch of work, and the hold after it.

A card gathers: words from the library, parts and tightening figures from the build, times from the
plan, and what the car may not do afterwards from the checks. It decides nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from drybuild.examine import OpenBuild, Owed
from drybuild.examine.tightening import Joint, joint
from drybuild.work.before import Before
from drybuild.work.ends import work_of
from drybuild.work.evidence import changes_of, job_of, made_by, owed_after
from drybuild.work.hung import Hung, ended_by, hung, together
from drybuild.work.lessons import Lessons
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    Condition,
    Notes,
    Plan,
    Problem,
    Renewable,
    Step,
    ToDo,
)
from drybuild.work.numbering import Numbers, as_printed, numbered
from drybuild.work.openings import conditions
from drybuild.work.pieces import counted
from drybuild.work.poured import named_so, poured
from drybuild.work.standby import stands_by
from drybuild.work.standing import Standing, standing, with_lifting
from drybuild.work.stretches import stretches
from drybuild.work.tightened import tightened
from drybuild.work.to_check import to_check
from drybuild.work.to_set import ToSet, aligns, as_set, set_before, to_set
from drybuild.work.todo import NO_TOOL
from drybuild.work.under import with_under
from drybuild.work.used_up import used_up
from drybuild.work.waits import Waits, waits

_SENTENCE = re.compile(r"(?<=[.?:]) +(?=[A-Z])")

NO_CAUTION = (
    "No caution is written down for this work: read the maker's manual first, and think what can "
    "fall, spring, burn, cut or catch fire."
)
"""Stands where the library has none and the work may hurt somebody as far as the library can tell,
so that silence is not read as harmless there."""


@dataclass(frozen=True, slots=True)
class BenchPart:
    """A part to have on the bench. count: pieces of it."""

    id: str
    title: str
    maker: str
    count: int


@dataclass(frozen=True, slots=True)
class Task:
    """One step on a card. ways: which alternative was chosen, in words; wait: hours that need
    nobody afterwards; over: when those are over, where the session ends before."""

    step: Step
    title: str
    start: datetime
    end: datetime
    who: tuple[str, ...]
    steps: tuple[str, ...]
    ways: tuple[str, ...]
    wait: float
    over: datetime | None = None


@dataclass(frozen=True)
class Card:
    """One stretch of work. number: of ``of``, the highest; left: how many cards there are. hours:
    of persons, as planned.

    tags: to hang before it begins; down: hung before it, to take down when it is done.
    makes: records that are written down on it; records: those that its work makes owed and that
    are made elsewhere; standing: the car when it is done. fingerprint:
    head of the journal from which it was planned. outside: whether others do its job. to_set:
    what an alignment on it is to set, wheel by wheel. before: what others' cards do before it.
    """

    number: int
    of: int
    title: str
    session: str
    session_title: str
    start: datetime
    end: datetime
    who: tuple[str, ...]
    hours: float
    tasks: tuple[Task, ...]
    bench: tuple[str, ...]
    parts: tuple[BenchPart, ...]
    renew: tuple[Renewable, ...]
    cautions: tuple[str, ...]
    joints: tuple[Joint, ...]
    photograph: tuple[str, ...]
    bag: tuple[str, ...]
    verify: tuple[str, ...]
    tags: tuple[str, ...]
    down: tuple[str, ...]
    makes: tuple[Owed, ...]
    records: tuple[Owed, ...]
    standing: Standing
    fingerprint: str = ""
    outside: bool = False
    to_set: tuple[ToSet, ...] = ()
    before: tuple[Waits, ...] = ()
    left: int = 0

    @property
    def steps(self) -> tuple[Step, ...]:
        """The plan's steps on it."""
        return tuple(task.step for task in self.tasks)


def cards(
    opened: OpenBuild,
    todo: ToDo,
    plan: Plan,
    *,
    lessons: Lessons | None = None,
    numbers: Numbers | None = None,
) -> tuple[Card, ...]:
    """Every card of a plan, in the order in which they are begun.

    lessons: what examined the plan, so that no state is examined twice; numbers: that cards keep,
    else they run from 1. Raises ChangeRefused when a job's Changes do not suit the car.
    """
    if lessons is None:
        lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    before = Before(todo.problem, plan)
    cut = as_printed(stretches(todo.problem, plan, before), numbers or {})
    tags = together(hung(todo, plan), cut)
    given, used = numbered(cut, numbers or {}), used_up(todo, plan)
    found = (
        replace(
            _card(opened, todo, plan, lessons, steps, (number, max(given)), tags),
            renew=_renewed(opened, todo, plan, (r for step in steps for r in used[step])),
        )
        for number, steps in zip(given, cut, strict=True)
    )
    return tuple(
        replace(card, before=waits(before, cut, card.steps), left=len(cut)) for card in found
    )


def number_of(found: Iterable[Card], step: Step | None) -> int | None:
    """The number of the card that a step is on."""
    return next((c.number for c in found if step is not None and step in c.steps), None)


def notes_of(todo: ToDo, step: Step) -> Notes:
    """The words of a step; its plain title where the library has none."""
    found = todo.notes.get(step.key)
    if found is not None:
        return found
    problem = todo.problem
    if step.kind in ("take", "refit"):
        title = problem.components[step.what].title
        return Notes(f"{title}: {'off' if step.kind == 'take' else 'on'}")
    job = job_of(problem, step)
    return Notes(job.title if job is not None else step.what)


def tools_of(problem: Problem, step: Step) -> tuple[str, ...]:
    """Tools that a step needs or holds: those of its work and of the ways that were chosen.

    The place where the car stands counts as a tool to the planner; nobody puts it on the bench.
    """
    work = work_of(problem, step)
    only = [way[0] for way in work.needs if len(way) == 1]
    named = [c.name for way in (*only, *step.ways) for c in way if c.kind == "tool"]
    return tuple(dict.fromkeys(t for t in (*named, *work.tools) if t not in NO_TOOL))


def summed(renewables: Iterable[Renewable]) -> tuple[Renewable, ...]:
    """The same renewables with equal ones added up, in the order of their first mention."""
    found: dict[tuple[str, str], Renewable] = {}
    for one in renewables:
        before = found.get((one.name, one.unit))
        if before is None:
            found[one.name, one.unit] = one
            continue
        priced = [p for p in (before.price, one.price) if p is not None]
        found[one.name, one.unit] = replace(
            before, quantity=round(before.quantity + one.quantity, 6),
            price=max(priced) if len(priced) == 2 else None,
        )  # fmt: skip
    return tuple(found.values())


def _card(
    opened: OpenBuild,
    todo: ToDo,
    plan: Plan,
    lessons: Lessons,
    steps: tuple[Step, ...],
    place: tuple[int, int],
    tags: list[tuple[Hung, ...]],
) -> Card:
    problem = todo.problem
    session = problem.session(steps[0].session)
    notes = [notes_of(todo, step) for step in steps]
    end = max(step.end for step in steps)
    after = standing(problem, plan, end, lessons=lessons, notes=todo.notes)
    after = with_lifting(problem, plan, after, lessons)
    start = min(step.start for step in steps)
    jobs = [job_of(problem, step) for step in steps]
    before = tuple(step for step in plan.steps if step.end <= start)
    tools = [_words(tool) for step in steps for tool in tools_of(problem, step)]
    joints = _joints(todo, plan, lessons, steps, after.done)
    makes = made_by(lessons, problem, plan.steps, steps)
    records = _records(problem, lessons, before, steps)
    return Card(
        number=place[0],
        of=place[1],
        title=_title(steps, notes),
        session=session.id,
        session_title=session.title,
        start=problem.at(start),
        end=problem.at(end),
        who=_once(name for step in steps for name in step.who),
        hours=sum(len(s.who) * (s.end - s.start) for s in steps) / QUARTERS_AN_HOUR,
        tasks=tuple(_task(todo, plan, s, n) for s, n in zip(steps, notes, strict=True)),
        bench=_bench((line for n in notes for line in n.bench), tools),
        parts=_parts(opened, todo, steps),
        renew=(),
        cautions=with_under(
            problem, steps, _cautions(line for n in notes for line in n.cautions)
        ) or ((NO_CAUTION,) if joints or makes or records or _may_hurt(problem, steps) else ()),
        joints=joints,
        photograph=_once(line for n in notes for line in n.photograph),
        bag=_once(line for n in notes for line in n.bag),
        verify=to_check(todo, plan, steps),
        tags=_once(tag.line for group in tags for tag in group if tag.by in steps),
        down=_once(t.line for g in tags if ended_by(g) in steps for t in g if t.by not in steps),
        makes=makes,
        records=records,
        standing=after,
        fingerprint=head_of(opened),
        outside=any(j is not None and j.kind == "outside" for j in jobs),
        to_set=_to_set(problem, lessons, before, steps, after.done),
    )


def _renewed(
    opened: OpenBuild, todo: ToDo, plan: Plan, used: Iterable[Renewable]
) -> tuple[Renewable, ...]:
    """What a card uses up; fluids that are parts of the build as those are called."""
    names = opened.build.part_names
    chosen = {name: names.get(part) or _words(part) for name, part in poured(todo, plan).items()}
    return named_so(summed(used), chosen)


def _to_set(
    problem: Problem,
    lessons: Lessons,
    before: tuple[Step, ...],
    steps: tuple[Step, ...],
    done: tuple[str, ...],
) -> tuple[ToSet, ...]:
    """What an alignment on the card is to set; nothing of a card without one."""
    if not any(aligns(changes_of(problem, step)) for step in steps):
        return ()
    return as_set(to_set(lessons.with_columns(done)), set_before(problem, before))


def _may_hurt(problem: Problem, steps: Iterable[Step]) -> bool:
    """Whether work here leaves something to be cleared, has the engine run, or needs a car that may
    not be moved, as one on axle stands. What others do elsewhere has their cautions."""
    for step in steps:
        work, job = work_of(problem, step), job_of(problem, step)
        if job is not None and job.kind == "outside":
            continue
        off = [c.name for c in conditions(problem, step) if c.kind == "off"]
        fixed = any("move" in problem.components[n].stops for n in off if n in problem.components)
        if work.causes or work.engine == "runs" or fixed:
            return True
    return False


def head_of(opened: OpenBuild) -> str:
    """Number and mark of the journal's last entry, as ``Journal.holds`` takes it again."""
    return str(opened.journal.head())


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))


def _cautions(lines: Iterable[str]) -> tuple[str, ...]:
    """The cautions of all tasks, each sentence once: what is read twice is read by nobody."""
    said: set[str] = set()
    found = []
    for line in lines:
        fresh = [one for one in _SENTENCE.split(line) if one not in said]
        said.update(fresh)
        if fresh:
            found.append(" ".join(dict.fromkeys(fresh)))
    return tuple(found)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _bench(lines: Iterable[str], tools: Iterable[str]) -> tuple[str, ...]:
    """Tools in the library's words, and those of the plan that no line names already."""
    said = _once(lines)
    more = (t for t in _once(tools) if not any(t.lower() in line.lower() for line in said))
    return (*said, *more)


def _title(steps: tuple[Step, ...], notes: list[Notes]) -> str:
    """The longest job's; without one, what is cleared, behind the longest task where all that is
    cleared is less than half of the work. What is only taken off or put back is named by its
    first task."""
    titles = {step: words.title for step, words in zip(steps, notes, strict=True)}
    jobs = [step for step in steps if step.kind == "job"]
    if jobs:
        return titles[max(jobs, key=_long)]
    cleared = [step for step in steps if step.kind == "clear"]
    named = cleared[:1] or [steps[0]]
    if cleared and 2 * sum(map(_long, cleared)) < sum(map(_long, steps)):
        named = [max((step for step in steps if step not in cleared), key=_long), *named]
    more = len(steps) - len(named)
    said = ", ".join(titles[step] for step in named)
    return f"{said}, and {more} more" if more and named[0].kind != "clear" else said


def _long(step: Step) -> int:
    """Person-quarters of a step."""
    return max(len(step.who), 1) * (step.end - step.start)


def _task(todo: ToDo, plan: Plan, step: Step, notes: Notes) -> Task:
    problem = todo.problem
    ways = tuple(" and ".join(_condition(todo, c) for c in way) for way in step.ways)
    wait = work_of(problem, step).wait
    over = problem.at(step.end) + timedelta(hours=wait)
    after = over > problem.at(problem.session(step.session).end)
    return Task(
        step, notes.title, problem.at(step.start), problem.at(step.end), step.who,
        (*stands_by(problem, plan, step, notes), *notes.steps), ways, wait,
        over if wait and after else None,
    )  # fmt: skip


def _condition(todo: ToDo, condition: Condition) -> str:
    """A condition in words: ``front wheels off``, ``using stands``."""
    problem, name = todo.problem, condition.name
    if condition.kind in ("off", "on"):
        notes = todo.notes.get(f"{'take' if condition.kind == 'off' else 'refit'}:{name}")
        title = f"{problem.components[name].title} {condition.kind}"
        return notes.title if notes is not None else title
    if condition.kind == "clear":
        return f"{problem.effects[name].title}: no more"
    return f"using {_words(name)}" if condition.kind == "tool" else f"only if it may {name}"


def _parts(opened: OpenBuild, todo: ToDo, steps: tuple[Step, ...]) -> tuple[BenchPart, ...]:
    found = []
    for step in steps:
        if step.kind == "job":
            job = todo.problem.jobs[step.what]
            for part in todo.parts.get(job.id, ()):
                known = opened.build.parts.get(part)
                title = opened.build.part_names.get(part) or _words(part)
                many = counted(job, part, opened.build)
                found.append(
                    BenchPart(part, title, getattr(known, "maker", ""), many)
                )
    return tuple(found)


def _joints(
    todo: ToDo, plan: Plan, lessons: Lessons, steps: tuple[Step, ...], done: tuple[str, ...]
) -> tuple[Joint, ...]:
    """Joints that are tightened on the card, with the figures of what is fitted then."""
    wanted = dict.fromkeys(one for step in steps for one in tightened(todo, plan, step))
    if not wanted:
        return ()
    examination = lessons.with_columns(done)
    return tuple(
        joint(examination, root, axle) if axle else Joint(root, *_UNSAID)
        for root, axle in wanted
    )


_UNSAID = (None, None, None, None, None, False, False)


def _records(
    problem: Problem, lessons: Lessons, before: tuple[Step, ...], steps: tuple[Step, ...]
) -> tuple[Owed, ...]:
    """Hand checks that are owed after these steps and were not before, or not at those places."""
    if not any(changes_of(problem, step) for step in steps):
        return ()
    had = {o.record: o for o in owed_after(lessons, problem, before)[0]}
    now = owed_after(lessons, problem, (*before, *steps))[0]
    return tuple(
        o for o in now if o.record not in had or set(o.places) - set(had[o.record].places)
    )
