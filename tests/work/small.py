"""A small invented problem and two plans for it: two jobs behind one splash guard."""

from __future__ import annotations

from datetime import datetime

from drybuild.work.ends import ends_of
from drybuild.work.model import (
    Aim,
    Clause,
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
    Work,
)

HALF, ONE = Hours(0.5, 0.5, 0.5), Hours(1.0, 1.0, 1.0)
OFF_GUARD = ((Condition("off", "guard"),),)


def problem() -> Problem:
    """Two jobs behind the guard, oil to fill afterwards, two Saturdays."""
    guard = Component("guard", "splash guard", "under", Work(HALF), Work(HALF), stops=("drive",))
    filling = Job("clear:oil", "fill the oil", "fill", "under", Work(HALF, needs=()), fixed=True)
    sessions = tuple(
        Session(
            f"sat-{n}", f"Saturday {n}", start, start + 32,
            (Presence("Ilse", start, start + 32), Presence("Marten", start, start + 32)),
        )
        for n, start in ((1, 36), (2, 36 + 7 * 96))
    )  # fmt: skip
    jobs = (
        Job("cooler", "oil cooler", "fit", "under", Work(ONE, needs=(OFF_GUARD,), causes=("oil",))),
        Job("line", "oil line", "fit", "under", Work(ONE, needs=(OFF_GUARD,))),
    )
    return Problem(
        zero=datetime(2026, 12, 5),
        components={"guard": guard},
        effects={"oil": Effect("oil", "oil is out", ("run", "drive"), filling)},
        jobs={job.id: job for job in jobs},
        sessions=sessions,
        needs=(Need("drive", "sat-1", 36 + 2 * 96),),
        prerequisites={"drive": frozenset({"drive", "run"})},
    )


def step(kind: str, what: str, session: str, start: int, end: int, who: str = "Ilse") -> Step:
    """One step by one person."""
    return Step(kind, what, session, start, end, (who,))  # type: ignore[arg-type]


def together() -> Plan:
    """Both jobs in one opening: 3.5 hours."""
    at = 36
    return made(
        step("take", "guard", "sat-1", at, at + 2),
        step("job", "cooler", "sat-1", at + 2, at + 6),
        step("job", "line", "sat-1", at + 2, at + 6, "Marten"),
        step("refit", "guard", "sat-1", at + 6, at + 8),
        step("clear", "oil", "sat-1", at + 8, at + 10),
    )


def apart() -> Plan:
    """The guard taken off on both Saturdays: 4.5 hours."""
    at, later = 36, 36 + 7 * 96
    return made(
        step("take", "guard", "sat-1", at, at + 2),
        step("job", "cooler", "sat-1", at + 2, at + 6),
        step("refit", "guard", "sat-1", at + 6, at + 8),
        step("clear", "oil", "sat-1", at + 8, at + 10),
        step("take", "guard", "sat-2", later, later + 2),
        step("job", "line", "sat-2", later + 2, later + 6),
        step("refit", "guard", "sat-2", later + 6, later + 8),
    )


def made(*steps: Step) -> Plan:
    """A plan of these steps, with a clause so that every field is used."""
    clause = Clause("drive", frozenset({"line"}), frozenset({"cooler"}), "no oil goes through it")
    aims = (Aim("hours", 3.5, 3.5, "h"), Aim("finish", 1, 1, "session"))
    return Plan(tuple(steps), ends_of(problem(), steps), aims, (clause,), 0.4, 7)
