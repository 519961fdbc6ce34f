"""The quote: what the work costs at a chosen confidence, and what it leaves out."""

from __future__ import annotations

from dataclasses import replace

import pytest
import saturdays as sat
from hypothesis import given
from hypothesis import strategies as st

from drybuild.work.model import Hours, Notes, Renewable
from drybuild.work.risk import quote, simulate


def work(**more):
    """A radiator to fit behind a guard, an alignment outside, coolant to fill."""
    made = sat.problem(
        components=[sat.component("guard", sat.about(0.5))],
        jobs=[
            sat.job("radiator", Hours(1.0, 1.5, 3.0), "guard", causes=("coolant",), price=310.0),
            sat.job("alignment", sat.fixed(1), kind="outside", price=95.5),
        ],
        effects=[sat.clearing("coolant", sat.fixed(0.5))],
    )
    plan = sat.plan(
        made, ("take:guard", "sat-1", 0, "Ilse"), ("job:radiator", "sat-1", 1, "Ilse"),
        ("refit:guard", "sat-1", 4, "Ilse"), ("clear:coolant", "sat-1", 5, "Ilse"),
        ("job:alignment", "sat-1", 6, "Ilse"),
    )  # fmt: skip
    notes = {
        "refit:guard": Notes("guard on", renew=(Renewable("clip", 4, price=0.35),)),
        "clear:coolant": Notes("fill", renew=(
            Renewable("clip", 2, price=0.35), Renewable("coolant", 3.5, "L", 6.2),
            Renewable("drain washer", 1),
        )),
    }  # fmt: skip
    usual = {"currency": "EUR", "labour_rate": 64.0, "parts": {"radiator": ("tolland_radiator",)}}
    return sat.todo(made, notes=notes, **{**usual, **more}), plan


def quoted(confidence=0.8, round_to=None, **more):
    todo, plan = work(**more)
    outlook = simulate(todo, plan)
    return quote(todo, plan, outlook, confidence=confidence, round_to=round_to), outlook


def test_labour_is_the_middle_and_the_contingency_reaches_the_confidence():
    found, outlook = quoted()
    assert found.median == pytest.approx(outlook.hours.p50, abs=0.051)
    assert found.hours == pytest.approx(outlook.hours.p80, abs=0.051)
    assert found.amount("labour") == pytest.approx(found.median * 64.0, abs=0.005)
    both = found.amount("labour") + found.amount("contingency")
    assert both == pytest.approx(found.hours * 64.0, abs=0.011)


def test_a_quote_of_many_hours_asks_for_whole_ones():
    todo, plan = work()
    outlook = simulate(todo, plan)
    longer = tuple(10.0 * hours for hours in outlook.hours.at_steps)
    many = replace(outlook, hours=replace(outlook.hours, at_steps=longer))
    found = quote(todo, plan, many)
    assert found.median == int(found.median) == pytest.approx(many.hours.p50, abs=0.501)
    assert found.hours == int(found.hours) == pytest.approx(many.hours.p80, abs=0.501)
    both = found.amount("labour") + found.amount("contingency")
    assert both == pytest.approx(found.hours * 64.0, abs=0.011)


def test_everything_with_a_price_is_on_it_and_adds_up():
    found, _ = quoted()
    assert found.amount("parts") == 310.0
    assert found.amount("outside") == 95.5
    clips, coolant = (x for x in found.lines if x.kind == "renewables")
    assert (clips.title, clips.quantity, clips.amount) == ("clip", 6, 2.1)
    assert (coolant.title, coolant.quantity, coolant.unit) == ("coolant", 3.5, "L")
    assert coolant.amount == 21.7
    assert found.total == pytest.approx(sum(x.amount for x in found.lines), abs=1e-9)
    assert [x.kind for x in found.lines] == [
        "labour", "contingency", "parts", "renewables", "renewables", "outside",
    ]  # fmt: skip


def test_what_has_no_price_is_listed_and_not_counted_as_nothing():
    found, _ = quoted()
    (washer,) = found.unpriced
    assert (washer.kind, washer.what, washer.quantity) == ("renewables", "drain washer", 1)
    assert not found.whole


def test_a_part_an_outside_job_and_a_rate_without_a_price_are_listed():
    todo, plan = work(labour_rate=None, unpriced={"radiator": ("hose set",)})
    free = {n: sat.replace_price(j, 0.0) for n, j in todo.problem.jobs.items()}
    bare = sat.todo(
        sat.with_jobs(todo.problem, free), notes={}, currency="EUR", parts=todo.parts
    )
    outlook = simulate(bare, plan)
    found = quote(bare, plan, outlook)
    assert {(u.kind, u.what) for u in found.unpriced} == {
        ("labour", "labour"), ("parts", "radiator"), ("outside", "alignment"),
    }  # fmt: skip
    assert found.total == 0.0
    assert found.lines == ()
    # a job whose price is known in part says which part is missing
    partly = quote(todo, plan, simulate(todo, plan))
    assert ("parts", "radiator", "hose set (radiator)") in {
        (u.kind, u.what, u.title) for u in partly.unpriced
    }


def test_taxes_are_left_out_and_it_says_so():
    found, _ = quoted()
    assert any("taxes" in words for words in found.left_out)
    assert not any("tax" in line.title for line in found.lines)


def test_the_total_is_rounded_up_on_a_line_of_its_own():
    found, _ = quoted(round_to=50.0)
    plain, _ = quoted()
    assert found.total % 50 == 0
    assert 0 < found.total - plain.total < 50
    assert found.amount("rounding") == pytest.approx(found.total - plain.total)
    again, _ = quoted(round_to=0.01)
    assert again.total == plain.total
    assert again.amount("rounding") == 0.0


@pytest.mark.parametrize("confidence", [0.2, 1.0, float("nan")])
def test_a_confidence_out_of_range_is_refused(confidence):
    todo, plan = work()
    outlook = simulate(todo, plan, draws=64)
    with pytest.raises(ValueError, match=r"0\.5 to 0\.995"):
        quote(todo, plan, outlook, confidence=confidence)


def test_rounding_to_nothing_is_refused():
    todo, plan = work()
    with pytest.raises(ValueError, match="above 0"):
        quote(todo, plan, simulate(todo, plan, draws=64), round_to=0.0)


TODO, PLAN = work()
OUTLOOK = simulate(TODO, PLAN)


@given(st.floats(0.5, 0.995), st.floats(0.5, 0.995))
def test_more_confidence_never_costs_less(one, other):
    low, high = sorted((one, other))
    a, b = (quote(TODO, PLAN, OUTLOOK, confidence=c) for c in (low, high))
    assert a.total <= b.total
    assert a.amount("labour") == b.amount("labour")


def test_yen_have_no_cents():
    found, _ = quoted(currency="JPY")
    assert all(x.amount == int(x.amount) for x in found.lines)
