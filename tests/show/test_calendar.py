"""The calendar of the work: how long somebody is busy. Its form is held to RFC 5545 elsewhere."""

from __future__ import annotations

import making_todo as making

from drybuild.show.calendar import events


def test_a_work_session_is_busy_as_long_as_its_work():
    """Half an hour of work takes nobody's day; what the session is stands in the words."""
    found = making.made_sheets()
    sessions = [event for event in events(found) if event.kind == "work session"]
    assert len(sessions) == len(found.ends)
    at = found.todo.problem.at
    for event, name in zip(sessions, found.ends, strict=True):
        steps = found.plan.of(name)
        assert event.start == at(min(step.start for step in steps))
        assert event.end == at(max(step.end for step in steps))
        assert event.words.startswith("the work session: ")
