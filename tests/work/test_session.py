"""The schedule of one session against every schedule there is, as the checker judges them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from itertools import combinations, permutations, product
from random import Random

import pytest

from drybuild.work import checker
from drybuild.work.held import HANDS_IN, TO_ITSELF
from drybuild.work.model import (
    After,
    Clause,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Need,
    Plan,
    Presence,
    Problem,
    Requirement,
    Session,
    Step,
    Work,
)
from drybuild.work.schedule.session import (
    Clash,
    Facts,
    Fit,
    Stand,
    Unsettled,
    fit_session,
    stand_after,
    stand_of,
)

MORNING = 40


def hours(length: float) -> Hours:
    return Hours(length, length, length)


class Small:
    """An invented car of a few parts, with everything that conditions can be."""

    def __init__(self, seed: int) -> None:
        self.random = random = Random(seed)
        self.parts = ["a", "b"][: random.choice((1, 2))]
        self.effects = ["e", "f"][: random.choice((0, 1, 2))]
        self.jobs = ["j", "k", "l"][: random.choice((1, 2, 3))]
        self.window = random.choice((4, 5, 6))

    def condition(self) -> Condition:
        chance, random = self.random.random(), self.random
        if chance < 0.3:
            return Condition("off", random.choice(self.parts))
        if chance < 0.5:
            return Condition("on", random.choice(self.parts))
        if chance < 0.7 and self.effects:
            return Condition("clear", random.choice(self.effects))
        return Condition("use", "go") if chance < 0.9 else Condition("tool", "lift")

    def needs(self, chance: float) -> Iterator[Requirement]:
        for _ in range(2):
            if self.random.random() > chance:
                return
            ways = range(self.random.choice((1, 1, 2)))
            yield tuple(tuple(self.condition() for _ in range(1 + (w % 2))) for w in ways)

    def work(self, needing: float, causing: float) -> Work:
        random = self.random
        return Work(
            hours(random.choice((0.25, 0.25, 0.5))),
            people=random.choice((1, 1, 1, 2, 0)),
            needs=tuple(self.needs(needing)),
            causes=tuple(e for e in self.effects if random.random() < causing),
            tools=self.held(),
            wait=random.choice((0, 0, 0, 0.25)),
            engine=random.choice(("", "", "", "runs")),
        )

    def held(self) -> tuple[str, ...]:
        chance = self.random.random()
        if chance < 0.2:
            return ("press",)
        return (TO_ITSELF,) if chance < 0.35 else (HANDS_IN,) if chance < 0.6 else ()

    def stops(self) -> tuple[str, ...]:
        return tuple(use for use in ("go", "pre") if self.random.random() < 0.4)

    def effect(self, name: str) -> Effect:
        passes = self.random.random() < 0.3
        clearing = Job(f"clear:{name}", name, "fill", "", self.work(0.2, 0))
        lasting = 0.5 if passes else 0.0
        return Effect(name, name, self.stops(), None if passes else clearing, lasting, owed=False)

    def job(self, name: str) -> Job:
        random = self.random
        earlier = self.jobs[: self.jobs.index(name)]
        return Job(
            name,
            name,
            "fit",
            "",
            self.work(0.6, 0.3),
            after=tuple(
                After(j, random.choice((0, 0.25))) for j in earlier if random.random() < 0.2
            ),
            clears=tuple(e for e in self.effects if random.random() < 0.15),
            earliest=random.choice((0, 0, 0, MORNING + 2)),
            who=random.choice(((), (), (), ("P",), ("Q", "P"))),
        )

    def problem(self) -> Problem:
        random, end = self.random, MORNING + self.window
        components = {
            n: Component(n, n, "", self.work(0.15, 0.3), self.work(0.15, 0.1), self.stops())
            for n in self.parts
        }
        people = [
            Presence("P", MORNING, end),
            Presence("Q", MORNING + random.choice((0, 0, 2)), end),
        ]
        tools = frozenset({"lift"} if random.random() < 0.5 else ())
        clauses = ()
        if len(self.jobs) > 1 and random.random() < 0.5:
            clauses = (Clause("go", frozenset(self.jobs[:1]), frozenset(self.jobs[1:2]), "taught"),)
        return Problem(
            zero=datetime(2026, 1, 1),
            components=components,
            effects={name: self.effect(name) for name in self.effects},
            jobs={name: self.job(name) for name in self.jobs},
            sessions=(
                Session("s", "s", MORNING, end, tuple(people[: 1 + (seed_odd(random))]), tools),
            ),
            prerequisites={"go": frozenset({"go", "pre"})} if random.random() < 0.5 else {},
            tools={"press": 1, TO_ITSELF: 1},
            clauses=clauses,
            off=frozenset(n for n in self.parts if random.random() < 0.4),
            pending=frozenset(e for e in self.effects if random.random() < 0.4),
            done=frozenset(j for j in self.jobs if random.random() < 0.2),
        )


def seed_odd(random: Random) -> bool:
    return random.random() < 0.7


LATER = (
    "still off at the end", "is never cleared", "how the car stands", "aims are", "is done 0 times",
    "session ends for",
)  # fmt: skip
"""What the checker says of a plan that one session does not have to be."""


def faults(problem: Problem, steps: tuple[Step, ...]) -> list[str]:
    plan = Plan(tuple(sorted(steps, key=lambda s: (s.start, s.end))), (), ())
    said = checker.faults(problem, plan)
    return [fault for fault in said if not any(words in fault for words in LATER)]


def everything(problem: Problem) -> list[str]:
    found = [f"{kind}:{name}" for name in problem.components for kind in ("take", "refit")]
    found += [f"job:{name}" for name in problem.jobs if name not in problem.done]
    return found + [f"clear:{n}" for n, e in problem.effects.items() if e.clearing is not None]


def each_step(problem: Problem, facts: Facts, key: str) -> list[Step]:
    session, work, length = problem.sessions[0], facts.work(key), facts.lengths[key]
    kind, what = key.split(":", 1)
    names = [person.name for person in session.people]
    job = facts.job(key)
    who = (permutations if job is not None and job.who else combinations)(names, work.people)
    ways = list(product(*(r for r in work.needs if len(r) > 1)))
    return [
        Step(kind, what, session.id, at, at + length, tuple(held), tuple(way))  # type: ignore[arg-type]
        for held in who
        for at in range(session.start, session.end - length + 1)
        for way in ways
    ]


def exists(problem: Problem, keys: frozenset[str]) -> bool:
    """Whether any start, anyone and any way for every task makes what the checker takes."""
    facts = Facts(problem)
    steps = [each_step(problem, facts, key) for key in sorted(keys)]

    def go(placed: tuple[Step, ...]) -> bool:
        if len(placed) == len(steps):
            return not faults(problem, placed)
        return any(
            go((*placed, step))
            for step in steps[len(placed)]
            if not any(
                set(step.who) & set(one.who) and step.start < one.end and one.start < step.end
                for one in placed
            )
        )

    return go(())


def some(problem: Problem, random: Random) -> frozenset[str]:
    """A few tasks, not all of them senseless."""
    found = {key for key in everything(problem) if random.random() < 0.5}
    for name in problem.components:
        if name in problem.off:
            found.discard(f"take:{name}")
        elif f"refit:{name}" in found:
            found.add(f"take:{name}")
    return frozenset(sorted(found)[:3])


@pytest.mark.parametrize("seed", range(50))
def test_it_fits_where_anything_does_and_a_clash_holds_whatever_else_is_done(seed: int) -> None:
    problem = Small(seed).problem()
    keys = some(problem, Random(seed))
    if not keys:
        keys = frozenset(everything(problem)[:1])
    found = fit_session(problem, problem.sessions[0], keys, stand_of(problem))
    assert not isinstance(found, Unsettled)
    assert isinstance(found, Fit) == exists(problem, keys)
    if isinstance(found, Fit):
        assert faults(problem, found.steps) == []
        assert {step.key for step in found.steps} == keys
        return
    assert found.keys <= keys
    assert not found.absent & keys
    others = [k for k in everything(problem) if k not in found.keys and k not in found.absent]
    for count in range(1, 3 - len(found.keys) + 1):
        for more in combinations(others, count):
            assert not exists(problem, found.keys | frozenset(more))
    if not found.stands:
        other = replace(problem, off=frozenset(problem.components) - problem.off, done=frozenset())
        assert not exists(other, found.keys)


# By hand.


def simple(**changed: object) -> Problem:
    """Invented: a bumper in front of a cooler, a day of eight hours, two people."""
    one = Work(hours(1))
    need_off: tuple[Requirement, ...] = (((Condition("off", "bumper"),),),)
    cooler = Job("cooler", "cooler", "fit", "front", Work(hours(2), needs=need_off))
    drain = Job("drain", "drain", "fit", "front", Work(hours(1), causes=("coolant",)))
    fill = Job(
        "clear:coolant", "fill", "fill", "front", Work(hours(0.5), wait=0.5), clears=("coolant",)
    )
    run_need: tuple[Requirement, ...] = (((Condition("use", "run"),),),)
    test = Job("test", "test", "test", "front", Work(hours(0.5), people=2, needs=run_need))
    problem = Problem(
        zero=datetime(2026, 1, 1),
        components={"bumper": Component("bumper", "bumper", "front", one, one, ("drive",))},
        effects={"coolant": Effect("coolant", "coolant", ("run",), fill)},
        jobs={job.id: job for job in (cooler, drain, test)},
        sessions=(
            Session("day", "Saturday", 36, 68, (Presence("P", 36, 68), Presence("Q", 36, 68))),
            Session("next", "Sunday", 132, 164, (Presence("P", 132, 164),)),
        ),
        prerequisites={"drive": frozenset({"drive", "run"})},
    )
    return replace(problem, **changed)  # type: ignore[arg-type]


def fitted(
    problem: Problem, *keys: str, stand: Stand | None = None, day: int = 0
) -> dict[str, Step]:
    stand = stand_of(problem) if stand is None else stand
    found = fit_session(problem, problem.sessions[day], keys, stand)
    assert isinstance(found, Fit), found
    return {step.key: step for step in found.steps}


def clash(problem: Problem, *keys: str, stand: Stand | None = None, day: int = 0) -> Clash:
    stand = stand_of(problem) if stand is None else stand
    found = fit_session(problem, problem.sessions[day], keys, stand)
    assert isinstance(found, Clash), found
    return found


def test_work_stands_in_order() -> None:
    found = fitted(
        simple(),
        "take:bumper",
        "refit:bumper",
        "job:cooler",
        "job:drain",
        "clear:coolant",
        "job:test",
    )
    assert found["take:bumper"].end <= found["job:cooler"].start
    assert found["job:cooler"].end <= found["refit:bumper"].start
    test, drain, fill = found["job:test"], found["job:drain"], found["clear:coolant"]
    assert test.end <= drain.start or test.start >= fill.end + 2
    assert set(test.who) == {"P", "Q"}


def test_what_stands_in_the_way_and_is_not_taken_off_is_named() -> None:
    found = clash(simple(), "job:cooler")
    assert found.missing == (Condition("off", "bumper"),)
    assert found.keys == {"job:cooler"}
    assert found.absent == {"take:bumper"}
    assert found.stands


def test_more_hours_than_the_day_has_is_a_clash_of_those_tasks_alone() -> None:
    long = {f"j{k}": Job(f"j{k}", "", "fit", "", Work(hours(6))) for k in range(3)}
    problem = simple(jobs={**long, "short": Job("short", "", "fit", "", Work(hours(1)))})
    found = clash(problem, "job:short", *(f"job:{name}" for name in long))
    assert (found.keys, found.absent, found.stands) == (
        {f"job:{n}" for n in long},
        frozenset(),
        False,
    )
    assert "18 person-hours" in found.words


def test_a_wait_from_an_earlier_session_holds() -> None:
    problem = simple()
    wet = Work(hours(1), wait=96.0)
    problem = replace(
        problem,
        components={"bumper": replace(problem.components["bumper"], take=wet)},
    )
    first = fitted(problem, "take:bumper")
    stand = stand_after(problem, stand_of(problem), tuple(first.values()))
    assert stand.off == {"bumper"}
    assert stand.ended == {"take:bumper": first["take:bumper"].end}
    found = clash(problem, "job:cooler", stand=stand, day=1)
    assert (found.keys, found.stands) == ({"job:cooler"}, True)
    dry = replace(stand, ended={"take:bumper": -400})
    assert fitted(problem, "job:cooler", stand=dry, day=1)["job:cooler"].start == 132


def test_filled_in_time_for_what_is_needed_afterwards() -> None:
    problem = simple(needs=(Need("drive", "day", 60),))
    found = fitted(problem, "job:drain", "clear:coolant", "job:test")
    assert found["clear:coolant"].end + 2 <= 60
    problem = simple(needs=(Need("drive", "day", 43),))
    assert clash(problem, "job:drain", "clear:coolant").keys == {"job:drain", "clear:coolant"}


def test_only_who_may_and_only_while_they_are_there() -> None:
    people = (Presence("P", 36, 68), Presence("Q", 60, 68))
    own = Job("own", "", "fit", "", Work(hours(2)), who=("Q",))
    both = Job("both", "", "fit", "", Work(hours(1), people=2))
    other = Job("other", "", "fit", "", Work(hours(7)), who=("P",))
    problem = simple(
        jobs={job.id: job for job in (own, both, other)},
        sessions=(Session("day", "Saturday", 36, 68, people),),
    )
    found = fitted(problem, "job:own", "job:other")
    assert found["job:own"].who == ("Q",)
    assert (found["job:own"].start, found["job:other"].who) == (60, ("P",))
    assert clash(problem, "job:own", "job:both").keys == {"job:own", "job:both"}


def test_one_of_a_tool_serves_one_task_at_a_time() -> None:
    jobs = {n: Job(n, "", "fit", "", Work(hours(5), tools=("press",))) for n in ("one", "two")}
    problem = simple(jobs=jobs, tools={"press": 1})
    assert clash(problem, "job:one", "job:two").keys == {"job:one", "job:two"}
    fitted(replace(problem, tools={"press": 2}), "job:one", "job:two")


@pytest.mark.parametrize("held", [(), ("press",), (TO_ITSELF,)])
def test_nobody_works_at_a_car_that_somebody_drives(held) -> None:
    """Eight hours: a drive of five and a job of five go on at once, unless the drive is alone."""
    drive = Job("drive", "", "test", "", Work(hours(5), tools=held))
    other = Job("other", "", "fit", "", Work(hours(5)))
    waits = Job("waits", "", "outside", "", Work(hours(5), people=0))
    problem = simple(
        jobs={job.id: job for job in (drive, other, waits)}, tools={"press": 1, TO_ITSELF: 1}
    )
    fitted(problem, "job:drive", "job:waits")
    if held == (TO_ITSELF,):
        assert clash(problem, "job:drive", "job:other").keys == {"job:drive", "job:other"}
    else:
        fitted(problem, "job:drive", "job:other")


def test_a_distance_lies_between_sessions() -> None:
    again = Job("again", "", "fit", "", Work(hours(1)), after=(After("wheels", 0, 50),))
    wheels = Job("wheels", "", "fit", "", Work(hours(1)))
    problem = simple(jobs={"again": again, "wheels": wheels})
    found = clash(problem, "job:wheels", "job:again")
    assert (found.keys, found.stands) == ({"job:again", "job:wheels"}, False)
    done = Stand(done=frozenset({"wheels"}))
    fitted(problem, "job:again", stand=done, day=1)


def test_a_booking_elsewhere_is_told() -> None:
    booked = Job("align", "", "align", "", Work(hours(1)), sessions=("next",))
    found = clash(simple(jobs={"align": booked}), "job:align")
    assert (found.keys, found.stands, found.words) == (
        {"job:align"}, False, "job:align is booked for next",
    )  # fmt: skip


def test_without_the_exact_search_nothing_is_claimed() -> None:
    jobs = {n: Job(n, "", "fit", "", Work(hours(5), tools=("press",))) for n in ("one", "two")}
    problem = simple(jobs=jobs, tools={"press": 1})
    keys = ("job:one", "job:two")
    found = fit_session(problem, problem.sessions[0], keys, stand_of(problem), exact=False)
    assert isinstance(found, Unsettled)


def test_an_unknown_task_is_refused() -> None:
    problem = simple()
    with pytest.raises(KeyError, match="job:none"):
        fit_session(problem, problem.sessions[0], ("job:none",), stand_of(problem))


def test_a_day_of_thirty_tasks_is_scheduled_and_holds() -> None:
    random = Random(4)
    jobs = {
        f"j{k}": Job(
            f"j{k}", "", "fit", "", Work(hours(random.choice((0.25, 0.5, 0.75))), people=1),
            after=(After(f"j{k - 3}"),) if k > 2 and random.random() < 0.5 else (),
        )
        for k in range(30)
    }  # fmt: skip
    problem = simple(jobs=jobs, sessions=simple().sessions[:1])
    found = fitted(problem, *(f"job:{name}" for name in jobs))
    assert faults(problem, tuple(found.values())) == []
