"""What happens to the work, as data, and how the car stands after finished tasks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import making_todo as making
import pytest

from drybuild.work.happened import (
    KINDS,
    Happening,
    HappeningRefused,
    after_happenings,
    refuse_past,
)
from drybuild.work.model import (
    After,
    Clause,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Presence,
    Problem,
    Session,
    Work,
)
from drybuild.work.present import from_now, stands
from drybuild.work.shopping import shopping

HOUR = Hours(1, 1, 1)


def work(*needs: str, causes: tuple[str, ...] = ()) -> Work:
    return Work(HOUR, 1, tuple(((Condition("off", n),),) for n in needs), causes)


def session(number: int) -> Session:
    start = number * 96 + 36
    people = (Presence("Ilse", start, start + 32), Presence("Marten", start, start + 32))
    return Session(f"day-{number + 1}", "", start, start + 32, people, frozenset({"lift", "press"}))


FILL = Job("clear:coolant", "fill and bleed", "fill", "front", work(), fixed=True)
PROBLEM = Problem(
    zero=datetime(2026, 12, 5),
    components={
        "hose": Component("hose", "hose", "front", work(causes=("coolant",)), work(), ("run",)),
        "turbo": Component("turbo", "turbo", "hot side", work("hose"), work("hose")),
    },
    effects={"coolant": Effect("coolant", "coolant out", ("run",), FILL)},
    jobs={
        "fit": Job("fit", "turbo", "fit", "hot side", work("turbo"), price=700.0),
        "look": Job("look", "look", "inspect", "front", work(), (After("fit"),), fixed=True),
    },
    sessions=(session(0), session(1)),
    clauses=(Clause("run", frozenset({"fit"}), frozenset({"look"}), "why"),),
)


def told(kind: str, **body: Any) -> Problem:
    return after_happenings(PROBLEM, [Happening(kind, body)])


def test_a_late_part_is_not_there_before_its_day() -> None:
    assert told("late", job="fit", until="2026-12-06").jobs["fit"].earliest == 96


def test_someone_away_is_in_no_row_of_that_session() -> None:
    first, second = told("away", person="Marten", session="day-1").sessions
    assert [p.name for p in first.people] == ["Ilse"]
    assert len(second.people) == 2


def test_someone_who_comes_later_is_there_from_then() -> None:
    first, _ = told("away", person="Marten", session="day-1", until="13:00").sessions
    assert first.people[1] == Presence("Marten", 52, 68)


def test_a_shortened_session_ends_for_everybody() -> None:
    first, _ = told("shortened", session="day-1", end="12:30").sessions
    assert (first.end, {p.end for p in first.people}) == (50, {50})


def test_a_lost_session_has_nobody_in_it() -> None:
    first, _ = told("shortened", session="day-1").sessions
    assert (first.end, first.people) == (first.start, ())


def test_a_tool_is_gone_from_one_session_or_from_all() -> None:
    one = told("tool_gone", tool="lift", session="day-1").sessions
    assert ["lift" in s.tools for s in one] == [False, True]
    assert not any("lift" in s.tools for s in told("tool_gone", tool="lift").sessions)


def test_a_broken_stud_is_a_job_while_that_component_is_off() -> None:
    made = told("extra", id="stud", hours=[1, 2, 4], task="refit:turbo").jobs["stud"]
    assert made.work.needs == (((Condition("off", "turbo"),),),)
    assert (made.work.hours, made.region) == (Hours(1, 2, 4), "hot side")


def test_a_task_takes_longer() -> None:
    assert told("longer", task="take:turbo", hours=3).components["turbo"].take.hours.likely == 3
    clearing = told("longer", task="clear:coolant", hours=2).effects["coolant"].clearing
    assert clearing is not None
    assert clearing.work.hours == Hours(2, 2, 2)


def test_a_job_given_up_leaves_no_trace_in_what_follows_it() -> None:
    made = told("dropped", job="fit")
    assert set(made.jobs) == {"look"}
    assert made.jobs["look"].after == ()
    assert made.clauses == ()


def test_a_moved_booking_is_in_no_other_session() -> None:
    assert told("moved", job="look", session="day-2").jobs["look"].sessions == ("day-2",)


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        ("lost", {}, "nothing is known of 'lost'"),
        ("late", {"job": "fti", "until": "2026-12-06"}, "no job 'fti'"),
        ("late", {"job": "fit"}, "until is not said"),
        ("late", {"job": "fit", "until": "soon"}, "expected a date yyyy-mm-dd"),
        ("away", {"person": "Odile", "session": "day-1"}, "no person 'Odile'"),
        ("shortened", {"session": "day-1", "end": "noon"}, "expected a time of day"),
        ("tool_gone", {"tool": "crane"}, "no tool 'crane'"),
        ("extra", {"id": "fit", "hours": 1}, "there is a job 'fit' already"),
        ("extra", {"id": "stud", "hours": [3, 2, 1]}, "low, likely, high"),
        ("extra", {"id": "stud", "hours": 1, "task": "take:roof"}, "no task 'take:roof'"),
        ("longer", {"task": "clear:oil", "hours": 1}, "no task 'clear:oil'"),
        ("longer", {"task": "job:fti", "hours": 1}, "did you mean 'job:fit'"),
        ("worked", {"session": "day-9"}, "no session 'day-9'"),
        ("dropped", {"job": "look"}, "never left out"),
        ("moved", {"job": "look", "session": "day-9"}, "no session 'day-9'"),
    ],
)
def test_what_names_nothing_known_is_refused(kind: str, body: Mapping[str, Any], said: str) -> None:
    with pytest.raises(HappeningRefused, match=said):
        after_happenings(PROBLEM, [Happening(kind, body)])


def test_a_session_that_was_worked_before_its_day_is_no_more() -> None:
    left = told("worked", session="day-1")
    assert left.sessions == PROBLEM.sessions[1:]
    assert {n.session for n in left.needs} <= {s.id for s in left.sessions}


def test_every_kind_is_tried_above() -> None:
    assert set(KINDS) == {
        "late", "away", "shortened", "tool_gone", "extra", "longer", "dropped", "moved", "worked",
    }  # fmt: skip


def test_the_car_stands_as_the_finished_tasks_left_it() -> None:
    def after(*finished: str) -> tuple[set[str], set[str], set[str]]:
        found = stands(PROBLEM.components, PROBLEM.effects, PROBLEM.jobs, finished)
        return set(found.off), set(found.pending), set(found.done)

    assert after("take:hose") == ({"hose"}, {"coolant"}, set())
    assert after("take:hose", "take:turbo", "job:fit") == ({"hose", "turbo"}, {"coolant"}, {"fit"})
    assert after("take:hose", "refit:hose", "clear:coolant") == (set(), set(), set())
    assert after("take:hose", "refit:hose", "clear:coolant", "take:hose")[1] == {"coolant"}
    assert after("take:no such thing") == (set(), set(), set())


def test_what_is_left_begins_now() -> None:
    now = PROBLEM.sessions[0].start + 8
    left = from_now(PROBLEM, now, ["take:hose", "take:turbo", "job:fit"])
    assert left.sessions[0].start == now
    assert {p.start for p in left.sessions[0].people} == {now}
    assert (left.off, left.pending) == ({"hose", "turbo"}, {"coolant"})
    assert set(left.jobs) == {"look"}
    assert left.jobs["look"].after == ()
    later = from_now(PROBLEM, PROBLEM.sessions[0].end, ["take:hose"])
    assert [s.id for s in later.sessions] == ["day-2"]


def test_what_was_cleared_and_owed_before_is_not_owed_twice() -> None:
    owing = from_now(PROBLEM, 0, ["take:hose", "refit:hose"])
    assert owing.pending == {"coolant"}
    assert from_now(owing, 0, ["clear:coolant"]).pending == set()


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"hours": "1_5"}, "found hours '1_5', expected one figure"),
        ({"hours": ["1", "1_5", "30"]}, "expected one figure or low, likely, high"),
        ({"hours": ["1", "2", "inf"]}, "expected one figure or low, likely, high"),
        ({"hours": "nan"}, "found hours 'nan'"),
        ({"hours": "1", "price": "1_000"}, "found price '1_000', expected a number"),
        ({"hours": "1", "people": "1_0"}, "found people '1_0', expected a number"),
        ({"hours": "1", "people": "2.5"}, "found people '2.5', expected a whole number"),
    ],
)
def test_figures_are_read_as_everywhere(body: dict[str, Any], said: str) -> None:
    one = Happening("extra", {"id": "stud", "title": "stud", **body})
    with pytest.raises(HappeningRefused, match=said):
        after_happenings(PROBLEM, (one,))


def test_figures_may_be_typed() -> None:
    body = {"id": "stud", "hours": ["1", "1,5", "3"], "people": "2", "price": "12,50"}
    job = after_happenings(PROBLEM, (Happening("extra", body),)).jobs["stud"]
    assert (job.work.hours, job.work.people, job.price) == (Hours(1, 1.5, 3), 2, 12.5)


def test_what_is_still_to_come_does_not_come_on_a_day_that_is_over():
    today = date(2026, 12, 4)
    for kind in ("late", "extra"):
        refuse_past(Happening(kind, {"until": "2026-12-04"}), today)
        refuse_past(Happening(kind, {}), today)
        with pytest.raises(HappeningRefused, match="is past") as refused:
            refuse_past(Happening(kind, {"until": "2026-12-03"}), today)
        assert refused.value.field == "until"
    refuse_past(Happening("away", {"until": "13:00"}), today)


def test_the_part_of_more_to_do_that_is_still_to_come_is_on_the_list(opened):
    todo = making.todo()
    problem = after_happenings(todo.problem, [Happening("extra", {
        "id": "bolt", "title": "strut bolt cut out", "hours": [1, 1, 1], "until": "2026-12-19",
    })])  # fmt: skip
    job = problem.jobs["bolt"]
    assert job.earliest > 0
    step = replace(making.plan().steps[-1], kind="job", what="bolt")
    plan = replace(making.plan(), steps=(*making.plan().steps, step))
    found = shopping(replace(todo, problem=problem), plan, opened=opened)
    listed = {i.title: i for i in found.items}
    (lot,) = listed["what it takes: strut bolt cut out"].lots
    assert lot.arrives == problem.at(job.earliest)
    here = replace(job, earliest=0)
    problem = replace(problem, jobs={**problem.jobs, "bolt": here})
    titles = [i.title for i in shopping(replace(todo, problem=problem), plan, opened=opened).items]
    assert not any("strut bolt" in title for title in titles)
