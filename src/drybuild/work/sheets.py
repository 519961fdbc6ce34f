"""Everything that goes on paper for a plan, gathered once: cards, tags, list, how each day ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from types import MappingProxyType
from typing import Final

from drybuild.examine import OpenBuild
from drybuild.journal import Journal, WorkEntry
from drybuild.work.at_its_hour import at_their_hour, counted
from drybuild.work.beforehand import Duty, beforehand
from drybuild.work.cards import Card, cards, head_of
from drybuild.work.hung import Hung, hung
from drybuild.work.lessons import Lessons
from drybuild.work.library import outline_of
from drybuild.work.model import Plan, Problem, Step, ToDo
from drybuild.work.numbering import Numbers
from drybuild.work.shopping import Shopping, shopping
from drybuild.work.standing import Standing, at_end, with_lifting
from drybuild.work.tags import Tag, plan_sessions, tags

NOTHING_DONE: Final[Mapping[Step, WorkEntry]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Imprint:
    """What every page names. state: from which state it was planned; files: fingerprint of the
    build's files; journal: head of the journal, as printed;
    entries: how many it has."""

    build: str
    state: str
    made: datetime
    files: str
    journal: str
    scenario: str = ""
    entries: int = 0


@dataclass(frozen=True)
class Sheets:
    """A plan as it goes on paper. ends: session id → the car at its end. outline: of the car.
    tags: for a session's end; hung: those that cards ask for. since: what the plan does not know
    of, in words; empty for nothing. duties: what is done before the day of a session."""

    imprint: Imprint
    todo: ToDo
    plan: Plan
    cards: tuple[Card, ...]
    tags: tuple[Tag, ...]
    shopping: Shopping
    ends: dict[str, Standing]
    outline: str = ""
    hung: tuple[Hung, ...] = ()
    since: str = ""
    duties: tuple[Duty, ...] = ()


def sheets(
    opened: OpenBuild,
    todo: ToDo,
    plan: Plan,
    *,
    made: datetime | None = None,
    lessons: Lessons | None = None,
    numbers: Numbers | None = None,
) -> Sheets:
    """All of it. made: date on the paper, else now; numbers: that cards keep. Raises ChangeRefused
    as ``cards`` does."""
    if lessons is None:
        lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    made_so = cards(opened, todo, plan, lessons=lessons, numbers=numbers)
    found = at_their_hour(todo.problem, made_so, todo.notes)
    ends = {
        name: counted(found, name, _at_end(todo, plan, name, lessons))
        for name in plan_sessions(plan)
    }
    ends = as_came_off(todo.problem, plan, ends, opened.journal)
    return Sheets(
        imprint(opened, made or datetime.now()), todo, plan, found, tags(todo, plan, ends),
        shopping(todo, plan, opened=opened), ends, _outline(opened),
        tuple(tag for tag in hung(todo, plan) if tag.by is not None),
        duties=beforehand(todo, plan),
    )  # fmt: skip


def as_came_off(
    problem: Problem,
    plan: Plan,
    ends: Mapping[str, Standing],
    journal: Journal,
    done: Mapping[Step, WorkEntry] = NOTHING_DONE,
) -> dict[str, Standing]:
    """The car at the ends of sessions, what is off in the order in which the record says that it
    came off, behind it what is only planned. done: steps of the plan that are written down."""
    off: dict[str, int] = {}
    for entry in journal.work():
        kind, _, name = entry.task.partition(":")
        if entry.what == "done" and kind == "take":
            off[name] = entry.id
    taken = sorted((s for s in plan.steps if s.kind == "take"), key=lambda s: s.start)

    def place(name: str, before: int) -> tuple[bool, int]:
        step = next((s for s in reversed(taken) if s.what == name and s.start < before), None)
        if step is None:
            return False, off.get(name, 0)
        return (False, done[step].id) if step in done else (True, step.start)

    found = {}
    for session, car in ends.items():
        at = problem.session(session).end
        order = sorted(car.off, key=partial(place, before=at))
        found[session] = replace(car, off=tuple(order))
    return found


def _at_end(todo: ToDo, plan: Plan, session: str, lessons: Lessons) -> Standing:
    car = at_end(todo.problem, plan, session, lessons=lessons, notes=todo.notes)
    return with_lifting(todo.problem, plan, car, lessons)


def _outline(opened: OpenBuild) -> str:
    """The outline as the owner says it, else the one that goes with the car's."""
    build = opened.build
    return build.work.outline or outline_of(build.outline)


def imprint(opened: OpenBuild, made: datetime) -> Imprint:
    """Build, state, date and fingerprints."""
    entries = opened.journal.entries()
    state = "planned from the car as found"
    if entries:
        day = min(entries[-1].at[:10], f"{made:%Y-%m-%d}")
        state = f"planned from the car as it stood on {day}"
    return Imprint(
        opened.build.head.name, state, made, opened.state("now").inputs_hash, head_of(opened),
        opened.build.head.scenario, len(entries),
    )  # fmt: skip
