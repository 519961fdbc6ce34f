"""Stretches of work, and what stands on one card together."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import making_todo as making
import pytest

from drybuild.work.before import Before
from drybuild.work.model import (
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Plan,
    Presence,
    Session,
    Step,
    Work,
)
from drybuild.work.stretches import LONG_REST, MOST_TASKS, PHASE, concerned, stretches
from drybuild.work.waits import waits


def test_each_step_is_on_one_card_and_hours_add_up(made):
    plan = making.plan()
    assert sorted(s.key + s.session for c in made for s in c.steps) == sorted(
        s.key + s.session for s in plan.steps
    )
    assert sum(card.hours for card in made) == pytest.approx(plan.aim("hours").value)
    assert [card.number for card in made] == list(range(1, len(made) + 1))
    assert {card.of for card in made} == {len(made)}


def test_a_card_takes_off_does_its_job_and_puts_back(made):
    cooler = making.named(made, "front core of the charge cooler")
    assert [task.step.key for task in cooler.tasks] == [
        "take:bumper_front", "take:charge_pipes", "job:charge-cooler", "refit:charge_pipes",
        "refit:bumper_front",
    ]  # fmt: skip
    assert cooler.who == ("Marten",)
    # two jobs of the same hands are two cards, though nothing comes between them
    brakes, springs = "larger front brakes", "front springs and dampers"
    assert making.named(made, brakes).steps != making.named(made, springs).steps
    # the bleeding has nothing to do with the wheels that come on after it
    assert [task.step.what for task in making.named(made, "fill and bleed the brakes").tasks] == [
        "brakes_open"
    ]
    # what is put back and then looked at for leaks is one stretch
    leaks = making.named(made, "fuel pressure up, look for leaks")
    assert [task.step.key for task in leaks.tasks] == ["refit:fuel_rail", "clear:fuel_open"]


def test_hands_are_the_first_of_each_step(made):
    springs = making.named(made, "front springs and dampers")
    assert springs.who == ("Ilse", "Marten")
    assert {step.who[0] for step in springs.steps} == {"Ilse"}


def bare_plan(rows, needs=None):
    """(kind, what, start, end, who) in one session of twelve hours.

    needs: job or effect → components that must be off for it; all of them where nothing is said.
    """
    session = Session("day", "the day", 0, 48, (Presence("A", 0, 48), Presence("B", 0, 48)))
    steps = tuple(Step(kind, what, "day", start, end, who) for kind, what, start, end, who in rows)
    plain = Work(Hours(1, 1, 1))
    things = sorted({s.what for s in steps if s.kind in ("take", "refit")})

    def work(name):
        wanted = things if needs is None else needs.get(name, ())
        return replace(plain, needs=tuple(((Condition("off", one),),) for one in wanted))

    jobs = {
        s.what: Job(s.what, s.what, "fit", "", work(s.what))
        for s in steps if s.kind in ("job", "clear")
    }  # fmt: skip
    problem = replace(
        making.problem(), sessions=(session,), jobs=jobs,
        components={one: Component(one, one, "", plain, plain) for one in things},
        effects={n: Effect(n, n, (), replace(j, id=f"clear:{n}")) for n, j in jobs.items()},
    )  # fmt: skip
    return problem, Plan(steps, (), ())


def test_a_long_rest_and_a_full_card_begin_a_new_one():
    takes = [("take", f"c{i}", i, i + 1, ("A",)) for i in range(MOST_TASKS + 1)]
    problem, plan = bare_plan(takes)
    assert [len(one) for one in stretches(problem, plan)] == [MOST_TASKS, 1]
    for rest, cards_ in ((LONG_REST, 1), (LONG_REST + 1, 2)):
        problem, plan = bare_plan(
            [("take", "x", 0, 2, ("A",)), ("refit", "x", 2 + rest, 4 + rest, ("A",))]
        )
        assert len(stretches(problem, plan)) == cards_


def test_what_has_nothing_to_do_with_a_job_is_not_on_its_card():
    rows = [
        ("take", "door", 0, 1, ("A",)), ("take", "lid", 1, 2, ("A",)),
        ("job", "lamp", 2, 4, ("A",)), ("refit", "lid", 4, 5, ("A",)),
        ("refit", "roof", 5, 6, ("A",)),
    ]  # fmt: skip

    def cut(needs):
        return [[s.what for s in one] for one in stretches(*bare_plan(rows, needs))]

    assert cut({"lamp": ("lid",)}) == [["door", "lid", "lamp", "lid"], ["roof"]]
    assert cut({"lamp": ()}) == [["door", "lid"], ["lamp"], ["lid", "roof"]]
    assert cut({"lamp": ("roof",)}) == [["door", "lid"], ["lamp"], ["lid", "roof"]]
    assert cut({"lamp": ("roof", "lid")}) == [["door", "lid", "lamp", "lid", "roof"]]


SIDES = [
    ("take", "wheels", 0, 2, ("A",)), ("take", "beam", 2, 4, ("A",)),
    ("job", "bleed", 4, 6, ("B",)), ("refit", "wheels", 6, 8, ("A",)),
    ("job", "set", 8, 9, ("A",)),
]  # fmt: skip
"""One takes wheels and beam off and puts the wheels on; another bleeds in between."""


def test_worked_by_number_a_card_has_before_it_what_it_rests_on():
    problem, plan = bare_plan(SIDES, {"bleed": ("wheels",), "set": ()})
    cut = stretches(problem, plan)
    assert [[s.key for s in one] for one in cut] == [
        ["take:wheels", "take:beam"], ["job:bleed"], ["refit:wheels", ], ["job:set"],
    ]  # fmt: skip
    # where the bleeding wants no wheel off, the wheels go back on the card that took them off
    cut = stretches(*bare_plan(SIDES, {"bleed": (), "set": ()}))
    assert [s.key for s in cut[0]] == ["take:wheels", "take:beam", "refit:wheels"]


def test_a_card_says_what_other_hands_have_done_before_it():
    problem, plan = bare_plan(SIDES, {"bleed": ("wheels", "beam"), "set": ()})
    before = Before(problem, plan)
    cut = stretches(problem, plan, before)
    bleed, wheels = plan.steps[2], plan.steps[3]
    (mine,) = (one for one in cut if bleed in one)
    assert [(w.hand, [s.key for s in w.steps]) for w in waits(before, cut, mine)] == [
        ("A", ["take:wheels", "take:beam"])
    ]
    assert [w.goes_on for w in waits(before, cut, mine)] == [bleed]
    # what its own hands did on a card before is not told to them
    (mine,) = (one for one in cut if wheels in one)
    assert [(w.hand, [s.key for s in w.steps]) for w in waits(before, cut, mine)] == [
        ("B", ["job:bleed"])
    ]


def test_what_a_card_waits_for_stands_with_the_task_that_waits():
    rows = [
        ("take", "lid", 0, 1, ("A",)), ("take", "wheels", 0, 2, ("B",)),
        ("take", "beam", 2, 4, ("A",)),
    ]  # fmt: skip
    problem, plan = bare_plan(rows)
    beam = replace(problem.components["beam"].take, needs=(((Condition("off", "wheels"),),),))
    parts = {**problem.components, "beam": replace(problem.components["beam"], take=beam)}
    before = Before(replace(problem, components=parts), plan)
    cut = (tuple(s for s in plan.steps if s.who == ("A",)), (plan.steps[1],))
    (one,) = waits(before, cut, cut[0])
    assert (one.hand, one.goes_on.what) == ("B", "beam")


def test_cold_work_and_what_had_better_come_first_are_before_it_too():
    rows = [("job", "nuts", 0, 1, ("B",)), ("job", "start", 1, 2, ("A",))]
    problem, plan = bare_plan(rows, {"nuts": (), "start": ()})
    assert not Before(problem, plan).direct(plan.steps[1])
    work = {"nuts": {"engine": "cold"}, "start": {"engine": "runs"}}
    jobs = {n: replace(j, work=replace(j.work, **work[n])) for n, j in problem.jobs.items()}
    assert Before(replace(problem, jobs=jobs), plan).direct(plan.steps[1]) == {plan.steps[0]}
    first = replace(problem.jobs["start"], work=replace(jobs["nuts"].work, first=("job:nuts",)))
    other = replace(problem, jobs={**problem.jobs, "start": first})
    assert Before(other, plan).direct(plan.steps[1]) == {plan.steps[0]}


def test_what_stands_in_front_of_what_a_job_needs_concerns_it():
    problem, plan = making.problem(), making.plan()
    brakes = next(s for s in plan.steps if s.key == "job:front-brakes")
    assert concerned(problem, brakes) == {"wheels_front", "raised"}
    # of several ways, the one that was chosen; where that is not known, all of them
    either = (((Condition("off", "raised"),), (Condition("off", "bumper_front"),)),)
    work = replace(problem.jobs["front-brakes"].work, needs=either)
    jobs = {"front-brakes": replace(problem.jobs["front-brakes"], work=work)}
    other = replace(problem, jobs=jobs)
    assert concerned(other, brakes) == {"raised", "bumper_front"}
    chosen = replace(brakes, ways=((Condition("off", "bumper_front"),),))
    assert concerned(other, chosen) == {"bumper_front"}


def test_what_needs_nobody_goes_with_what_it_waits_on():
    problem, plan = bare_plan(
        [
            ("job", "first", 0, 4, ("A",)), ("job", "other", 0, 2, ("B",)),
            ("refit", "cooling", 4, 8, ()), ("refit", "at once", 0, 1, ()),
        ]
    )  # fmt: skip
    found = {one[0].what: [s.what for s in one] for one in stretches(problem, plan)}
    assert found == {"first": ["first", "cooling"], "other": ["other"], "at once": ["at once"]}


@pytest.mark.parametrize("seed", range(20))
def test_stretches_of_any_plan_keep_to_their_rules(seed):
    chance = random.Random(seed)
    rows, free = [], {"A": 0, "B": 0}
    for number in range(40):
        hand = chance.choice("AB")
        start = free[hand] + chance.choice((0, 0, 0, 1, 6))
        free[hand] = start + chance.randint(1, 3)
        kind = chance.choice(("take", "job", "refit", "clear"))
        rows.append((kind, f"n{number}", start, free[hand], (hand,)))
    chance.shuffle(rows)
    problem, plan = bare_plan(rows)
    found = stretches(problem, plan)
    assert sorted(s.what for one in found for s in one) == sorted(row[1] for row in rows)
    for one in found:
        assert len({s.who[0] for s in one}) == 1
        assert len(one) <= MOST_TASKS
        jobs = [s for s in one if s.kind in ("job", "clear")]
        assert len(jobs) <= 1
        phases = [PHASE[s.kind] for s in one]
        around = {PHASE[s.kind] for s in one if s not in jobs}
        put_back_and_filled = jobs and jobs[0].kind == "clear" and around == {PHASE["refit"]}
        assert phases == sorted(phases) or put_back_and_filled
        for before, after in pairwise(one):
            assert 0 <= after.start - before.end <= LONG_REST
    assert [one[0].start for one in found] == sorted(one[0].start for one in found)
