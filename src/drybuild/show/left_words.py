"""How the car is left between work sessions: what is off, what is open, what is half done."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.show.cards_words import off_title, short_day
from drybuild.show.lines import wrapped
from drybuild.work.half_done import HalfDone, half_done, half_done_after
from drybuild.work.model import Problem
from drybuild.work.sheets import Sheets

NO_END = "the end of the plan"


def left_lines(sheets: Sheets, session: str) -> list[str]:
    """How the car is left: what is off in order, and what else is open, each in one line."""
    off = [f"{n} {off_title(sheets, name)}" for n, name in enumerate(sheets.ends[session].off, 1)]
    lines = [f"off, in order: {' · '.join(off)}" if off else "nothing is off"]
    return [*lines, *open_lines(sheets, session)]


def open_lines(sheets: Sheets, session: str) -> list[str]:
    """What is left to do beside what is off; what is half done, until when."""
    problem, half = sheets.todo.problem, _half_after(sheets, session)
    said = {one.effect for one in half}
    pending = [n for n in sheets.ends[session].pending if n not in said]
    titles = "; ".join(problem.effects[name].title for name in pending)
    return [*([f"left so: {titles}"] if titles else []), *half_left_lines(sheets, session)]


def half_left_lines(sheets: Sheets, session: str) -> list[str]:
    """What is half done when a session is over, and until when."""
    problem = sheets.todo.problem
    return [
        f"half done until {_day(problem, one.until)}: {half_text(problem, one)}"
        for one in _half_after(sheets, session)
    ]


def half_done_lines(problem: Problem, found: Iterable[HalfDone]) -> list[str]:
    """From when to when each of it, for the plan."""
    lines = ["Left half done while the car is in use"]
    for one in found:
        head = f"  {_day(problem, one.since)} to {_day(problem, one.until)}".ljust(28)
        stops = problem.effects[one.effect].stops if one.effect else ()
        till = f"; it stops {', '.join(stops)}" if stops else ""
        lines += wrapped(f"{head}{half_text(problem, one)}{till}", 28)
    return lines if len(lines) > 1 else []


def half_text(problem: Problem, one: HalfDone) -> str:
    """``charge side opened, not yet tested``, or at which axle alone the parts are changed."""
    if one.effect:
        return problem.effects[one.effect].title
    done, left = (
        "; ".join(problem.jobs[name].title for name in names) for names in (one.done, one.left)
    )
    return f"one axle only: {done}; not yet: {left}"


def _half_after(sheets: Sheets, session: str) -> list[HalfDone]:
    found = half_done(sheets.todo.problem, sheets.ends)
    return half_done_after(found, session, sheets.ends)


def _day(problem: Problem, session: str) -> str:
    return short_day(problem.at(problem.session(session).start)) if session else NO_END
