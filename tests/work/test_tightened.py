"""A joint is brought to its figure once in an opening: where it is reached and stays so."""

from __future__ import annotations

import saturdays as sat

from drybuild.work.model import Notes, Plan, ToDo
from drybuild.work.tightened import tightened

DOWN = "wheel nuts tightened to their figure once it is down"
WHEELS, ARMS = ("wheel_nuts", "front"), ("arm_bolts", "front")


def made(*rows: tuple) -> tuple[ToDo, Plan]:
    names = ("raised_front", "wheels_front", "arms_front")
    problem = sat.problem(
        jobs=[sat.job("wheels", sat.fixed(0.5)), sat.job("arms", sat.fixed(0.5))],
        components=[sat.component(name, sat.fixed(0.5)) for name in names],
        effects=[
            sat.clearing("bushes_front", sat.fixed(0.5)),
            sat.clearing("joints_again", sat.fixed(0.5), between=100.0),
        ],
    )
    notes = {
        "refit:raised_front": Notes("down", verify=(DOWN,)),
        "refit:wheels_front": Notes("wheels", joints=("wheel_nuts.front",)),
        "refit:arms_front": Notes("arms", joints=("arm_bolts.front", "split pins")),
        "job:wheels": Notes("new wheels", joints=("wheel_nuts.front",)),
        "job:arms": Notes("new arms", joints=("arm_bolts.front",)),
        "clear:bushes_front": Notes("laden", joints=("arm_bolts.front",)),
        "clear:joints_again": Notes("again", joints=("arm_bolts.front",)),
    }
    return sat.todo(problem, notes=notes), sat.plan(problem, *rows)


def asked(*rows: tuple) -> dict[str, tuple]:
    todo, plan = made(*rows)
    found = {f"{s.key} {s.session}": tightened(todo, plan, s) for s in plan.steps}
    return {key.replace(" sat-1", ""): joints for key, joints in found.items() if joints}


UP = ("take:raised_front", "sat-1", 0.0, "Ilse")
OFF = ("take:wheels_front", "sat-1", 0.5, "Ilse")
ON = ("refit:wheels_front", "sat-1", 3.0, "Ilse")
LET_DOWN = ("refit:raised_front", "sat-1", 3.5, "Ilse")


def test_what_holds_a_wheel_is_tightened_with_the_task_that_lets_it_down():
    """Neither where the wheel is chosen nor where it hangs on the hub: the hub would turn."""
    rows = (UP, OFF, ("job:wheels", "sat-1", 1.0, "Ilse"), ON, LET_DOWN)
    assert asked(*rows) == {"refit:raised_front": (WHEELS,)}


def test_a_wheel_that_went_on_a_car_whose_letting_down_is_not_planned_has_it_there():
    assert asked(UP, OFF, ON) == {"refit:wheels_front": (WHEELS,)}


def test_bushes_that_are_tightened_laden_have_the_figure_there_alone():
    rows = (
        ("take:arms_front", "sat-1", 1.0, "Ilse"), ("job:arms", "sat-1", 1.5, "Ilse"),
        ("refit:arms_front", "sat-1", 2.0, "Ilse"), ("clear:bushes_front", "sat-1", 4.0, "Ilse"),
    )  # fmt: skip
    assert asked(*rows) == {
        "refit:arms_front": (("split pins", ""),), "clear:bushes_front": (ARMS,),
    }  # fmt: skip


def test_without_a_task_for_the_bushes_the_arm_going_back_has_it():
    rows = (
        ("take:arms_front", "sat-1", 1.0, "Ilse"), ("job:arms", "sat-1", 1.5, "Ilse"),
        ("refit:arms_front", "sat-1", 2.0, "Ilse"),
    )  # fmt: skip
    assert asked(*rows) == {"refit:arms_front": (ARMS, ("split pins", ""))}


def test_going_over_them_after_a_hundred_kilometres_takes_no_figure_from_the_work():
    rows = (
        ("take:arms_front", "sat-1", 1.0, "Ilse"), ("refit:arms_front", "sat-1", 2.0, "Ilse"),
        ("clear:joints_again", "sat-2", 1.0, "Ilse"),
    )  # fmt: skip
    assert asked(*rows) == {
        "refit:arms_front": (ARMS, ("split pins", "")), "clear:joints_again sat-2": (ARMS,),
    }  # fmt: skip


def test_an_opening_of_another_day_has_its_own_figure():
    """The figure of the first day is not left to the bushes of the second."""
    rows = (
        ("take:arms_front", "sat-1", 1.0, "Ilse"), ("refit:arms_front", "sat-1", 2.0, "Ilse"),
        ("take:arms_front", "sat-2", 1.0, "Ilse"), ("refit:arms_front", "sat-2", 2.0, "Ilse"),
        ("clear:bushes_front", "sat-2", 4.0, "Ilse"),
    )  # fmt: skip
    assert asked(*rows) == {
        "refit:arms_front": (ARMS, ("split pins", "")),
        "refit:arms_front sat-2": (("split pins", ""),), "clear:bushes_front sat-2": (ARMS,),
    }  # fmt: skip
