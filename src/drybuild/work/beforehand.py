"""What must be done before the day of a work session: on its cards it would be read too late."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from drybuild.work.model import Notes, Plan, Step, ToDo


@dataclass(frozen=True, slots=True)
class Duty:
    """One thing to do before a session. steps: the tasks of the session that want it done."""

    words: str
    session: str
    steps: tuple[Step, ...]


def beforehand(todo: ToDo, plan: Plan, done: Collection[Step] = ()) -> tuple[Duty, ...]:
    """Session by session, each thing once, in the order in which its tasks begin. done: steps that
    want it no more."""
    found: dict[tuple[str, str], list[Step]] = {}
    for step in sorted(plan.steps, key=lambda s: (s.start, s.end)):
        if step not in done:
            for words in todo.notes.get(step.key, Notes("")).beforehand:
                found.setdefault((step.session, words), []).append(step)
    return tuple(Duty(words, session, tuple(s)) for (session, words), s in found.items())
