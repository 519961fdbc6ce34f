"""What a measurement would settle between the sessions of the kept plan, for more than one page."""

from __future__ import annotations

from typing import Any

from drybuild.show.cards_words import short_day, uses_text, why_text
from drybuild.show.work_supposed import to_measure_text
from drybuild.web.frame import Frame
from drybuild.work.cards import number_of


def on_the_way(frame: Frame) -> list[dict[str, Any]]:
    """What a measurement would settle between the sessions of the kept plan, session by session;
    nothing while its cards are still being made."""
    work = frame.desk.workshop.ready(frame.opened) if frame.desk.planned() else None
    if work is None:
        return []
    problem = work.sheets.todo.problem
    return [
        {
            "day": short_day(problem.at(problem.session(one.session).start)),
            "stops": [(uses_text(s), why_text(s)) for s in one.stops],
            "measure": [(to_measure_text(m), m.how, m.note_as) for m in one.measure],
            "by": number_of(work.cards, one.by),
        }
        for one in work.wants
    ]
