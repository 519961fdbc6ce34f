"""What is to be done before the next work session, for the first page and that of the work."""

from __future__ import annotations

from drybuild.show.cards_words import short_day
from drybuild.show.duties import duty_lines
from drybuild.web.workshop import Work


def before_next(work: Work) -> tuple[str, list[str]]:
    """The day of the next session that has not begun, and what is to be done before it."""
    begun, at = {step.session for step in work.so_far.done}, work.sheets.todo.problem.at
    ahead = (s for s in work.sessions() if s.id not in begun and at(s.end) > work.now)
    following = next(ahead, None)
    if following is None:
        return "", []
    day = short_day(at(following.start))
    return day, duty_lines(work.sheets, following.id)
