"""How planning does on the demo of the work: six Saturdays, 25 jobs, the car needed on Mondays.

    python benchmarks/work_demo.py                 all of it, a line each
    python benchmarks/work_demo.py --part variants --json

Parts, each in a process of its own:
whole     the plan with its examinations, as ``drybuild plan`` makes it
solver    the search alone, with what the examinations taught: seconds, memory of the process
variants  ten more builds made from the demo by chance (days, hours, arrivals), the search alone
mishaps   ten things that go wrong, on all 25 jobs: is there a plan for the rest, without a fault
refused   uses that cannot be had: seconds until it is said, and what would help
regions   the plan against one region of the car after the other

seconds are of the processor, wall of the clock; proven: no better plan exists. The demo is
invented.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

from drybuild.examine import OpenBuild, open_build
from drybuild.work.checker import faults
from drybuild.work.examined import plan_examined
from drybuild.work.greedy import by_region
from drybuild.work.happened import Happening
from drybuild.work.model import Clause, Hours, NoPlan, Plan, Problem, Session, ToDo
from drybuild.work.openings import compare
from drybuild.work.reading import to_do
from drybuild.work.replan import replan
from drybuild.work.solve import solve

DEMO = Path(__file__).parents[1] / "examples" / "plover_saturdays"
PARTS = ("whole", "solver", "variants", "mishaps", "refused", "regions")
Row = dict[str, Any]

MISHAPS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("late", {"job": "wheels", "until": "2026-12-13"}),
    ("late", {"job": "turbo", "until": "2027-01-05"}),
    ("away", {"person": "Marten", "session": "sat-1"}),
    ("away", {"person": "Odile", "session": "sat-3"}),
    ("shortened", {"session": "sat-2", "end": "13:00"}),
    ("shortened", {"session": "sat-1"}),
    ("extra", {"id": "stud", "title": "broken stud", "hours": [0.5, 1, 3], "task": "job:turbo"}),
    ("longer", {"task": "job:front-brakes", "hours": [1.5, 2, 2.5]}),
    ("dropped", {"job": "catch-tank"}),
    ("tool_gone", {"tool": "spring compressor", "session": "sat-4"}),
)  # fmt: skip


def timed(made: Any) -> tuple[Any, Row]:
    """A result and how long it took."""
    wall, cpu = time.perf_counter(), time.process_time()
    found = made()
    return found, {
        "seconds": round(time.process_time() - cpu, 1),
        "wall": round(time.perf_counter() - wall, 1),
    }


def searched(problem: Problem, **how: Any) -> tuple[Plan | NoPlan, Row]:
    """The search alone: the plan, how long it took, and how long the first one."""
    begun, first = (time.process_time(), time.perf_counter()), Row()

    def heard(plan: Plan) -> None:
        assert not faults(problem, plan)
        first["first"] = round(time.process_time() - begun[0], 1)
        first["first_wall"] = round(time.perf_counter() - begun[1], 1)
        first["first_hours"] = plan.aim("hours").value

    plan, took = timed(lambda: solve(problem, heard=heard, **how))
    return plan, first | took


def told(found: Plan | NoPlan) -> Row:
    """What is said of a plan."""
    if isinstance(found, NoPlan):
        return {
            "plan": False,
            "open": found.open,
            "why": found.why,
            "relax": [r.words for r in found.relax],
        }
    hours, finish = found.aim("hours"), found.aim("finish")
    return {
        "plan": True, "hours": hours.value, "bound": hours.bound, "finish": int(finish.value),
        "proven": hours.proven and finish.proven,
    }  # fmt: skip


def whole(opened: OpenBuild, todo: ToDo) -> Iterator[Row]:
    """With the examinations."""
    plan, took = timed(lambda: plan_examined(opened, todo))
    yield {**told(plan), **took, "clauses": len(plan.clauses)}


def taught(todo: ToDo) -> Problem:
    """The problem with what examinations of earlier runs taught, as the plan in the folder says."""
    kept = Path(__file__).with_name("work_demo_clauses.json")
    rows = json.loads(kept.read_text(encoding="utf-8"))
    clauses = tuple(
        Clause(r["use"], frozenset(r["done"]), frozenset(r["not_done"]), r["why"]) for r in rows
    )
    return replace(todo.problem, clauses=clauses)


def solver(todo: ToDo) -> Iterator[Row]:
    """The search alone."""
    problem = taught(todo)
    for seed in range(3):
        plan, took = searched(problem, seed=seed)
        bad = list(faults(problem, plan)) if isinstance(plan, Plan) else []
        yield {"seed": seed, **told(plan), **took, "faults": bad}


def variants(todo: ToDo) -> Iterator[Row]:
    """Other builds of the same size."""
    for seed in range(10):
        problem = varied(taught(todo), seed)
        plan, took = searched(problem, seconds=60)
        bad = list(faults(problem, plan)) if isinstance(plan, Plan) else []
        yield {"seed": seed, **told(plan), **took, "faults": bad}


def varied(problem: Problem, seed: int) -> Problem:
    """Hours of each job a fifth more or less, arrivals a week off, a day an hour longer."""
    chance = Random(f"variant {seed}")
    jobs = {}
    for name, job in problem.jobs.items():
        factor = chance.uniform(0.8, 1.1)
        hours = Hours(
            *(h * factor for h in (job.work.hours.low, job.work.hours.likely, job.work.hours.high))
        )
        work = job.work if job.fixed else replace(job.work, hours=hours)
        early = max(0, job.earliest + chance.choice((-672, 0, 0))) if job.earliest else 0
        jobs[name] = replace(job, work=work, earliest=early)
    longer = chance.choice([s.id for s in problem.sessions if s.id.startswith("sat")])
    sessions = tuple(hour_more(s) if s.id == longer else s for s in problem.sessions)
    return replace(problem, jobs=jobs, sessions=sessions)


def hour_more(session: Session) -> Session:
    """The session an hour longer, for those who stay to its end."""
    people = tuple(replace(p, end=p.end + 4) if p.end == session.end else p for p in session.people)
    return replace(session, end=session.end + 4, people=people)


def mishaps(opened: OpenBuild, todo: ToDo) -> Iterator[Row]:
    """Each by itself, against the plan."""
    plan = plan_examined(opened, todo)
    assert isinstance(plan, Plan)
    for kind, body in MISHAPS:
        found, took = timed(
            lambda k=kind, b=body: replan(opened, todo, plan, happened=[Happening(k, b)])
        )
        row = {"mishap": f"{kind} {' '.join(map(str, body.values()))}", **told(found.plan), **took}
        if isinstance(found.plan, Plan):
            problem = replace(found.todo.problem, clauses=found.plan.clauses)
            row |= {"faults": list(faults(problem, found.plan)), "moved": len(found.moved)}
        yield row


def refused(opened: OpenBuild, todo: ToDo) -> Iterator[Row]:
    """Without what the uses take."""
    problem = todo.problem
    for gone in ({"strings", "alignment rack"}, {"spring compressor"}):
        sessions = tuple(replace(s, tools=s.tools - gone) for s in problem.sessions)
        less = replace(todo, problem=replace(problem, sessions=sessions))
        found, took = timed(lambda t=less: plan_examined(opened, t))
        yield {"without": sorted(gone), **told(found), **took}
    tenth = tuple(replace(b, most=b.most * 0.3) for b in problem.budgets)
    found, took = timed(
        lambda: plan_examined(opened, replace(todo, problem=replace(problem, budgets=tenth)))
    )
    yield {"without": ["seven tenths of the money"], **told(found), **took}


def regions(todo: ToDo) -> Iterator[Row]:
    """What sharing saves."""
    problem = taught(todo)
    plan, other = solve(problem), by_region(problem)
    assert isinstance(plan, Plan)
    assert isinstance(other, Plan)
    found = compare(problem, plan, other)
    yield {
        "hours": found.hours, "by_region": found.other_hours, "days_by_region": found.other_days,
        "saved_share": round(found.saved_share, 3),
        "parts": {row.title: row.saved for row in found.rows},
    }  # fmt: skip


def rows_of(part: str) -> Iterator[Row]:
    """The rows of one part, and the memory of the process at the end of each."""
    opened = open_build(DEMO)
    todo = to_do(opened)
    made = {
        "whole": lambda: whole(opened, todo), "solver": lambda: solver(todo),
        "variants": lambda: variants(todo), "mishaps": lambda: mishaps(opened, todo),
        "refused": lambda: refused(opened, todo), "regions": lambda: regions(todo),
    }  # fmt: skip
    for row in made[part]():
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        yield {
            "part": part,
            **row,
            "peak_mb": peak // (1024 if sys.platform != "darwin" else 1 << 20),
        }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--part", choices=PARTS, action="append")
    parser.add_argument("--json", action="store_true", help="one JSON line each")
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    for part in given.part or PARTS:
        if not given.here:
            subprocess.run(
                [
                    sys.executable,
                    __file__,
                    "--here",
                    "--part",
                    part,
                    *(["--json"] if given.json else []),
                ],
                check=True,
            )
            continue
        for row in rows_of(part):
            text = json.dumps(row) if given.json else "  ".join(f"{k} {v}" for k, v in row.items())
            print(text, flush=True)


if __name__ == "__main__":
    main()
