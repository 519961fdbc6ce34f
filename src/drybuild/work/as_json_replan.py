"""The JSON of ``done``: what was written down, the new plan, what moved and why."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from drybuild.work.as_json import (
    aim_json,
    clause_json,
    head,
    plain,
    relax_json,
    step_json,
    supposed_json,
    way_back_json,
)
from drybuild.work.happened import Happening
from drybuild.work.model import NoPlan, Step, ToDo
from drybuild.work.replan import Replanned
from drybuild.work.turned import turned


def done_json(
    before: ToDo,
    found: Replanned,
    tasks: Iterable[str],
    happened: Iterable[Happening],
    *,
    build: str,
    version: str,
    left: Collection[Step] = (),
    least: float | None = None,
) -> dict[str, Any]:
    """The whole answer of ``done``. plan: null where none meets every need. left: steps of the plan
    before that were not done; least: person-hours that any plan takes, where that is known."""
    problem, plan = found.todo.problem, found.plan
    return {
        **head("done", build=build, version=version),
        "written": list(tasks),
        "happened": [{"kind": one.kind, "more": plain(one.body)} for one in happened],
        "turned": None
        if isinstance(plan, NoPlan)
        else plain(turned(left, plan, found.moved, found.tasks, least)),
        "moved": [{"job": m.job, "from": m.before, "to": m.now, "why": m.why} for m in found.moved],
        "tasks_moved": [
            {"tasks": list(m.keys), "from": m.before, "to": m.now, "why": m.why}
            for m in found.tasks
        ],
        "steps": None
        if isinstance(plan, NoPlan)
        else [step_json(problem, s, found.todo.notes) for s in plan.steps],
        "aims": [] if isinstance(plan, NoPlan) else [aim_json(a) for a in plan.aims],
        **supposed_json(plan),
        "why": list(plan.why) if isinstance(plan, NoPlan) else [],
        "relax": [relax_json(r) for r in plan.relax] if isinstance(plan, NoPlan) else [],
        "clauses": [clause_json(c) for c in plan.clauses],
        "ways_back": [way_back_json(problem, way) for way in found.back],
    }
