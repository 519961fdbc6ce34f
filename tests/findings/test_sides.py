"""The two figures of a check: what it is about and what limits that, and that none is made up."""

from __future__ import annotations

import numpy as np
import pytest

from drybuild.findings import (
    LEFT,
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    FormulaRefused,
    RegistrationError,
    Room,
    RuleSlack,
    inside,
    not_above,
    not_below,
)
from drybuild.findings.sides import sides

DRAWN = np.array([1.0, 2.0, 4.0])


def of(function, between=None, kind="length", needs=("x",), **given):
    room = Room("toy", "Toy")
    room.check(
        "toy.check", title="toy", slack=function, kind=kind, consequence="nuisance", stops=(),
        needs={name: f"car.{name}" for name in needs}, source=PRACTICE, between=between,
    )  # fmt: skip
    return sides(room.checks[0], given)


def test_what_must_not_be_exceeded_is_the_upper_end():
    found = of(
        lambda x, limit: limit - x, not_above("x", "limit", kind="temperature"),
        needs=("x", "limit"), x=DRAWN, limit=5.0,
    )  # fmt: skip
    assert (found.low, found.high, found.kind) == (None, 5.0, "temperature")
    assert (found.found == DRAWN).all()


def test_a_limit_may_be_a_constant_or_worked_out_of_inputs():
    found = of(
        lambda load, rating: 0.75 * rating - load,
        not_above("load", lambda rating: 0.75 * rating), needs=("load", "rating"), load=DRAWN,
        rating=20.0,
    )  # fmt: skip
    assert (found.high, found.kind) == (15.0, "length")
    found = of(lambda x: x - 0.2, not_below("x", 0.2), x=DRAWN)
    assert (found.low, found.high) == (0.2, None)


@pytest.mark.parametrize(("stated", "limit"), [(3.0, 3.0), (None, 9.0)])
def test_where_nobody_stated_a_limit_the_checks_own_counts(stated, limit):
    found = of(
        lambda x, limit: 0.0 * x, not_above("x", ("limit", 9.0)), needs=("x", "limit"), x=DRAWN,
        limit=stated,
    )  # fmt: skip
    assert found.high == limit


def test_of_two_ends_both_are_named():
    found = of(lambda x: np.minimum(x - 1.0, 9.0 - x), inside("x", 1.0, 9.0), x=DRAWN)
    assert (found.low, found.high) == (1.0, 9.0)


def test_a_gap_is_its_own_figure_along_a_curve_where_it_is_least():
    found = of(lambda x: x, LEFT, x=DRAWN)
    assert (found.low, found.is_room) == (0.0, True)
    gaps = np.array([DRAWN, [3.0, 1.0, 9.0]])
    found = of(lambda x: Along(gaps, np.arange(2.0), "number"), LEFT, x=DRAWN)
    assert found.found == pytest.approx([1.0, 1.0, 4.0])


def test_along_a_curve_both_figures_are_those_of_the_worst_point():
    loads, limits = np.array([DRAWN, 2 * DRAWN]), np.array([[9.0], [6.0]])
    found = of(
        lambda x: Along(limits - loads, np.arange(2.0), "number", found=loads, high=limits), x=DRAWN
    )
    assert found.found == pytest.approx(2 * DRAWN)
    assert found.high == pytest.approx([6.0, 6.0, 6.0])


def test_a_rule_names_its_own_ends():
    found = of(lambda x: RuleSlack(9.0 - x, "r", False, value=x, high=9.0), x=DRAWN)
    assert (found.low, found.high) == (None, 9.0)
    assert (found.found == DRAWN).all()


def refuse(x):
    raise FormulaRefused("no")


@pytest.mark.parametrize(
    "function", [lambda x: x, lambda x: NOT_APPLICABLE, lambda x: RuleSlack(x, "r", False), refuse]
)
def test_where_none_are_named_none_are_said(function):
    assert of(function, x=DRAWN) is None


@pytest.mark.parametrize("side", ["y", ("y", 1.0), lambda y: y])
def test_a_side_names_inputs_of_its_check(side):
    with pytest.raises(RegistrationError, match="'y', no input"):
        of(lambda x: x, not_below("x", side), x=DRAWN)
