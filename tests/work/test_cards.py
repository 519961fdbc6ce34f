"""Cards, holds, tags and the list, from a plan that is written down by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import making_todo as making
import pytest

import drybuild
from drybuild.build import Change
from drybuild.work.cards import NO_CAUTION, cards, counted, notes_of, number_of, summed
from drybuild.work.checker import faults
from drybuild.work.evidence import car_after, made_by, owed_after
from drybuild.work.lessons import Lessons
from drybuild.work.model import (
    Clause,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Notes,
    Plan,
    Presence,
    Renewable,
    Session,
    Step,
    Work,
)
from drybuild.work.sheets import sheets
from drybuild.work.shopping import shopping
from drybuild.work.standing import (
    NOTHING_LIFTS,
    PASSES,
    Standing,
    Stop,
    at_end,
    standing,
    with_lifting,
)
from drybuild.work.stretches import LONG_REST, MOST_TASKS, PHASE, concerned, stretches
from drybuild.work.tags import ELSEWHERE, tags
from drybuild.work.todo import OWN_PLACE

DEMO = Path(__file__).parents[2] / "examples" / "plover"

SAT_1 = 36
"""Quarter at which the first session begins."""


@pytest.fixture(scope="module")
def opened():
    return drybuild.open_build(DEMO)


@pytest.fixture(scope="module")
def lessons(opened):
    return Lessons(opened.state("now"), opened.registry, making.problem().jobs)


@pytest.fixture(scope="module")
def made(opened, lessons):
    return cards(opened, making.todo(), making.plan(), lessons=lessons)


def named(made, title):
    return next(card for card in made if card.title == title)


def test_the_plan_written_by_hand_holds():
    assert faults(making.problem(), making.plan()) == ()


# How the car stands


def test_off_and_pending_follow_from_the_steps():
    problem, plan = making.problem(), making.plan()
    after_springs = standing(problem, plan, SAT_1 + 11)
    assert after_springs.off == ("raised", "wheels_front", "bumper_front", "charge_pipes")
    # the cooler's job has ended, its sealant cures; the brakes are not open before their job begins
    assert after_springs.pending == ("sealant",)
    assert standing(problem, plan, SAT_1 + 12).pending == ("sealant", "brakes_open")
    assert standing(problem, plan, SAT_1 + 24).pending == ("sealant", "fuel_open")
    assert standing(problem, plan, SAT_1 + 24).done == (
        "charge-cooler", "springs-front", "front-brakes", "injectors",
    )  # fmt: skip


def test_a_task_under_way_counts_as_the_worse_of_before_and_after():
    problem, plan = making.problem(), making.plan()
    taking, putting_back = SAT_1 + 3, SAT_1 + 13  # half way through the bumper, off and on
    assert "bumper_front" in standing(problem, plan, taking).off
    assert "bumper_front" in standing(problem, plan, putting_back).off
    assert "bumper_front" not in standing(problem, plan, SAT_1 + 14).off
    bleeding = standing(problem, plan, SAT_1 + 22)
    assert "brakes_open" in bleeding.pending


def test_at_the_end_of_a_session_two_reckonings_agree():
    problem, plan = making.problem(), making.plan()
    for end in plan.ends:
        found = at_end(problem, plan, end.session)
        assert (frozenset(found.off), frozenset(found.pending), frozenset(found.done)) == (
            end.off, end.pending, end.done,
        )  # fmt: skip


def test_what_passes_by_itself_says_when():
    problem, plan = making.problem(), making.plan()
    stop = next(s for s in at_end(problem, plan, "sat-1").stops if s.what == "sealant")
    # the job ends at 11:30, and it cures for 12 h
    assert (stop.lift, stop.passes) == (PASSES, datetime(2026, 12, 5, 23, 30))
    assert "sealant" not in standing(problem, plan, SAT_1 + 10 + 48).pending


def test_what_lifts_a_hold_is_the_next_step_that_does():
    problem, plan = making.problem(), making.plan()
    stops = {s.what: s for s in at_end(problem, plan, "sat-1").stops}
    assert stops["fuel_rail"].by is not None
    assert stops["fuel_rail"].by.key == "refit:fuel_rail"
    assert stops["fuel_open"].by is not None
    assert stops["fuel_open"].by.key == "clear:fuel_open"
    assert stops["fuel_open"].uses == ("turn over",)
    # what stops nothing is no stop, though it is pending
    assert "wheels_settle" not in stops


def test_an_effect_that_a_job_clears_names_that_job():
    problem, plan = making.problem(), making.plan()
    cured = replace(problem.jobs["first-map"], clears=("fuel_open",))
    changed = replace(problem, jobs={**problem.jobs, "first-map": cured})
    without = replace(plan, steps=tuple(s for s in plan.steps if s.key != "clear:fuel_open"))
    stops = {s.what: s for s in at_end(changed, without, "sat-1").stops}
    assert stops["fuel_open"].by is not None
    assert stops["fuel_open"].by.key == "job:first-map"
    assert "fuel_open" not in at_end(changed, without, "sat-2").pending


def test_a_clause_speaks_where_nothing_is_examined():
    problem = replace(
        making.problem(),
        clauses=(
            Clause("run", frozenset({"injectors"}), frozenset({"first-map"}), "other injectors",
                   "calibration.injector_flow", "car"),
            Clause("drive", frozenset({"injectors"}), frozenset(), "nothing for it", "x", "car"),
        ),
    )  # fmt: skip
    plan = making.plan()
    stops = {s.why: s for s in at_end(problem, plan, "sat-1").stops if s.kind == "jobs"}
    assert stops["other injectors"].uses == ("run",)
    assert stops["other injectors"].lift == "first map flashed"
    assert stops["other injectors"].by is not None
    assert stops["nothing for it"].lift == NOTHING_LIFTS
    left = [s.why for s in at_end(problem, plan, "sat-2").stops if s.kind == "jobs"]
    assert left == ["nothing for it"]


def test_a_stopped_use_stops_those_that_need_it():
    stop = Stop(("run", "creep"), "off", "x", "y")
    car = Standing(0, (), (), (), (stop,))
    assert stop.roots == ("run",)  # creep needs run
    assert car.stopped == {"run", "creep", "drive", "full load", "compete"}
    assert car.open_uses == ("move", "turn over")
    assert car.stopping("drive") == (stop,)
    assert car.stopping("move") == ()
    both = Stop(("move", "turn over", "drive"), "off", "x", "y")
    assert both.roots == ("move", "turn over")


def test_the_checks_speak_of_the_state_of_that_moment(lessons):
    problem, plan = making.problem(), making.plan()
    before = {s.what for s in standing(problem, plan, SAT_1 + 16, lessons=lessons).stops}
    after = {s.what for s in standing(problem, plan, SAT_1 + 20, lessons=lessons).stops}
    flashed = {s.what for s in at_end(problem, plan, "sat-2", lessons=lessons).stops}
    assert "calibration.injector_flow" in after - before - flashed


# Stretches


def test_each_step_is_on_one_card_and_hours_add_up(made):
    plan = making.plan()
    assert sorted(s.key + s.session for c in made for s in c.steps) == sorted(
        s.key + s.session for s in plan.steps
    )
    assert sum(card.hours for card in made) == pytest.approx(plan.aim("hours").value)
    assert [card.number for card in made] == list(range(1, len(made) + 1))
    assert {card.of for card in made} == {len(made)}


def test_a_card_takes_off_does_its_job_and_puts_back(made):
    cooler = named(made, "front core of the charge cooler")
    assert [task.step.key for task in cooler.tasks] == [
        "take:bumper_front", "take:charge_pipes", "job:charge-cooler", "refit:charge_pipes",
        "refit:bumper_front",
    ]  # fmt: skip
    assert cooler.who == ("Marten",)
    # two jobs of the same hands are two cards, though nothing comes between them
    assert named(made, "larger front brakes").steps != named(made, "front springs and dampers")
    # the bleeding has nothing to do with the wheels that come on after it
    assert [task.step.what for task in named(made, "fill and bleed the brakes").tasks] == [
        "brakes_open"
    ]
    # what is put back and then looked at for leaks is one stretch
    leaks = named(made, "fuel pressure up, look for leaks")
    assert [task.step.key for task in leaks.tasks] == ["refit:fuel_rail", "clear:fuel_open"]


def test_hands_are_the_first_of_each_step(made):
    springs = named(made, "front springs and dampers")
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


# Cards


def test_a_card_gathers_what_is_wanted_on_the_bench(made):
    brakes = named(made, "larger front brakes")
    assert [(p.title, p.count) for p in brakes.parts] == [
        ("Tolland front disc 310 x 28, vented, aluminium bell", 2),
        ("Tolland front caliper, four 38 mm pistons, two a side", 2),
    ]
    assert [(r.quantity, r.unit, r.name) for r in brakes.renew] == [
        (4, "", "copper washer, hose"), (0.5, "L", "brake fluid"),
    ]  # fmt: skip
    springs = named(made, "front springs and dampers")
    # the library's words name the stands already; the compressor is said once
    assert springs.bench.count("spring compressor") == 1
    assert "axle stands" not in springs.bench
    assert "axle stands on firm level floor" in springs.bench
    assert "trailer" in named(made, "alignment at the shop").bench


def test_silence_of_the_library_is_not_read_as_harmless(made):
    assert named(made, "alignment at the shop").cautions == (NO_CAUTION,)
    assert NO_CAUTION not in named(made, "larger front brakes").cautions


def test_a_caution_that_several_tasks_share_is_said_once(opened):
    todo = making.todo()
    jack = "Never under a car on a jack. Rock it first. Chock the rear wheels."
    notes = {
        **todo.notes,
        "take:raised": replace(todo.notes["take:raised"], cautions=(jack,)),
        "take:wheels_front": replace(todo.notes["take:wheels_front"], cautions=(
            "Never under a car on a jack. Rock it first. Chock the front wheels.", jack)),
        "job:springs-front": replace(todo.notes["job:springs-front"], cautions=("Rock it first.",)),
    }  # fmt: skip
    found = cards(opened, replace(todo, notes=notes), making.plan())
    card = named(found, "front springs and dampers")
    assert card.cautions == (jack, "Chock the front wheels.")


def test_joints_of_the_axle_that_is_worked_on(made):
    springs = named(made, "front springs and dampers")
    assert [j.title for j in springs.joints] == ["front damper bolts"]  # wheel nuts were undone
    wheels = named(made, "front wheels on, and 1 more")
    assert [j.title for j in wheels.joints] == ["front wheel nuts or bolts"]
    rail = named(made, "fuel pressure up, look for leaks").joints[0]
    assert (rail.title, rail.torque, rail.document) == ("fuel rail bolts", None, None)


def test_a_tightening_figure_is_the_makers_as_fitted_then(opened):
    """Set by the job itself: the figure of what is in when the card is worked, not as found."""
    todo = making.todo()
    springs = todo.problem.jobs["springs-front"]
    stated = (
        Change("set", "damper_bolts.front.torque", "85 N·m"),
        Change("set", "damper_bolts.front.torque_document", "Tolland sheet 12, p. 3"),
        Change("set", "damper_bolts.front.thread_condition", "dry"),
    )
    with_figure = replace(springs, changes=(*springs.changes, *stated))
    problem = replace(todo.problem, jobs={**todo.problem.jobs, "springs-front": with_figure})
    found = cards(opened, replace(todo, problem=problem), making.plan())
    (joint,) = named(found, "front springs and dampers").joints
    assert joint.torque == pytest.approx(85.0)
    assert (joint.document, joint.condition) == ("Tolland sheet 12, p. 3", "dry")


@pytest.mark.parametrize(
    ("name", "region", "titles"),
    [
        ("wheel_nuts", "rear corners", ["rear wheel nuts or bolts"]),
        ("wheel_nuts", "somewhere", ["front wheel nuts or bolts", "rear wheel nuts or bolts"]),
        ("wheel_nuts.rear", "front corners", ["rear wheel nuts or bolts"]),
        ("head bolts", "engine", ["head bolts"]),
    ],
)
def test_the_axle_of_a_joint_is_said_or_follows_from_the_region(opened, name, region, titles):
    todo = making.todo()
    job = replace(todo.problem.jobs["first-map"], region=region)
    problem = replace(todo.problem, jobs={**todo.problem.jobs, "first-map": job})
    notes = {**todo.notes, "job:first-map": Notes("first map flashed", joints=(name,))}
    found = cards(opened, replace(todo, problem=problem, notes=notes), making.plan())
    assert [j.title for j in named(found, "first map flashed").joints] == titles


def test_records_are_owed_by_the_card_whose_work_makes_them_so(made):
    owed = {card.title: {o.record for o in card.records} for card in made}
    assert "calibration.flashed" in owed["first map flashed"]
    assert not owed["fill and bleed the brakes"]  # it changes no part, and makes records
    assert not owed["wheel nuts again"]
    assert "corners.nuts_tightened" in owed["front springs and dampers"]


def test_a_record_that_a_card_makes_is_counted_on_until_it_is_written_down(made):
    bleed = named(made, "fill and bleed the brakes")
    # the flywheel's record is said to be made as well, but nothing made it owed
    assert [(o.record, o.second_person) for o in bleed.makes] == [("brakes.bled", True)]
    brakes = named(made, "larger front brakes")
    assert brakes.makes == ()
    assert "brakes.bled" in {o.record for o in brakes.records}
    assert "brakes.bled" in {o.record for o in brakes.standing.owed}
    car = bleed.standing
    assert "brakes.bled" not in {o.record for o in car.owed}
    assert "brakes.bled" in {o.record for o in car.counted_on}
    assert "brakes.bled" in {o.record for o in car.counted_on_for("drive")}
    assert "brakes.bled" not in {o.record for o in car.counted_on_for("move")}


def test_work_done_again_makes_its_record_owed_again(lessons):
    problem, steps = making.problem(), {s.key: s for s in making.plan().steps}
    brakes, bleed = steps["job:front-brakes"], steps["clear:brakes_open"]

    def owed(*order):
        moved = [replace(s, start=n, end=n + 1) for n, s in enumerate(order)]
        still, counted_on = owed_after(lessons, problem, moved)
        return tuple("brakes.bled" in {o.record for o in found} for found in (still, counted_on))

    assert owed(brakes) == (True, False)
    assert owed(brakes, bleed) == (False, True)
    assert owed(brakes, bleed, brakes) == (True, False)
    assert owed(bleed) == (False, False)  # nothing made it owed
    assert made_by(lessons, problem, (), (bleed,)) == ()


def test_changes_that_do_not_suit_the_order_are_taken_in_the_builds(opened):
    """A setting after its part is off: refused in that order, and the plan is read all the same."""
    jobs = {
        "take": Job("take", "take", "fit", "", Work(Hours(1, 1, 1)),
                    changes=(Change("remove", "damper.front"), Change("verify", "brakes.bled"))),
        "set": Job("set", "set", "adjust", "", Work(Hours(1, 1, 1)),
                   changes=(Change("set", "damper.front.perch_raise", "5 mm"),)),
    }  # fmt: skip
    problem = replace(making.problem(), jobs=jobs)
    one = Lessons(opened.state("now"), opened.registry, {"set": jobs["set"], "take": jobs["take"]})
    steps = [Step("job", "take", "sat-1", 0, 1), Step("job", "set", "sat-1", 1, 2)]
    state = car_after(one, problem, steps)
    assert state.fitted["damper.front.left"] is None


def test_a_check_names_the_card_that_lifts_it(made):
    bleed = named(made, "fill and bleed the brakes")
    stop = next(s for s in bleed.standing.stops if s.what == "calibration.injector_flow")
    assert number_of(made, stop.by) == named(made, "first map flashed").number
    lasting = next(s for s in bleed.standing.stops if s.what == "corners.caliper_barrel_gap")
    assert lasting.by is None  # no card of this plan lifts it
    assert lasting.subjects == ("front.left", "front.right")


def test_of_two_jobs_side_by_side_the_one_that_lifts_is_named(lessons):
    """Two jobs end between the cards; only one of them has to do with the injectors."""
    problem, plan = making.problem(), making.plan()
    at = problem.session("sat-1").end
    steps = []
    for step in plan.steps:
        if step.key in ("job:first-map", "job:alignment"):
            end = problem.session("sat-2").start + (8 if step.what == "first-map" else 9)
            step = replace(step, start=end - 2, end=end)
        steps.append(step)
    for order in (steps, steps[::-1]):
        moved = replace(plan, steps=tuple(order))
        car = standing(problem, moved, at, lessons=lessons)
        assert all(s.by is None for s in car.stops if s.kind == "check")
        stops = {s.what: s for s in with_lifting(problem, moved, car, lessons).stops}
        assert stops["calibration.injector_flow"].by.key == "job:first-map"
        assert stops["corners.caliper_barrel_gap"].by is None


def test_the_journals_head_is_on_each(opened, made):
    assert {card.fingerprint for card in made} == {str(opened.journal.head())}


def test_a_way_that_was_chosen_is_said_in_words(opened):
    todo, plan = making.todo(), making.plan()
    chosen = ((Condition("tool", "wheel_dolly"), Condition("off", "raised")),)
    steps = tuple(
        replace(s, ways=chosen) if s.key == "job:front-brakes" else s for s in plan.steps
    )
    found = cards(opened, todo, replace(plan, steps=steps))
    card = named(found, "larger front brakes")
    assert card.tasks[0].ways == ("using wheel dolly and raise the car",)  # as its notes say it
    assert "wheel dolly" in card.bench


def test_renewables_of_one_kind_are_added_up():
    found = summed(
        [Renewable("fluid", 0.1, "L", 18.0), Renewable("nut", 2, price=1.0),
         Renewable("fluid", 0.2, "L", 20.0), Renewable("fluid", 100, "g"), Renewable("nut", 1)]
    )  # fmt: skip
    assert [(r.name, r.quantity, r.unit, r.price) for r in found] == [
        ("fluid", 0.3, "L", 20.0), ("nut", 3, "", None), ("fluid", 100, "g", None),
    ]  # fmt: skip


def test_parts_are_counted_by_the_places_that_take_them():
    job = Job(
        "wheels", "wheels", "fit", "", Work(Hours(1, 1, 1)),
        changes=(
            Change("fit", "wheel", "round"), Change("fit", "map", "flat"),
            Change("fit", "nowhere", "odd"),
        ),
    )  # fmt: skip
    assert [counted(job, part) for part in ("round", "flat", "odd", "unsaid")] == [4, 1, 1, 1]


def test_a_task_without_words_has_its_plain_title():
    todo = replace(making.todo(), notes={})
    steps = {step.key: step for step in making.plan().steps}
    assert notes_of(todo, steps["take:bumper_front"]).title == "front bumper: off"
    assert notes_of(todo, steps["refit:bumper_front"]).title == "front bumper: on"
    assert notes_of(todo, steps["clear:fuel_open"]).title == "fuel pressure up, look for leaks"
    assert notes_of(todo, steps["job:injectors"]).title == "fuel rail and injectors"


# Tags


@pytest.fixture(scope="module")
def hung(opened, lessons):
    return sheets(opened, making.todo(), making.plan(), lessons=lessons).tags


def test_tags_hang_for_what_is_off_pending_or_stopped_by_a_check(hung):
    first = {tag.command: tag for tag in hung if tag.session == "sat-1"}
    crank = first["DO NOT CRANK"]
    assert crank.reasons[:2] == ("fuel system open", "map expects other injectors")
    assert crank.until == "sat-2"
    start = first["DO NOT START"]
    assert {"fuel rail off", "sealant curing", "the map meters fuel for other injectors"} <= set(
        start.reasons
    )
    assert first["TIGHTEN THE WHEELS AGAIN"].place == ELSEWHERE
    assert first["TIGHTEN THE WHEELS AGAIN"].until == "sat-3"
    # the brakes were bled before the day ended: their tag hangs no more
    assert "brake circuit open" not in first["DO NOT MOVE"].reasons


def test_a_tag_that_hangs_already_is_not_hung_again(hung):
    for tag in hung:
        same = [t for t in hung if (t.command, t.reasons) == (tag.command, tag.reasons)]
        assert same == [tag]
    move = next(tag for tag in hung if tag.command == "DO NOT MOVE")
    assert move.until == ""  # nothing in the plan lifts the rim's meeting the caliper


def test_no_tag_when_nothing_is_stopped():
    todo, plan = replace(making.todo(), notes={}), making.plan()
    free = {s.id: Standing(s.end, (), (), (), ()) for s in todo.problem.sessions}
    assert tags(todo, plan, free) == ()


# The list


def test_each_thing_is_wanted_by_the_start_of_the_first_task_that_uses_it(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    by = {item.title: item.by for item in found.items}
    assert by["Tolland front damper"] == datetime(2026, 12, 5, 9, 45)
    assert by["injector seal"] == datetime(2026, 12, 12, 9, 0)
    assert [item.by for item in found.items] == sorted(item.by for item in found.items)


def test_quantities_and_known_prices_are_summed(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    fluid = next(item for item in found.items if item.title == "brake fluid")
    assert (fluid.quantity, fluid.unit, fluid.price) == (1.5, "L", 27.0)
    damper = next(item for item in found.items if item.title == "Tolland front damper")
    assert damper.quantity == 2
    jobs = 910 + 1460 + 540 + 480 + 160
    renewables = 9.0 + 3.2 + 27.0 + 12.8 + 8.8
    assert found.known == pytest.approx(jobs + renewables)


def test_what_is_used_in_two_sessions_comes_in_two_lots():
    todo, plan = making.todo(), making.plan()
    notes = {**todo.notes, "job:first-map": Notes("x", renew=(Renewable("brake fluid", 1, "L"),))}
    found = shopping(replace(todo, notes=notes), plan)
    fluid = next(item for item in found.items if item.title == "brake fluid")
    assert [(lot.session, lot.quantity) for lot in fluid.lots] == [("sat-1", 1.5), ("sat-2", 1.0)]
    assert fluid.price is None  # one of its uses has no price: none is made up
    assert found.unpriced >= 1


def test_borrowed_tools_and_bookings(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    # axle stands are at hand in every session, so nobody borrows them
    assert [item.what for item in found.of("tool")] == ["spring compressor", "trailer"]
    (booking,) = found.of("booking")
    assert (booking.what, booking.price) == ("alignment", 160.0)


def test_a_session_elsewhere_says_nothing_of_what_has_to_be_borrowed():
    todo, plan = making.todo(), making.plan()
    home = [replace(s, tools=s.tools | {OWN_PLACE}) for s in todo.problem.sessions]
    shop = Session("shop", "the shop", 5000, 5010, (), frozenset({"rack"}))
    needed = replace(todo.problem.jobs["front-brakes"].work, needs=(
        ((Condition("tool", OWN_PLACE),),), ((Condition("tool", "axle stands"),),)))  # fmt: skip
    jobs = {**todo.problem.jobs, "front-brakes": replace(
        todo.problem.jobs["front-brakes"], work=needed)}  # fmt: skip
    problem = replace(todo.problem, sessions=(*home, shop), jobs=jobs)
    found = shopping(replace(todo, problem=problem), plan)
    assert [item.what for item in found.of("tool")] == ["spring compressor", "trailer"]


def test_work_of_others_is_said_to_be_theirs(opened):
    todo = making.todo()
    alone = replace(todo.problem.jobs["alignment"], work=Work(Hours(1, 1, 1), people=0))
    problem = replace(todo.problem, jobs={**todo.problem.jobs, "alignment": alone})
    rows = [
        (kind, what, session, start, () if what == "alignment" else who)
        for kind, what, session, start, who in making.ROWS
    ]
    found = cards(opened, replace(todo, problem=problem), making.plan(rows))
    card = named(found, "alignment at the shop")
    assert (card.who, card.outside, card.hours) == ((), True, 0)
    assert not named(found, "first map flashed").outside


def test_lots_of_one_part_come_when_their_own_jobs_say():
    todo, plan = making.todo(), making.plan()
    jobs = dict(todo.problem.jobs)
    jobs["first-map"] = replace(jobs["first-map"], earliest=600)
    parts = {**todo.parts, "first-map": ("tolland_disc_310",)}
    problem = replace(todo.problem, jobs=jobs)
    found = shopping(replace(todo, problem=problem, parts=parts), plan)
    (discs,) = [item for item in found.items if item.what == "tolland_disc_310"]
    assert [(lot.session, lot.late) for lot in discs.lots] == [("sat-1", False), ("sat-2", False)]
    assert discs.arrives == datetime(2026, 12, 11, 6)
    assert not discs.late  # the second lot comes after the first is wanted, and in time for its own


def test_a_part_that_comes_too_late_says_so():
    todo, plan = making.todo(), making.plan()
    brakes = todo.problem.jobs["front-brakes"]

    def arriving(quarter):
        job = replace(brakes, earliest=quarter)
        problem = replace(todo.problem, jobs={**todo.problem.jobs, "front-brakes": job})
        found = shopping(replace(todo, problem=problem), plan)
        return next(item for item in found.items if item.what == "tolland_disc_310")

    begins = SAT_1 + 11
    assert not arriving(begins).late
    assert arriving(begins + 1).late
    assert arriving(0).arrives is None


# All of it


def test_sheets_gather_what_goes_on_paper(opened):
    found = sheets(opened, making.todo(), making.plan(), made=datetime(2026, 11, 28, 9, 30))
    assert list(found.ends) == ["sat-1", "sat-2", "sat-3"]
    assert found.imprint.build == "Fennick Plover 1.8T"
    assert found.imprint.state == "planned from the car as found"
    assert found.imprint.files == opened.state("now").inputs_hash
    stop = next(
        s for s in found.ends["sat-1"].stops if s.what == "calibration.injector_flow"
    )
    assert stop.by is not None
    assert stop.by.key == "job:first-map"


def test_an_effect_caused_again_lasts_from_the_last_time():
    problem, plan = making.problem(), making.plan()
    again = replace(problem.jobs["injectors"], work=replace(
        problem.jobs["injectors"].work, causes=("sealant",)))  # fmt: skip
    changed = replace(problem, jobs={**problem.jobs, "injectors": again})
    ends = SAT_1 + 20  # the injectors' job
    assert "sealant" in standing(changed, plan, ends + 47).pending
    assert "sealant" not in standing(changed, plan, ends + 48).pending


def test_pending_at_the_outset_lasts_until_it_is_cleared():
    problem = replace(
        making.problem(), pending=frozenset({"owed"}), off=frozenset({"bumper_front"}),
        effects={**making.problem().effects, "owed": Effect("owed", "owed from before", ("run",))},
    )  # fmt: skip
    owed = replace(problem.effects["owed"], lasting=9.0 + 2.0)
    problem = replace(problem, effects={**problem.effects, "owed": owed})
    nothing = Plan((), (), ())
    assert standing(problem, nothing, SAT_1).off == ("bumper_front",)
    assert standing(problem, nothing, SAT_1).pending == ("owed",)
    assert standing(problem, nothing, SAT_1 + 8).pending == ()  # 11 h after midnight


def test_a_use_that_a_task_waits_for_is_a_condition(opened):
    """Behind a task, 'it may drive' would read as leave to drive."""
    todo, plan = making.todo(), making.plan()
    chosen = ((Condition("use", "drive"),),)
    steps = tuple(
        replace(s, ways=chosen) if s.key == "job:front-brakes" else s for s in plan.steps
    )
    card = named(cards(opened, todo, replace(plan, steps=steps)), "larger front brakes")
    assert card.tasks[0].ways == ("only if it may drive",)
