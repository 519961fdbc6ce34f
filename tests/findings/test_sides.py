"""The two figures of a check: which limits the other, and that none is made up."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from drybuild.findings import NOT_APPLICABLE, RuleSlack, matches
from drybuild.findings.sides import sides

DRAWN = np.array([1.0, 2.0, 4.0])


def of(function, **given):
    return sides(SimpleNamespace(function=function), given)


def test_a_named_limit_is_what_the_other_must_not_exceed():
    found = of(lambda pressure, limit: limit - pressure, pressure=DRAWN, limit=5.0)
    assert (found.low, float(found.high)) == (None, 5.0)
    assert found.found == pytest.approx(DRAWN)
    assert (found.found_from, found.limit_from) == ({"pressure"}, {"limit"})


def test_a_constant_of_the_check_is_its_limit():
    found = of(lambda drop: 45.0 - np.abs(drop), drop=-DRAWN)
    assert (found.found == DRAWN).all()
    assert float(found.high) == 45.0
    found = of(lambda ratio: ratio - 0.2, ratio=DRAWN)
    assert (float(found.low), found.high) == (0.2, None)


def test_what_is_worked_out_on_the_way_counts_as_a_side():
    found = of(lambda capacity, load: 0.94 * capacity - load / 9.81, capacity=DRAWN, load=9.81)
    assert float(found.found) == pytest.approx(1.0)
    assert found.high == pytest.approx(0.94 * DRAWN)


def test_of_two_ends_both_are_named():
    found = of(lambda x: np.minimum(x - 1.0, 9.0 - x), x=DRAWN)
    assert (float(found.low), float(found.high)) == (1.0, 9.0)
    assert (found.found == DRAWN).all()


def test_a_rule_names_its_own_ends():
    found = of(lambda x: RuleSlack(9.0 - x, "r", False, value=x, high=9.0), x=DRAWN)
    assert (found.low, found.high) == (None, 9.0)
    assert (found.found == DRAWN).all()


@pytest.mark.parametrize(
    "function",
    [lambda x: x, lambda x: matches(x > 1), lambda x: NOT_APPLICABLE, lambda x: x * 2 + 1,
     lambda x: np.asarray(x) - x, lambda x: RuleSlack(x, "r", False), lambda x: 1 / 0],
)  # fmt: skip
def test_where_there_is_no_difference_none_is_said(function):
    assert of(function, x=DRAWN) is None
