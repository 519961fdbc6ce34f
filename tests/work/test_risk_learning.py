"""What finished work teaches about the hours of what is left."""

from __future__ import annotations

from dataclasses import replace

import pytest
import saturdays as sat
from outlook_making import doubtful

from drybuild.journal import WorkEntry
from drybuild.work.durations import quantile
from drybuild.work.model import Work
from drybuild.work.risk import Learned, Worked, learn, simulate, worked_from

# learning -----------------------------------------------------------------------------------


def finished(factor, *, count=6, who=("Ilse",), region="bay", hours=None):
    """So many jobs that took a factor on their median; without a region each has its own."""
    hours = hours or sat.about(2)
    took = factor * quantile(hours, 0.5)
    return [
        Worked(f"job:{k}", hours, took, who, region or f"region {k}")
        for k in range(count)
    ]


def test_a_slow_person_is_planned_with_longer_hours_and_less_doubt():
    made, plan = doubtful()
    before = simulate(sat.todo(made, age=10.0), plan)
    learned = learn(finished(1.6, count=12, region=""), age=10.0)
    after = simulate(sat.todo(made, age=10.0), plan, learned=learned)
    assert after.hours.p50 > 1.1 * before.hours.p50
    assert after.all_needs < before.all_needs
    assert after.learned.tasks == 12
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert (pace.name, pace.tasks) == ("Ilse", 12)
    assert 1.2 < pace.low < pace.factor < pace.high < 1.8
    quick = learn(finished(0.7, region=""), age=10.0)
    assert simulate(sat.todo(made, age=10.0), plan, learned=quick).hours.p50 < before.hours.p50


def test_more_jobs_teach_more_surely():
    widths = []
    for count in (1, 4, 16):
        (pace,) = [
            p for p in learn(finished(1.3, count=count, region="")).paces if p.kind == "person"
        ]
        widths.append(pace.high - pace.low)
    assert widths == sorted(widths, reverse=True)


def test_a_bad_region_teaches_of_its_region_and_not_of_the_person():
    two = [*finished(1.6, who=("Ilse",)), *finished(1.6, who=("Marten",))]
    three = [*two, *finished(1.0, who=("Ilse",), region="nose", count=12)]
    learned = learn(three, age=25.0)
    factors = {p.name: p.factor for p in learned.paces}
    assert factors["nose"] < 1.0 < factors["Ilse"] < factors["bay"]
    assert factors["bay"] > 1.2
    alone = {p.name: p.factor for p in learn(finished(1.6), age=25.0).paces}
    assert factors["Ilse"] < alone["Ilse"]  # the nose shows that it is not her


def test_what_was_as_thought_narrows_and_moves_little():
    learned = learn(finished(1.0, count=20, region=""))
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert pace.factor == pytest.approx(1.0, abs=0.03)
    made, plan = doubtful()
    before = simulate(sat.todo(made), plan).hours
    after = simulate(sat.todo(made), plan, learned=learned).hours
    assert after.deviation < before.deviation


def test_fixed_lengths_teach_nothing_and_impossible_hours_are_named():
    assert learn(finished(2.0, hours=sat.fixed(2))) == Learned()
    assert learn([]) == Learned()
    bad = [*finished(1.0), Worked("job:a", sat.about(1), 0.0), Worked("job:b", sat.about(1), -2.0)]
    with pytest.raises(ValueError, match=r"job:a: 0 h; job:b: -2 h"):
        learn(bad)


def test_one_wild_day_is_not_a_pace():
    learned = learn([*finished(1.0, count=5, region=""), *finished(40.0, count=1, region="")])
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert pace.factor < 1.25


def entry(task, hours, *, people=("Ilse",), what="done", left=None):
    return WorkEntry(1, "2026-12-05", "Ilse", what, task, people, hours=hours, left=left)


def test_the_journals_work_becomes_finished_tasks():
    made, _ = doubtful(effects=[sat.clearing("oil", sat.fixed(0.5))])
    two = replace(made.jobs["easy"], work=replace(made.jobs["easy"].work, people=2))
    made = replace(made, jobs={**made.jobs, "easy": two})
    entries = (
        entry("job:seized", None, what="started"),
        entry("job:seized", 2.0, what="stopped", left=1.0),
        entry("take:guard", 0.75, people=("Marten",)),
        entry("job:seized", 1.5, people=("Marten",)),
        entry("job:easy", 1.0, people=("Ilse", "Marten")),
        entry("refit:guard", 0.5), entry("clear:oil", 0.5),
        entry("job:other", None), entry("job:gone", 3.0), entry("take:guard", 0.5, left=0.5),
        entry("", None, what="helper ill"),
    )  # fmt: skip
    found = {w.task: w for w in worked_from(made, entries)}
    assert set(found) == {"job:seized", "take:guard", "job:easy", "refit:guard", "clear:oil"}
    seized = found["job:seized"]
    assert (seized.hours, seized.people, seized.region) == (3.5, ("Ilse", "Marten"), "rear axle")
    assert seized.planned == made.jobs["seized"].work.hours
    assert found["take:guard"].hours == 0.75
    assert found["job:easy"].hours == 1.0


def test_a_task_that_the_plan_no_longer_holds_still_teaches():
    made, _ = doubtful()
    gone = {"take:gearbox": (Work(sat.about(2), 2), "gearbox")}
    entries = (entry("take:gearbox", 3.0, people=("Ilse", "Marten")),)
    assert worked_from(made, entries) == ()
    (found,) = worked_from(made, entries, finished=gone)
    assert (found.planned, found.hours, found.region) == (sat.about(2), 3.0, "gearbox")


def test_one_person_in_place_of_two_is_not_slow_for_it():
    made, _ = doubtful()
    two = replace(made.jobs["easy"], work=replace(made.jobs["easy"].work, people=2))
    made = replace(made, jobs={**made.jobs, "easy": two})
    (alone,) = worked_from(made, (entry("job:easy", 2.0),))
    assert alone.hours == 1.0
