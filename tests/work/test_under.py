"""A card of work below says how the car may stand overhead, and says it once."""

from __future__ import annotations

import saturdays as sat

from drybuild.work.under import UNDER, with_under


def asked(region: str, *needs: str, said: tuple[str, ...] = ()) -> tuple[str, ...]:
    stands = sat.component("raised_rear", sat.fixed(0.25), region="whole car, rear")
    job = sat.job("work", sat.fixed(1.0), *needs, region=region)
    problem = sat.problem(components=[stands], jobs=[job])
    plan = sat.plan(problem, ("job:work", "sat-1", 1.0, "Ilse"))
    return with_under(problem, plan.steps, said)


def test_work_below_a_raised_car_says_it_first():
    assert asked("under, middle", "raised_rear", said=("Hot.",)) == (UNDER, "Hot.")
    assert asked("gearbox", "raised_rear") == (UNDER,)


def test_work_beside_or_above_says_nothing_of_it():
    assert asked("rear corners", "raised_rear") == ()
    assert asked("engine, top", "raised_rear") == ()


def test_work_below_that_is_reached_with_the_car_on_its_wheels_says_nothing_of_it():
    assert asked("tank") == ()


def test_a_card_that_says_it_in_other_words_says_it_once():
    said = ("Under the car only on stands, ramps or a lift.",)
    assert asked("under, rear", "raised_rear", said=said) == said
