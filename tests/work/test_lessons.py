"""What examinations teach the planner: no clause says more than the checks, and none says less."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from drybuild.build import Change, job_changes
from drybuild.examine import open_build
from drybuild.work.lessons import Lessons, merged, violated
from drybuild.work.model import Clause, Hours, Job, Work

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover_saturdays"
AN_HOUR = Work(Hours(1, 1, 1))


@pytest.fixture(scope="module")
def lessons() -> Lessons:
    opened = open_build(EXAMPLE)
    jobs = {
        job.id: Job(job.id, job.title, "fit", "", AN_HOUR, changes=job_changes(job))
        for job in opened.build.jobs
    }
    return Lessons(opened.state("now"), opened.registry, jobs)


def some_sets(lessons: Lessons, number: int) -> list[frozenset[str]]:
    names, dice = sorted(lessons.jobs), random.Random(11)
    return [frozenset(dice.sample(names, dice.randint(1, len(names)))) for _ in range(number)]


def test_what_stops_a_use_is_a_case_of_a_clause_learned_from_it(lessons: Lessons) -> None:
    stopped = 0
    for done in some_sets(lessons, 10):
        clauses = lessons.clauses("drive", done)
        assert bool(clauses) == bool(lessons.stopped("drive", done))
        stopped += bool(clauses)
        for hold in lessons.stopped("drive", done):
            same = [c for c in clauses if (c.check, c.subject) == (hold.check, hold.subject)]
            assert any(violated(c, done) for c in same)
    assert stopped > 2


def test_a_look_at_the_asked_uses_alone_says_of_them_what_the_whole_look_says(
    lessons: Lessons,
) -> None:
    asked = frozenset({"drive", "creep"})
    alone = replace(lessons, asked=asked)
    for done in some_sets(lessons, 6):
        whole, some = lessons.examination(done), alone.of_asked(done)
        assert {use.use for use in some.uses} == asked
        for use in some.uses:
            assert use == whole.use(use.use)
        for use in whole.uses:  # and of the others it is asked in full
            assert alone.stopped(use.use, done) == use.holds


def test_every_case_of_a_clause_is_stopped_by_the_checks(lessons: Lessons) -> None:
    dice = random.Random(5)
    names = sorted(lessons.jobs)
    clauses = {c for done in some_sets(lessons, 6) for c in lessons.clauses("drive", done)}
    assert len(clauses) > 3
    for clause in sorted(clauses, key=lambda c: (c.check, c.subject, sorted(c.done)))[:12]:
        free = [n for n in names if n not in clause.done | clause.not_done]
        done = clause.done | frozenset(dice.sample(free, len(free) // 2))
        assert violated(clause, done)
        holds = lessons.stopped("drive", done)
        assert (clause.check, clause.subject) in {(h.check, h.subject) for h in holds}


def test_a_clause_names_jobs_that_bear_on_the_check_and_no_others(lessons: Lessons) -> None:
    (left, _) = (
        c for c in lessons.clauses("drive", {"front-brakes"}) if "caliper_barrel" in c.check
    )
    assert left.done == {"front-brakes"}
    assert left.not_done == {"wheels"}


def test_a_place_left_empty_names_the_job_that_empties_it(lessons: Lessons) -> None:
    off = Job("pads-off", "", "fit", "", AN_HOUR, changes=(Change("remove", "pads.front"),))
    jobs = {"pads-off": off, "wheels": lessons.jobs["wheels"]}
    found = replace(lessons, jobs=jobs, _seen={}, _last={}).clauses("drive", jobs)
    assert frozenset({"pads-off"}) in {c.done for c in found if c.check == "empty.pads"}


def test_what_the_owner_says_is_not_cured_by_any_job(lessons: Lessons) -> None:
    build = lessons.start.build
    stated = replace(build, head=build.head.model_copy(update={"driving": False}))
    start = replace(lessons.start, build=stated)
    (clause,) = replace(lessons, start=start, _seen={}, _last={}).clauses("drive", ())
    assert (clause.done, clause.not_done) == (frozenset(), frozenset())
    assert "owner says" in clause.why


def test_pairs_that_differ_in_one_job_are_joined() -> None:
    def clause(done: str, not_done: str) -> Clause:
        return Clause("drive", frozenset(done), frozenset(not_done), "", "a", "car")

    four = [clause("ab", "c"), clause("a", "bc"), clause("abc", ""), clause("ac", "b")]
    assert merged(four) == [clause("a", "")]
    assert merged(four[:1] + four[3:]) == [four[0], four[3]]
    other = replace(four[1], check="b")
    assert merged([four[0], other]) == [four[0], other]
