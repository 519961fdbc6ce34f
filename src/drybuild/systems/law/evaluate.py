"""Rules applied as written: how far inside a limit a value lies, and which rule binds.

Nothing here knows a car: values in, slack out. SI floats or (N,) arrays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, FormulaRefused, NotWorkedOut, RuleSlack
from drybuild.systems.law.rules import (
    AnyRule,
    Between,
    Change,
    Limit,
    Member,
    Presence,
    Registered,
    RuleSet,
    Table,
    difference,
    number,
)
from drybuild.values import Array

# Floating arithmetic must not decide at an exact limit: 0.045 − 0.032 is "13 mm".
EDGE = 1e-9


@dataclass(frozen=True)
class Original:
    """What the maker fitted: smallest and largest where several were named."""

    smallest: Array
    largest: Array


@dataclass(frozen=True)
class Held:
    """A value between the ends that a rule sets, SI; None where it sets no such end.

    scale: size of the limit, for what counts as exactly at it.
    """

    value: Array
    low: Array | None
    high: Array | None
    scale: Array


@dataclass(frozen=True)
class Reading:
    """One applicable rule read against the car: slack (float or (N,)), SI, or ±1 for yes/no.

    held: what it was read between; None for yes/no.
    """

    rules: RuleSet
    rule: AnyRule
    slack: Array
    memory: bool
    held: Held | None = None

    @cached_property
    def best(self) -> float:
        """The slack's middle."""
        if isinstance(self.slack, float) or self.slack.ndim == 0:
            return float(self.slack)
        return float(np.median(self.slack))


def slack_of(rule: AnyRule, given: Mapping[str, Any], original: Original | None = None) -> Array:
    """How far inside one rule the value lies; negative outside.

    given: quantity → value (SI float or (N,), bool, or text). original: what a *change from
    original* counts from. Refuses (``FormulaRefused``) where the rule needs what is not given.
    At an exact limit an inclusive rule gives 0, an exclusive one less than 0.
    """
    return _slack(rule, given, held_between(rule, given, original))


def _slack(rule: AnyRule, given: Mapping[str, Any], held: Held | None) -> Array:
    if held is not None and not isinstance(rule, Presence | Member):
        return _edge(_inside(held), held.scale, rule.inclusive)
    value = _take(given, rule.quantity)
    if isinstance(rule, Presence):
        return _sign(bool(value) == (rule.shape == "fitted"))
    assert isinstance(rule, Member)
    return _sign(str(value).strip().lower() in {word.lower() for word in rule.allowed})


def _inside(held: Held) -> Array:
    """How far the value lies inside the nearer end."""
    above = None if held.low is None else held.value - held.low
    below = None if held.high is None else held.high - held.value
    if above is None or below is None:
        assert above is not None or below is not None  # a rule sets one end at least
        return below if above is None else above  # type: ignore[return-value]
    nearer: Array = np.minimum(above, below)
    return nearer


def held_between(
    rule: AnyRule, given: Mapping[str, Any], original: Original | None = None
) -> Held | None:
    """The value and the ends that one rule sets it; None of a rule of yes or no."""
    value = _take(given, rule.quantity)
    if isinstance(rule, Presence | Member):
        return None
    value = rounded(value, number(rule.round_to, rule.kind) if rule.round_to else 0.0)
    if isinstance(rule, Limit | Table):
        shape = rule.shape if isinstance(rule, Limit) else rule.acts
        own = limit_of(rule, given) if isinstance(rule, Limit) else _row_limit(rule, given)
        limit = _capped(own, rule.lesser_of, given)
        low, high = (None, limit) if shape == "at most" else (limit, None)
        return Held(value, low, high, limit)
    if isinstance(rule, Between):
        ends = number(rule.low, rule.kind), number(rule.high, rule.kind)
        return Held(value, *ends, ends[1])
    if original is None:
        raise FormulaRefused(f"{rule.source}: what the maker fitted is not stated")
    return _changed(rule, value, original)


def limit_of(rule: Limit, given: Mapping[str, Any]) -> Array:
    """The limit itself: share × reference + constant, SI."""
    constant = number(rule.limit, rule.kind) if rule.limit is not None else 0.0
    if rule.of is None:
        return constant
    numerator, denominator = rule.share
    reference: Array = _take(given, rule.of)
    return reference * (numerator / denominator) + constant


