"""What a new plan moved, in lines: a long reason is said once."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import saturdays as sat

from drybuild.show.happened_words import SAME, moved_lines, moved_tasks_lines
from drybuild.show.work_list import aim_text
from drybuild.work.happened import Happening
from drybuild.work.model import Aim, Problem, Session
from drybuild.work.replan import Moved, TasksMoved, moved, moved_tasks

SESSIONS = (Session("sat-1", "", 36, 68, ()), Session("sat-2", "", 708, 740, ()))
PROBLEM = Problem(datetime(2026, 12, 5), {}, {}, {}, SESSIONS)
LONG = "to make room or to share an opening (rear springs: their part comes on Tue 22 Dec)"


def test_a_long_reason_of_several_is_said_once_and_a_short_one_each_time() -> None:
    whys = (LONG, "the day falls through", LONG, "the day falls through")
    rows = [Moved(f"job-{n}", "sat-1", "sat-2", why) for n, why in enumerate(whys)]
    assert moved_lines(PROBLEM, PROBLEM, rows) == [
        f"job-0: from Sat 5 Dec to Sat 12 Dec, {LONG}",
        "job-1: from Sat 5 Dec to Sat 12 Dec, because the day falls through",
        f"job-2: from Sat 5 Dec to Sat 12 Dec, {SAME}",
        "job-3: from Sat 5 Dec to Sat 12 Dec, because the day falls through",
    ]


def test_a_bound_that_says_nothing_is_not_said() -> None:
    said = aim_text(PROBLEM, Aim("finish", 2.0, 0.0, "session"))
    assert said.startswith("finished in session 2 of 2 on Sat 12 Dec: ")
    assert "session 0" not in said
    assert "100%" not in said
    assert "none goes below session 1" in aim_text(PROBLEM, Aim("finish", 2.0, 1.0, "session"))


def _two_plans():
    """The same work: the cover goes back, and the aim is seen, a Saturday later; the hose stays."""
    made = sat.problem(
        components=[sat.component("cover", sat.fixed(0.5))],
        jobs=[sat.job("hose", sat.fixed(1), "cover")],
        effects=[sat.clearing("aim", sat.fixed(0.5))],
    )
    old, new = (
        sat.plan(
            made, ("take:cover", "sat-1", 0, "Ilse"), ("job:hose", "sat-1", 1, "Ilse"),
            ("refit:cover", last, 3, "Ilse"), ("clear:aim", last, 4, "Ilse"),
        )
        for last in ("sat-1", "sat-2")
    )  # fmt: skip
    return made, old, new


def test_what_moves_without_a_job_is_said() -> None:
    made, old, new = _two_plans()
    away = Happening("away", {"person": "Ilse", "session": "sat-1"})
    assert moved(made, made, old, new, (away,)) == ()
    rows = moved_tasks(made, made, old, new, (away,), lambda one: "Ilse is not there")
    assert rows == (
        TasksMoved(("refit:cover", "clear:aim"), "sat-1", "sat-2", "Ilse is not there"),
    )
    assert moved_tasks_lines(made, sat.todo(made), rows) == [
        "tasks from Sat 5 Dec to Sat 12 Dec: refit: cover; clear aim, because Ilse is not there"
    ]
    assert moved_tasks(made, made, old, old, (away,)) == ()


def test_no_reason_is_made_up_and_what_was_done_did_not_move() -> None:
    made, old, new = _two_plans()
    (row,) = moved_tasks(made, made, old, new, ())
    assert row.why == ""
    rest = sat.plan(made, ("clear:aim", "sat-1", 4, "Ilse"))  # the cover is on since
    assert moved_tasks(made, made, old, rest, ()) == ()


def test_what_lies_open_or_owed_now_is_said_to_be_why() -> None:
    made, old, new = _two_plans()
    now = replace(made, off=frozenset({"cover"}), pending=frozenset({"aim"}))
    assert {(row.keys, row.why) for row in moved_tasks(made, now, old, new, ())} == {
        (("refit:cover",), "it is off or open now"), (("clear:aim",), "it is owed now"),
    }  # fmt: skip


def test_what_comes_once_more_is_told_from_what_moved() -> None:
    made, old, _ = _two_plans()
    twice = sat.plan(
        made, ("take:cover", "sat-1", 0, "Ilse"), ("refit:cover", "sat-1", 3, "Ilse"),
        ("clear:aim", "sat-1", 4, "Ilse"), ("take:cover", "sat-2", 0, "Ilse"),
        ("job:hose", "sat-2", 1, "Ilse"), ("refit:cover", "sat-2", 3, "Ilse"),
    )  # fmt: skip
    rows = moved_tasks(made, made, old, twice, ())
    assert rows == (TasksMoved(("take:cover", "refit:cover"), "", "sat-2", "for hose"),)
    (line,) = moved_tasks_lines(made, sat.todo(made), rows)
    assert line == "once more, on Sat 12 Dec: take off: cover; refit: cover, for hose"


def test_what_nothing_is_known_of_has_no_reason() -> None:
    said = moved_lines(PROBLEM, PROBLEM, [Moved("springs", "sat-1", "sat-2", "")])
    assert said == ["springs: from Sat 5 Dec to Sat 12 Dec"]
