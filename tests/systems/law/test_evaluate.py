"""Rules applied as written: edges, rounding, shapes, which one binds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.findings import NOT_APPLICABLE, FormulaRefused, RuleSlack
from drybuild.systems.law.evaluate import Original, read_all, rounded, slack_of, strictest
from drybuild.systems.law.rules import AnyRule, Registered, RuleSet, read_rule_set, select

HEAD = """
format = 1
id = "trial"
title = "trial rules"
jurisdiction = "AU"
edition = "1"
authority = "nobody"
governs = "road"
not_assessed = ["all else"]
"""


def trial(*bodies: str) -> RuleSet:
    """A set of rules r0, r1 …, read unless the body says otherwise."""
    rules = ""
    for i, body in enumerate(bodies):
        how = "" if "how = " in body else 'how = "read"\n'
        rules += f'\n[[rule]]\nid = "r{i}"\nsays = "rule {i}"\ndocument = "trial"\n{how}{body}\n'
    return read_rule_set(HEAD + rules, name="trial.toml")


def one(body: str) -> AnyRule:
    return trial(body).rule[0]


def slack(body: str, given_: dict[str, Any], original: Original | None = None) -> float:
    return float(slack_of(one(body), given_, original))


OFFSET = 'quantity = "wheel_offset"\nshape = "change from original"\ndown = "13 mm"'


def test_exactly_at_an_inclusive_limit_is_inside() -> None:
    # 0.045 − 0.032 is not 0.013 in binary; the rule says "not more than 13 mm"
    assert slack(OFFSET, {"wheel_offset": 0.032}, Original(0.045, 0.045)) == 0.0
    for tenth in range(1, 2000):
        start = tenth / 10_000
        assert slack(OFFSET, {"wheel_offset": start - 0.013}, Original(start, start)) == 0.0


def test_exactly_at_an_exclusive_limit_is_outside() -> None:
    found = slack(OFFSET + "\ninclusive = false", {"wheel_offset": 0.032}, Original(0.045, 0.045))
    assert -1e-6 < found < 0


@pytest.mark.parametrize(("inclusive", "inside"), [("true", True), ("false", False)])
def test_every_numeric_shape_minds_its_edge(inclusive: str, inside: bool) -> None:
    end = f"\ninclusive = {inclusive}"
    length = {"lamp_height": 0.5}
    bodies = (
        'quantity = "lamp_height"\nshape = "at least"\nlimit = "500 mm"',
        'quantity = "lamp_height"\nshape = "at most"\nlimit = "500 mm"',
        'quantity = "lamp_height"\nshape = "between"\nlow = "500 mm"\nhigh = "900 mm"',
        'quantity = "lamp_height"\nshape = "between"\nlow = "100 mm"\nhigh = "500 mm"',
        'quantity = "lamp_height"\nshape = "change from original"\ndown = "100 mm"',
        'quantity = "lamp_height"\nshape = "table"\nacts = "at most"\nby = "power_to_mass"\n'
        'rows = [{ up_to = 10.0, limit = "500 mm" }]',
    )
    for body in bodies:
        given_ = {**length, "power_to_mass": 10.0}
        assert (slack(body + end, given_, Original(0.6, 0.6)) >= 0) is inside, body


def test_a_reading_is_rounded_as_the_rule_says_before_it_is_compared() -> None:
    body = 'quantity = "noise_at_rest"\nshape = "at most"\nlimit = "98 dB(A)"'
    assert slack(body, {"noise_at_rest": 98.4}) < 0
    assert slack(body + '\nround_to = "1 dB(A)"', {"noise_at_rest": 98.4}) == 0
    assert slack(body + '\nround_to = "1 dB(A)"', {"noise_at_rest": 98.5}) < 0  # halves go up


def test_halves_round_up_not_to_even() -> None:
    assert list(rounded(np.array([0.5, 1.5, 2.5, 2.4999]), 1.0)) == [1.0, 2.0, 3.0, 2.0]


def test_change_counts_from_the_ends_of_several_originals() -> None:
    body = 'quantity = "tyre_diameter"\nshape = "change from original"\n'
    body += 'up = "15 mm"\ndown = "15 mm"'
    placard = Original(0.612, 0.626)
    assert slack(body, {"tyre_diameter": 0.634}, placard) == pytest.approx(0.007)
    assert slack(body, {"tyre_diameter": 0.600}, placard) == pytest.approx(0.003)
    largest = body + '\nmeasured_from = "largest"'
    assert slack(largest, {"tyre_diameter": 0.600}, placard) == pytest.approx(-0.011)


def test_change_on_one_side_leaves_the_other_free() -> None:
    assert slack(OFFSET, {"wheel_offset": 0.9}, Original(0.045, 0.045)) > 0.8


def test_change_without_an_original_is_refused_not_guessed() -> None:
    with pytest.raises(FormulaRefused, match="what the maker fitted"):
        slack(OFFSET, {"wheel_offset": 0.9})


def test_a_missing_reference_is_refused_by_name() -> None:
    body = 'quantity = "tyre_load"\nshape = "at least"\nof = "axle_load_limit"\nshare = [1, 2]'
    with pytest.raises(FormulaRefused, match="axle load limit"):
        slack(body, {"tyre_load": 500.0})


def test_fitted_absent_and_member() -> None:
    assert slack('quantity = "catalyst"\nshape = "fitted"', {"catalyst": True}) == 1
    assert slack('quantity = "catalyst"\nshape = "fitted"', {"catalyst": False}) == -1
    assert slack('quantity = "spacer"\nshape = "absent"', {"spacer": False}) == 1
    assert slack('quantity = "spacer"\nshape = "absent"', {"spacer": True}) == -1
    member = 'quantity = "tow_eye_colour"\nshape = "member of"\nallowed = ["red", "Orange"]'
    assert slack(member, {"tow_eye_colour": " ORANGE "}) == 1
    assert slack(member, {"tow_eye_colour": "grey"}) == -1


def test_a_table_without_a_row_for_the_car_is_refused_or_not_solved() -> None:
    words = (
        'quantity = "tyre_speed"\nshape = "table"\nacts = "at least"\nby = "category"\n'
        'rows = [{ for_word = "M1", limit = "180 km/h" }]'
    )
    with pytest.raises(FormulaRefused, match="no row for 'N1'"):
        slack(words, {"tyre_speed": 60.0, "category": "N1"})
    numbers = (
        'quantity = "lamp_height"\nshape = "table"\nacts = "at most"\nby = "power_to_mass"\n'
        'rows = [{ up_to = 10.0, limit = "500 mm" }]'
    )
    assert np.isnan(slack(numbers, {"lamp_height": 0.4, "power_to_mass": 11.0}))


TWO = (
    'quantity = "track_width"\nshape = "change from original"\nup = "25 mm"\nhow = "memory"',
    'quantity = "track_width"\nshape = "change from original"\nup = "26 mm"\nhow = "read"',
)


NOBODY = Registered()


def _bind(set_: RuleSet, value: Any, car: Registered = NOBODY) -> Any:
    found = select((set_,), ("track_width",), car, "road")
    return strictest(
        read_all(found, {"track_width": value}, car, {"track_width": Original(1.455, 1.455)})
    )


def test_the_strictest_binds_and_all_are_shown() -> None:
    got = _bind(trial(*TWO), 1.470)
    assert isinstance(got, RuleSlack)
    assert float(got.slack) == pytest.approx(0.010)
    assert got.memory
    assert len(got.shown) == 2
    assert got.shown[0].startswith("rule 0")
    assert "from memory" in got.shown[0]
    assert "trial:r0" in got.rule


def test_a_recalled_rule_counts_as_read_once_the_owner_has_read_it() -> None:
    got = _bind(trial(*TWO), 1.470, Registered(read_by_owner=frozenset({"trial:r0"})))
    assert not got.memory
    assert "read by the owner" in got.rule


def test_of_two_that_bind_alike_the_read_one_stands_first() -> None:
    same = (TWO[0], TWO[1].replace("26", "25"))
    assert not _bind(trial(*same), 1.470).memory


def test_no_applicable_rule_is_no_finding() -> None:
    assert strictest(()) is NOT_APPLICABLE


@given(st.floats(1.40, 1.55), st.floats(0, 0.02))
def test_slack_falls_as_the_value_moves_out(value: float, more: float) -> None:
    inside = float(_bind(trial(*TWO), value).slack)
    further = float(_bind(trial(*TWO), value + more).slack)
    assert further <= inside + 1e-12


def test_per_draw_the_least_slack_counts() -> None:
    body = 'quantity = "lamp_height"\nshape = "at least"\nlimit = "500 mm"'
    other = 'quantity = "lamp_height"\nshape = "at most"\nlimit = "700 mm"'
    set_ = trial(body, other)
    found = select((set_,), ("lamp_height",), Registered(), "road")
    draws = np.array([0.49, 0.6, 0.71])
    got = strictest(read_all(found, {"lamp_height": draws}, Registered()))
    assert np.allclose(got.slack, [-0.01, 0.1, -0.01])