def rounded(value: Array, step: float) -> Array:
    """A reading rounded to a step, halves up, as rules of measuring write it; 0 leaves it."""
    if step <= 0:
        return value
    return np.floor(np.asarray(value) / step + 0.5) * step


def read_all(
    found: Iterable[tuple[RuleSet, AnyRule]],
    given: Mapping[str, Any],
    car: Registered,
    original: Mapping[str, Original] | None = None,
) -> tuple[Reading, ...]:
    """Every rule read against the car, the strictest (by best estimate) first.

    Of two that bind alike the one that was read stands before the one recalled.
    """
    readings = []
    for rules, rule in found:
        held = held_between(rule, given, (original or {}).get(rule.quantity))
        recalled = rule.how == "memory" and f"{rules.id}:{rule.id}" not in car.read_by_owner
        readings.append(Reading(rules, rule, _slack(rule, given, held), recalled, held))
    return tuple(sorted(readings, key=lambda r: (round(r.best, 9), r.memory)))


def strictest(readings: tuple[Reading, ...]) -> Any:
    """What a check returns: per draw the least slack of all rules; which rule binds; all shown."""
    if not readings:
        return NOT_APPLICABLE
    slack: Any = readings[0].slack
    for reading in readings[1:]:
        slack = np.minimum(slack, reading.slack)
    first = readings[0]
    return RuleSlack(
        slack=slack,
        rule=_line(first),
        memory=first.memory,
        shown=tuple(_line(reading) for reading in readings),
        **_between(first.held),
    )


def _between(held: Held | None) -> dict[str, Any]:
    return {} if held is None else {"value": held.value, "low": held.low, "high": held.high}


def _line(reading: Reading) -> str:
    rule = reading.rule
    how = {"memory": " (from memory)", "invented": " (invented)", "read": ""}[rule.how]
    if rule.how == "memory" and not reading.memory:
        how = " (read by the owner)"
    stand = "inside" if reading.best >= 0 else "outside"
    return f"{rule.says}: best estimate {stand}. {rule.source}{how} [{reading.rules.id}:{rule.id}]"


def _take(given: Mapping[str, Any], quantity: str) -> Any:
    value = given.get(quantity)
    if value is None:
        raise FormulaRefused(f"{quantity.replace('_', ' ')} is not stated")
    return value


def _sign(good: bool) -> float:
    return 1.0 if good else -1.0


def _capped(limit: Array, lesser_of: str | None, given: Mapping[str, Any]) -> Array:
    other = given.get(lesser_of) if lesser_of is not None else None
    return limit if other is None else np.minimum(limit, other)


def _row_limit(rule: Table, given: Mapping[str, Any]) -> Array:
    by = _take(given, rule.by)
    if isinstance(by, str):
        for row in rule.rows:
            if row.for_word == by:
                return number(row.limit, rule.kind)
        raise NotWorkedOut(f"{rule.source}: no row for {by!r}")
    at = np.asarray(by, dtype=np.float64)
    limit = np.full(at.shape, np.nan)
    for row in rule.rows:
        inside = (at > (row.over if row.over is not None else -np.inf)) & (
            at <= (row.up_to if row.up_to is not None else np.inf)
        )
        limit = np.where(inside, number(row.limit, rule.kind), limit)
    return float(limit) if limit.ndim == 0 else limit


def _changed(rule: Change, value: Array, original: Original) -> Held:
    up_from = original.smallest if rule.measured_from == "smallest" else original.largest
    down_from = original.largest if rule.measured_from == "largest" else original.smallest
    up = _step(rule.up, rule.up_share, rule.kind, up_from)
    down = _step(rule.down, rule.down_share, rule.kind, down_from)
    assert up is not None or down is not None  # the model demands one side
    return Held(
        value, None if down is None else down_from - down, None if up is None else up_from + up,
        np.maximum(np.abs(up_from), np.abs(down_from)),
    )  # fmt: skip


def _step(
    text: str | None, share: tuple[float, float] | None, kind: str, start: Array
) -> Array | None:
    if text is not None:
        return difference(text, kind)
    if share is not None:
        return start * (share[0] / share[1])
    return None


def _edge(slack: Array, scale: Array, inclusive: bool) -> Array:
    """Exactly at the limit: 0 where the limit itself is allowed, just below 0 where not."""
    width = EDGE * np.maximum(1e-3, np.abs(scale))
    return np.asarray(np.where(np.abs(slack) <= width, 0.0 if inclusive else -width, slack))
