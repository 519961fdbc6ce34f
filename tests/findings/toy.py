"""A toy system and a toy source of facts for the kernel's own tests."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from drybuild.findings import Evaluation, Fact, Missing, Registry, Room, Source, UnknownAddress
from drybuild.findings.finding import Finding, assess, margins
from drybuild.findings.needs import subjects
from drybuild.values import Draws, HowKnown, Value, parse_value

SOURCE = Source("toy book", how="computed")


@dataclass
class ToyFacts:
    """Facts straight from a dictionary of texts; ``changed`` lists what a Change touched."""

    kinds: dict[str, str]
    texts: dict[str, Any]
    draws: Draws
    changed: frozenset[str] = frozenset()
    absent: frozenset[str] = frozenset()
    how: str = "measured"
    blends: tuple[str, ...] = field(default=())

    def fact(self, address: str) -> Fact | Missing:
        if address not in self.kinds:
            raise UnknownAddress(address)
        changed = address in self.changed
        if address not in self.texts:
            return Missing(address, changed, address in self.absent)
        kind = self.kinds[address]
        raw = self.texts[address]
        if kind == "text":
            return Fact(address, raw, (), HowKnown.MEASURED, changed)
        value = raw if isinstance(raw, Value) else parse_value(raw, kind, how=self.how)
        column = value.column(self.draws, address)
        return Fact(address, column, value.columns_used(address), value.how, changed)


def toy_room(consequence: str = "damage", **extra: Any) -> Room:
    """Gap between a rod and a hole: slack = hole − rod, along one axis."""
    room = Room("toy", title="Toy")
    room.result(
        "toy.hole", of=lambda *, hole, paint: hole - 2 * paint, kind="length",
        needs={"hole": "car.hole", "paint": "~car.paint"}, source=SOURCE,
        formula="hole − 2·paint", valid={"paint": (0.0, 0.001)},
    )  # fmt: skip
    room.check(
        "toy.gap", title="rod in its hole", kind="length",
        needs={"hole": "toy.hole", "rod": "car.rod"}, slack=lambda *, hole, rod: hole - rod,
        consequence=consequence, stops=("drive",), source=SOURCE,
        safety="mind the rod" if consequence == "injury" else "", **{"gap_wanted": 0.001, **extra},
    )  # fmt: skip
    return room


KINDS = {"car.hole": "length", "car.rod": "length", "car.paint": "length", "car.word": "text"}


def find(
    room: Room, texts: dict[str, Any], *, n: int = 4096, kinds: dict[str, str] | None = None,
    **facts: Any,
) -> list[Finding]:
    """All findings of a toy room over toy facts."""
    registry = Registry([room])
    source = ToyFacts(kinds or KINDS, texts, Draws(n, 1), **facts)
    evaluation = Evaluation(registry, source, n)
    raw = [
        item
        for spec in registry.checks.values()
        for subject in subjects(spec.per, source.blends)
        if (item := evaluation.check(spec, subject)) is not None
    ]
    return assess(raw, margins(raw, n))
