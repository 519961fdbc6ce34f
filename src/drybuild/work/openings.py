"""What a plan opens, what each opening serves, and how two plans differ part by part."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from drybuild.work.durations import planned
from drybuild.work.ends import work_of
from drybuild.work.model import QUARTERS_AN_HOUR, Condition, Notes, Plan, Problem, Step


@dataclass(frozen=True, slots=True)
class Opening:
    """A component off the car. taken: the step, or None for one that was off at the outset.

    serves: jobs (and clearings, ``clear:<effect>``) done meanwhile that need it off, in order;
    behind: components taken off or refitted meanwhile that need it off.
    """

    component: str
    title: str
    taken: Step | None
    refitted: Step | None
    serves: tuple[str, ...]
    behind: tuple[str, ...]


def openings(problem: Problem, plan: Plan) -> tuple[Opening, ...]:
    """Every opening of a plan, in the order in which they begin."""
    found = []
    for component in problem.components.values():
        steps = [s for s in plan.steps if s.what == component.id and s.kind in ("take", "refit")]
        begun: Step | None = None
        is_off = component.id in problem.off
        for step in steps:
            if step.kind == "take":
                begun, is_off = step, True
            elif is_off:
                found.append(_opening(problem, plan, component.id, begun, step))
                begun, is_off = None, False
        if is_off:
            found.append(_opening(problem, plan, component.id, begun, None))
    return tuple(sorted(found, key=lambda o: (o.taken.start if o.taken else -1, o.component)))


def _opening(
    problem: Problem, plan: Plan, name: str, taken: Step | None, refitted: Step | None
) -> Opening:
    begins = taken.end if taken is not None else -1
    ends = float(refitted.start) if refitted is not None else float("inf")
    serves, behind = [], []
    for step in plan.steps:
        if step.start < begins or step.end > ends or not _needs_off(problem, step, name):
            continue
        if step.kind in ("take", "refit"):
            behind.append(step.what)
        else:
            serves.append(step.what if step.kind == "job" else step.key)
    title = problem.components[name].title
    return Opening(name, title, taken, refitted, tuple(serves), tuple(dict.fromkeys(behind)))


def _needs_off(problem: Problem, step: Step, name: str) -> bool:
    return any(c.kind == "off" and c.name == name for c in conditions(problem, step))


def conditions(problem: Problem, step: Step) -> Iterator[Condition]:
    """What a step of a plan rests on: where there was a choice, the way that it chose."""
    chosen = iter(step.ways)
    for requirement in work_of(problem, step).needs:
        yield from requirement[0] if len(requirement) == 1 else next(chosen, ())


def title_of(problem: Problem, step: Step, notes: Mapping[str, Notes] | None = None) -> str:
    """What a step is, in words: those of its notes where it has any."""
    said = (notes or {}).get(step.key)
    if said is not None and said.title:
        return said.title
    if step.kind == "job":
        return problem.jobs[step.what].title
    if step.kind == "clear":
        clearing = problem.effects[step.what].clearing
        return clearing.title if clearing is not None else problem.effects[step.what].title
    verb = "take off" if step.kind == "take" else "refit"
    return f"{verb}: {problem.components[step.what].title}"


def hours_of(problem: Problem, step: Step) -> float:
    """Person-hours that a plan gives a step."""
    work = work_of(problem, step)
    return work.people * planned(work.hours, problem.percentile) / QUARTERS_AN_HOUR


@dataclass(frozen=True, slots=True)
class Row:
    """How often, and for how many person-hours, two plans do one thing."""

    key: str
    title: str
    times: int
    hours: float
    other_times: int
    other_hours: float

    @property
    def saved(self) -> float:
        """Person-hours that the first plan saves."""
        return self.other_hours - self.hours


@dataclass(frozen=True)
class Comparison:
    """Two plans for the same work. rows: where they differ, most saved first.

    finish: number, from 1, of the last session that the first uses. other_days: on how many days
    the other works; its days need not be sessions of the problem.
    """

    hours: float
    other_hours: float
    finish: int
    other_days: int
    rows: tuple[Row, ...]

    @property
    def saved_share(self) -> float:
        """Share of the other plan's hours that the first saves."""
        return (self.other_hours - self.hours) / self.other_hours if self.other_hours else 0.0


def compare(problem: Problem, plan: Plan, other: Plan) -> Comparison:
    """What two plans of the same problem spend, in all and on each thing that differs."""
    mine, others = _spent(problem, plan), _spent(problem, other)
    rows = []
    for key in dict.fromkeys((*mine, *others)):
        title, times, hours = mine.get(key, ("", 0, 0.0))
        title, other_times, other_hours = others.get(key, (title, 0, 0.0))
        if times != other_times:
            rows.append(Row(key, title, times, hours, other_times, other_hours))
    rows.sort(key=lambda row: (-row.saved, row.key))
    return Comparison(
        sum(h for _, _, h in mine.values()), sum(h for _, _, h in others.values()),
        finish(problem, plan), len({step.session for step in other.steps}), tuple(rows),
    )  # fmt: skip


def finish(problem: Problem, plan: Plan) -> int:
    """Number, from 1, of the last session in which the plan does anything; 0 for none."""
    used = {step.session for step in plan.steps}
    return max((n for n, s in enumerate(problem.sessions, 1) if s.id in used), default=0)


def _spent(problem: Problem, plan: Plan) -> dict[str, tuple[str, int, float]]:
    """Key → title, times, person-hours. Taking off and refitting are one: an opening."""
    times: Counter[str] = Counter()
    hours: defaultdict[str, float] = defaultdict(float)
    titles: dict[str, str] = {}
    for step in plan.steps:
        part = step.kind in ("take", "refit")
        key = f"open:{step.what}" if part else step.key
        titles[key] = problem.components[step.what].title if part else title_of(problem, step)
        times[key] += step.kind != "refit"
        hours[key] += hours_of(problem, step)
    return {key: (titles[key], times[key], hours[key]) for key in titles}
