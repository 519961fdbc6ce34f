"""Rule sets as data: what a rule may look like, and how a file of rules is read.

A rule copies one limit as it is written: with its document, edition and clause, whether the
limit itself is allowed (inclusive), how a reading is rounded before it is compared, whom it
concerns (category, body, date of first registration, jurisdiction) and how we have it: ``read``
in a copy of the text, ``memory`` (recalled), or ``invented`` (a made-up rulebook).

The shapes are a closed set: at most, at least, between, change from original, member of,
fitted, absent, table. A rule set is a reading aid. The authority's own text decides.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from importlib.resources import files
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from drybuild.build.worded import in_one_line
from drybuild.values import DrybuildError, parse_value

How = Literal["read", "memory", "invented"]
Category = Literal["M1", "M1G", "N1", "N1G"]
FORMAT: Final = 1

# What a rule may speak about, and the kind of quantity it is ("text" and "match" are not numbers).
QUANTITIES: Final[dict[str, str]] = {
    "indicated_speed": "speed",
    "true_speed": "speed",
    "top_speed": "speed",
    "tyre_diameter": "length",
    "tyre_width": "length",
    "tyre_speed": "speed",
    "tyre_load": "mass",
    "axle_load_limit": "mass",
    "track_width": "length",
    "wheel_offset": "length",
    "spacer": "match",
    "ride_height": "length",
    "body_height": "length",
    "lowering": "length",
    "lifting": "length",
    "original_bump_travel": "length",
    "original_droop_travel": "length",
    "suspension_travel": "length",
    "bump_travel": "length",
    "droop_travel": "length",
    "clearance_near_axle": "length",
    "clearance_between_axles": "length",
    "wheelbase": "length",
    "tyre_cover": "length",
    "guard_rear_edge": "length",
    "lamp_height": "length",
    "noise_at_rest": "sound_level",
    "pass_by_noise": "sound_level",
    "power_to_mass": "number",
    "category": "text",
    "seats": "number",
    "catalyst": "match",
    "flaps": "match",
    "vapour_system": "match",
    "catch_tank": "match",
    "tow_eye": "match",
    "tow_eye_colour": "text",
    "rollover_bar": "match",
}


class RuleFault(ValueError):
    """A rule set file says something that cannot be read as a rule."""


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class RuleBase(_Frozen):
    """What every rule carries, whatever its shape."""

    id: str
    says: str = Field(description="the rule in short words of our own")
    quantity: str
    document: str
    edition: str = ""
    clause: str = ""
    how: How
    note: str = ""
    jurisdiction: str | None = None
    category: tuple[Category, ...] = ()
    body: Literal["open", "closed"] | None = None
    registered_from: date | None = None
    registered_before: date | None = None

    @model_validator(mode="after")
    def _known_quantity(self) -> RuleBase:
        _quantity(self.quantity)
        return self

    @property
    def kind(self) -> str:
        """Kind of quantity of the value that the rule limits."""
        return QUANTITIES[self.quantity]

    @property
    def source(self) -> str:
        """Document, edition and clause in one line."""
        return ", ".join(part for part in (self.document, self.edition, self.clause) if part)


class Limit(RuleBase):
    """At most or at least: value against ``times`` × ``of`` + ``limit``.

    lesser_of: a second quantity; the limit is the lesser of both where that one is stated.
    """

    shape: Literal["at most", "at least"]
    limit: str | None = None
    of: str | None = None
    share: tuple[float, float] = (1.0, 1.0)
    lesser_of: str | None = None
    inclusive: bool = True
    round_to: str | None = None

    @model_validator(mode="after")
    def _readable(self) -> Limit:
        if self.limit is None and self.of is None:
            raise ValueError("needs a limit, or the quantity that it is a share of")
        for text in (self.limit, self.round_to):
            if text is not None:
                number(text, self.kind)
        for name in (self.of, self.lesser_of):
            if name is not None:
                _quantity(name)
        return self


class Between(RuleBase):
    """Between two fixed limits."""

    shape: Literal["between"]
    low: str
    high: str
    inclusive: bool = True
    round_to: str | None = None

    @model_validator(mode="after")
    def _readable(self) -> Between:
        if not number(self.low, self.kind) < number(self.high, self.kind):
            raise ValueError("low must lie below high")
        return self


class Change(RuleBase):
    """Change from original, up and down, as a quantity or as a share (numerator, denominator).

    measured_from: where the maker names several, up counts from the largest and down from the
    smallest (``ends``), or both from one of them.
    """

    shape: Literal["change from original"]
    up: str | None = None
    down: str | None = None
    up_share: tuple[float, float] | None = None
    down_share: tuple[float, float] | None = None
    measured_from: Literal["ends", "largest", "smallest"] = "ends"
    inclusive: bool = True
    round_to: str | None = None

    @model_validator(mode="after")
    def _readable(self) -> Change:
        sides = (self.up, self.down, self.up_share, self.down_share)
        if all(side is None for side in sides):
            raise ValueError("needs up, down, up_share or down_share")
        if (self.up is not None and self.up_share is not None) or (
            self.down is not None and self.down_share is not None
        ):
            raise ValueError("one side is given both as a quantity and as a share")
        for text in (self.up, self.down, self.round_to):
            if text is not None:
                difference(text, self.kind)
        return self


class Member(RuleBase):
    """One of the words that the rule lists."""

    shape: Literal["member of"]
    allowed: tuple[str, ...] = Field(min_length=1)


class Presence(RuleBase):
    """Fitted, or absent."""

    shape: Literal["fitted", "absent"]


class Row(_Frozen):
    """One row of a table: for a word (``for_word``), or over … up to … of a number."""

    for_word: str | None = None
    over: float | None = None
    up_to: float | None = None
    limit: str


class Table(RuleBase):
    """A limit that depends on another quantity, by rows; acts like at most or at least."""

    shape: Literal["table"]
    acts: Literal["at most", "at least"]
    by: str
    rows: tuple[Row, ...] = Field(min_length=1)
    lesser_of: str | None = None
    inclusive: bool = True
    round_to: str | None = None

    @model_validator(mode="after")
    def _readable(self) -> Table:
        kind = _quantity(self.by)
        for row in self.rows:
            number(row.limit, self.kind)
            if (kind == "text") != (row.for_word is not None):
                wanted = "a word" if kind == "text" else "numbers"
                raise ValueError(f"rows by {self.by} need {wanted}")
        return self


Rule = Annotated[Limit | Between | Change | Member | Presence | Table, Field(discriminator="shape")]
AnyRule = Limit | Between | Change | Member | Presence | Table


class RuleSet(_Frozen):
    """A set of rules of one authority: a reading aid, not the law."""

    format: Literal[1]
    id: str
    title: str
    jurisdiction: str
    edition: str
    authority: str
    governs: Literal["road", "competition"]
    invented: bool = False
    valid_from: date | None = None
    valid_until: date | None = None
    not_assessed: tuple[str, ...] = Field(min_length=1)
    rule: tuple[Rule, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _one_id_each(self) -> RuleSet:
        seen: set[str] = set()
        for rule in self.rule:
            if rule.id in seen:
                raise ValueError(f"rule id {rule.id!r} is used twice")
            seen.add(rule.id)
            if (rule.how == "invented") != self.invented:
                raise ValueError(f"rule {rule.id!r}: invented rules live in invented sets only")
        return self


@dataclass(frozen=True)
class Registered:
    """What decides whether a rule concerns this car; None where nobody has said.

    read_by_owner: ids ``set:rule`` of recalled rules that the owner has since read in the
    authority's own text and found to say the same.
    """

    jurisdiction: str | None = None
    category: str | None = None
    body: str | None = None
    first_registered: date | None = None
    read_by_owner: frozenset[str] = frozenset()


def applies(rule: AnyRule, rules: RuleSet, car: Registered) -> bool:
    """Whether a rule concerns this car. What nobody has stated excludes nothing."""
    where = rule.jurisdiction or rules.jurisdiction
    if where != "UN" and car.jurisdiction is not None and rules.governs == "road":
        inside = _within(car.jurisdiction, where) or _within(where, car.jurisdiction)
        if not inside:
            return False
    if rule.category and car.category is not None and car.category not in rule.category:
        return False
    if rule.body is not None and car.body is not None and car.body != rule.body:
        return False
    day = car.first_registered
    if day is None:
        return True
    if rule.registered_from is not None and day < rule.registered_from:
        return False
    return rule.registered_before is None or day < rule.registered_before


def _within(part: str, whole: str) -> bool:
    return part == whole or part.startswith(whole + "-")


@cache
def number(text: str, kind: str) -> float:
    """A limit as written, in SI; limits are exact. Raises ValueError that says what was wrong."""
    try:
        return parse_value(text, kind, how="catalogue").centre
    except DrybuildError as error:
        raise ValueError(str(error)) from None


def difference(text: str, kind: str) -> float:
    """A permitted change as written, in SI. A difference of sound levels is in the same unit."""
    return number(text, kind)


def _quantity(name: str) -> str:
    if name not in QUANTITIES:
        raise ValueError(f"no quantity {name!r}; known: {', '.join(sorted(QUANTITIES))}")
    return QUANTITIES[name]


def read_rule_set(text: str, *, name: str) -> RuleSet:
    """Read one rule set file; every fault of the file is named at once."""
    try:
        return RuleSet.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise RuleFault(f"{name}: {error}") from None
    except ValidationError as error:
        lines = [f"{name}: {in_one_line(fault)}" for fault in error.errors()]
        raise RuleFault("\n".join(lines)) from None


@cache
def rule_sets() -> dict[str, RuleSet]:
    """The rule sets that come with the program, by id."""
    found: dict[str, RuleSet] = {}
    folder = files(__package__).joinpath("rule_sets")
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".toml"):
            rules = read_rule_set(entry.read_text(encoding="utf-8"), name=entry.name)
            found[rules.id] = rules
    return found


@cache
def chosen(ids: tuple[str, ...]) -> tuple[RuleSet, ...]:
    """The rule sets with these ids; an unknown id is an error that lists the known ones."""
    known = rule_sets()
    unknown = [i for i in ids if i not in known]
    if unknown:
        raise RuleFault(f"no rule set {', '.join(unknown)}; known: {', '.join(known)}")
    return tuple(known[i] for i in ids)


def select(
    sets: Iterable[RuleSet], quantities: Iterable[str], car: Registered, governs: str
) -> tuple[tuple[RuleSet, AnyRule], ...]:
    """The rules of these sets over these quantities that concern this car."""
    wanted = frozenset(quantities)
    return tuple(
        (rules, rule)
        for rules in sets
        if rules.governs == governs
        for rule in rules.rule
        if rule.quantity in wanted and applies(rule, rules, car)
    )


@lru_cache(maxsize=512)
def rules_for(
    ids: tuple[str, ...], quantities: tuple[str, ...], car: Registered, governs: str
) -> tuple[tuple[RuleSet, AnyRule], ...]:
    """As ``select``, over sets that come with the program; remembered between examinations."""
    return select(chosen(ids), quantities, car, governs)
