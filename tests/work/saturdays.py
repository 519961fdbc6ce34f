"""Small invented problems and plans written out by hand, for outlook, quote, while apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from drybuild.work.durations import planned
from drybuild.work.ends import ends_of, work_of
from drybuild.work.model import (
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Need,
    Plan,
    Presence,
    Problem,
    Session,
    Step,
    ToDo,
    Work,
)

DAY, NINE, HOUR = 96, 36, 4
USES = {"drive": frozenset({"drive", "run"}), "run": frozenset({"run"})}


def fixed(hours: float) -> Hours:
    return Hours(hours, hours, hours)


def about(hours: float) -> Hours:
    """A quarter less to a half more."""
    return Hours(0.75 * hours, hours, 1.5 * hours)


def off(*names: str):
    return tuple(((Condition("off", name),),) for name in names)


def saturday(number: int, *, people=("Ilse", "Marten"), hours: float = 8.0, tools=()) -> Session:
    start = (number - 1) * 7 * DAY + NINE
    end = start + int(hours * HOUR)
    there = tuple(
        Presence(p, start, end) if isinstance(p, str) else Presence(p[0], start + p[1], end)
        for p in people
    )
    return Session(f"sat-{number}", f"Saturday {number}", start, end, there, frozenset(tools))


def monday(number: int, use: str = "drive") -> Need:
    """The use is needed from the end of a Saturday, by Monday at seven."""
    return Need(use, f"sat-{number}", (number - 1) * 7 * DAY + 2 * DAY + 28)


def component(name: str, hours: Hours, *needs: str, stops=("drive",), region="bay", **more):
    work = Work(hours, needs=off(*needs), **more)
    return Component(name, name, region, work, work, stops)


def job(name: str, hours: Hours, *needs: str, kind="fit", region="bay", people=1, **more) -> Job:
    causes, tools = more.pop("causes", ()), more.pop("tools", ())
    wait, engine = more.pop("wait", 0.0), more.pop("engine", "")
    work = Work(hours, people, off(*needs), causes, tools, wait, engine)
    return Job(name, name, kind, region, work, **more)


def clearing(name: str, hours: Hours, *, kind="fill", people=1, stops=("run",), **more) -> Effect:
    fails = more.pop("fails", None)
    work = Work(hours, people)
    made = Job(f"clear:{name}", f"clear {name}", kind, "bay", work, fixed=True, fails=fails)
    return Effect(name, name, stops, made, **more)


def problem(
    *, components: Iterable[Component] = (), jobs: Iterable[Job] = (),
    effects: Iterable[Effect] = (), sessions=None, needs=(), **more,
) -> Problem:  # fmt: skip
    return Problem(
        datetime(2026, 12, 5), {c.id: c for c in components}, {e.id: e for e in effects},
        {j.id: j for j in jobs}, tuple(sessions or (saturday(1), saturday(2))), tuple(needs), USES,
        **more,
    )  # fmt: skip


def plan(made: Problem, *rows: tuple) -> Plan:
    """Rows of (key, session, hours after its start, people …), each as long as it is planned."""
    steps = []
    for key, session, at, *who in rows:
        kind, _, what = key.partition(":")
        start = made.session(session).start + int(at * HOUR)
        step = Step(kind, what, session, start, start, tuple(who))
        end = start + planned(work_of(made, step).hours, made.percentile)
        steps.append(Step(kind, what, session, start, end, tuple(who)))
    steps.sort(key=lambda s: (s.start, s.end))
    return Plan(tuple(steps), ends_of(made, steps), ())


def todo(made: Problem, **more) -> ToDo:
    return ToDo(made, more.pop("notes", {}), **more)


def replace_price(made: Job, price: float) -> Job:
    return replace(made, price=price)


def with_jobs(made: Problem, jobs: dict[str, Job]) -> Problem:
    return replace(made, jobs=jobs)
