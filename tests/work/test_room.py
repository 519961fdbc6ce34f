"""What makes room where the work does not fit: hours counted, whole ways tried one by one."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
import saturdays as sat

from drybuild.build.new import make_build
from drybuild.examine import open_build
from drybuild.findings import Unknown, Verdict
from drybuild.show.no_plan import no_plan_text
from drybuild.values import HowKnown
from drybuild.work import room
from drybuild.work.amount import least_work, saved_by, shared, there, without
from drybuild.work.examined import _cured, without_sessions
from drybuild.work.model import Clause, NoPlan, Plan, Problem, Relaxation
from drybuild.work.room import Way, _more, ways, why_no_room, with_room
from drybuild.work.solve import explain, solve
from drybuild.work.supposed import to_look_up
from work_random import small

LEFT = "do without drive after Saturday 1, together with a work session; and leave out two jobs"


def full(days: int = 2, **more) -> Problem:
    """Bumper off for two jobs; 16 hours of work, 17 with the bumper, for one who has 8 a day."""
    return sat.problem(
        components=[sat.component("bumper", sat.fixed(0.5), stops=())],
        jobs=[
            sat.job("cooler", sat.fixed(5), "bumper"), sat.job("horn", sat.fixed(1), "bumper"),
            sat.job("discs", sat.fixed(6)), sat.job("seat", sat.fixed(4)),
        ],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in range(1, days + 1)], **more,
    )  # fmt: skip


def poor() -> NoPlan:
    return NoPlan(("no plan meets every need",), (Relaxation("need", "drive@sat-1", LEFT, True),))


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_takes_less_than_the_least(seed: int) -> None:
    problem = small(seed)
    plan = solve(problem, seconds=5)
    if isinstance(plan, Plan):
        spent = sum((s.end - s.start) * len(s.who) for s in plan.steps) / 4
        assert least_work(problem).hours <= spent + 1e-9


def test_the_hours_are_counted_with_what_has_to_come_off_once() -> None:
    problem = full()
    assert least_work(problem).hours == 17
    assert there(problem.sessions).hours == 16
    # without the cooler the bumper comes off all the same, for the horn
    assert saved_by(problem) == [("discs", 6), ("cooler", 5), ("seat", 4), ("horn", 1)]
    assert least_work(without(problem, ["cooler", "horn"])).hours == 10


def test_two_people_are_there_while_both_are() -> None:
    here = there([sat.saturday(1, people=("Ilse", ("Marten", 20)))])
    assert (here.hours, here.together) == (11, 3)


def test_a_refusal_for_want_of_hours_says_them_and_each_way_by_itself() -> None:
    problem = full()
    said = with_room(problem, poor())
    assert [(r.kind, r.what, r.at_least) for r in said.relax] == [
        ("session", "another-1", False), ("job", "seat", False),
    ]  # fmt: skip  # without the horn there would be the hours, and no way to divide them
    assert said.relax[0].words.startswith("add one more work session, such as ")
    assert said.relax[0].words.endswith("8 person-hours")
    assert said.relax[1].words == "leave out seat"
    first, jobs, rest = why_no_room(problem, said)
    assert "takes 17 at least, the work sessions have 16 (Sat 5 Dec 8, Sat 12 Dec 8)" in first
    assert first.endswith(": 1 too few")
    assert jobs.endswith("discs 6; cooler 5; seat 4; horn 1")
    many = sat.problem(jobs=[sat.job(f"job {n:02}", sat.fixed(n)) for n in range(1, 9)])
    assert why_no_room(many, poor())[1].endswith("job 03 3; and 2 smaller ones 3")
    assert rest == "the rest of the 17 goes with no job alone: opening and closing for several 1"
    text = no_plan_text(said, problem, folder="car", name="Car")
    assert "Any one of these makes room" in text
    assert "together with" not in text


def test_as_few_jobs_are_left_out_as_will_do_also_where_there_are_more_sessions() -> None:
    left = [
        {len(way.jobs) for way, _ in ways(full(days)) if way.jobs} for days in (1, 2)
    ]
    assert left == [{2}, {1}]
    assert isinstance(solve(without(full(1), ["cooler", "discs"]), seconds=5), Plan)


def test_a_day_is_given_up_only_where_sessions_alone_are_not_enough() -> None:
    """Taken apart on the one day and put together on the next: Monday between is in the way."""
    problem = sat.problem(
        components=[sat.component("wheels", sat.fixed(3))],
        jobs=[sat.job("arms", sat.fixed(4), "wheels")],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in (1, 2)],
        needs=(sat.monday(1), sat.monday(2)),
    )  # fmt: skip
    (way, laid), *_ = ways(problem)
    assert not way.needs
    assert laid
    assert [s.id for s in way.more] == ["after-sat-1"]  # Sunday, before it
    more = NoPlan((), (Relaxation("session", "after-sat-1", "add one more work session"),))
    assert why_no_room(problem, more)[0].endswith("it is the order or the days of need")


@pytest.mark.parametrize("seed", range(8))
def test_the_hours_of_jobs_and_the_rest_add_up(seed: int) -> None:
    problem = small(seed)
    alone = sum(hours for _, hours in saved_by(problem))
    assert alone + sum(shared(problem)) == pytest.approx(least_work(problem).hours)


def test_a_lack_of_less_than_an_hour_is_not_said_between_equal_figures() -> None:
    problem = sat.problem(
        jobs=[sat.job(name, sat.fixed(8.25)) for name in ("arms", "discs", "seat")],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in (1, 2, 3)],
    )  # fmt: skip
    first = next(room.hours_lines(problem))
    assert "takes 24.75 at least, the work sessions have 24 (" in first


def test_no_session_is_offered_on_a_day_on_which_the_car_is_wanted() -> None:
    """Sunday's work once more the day after is Monday's, and on Monday from seven it is driven."""
    sunday = replace(
        sat.saturday(1), id="sun-1", start=sat.saturday(1).start + sat.DAY,
        end=sat.saturday(1).end + sat.DAY,
        people=tuple(
            replace(p, start=p.start + sat.DAY, end=p.end + sat.DAY)
            for p in sat.saturday(1).people
        ),
    )  # fmt: skip
    problem = sat.problem(
        jobs=[sat.job("seat", sat.fixed(1))], sessions=[sat.saturday(1), sunday],
        needs=(replace(sat.monday(1), session="sun-1"),),
    )  # fmt: skip
    free = replace(problem, needs=())
    assert "after-sun-1" in {one.id for more in _more(free, 1) for one in more}
    assert "after-sun-1" not in {one.id for more in _more(problem, 1) for one in more}


def test_a_day_of_every_week_is_wanted_after_a_session_more_as_well() -> None:
    problem = sat.problem(
        jobs=[sat.job("seat", sat.fixed(1))], needs=(sat.monday(1), sat.monday(2)),
        sessions=[sat.saturday(n) for n in (1, 2)],
    )  # fmt: skip
    taken = Way(more=(sat.saturday(3),)).taken(problem)
    assert [need.until for need in taken.needs] == [
        sat.monday(1).until + week * 7 * sat.DAY for week in range(3)
    ]
    assert taken.needs[-1].session == "sat-3"
    assert Way().taken(problem).needs == problem.needs
    once = replace(problem, needs=(sat.monday(2),))
    assert len(Way(more=(sat.saturday(3),)).taken(once).needs) == 1


def test_where_nothing_is_shown_to_be_enough_a_set_is_sought_that_is(monkeypatch) -> None:
    """The wheels come off for longer than one day: on neither Monday is the car whole."""
    problem = sat.problem(
        components=[sat.component("wheels", sat.fixed(3))],
        jobs=[sat.job("arms", sat.fixed(4), "wheels"), sat.job("discs", sat.fixed(4), "wheels")],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in (1, 2)],
        needs=(sat.monday(1), sat.monday(2)),
    )  # fmt: skip
    monkeypatch.setattr(room, "ways", lambda problem: [(Way(jobs=("arms",)), False)])
    first, second = with_room(problem, poor()).relax
    assert (first.kind, first.at_least, first.why) == ("need", False, room.LESS)
    assert first.words == "do without drive on Monday 7 December"
    assert second.at_least
    given = Way(needs=(sat.monday(1),)).taken(problem)
    assert isinstance(solve(given, seconds=5), Plan)


def test_hours_behind_a_day_of_need_say_why_they_help() -> None:
    problem = sat.problem(
        components=[sat.component("wheels", sat.fixed(3))],
        jobs=[sat.job("arms", sat.fixed(4), "wheels", earliest=sat.saturday(2).start)],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in (1, 2)],
        needs=(sat.monday(1), sat.monday(2)),
    )  # fmt: skip
    (longer,) = (one for one in explain(problem).relax if one.kind == "time")
    assert longer.what == "sat-2"
    assert longer.why == (
        "done on Saturday 2 then: arms, so that nothing of it is open on Monday 7 December"
    )


def test_what_stands_in_the_way_beside_a_cure_is_looked_for_as_well() -> None:
    lip = Clause("drive", frozenset(), frozenset(), "the tyre meets the arch", "a.gap", "car")
    needs = (sat.monday(2),)
    short = full(2, needs=needs)
    assert _cured(replace(short, clauses=(lip,))) == short
    roomy = replace(full(4, needs=needs), clauses=(lip,))
    assert _cured(roomy) is roomy  # the cure is all that it wants
    assert _cured(short) is short
    waits = replace(short, clauses=(replace(lip, waits_for="narrowing"),))
    assert _cured(waits) is waits


def test_what_papers_tell_is_looked_up_for_what_would_be_cured(tmp_path) -> None:
    make_build(tmp_path / "car", nearest="front-turbo-hatch", driving="yes")
    opened = open_build(tmp_path / "car")
    seen = opened.examine("finished", draws=512)
    guess = Unknown("pump.relief_pressure", 0.8, HowKnown.ASSUMED)
    unsure = seen.findings[0].but(verdict=Verdict.UNSURE, unknowns=(guess,))
    seen = replace(seen, findings=(unsure, *seen.findings[1:]))
    lessons = SimpleNamespace(with_unknowns=lambda done: seen, start=seen.state)
    clause = Clause("drive", frozenset(), frozenset(), "", unsure.check, unsure.subject)
    (found,) = to_look_up(lessons, frozenset(), [clause])  # type: ignore[arg-type]
    assert (found.note_as, found.share) == ("pump.relief_pressure", 0.8)
    assert found.title == unsure.title
    reading = replace(clause, waits_for="narrowing")  # that one is measured anyway
    assert to_look_up(lessons, frozenset(), [reading]) == ()  # type: ignore[arg-type]


def test_hours_are_not_spoken_of_where_they_are_not_the_cause() -> None:
    late = sat.problem(jobs=[sat.job("late", sat.fixed(1), earliest=10_000)])
    assert why_no_room(late, poor()) == ()
    assert with_room(late, poor()) == poor()
    fix = NoPlan((), (Relaxation("fix", "a b", "cure it first"),))
    assert why_no_room(full(3), fix) == ()
    assert isinstance(without_sessions(sat.problem(jobs=[])), Plan)


def test_a_further_day_of_a_need_is_one_of_its_own_once_a_session_lies_between() -> None:
    """Wanted on two Mondays with nothing between them; then a Saturday is put there."""
    first = sat.monday(1)
    need = replace(first, also=(first.until + 7 * sat.DAY,))
    problem = sat.problem(
        jobs=[sat.job("seat", sat.fixed(1))], needs=(need,),
        sessions=[sat.saturday(n) for n in (1, 3)],
    )  # fmt: skip
    (taken,) = Way().taken(problem).needs
    assert taken == first
    more = Way(more=(sat.saturday(2),)).taken(problem).needs
    assert more == (first, replace(first, session="sat-2", until=need.also[0]))
