"""A card asks for the figure of wheel nuts where a wheel was off, and nowhere else."""

from __future__ import annotations

import pytest
import saturdays as sat

from drybuild.work.library import load, outlines
from drybuild.work.model import Notes, Plan, ToDo
from drybuild.work.to_check import WHEELS_HELD, to_check

NUTS, LOOK = "wheel nuts tightened to their figure once it is down", "nothing is underneath"


def made(*rows: tuple, end: str = "front", up: bool = True) -> tuple[ToDo, Plan]:
    names = ("raised_front", "raised_rear", "raised_lift", "wheels_front", "wheels_rear")
    problem = sat.problem(components=[sat.component(name, sat.fixed(0.5)) for name in names])
    notes = {f"refit:{name}": Notes(name, verify=(NUTS, LOOK)) for name in names[:3]}
    notes |= {
        f"refit:wheels_{axle}": Notes("wheels", joints=(f"wheel_nuts.{axle}",))
        for axle in ("front", "rear")
    }
    jack = [(f"take:raised_{end}", "sat-1", 0.0, "Ilse")] if up else []
    down = (f"refit:raised_{end}", "sat-2", 6.0, "Ilse")
    return sat.todo(problem, notes=notes), sat.plan(problem, *jack, *rows, down)


def asked(*rows: tuple, end: str = "front", up: bool = True) -> tuple[str, ...]:
    todo, plan = made(*rows, end=end, up=up)
    return to_check(todo, plan, (plan.steps[-1],))


@pytest.mark.parametrize("key", ["take:wheels_front", "refit:wheels_front"])
def test_where_a_wheel_was_off_its_nuts_are_tightened_once_the_car_is_down(key):
    """Also where it stood up over a week."""
    assert asked((key, "sat-1", 1.0, "Ilse")) == (NUTS, LOOK)
    assert asked((key, "sat-2", 1.0, "Ilse")) == (NUTS, LOOK)


def test_where_no_wheel_of_that_end_came_off_nobody_is_asked_for_a_figure():
    assert asked() == (LOOK,)
    assert asked(("take:wheels_rear", "sat-1", 1.0, "Ilse")) == (LOOK,)


def test_of_a_car_that_stood_up_before_the_plan_the_figure_is_asked():
    assert asked(up=False) == (NUTS, LOOK)


def test_a_lift_carries_both_ends():
    assert asked(("take:wheels_rear", "sat-1", 1.0, "Ilse"), end="lift") == (NUTS, LOOK)


def test_the_library_says_it_in_these_words():
    for outline in outlines():
        found = load(outline).components
        for name in ("raised_front", "raised_rear", "raised_lift"):
            assert any(line.startswith(WHEELS_HELD) for line in found[name].verify)
        assert found["wheels_front"].joints == ("wheel_nuts.front",)
