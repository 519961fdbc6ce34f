"""What a new plan moved, in lines: a long reason is said once."""

from __future__ import annotations

from datetime import datetime

from drybuild.show.happened_words import SAME, moved_lines
from drybuild.show.work_list import aim_text
from drybuild.work.model import Aim, Problem, Session
from drybuild.work.replan import Moved

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
