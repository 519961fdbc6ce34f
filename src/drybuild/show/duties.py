"""What must be done before the day of a session, in words for list, sheet, calendar and screen."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

from drybuild.show.cards_words import cards_text_of
from drybuild.work.beforehand import Duty
from drybuild.work.cards import number_of
from drybuild.work.model import Step
from drybuild.work.sheets import Sheets

BEFORE = "Before the day"


def duty_text(duty: Duty, sheets: Sheets) -> str:
    """``tank driven nearly empty (card 73)``."""
    numbers = (number_of(sheets.cards, step) for step in duty.steps)
    cards = cards_text_of(n for n in numbers if n is not None)
    return f"{duty.words} ({cards})" if cards else duty.words


def duty_lines(sheets: Sheets, session: str, done: Collection[Step] = ()) -> list[str]:
    """Everything to be done before a session. done: tasks that want it no more."""
    return [
        duty_text(duty, sheets) for duty in sheets.duties
        if duty.session == session and not set(duty.steps) <= set(done)
    ]  # fmt: skip


def duties_line(sheets: Sheets, session: str, done: Collection[Step] = ()) -> str:
    """All of it in one line; empty for nothing."""
    said = duty_lines(sheets, session, done)
    return f"{BEFORE}: {'; '.join(said)}" if said else ""


def by_when(duty: Duty, sheets: Sheets) -> datetime:
    """The day before its session."""
    problem = sheets.todo.problem
    return problem.at(problem.session(duty.session).start) - timedelta(days=1)
