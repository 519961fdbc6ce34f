"""Cards and sheets, from a plan that is written down by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import making_todo as making
import pytest
import saturdays as sat

from drybuild.build import Change
from drybuild.work.cards import (
    NO_CAUTION,
    _title,
    cards,
    notes_of,
    number_of,
    summed,
    tools_of,
)
from drybuild.work.evidence import car_after, made_by, owed_after
from drybuild.work.lessons import Lessons
from drybuild.work.model import (
    Condition,
    Effect,
    Hours,
    Job,
    Notes,
    Plan,
    Renewable,
    Step,
    Work,
)
from drybuild.work.pieces import counted
from drybuild.work.sheets import sheets
from drybuild.work.standing import (
    standing,
    with_lifting,
)

SAT_1 = 36


def test_a_card_gathers_what_is_wanted_on_the_bench(made):
    brakes = making.named(made, "larger front brakes")
    assert [(p.title, p.count) for p in brakes.parts] == [
        ("Tolland front disc 310 x 28, vented, aluminium bell", 2),
        ("Tolland front caliper, four 38 mm pistons, two a side", 2),
    ]
    assert [(r.quantity, r.unit, r.name) for r in brakes.renew] == [
        (4, "", "copper washer, hose"), (0.5, "L", "brake fluid"),
    ]  # fmt: skip
    springs = making.named(made, "front springs and dampers")
    # the library's words name the stands already; the compressor is said once
    assert springs.bench.count("spring compressor") == 1
    assert "axle stands" not in springs.bench
    assert "axle stands on firm level floor" in springs.bench
    assert "trailer" in making.named(made, "alignment at the shop").bench


def test_silence_of_the_library_is_not_read_as_harmless_where_work_may_hurt(opened, made):
    assert NO_CAUTION not in making.named(made, "larger front brakes").cautions
    todo = making.todo()
    silent = {key: replace(notes, cautions=()) for key, notes in todo.notes.items()}
    found = cards(opened, replace(todo, notes=silent), making.plan())
    risky = ("larger front brakes", "front springs and dampers", "front wheels on, and 1 more")
    for title in risky:
        assert making.named(found, title).cautions == (NO_CAUTION,)
    # what others do elsewhere has their cautions
    assert making.named(found, "alignment at the shop").cautions == ()
    assert {NO_CAUTION} == {line for card in found for line in card.cautions}


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
    card = making.named(found, "front springs and dampers")
    assert card.cautions == (jack, "Chock the front wheels.")


def test_joints_of_the_axle_that_is_worked_on(made):
    springs = making.named(made, "front springs and dampers")
    assert [j.title for j in springs.joints] == ["front damper bolts"]  # wheel nuts were undone
    wheels = making.named(made, "front wheels on, and 1 more")
    assert [j.title for j in wheels.joints] == ["front wheel nuts"]
    rail = making.named(made, "fuel pressure up, look for leaks").joints[0]
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
    (joint,) = making.named(found, "front springs and dampers").joints
    assert joint.torque == pytest.approx(85.0)
    assert (joint.document, joint.condition) == ("Tolland sheet 12, p. 3", "dry")


@pytest.mark.parametrize(
    ("name", "region", "titles"),
    [
        ("wheel_nuts", "rear corners", ["rear wheel nuts"]),
        ("wheel_nuts", "somewhere", ["front wheel nuts", "rear wheel nuts"]),
        ("wheel_nuts.rear", "front corners", ["rear wheel nuts"]),
        ("head bolts", "engine", ["head bolts"]),
    ],
)
def test_the_axle_of_a_joint_is_said_or_follows_from_the_region(opened, name, region, titles):
    todo = making.todo()
    job = replace(todo.problem.jobs["first-map"], region=region)
    problem = replace(todo.problem, jobs={**todo.problem.jobs, "first-map": job})
    notes = {**todo.notes, "job:first-map": Notes("first map flashed", joints=(name,))}
    found = cards(opened, replace(todo, problem=problem, notes=notes), making.plan())
    assert [j.title for j in making.named(found, "first map flashed").joints] == titles


def test_records_are_owed_by_the_card_whose_work_makes_them_so(made):
    owed = {card.title: {o.record for o in card.records} for card in made}
    assert "calibration.flashed" in owed["first map flashed"]
    assert not owed["fill and bleed the brakes"]  # it changes no part, and makes records
    assert not owed["wheel nuts again"]
    assert "corners.nuts_tightened" in owed["front springs and dampers"]


def test_a_record_that_a_card_makes_is_counted_on_until_it_is_written_down(made):
    bleed = making.named(made, "fill and bleed the brakes")
    # the flywheel's record is said to be made as well, but nothing made it owed
    assert [(o.record, o.second_person) for o in bleed.makes] == [("brakes.bled", True)]
    brakes = making.named(made, "larger front brakes")
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


def test_a_record_is_made_where_others_made_it_owed_while_the_card_was_in_hand(lessons):
    """A long card fills at its end what somebody else opened after it began."""
    problem, steps = making.problem(), {s.key: s for s in making.plan().steps}
    first = replace(steps["job:springs-front"], start=0, end=1)
    meanwhile = replace(steps["job:front-brakes"], start=0, end=3)
    late = replace(steps["clear:brakes_open"], start=3, end=4)
    early = replace(late, start=1, end=2)
    made = made_by(lessons, problem, (first, meanwhile, late), (first, late))
    assert [o.record for o in made] == ["brakes.bled"]
    assert made_by(lessons, problem, (first, meanwhile, early), (first, early)) == ()


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
    bleed = making.named(made, "fill and bleed the brakes")
    stop = next(s for s in bleed.standing.stops if s.what == "calibration.injector_flow")
    assert number_of(made, stop.by) == making.named(made, "first map flashed").number
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
    card = making.named(found, "larger front brakes")
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
    card = making.named(cards(opened, todo, replace(plan, steps=steps)), "larger front brakes")
    assert card.tasks[0].ways == ("only if it may drive",)


def _steps(*said: tuple[str, str, int]) -> tuple[tuple[Step, ...], list[Notes]]:
    """kind, title and quarters of each."""
    steps = tuple(Step(kind, title, "sat-1", n, n + long, ("Ilse",))  # type: ignore[arg-type]
                  for n, (kind, title, long) in enumerate(said))  # fmt: skip
    return steps, [Notes(title) for _, title, _ in said]


def test_a_title_names_the_largest_part_of_the_card():
    on = [("refit", "links on", 1), ("refit", "springs on", 4), ("refit", "calipers on", 2)]
    bled = ("clear", "brakes bled", 3)
    assert _title(*_steps(*on, bled)) == "springs on, brakes bled, and 2 more"
    assert _title(*_steps(on[0], bled)) == "brakes bled"
    assert _title(*_steps(*on)) == "links on, and 2 more"
    two = (("job", "links changed", 1), ("job", "springs changed", 4))
    assert _title(*_steps(*on, *two, bled)) == "springs changed"


def test_what_a_task_holds_beside_tools_is_on_no_bench_and_no_list():
    work = Work(sat.fixed(1), tools=("whole car", "hands in", "map cable"))
    job = replace(sat.job("map", sat.fixed(1)), work=work)
    problem = sat.problem(jobs=[job])
    (step,) = sat.plan(problem, ("job:map", "sat-1", 0, "Ilse")).steps
    assert tools_of(problem, step) == ("map cable",)
