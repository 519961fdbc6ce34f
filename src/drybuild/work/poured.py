"""Fluids that are chosen as parts: the can that is poured in serves the bleeding too."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.work.model import Plan, Renewable, ToDo


def poured(todo: ToDo, plan: Plan) -> dict[str, str]:
    """Name of a fluid that work uses up → the part of that kind which a job of the plan fits.

    Only where both are wanted in the same sessions and in no other: one can then serves both.
    """
    wanted: dict[str, set[str]] = {}
    chosen: dict[str, tuple[str, set[str]]] = {}
    for step in plan.steps:
        notes = todo.notes.get(step.key)
        for one in notes.renew if notes is not None else ():
            if one.unit:
                wanted.setdefault(one.name, set()).add(step.session)
        if step.kind == "job":
            for change in todo.problem.jobs[step.what].changes:
                if change.kind == "fit" and isinstance(change.value, str):
                    kind = change.target.replace("_", " ")
                    chosen.setdefault(kind, (change.value, set()))[1].add(step.session)
    found = {}
    for name, sessions in wanted.items():
        part, fitted = chosen.get(name.split(",")[0], ("", set()))
        if part and fitted == sessions:
            found[name] = part
    return found


def named_so(
    renewables: Iterable[Renewable], titles: dict[str, str]
) -> tuple[Renewable, ...]:
    """Renewables under the name of what was chosen. titles: name → that of its part."""
    return tuple(
        Renewable(titles.get(r.name, r.name), r.quantity, r.unit, r.price) for r in renewables
    )
