"""Make two pages of reference: what can be written in a build's files, and the rule sets.

python tools/reference_tables.py --out docs/generated
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import get_args

from drybuild.build.declared import (
    Declared,
    declared_addresses,
    declared_blend,
    field_kind,
    inner_model,
)
from drybuild.build.kinds import places, sections
from drybuild.findings import AXLES, CORNERS
from drybuild.systems.law import rule_sets
from drybuild.values import KINDS
from drybuild.values.types import OfCurve
from validation_table import cell

HEAD = ("kind", "name", "maker", "price", "approvals", "serial", "standard", "note")


def _plain(kind: str) -> str:
    return KINDS[kind].what.removeprefix("a ").removeprefix("an ")


def takes(declared: Declared) -> str:
    """What a fact takes: its quantity and usual range, its words, or the sort of thing."""
    kind = field_kind(declared.field)
    if kind is not None:
        usual = f"; usually {declared.typical}" if declared.typical else ""
        return _plain(kind) + usual
    waiting = [declared.field.annotation, *declared.field.metadata]
    while waiting:
        one = waiting.pop()
        if isinstance(one, OfCurve):
            return f"curve of {_plain(one.y_kind)} over {_plain(one.x_kind)}"
        words = [word for word in get_args(one) if isinstance(word, str)]
        if words:
            return " or ".join(f'`"{word}"`' for word in words)
        if one is bool:
            return "`true` or `false`"
        if one is int:
            return "whole number"
        waiting += get_args(one)
    return "text"


def _row(declared: Declared) -> str:
    measure = declared.measure
    how = "" if measure is None else f"{measure.tool}, {measure.minutes} min: {measure.how}"
    columns = (f"`{'.'.join(declared.path)}`", declared.doc, takes(declared), how)
    return "| " + " | ".join(cell(column) for column in columns) + " |"


def _table(found: list[Declared]) -> list[str]:
    rows = [
        one
        for one in found
        if (one.path[-1] not in HEAD or len(one.path) > 1)
        and inner_model(one.field.annotation) is None
    ]
    return ["| key | what it is | takes | how to measure |", "|---|---|---|---|", *map(_row, rows)]


def _owned(owner: str) -> list[Declared]:
    return [one for one in declared_addresses().values() if one.owner == owner]


def facts_page() -> str:
    """Every table and part kind with its keys."""
    lines = [
        "# What can be written",
        "",
        "Generated from the code. Every key is optional: leave out what nobody knows. "
        "A usual range stands here to help you read a tape, not to be copied. "
        "[Values](../values.md) says how a value is written, [The folder](../folder.md) where.",
        "",
        "## Tables of the car and the build",
        "",
    ]
    for name in sections():
        if name == "blend":
            title, found = "[blend.ID]", list(declared_blend("any").values())
        elif name == "axle":
            title, found = "[axle.front], [axle.rear]", _owned(f"axle.{AXLES[0]}")
        elif name == "corner":
            title, found = (
                "[corner.front] and [corner.front.left] …",
                _owned(f"corner.{CORNERS[0]}"),
            )
        else:
            title, found = f"[{name}]", _owned(name)
        lines += [f"### {title}", "", *_table(found), ""]
    lines += [
        "## Parts",
        "",
        "Each part may also state `name`, `maker`, `mass` of one, `price`, `approvals`, `serial`, "
        "`standard = true` and `note`.",
        "",
    ]
    seen: set[str] = set()
    for place in places().values():
        fitted = [other.root for other in places().values() if other.kind == place.kind]
        if place.kind in seen:
            continue
        seen.add(place.kind)
        where = ", ".join(f"`{root}`" for root in fitted)
        each = {"corner": "each corner", "axle": "each axle"}.get(place.per, "the car")
        rows = [one for one in _owned(place.instances[0]) if one.path != ("mass",)]
        lines += [f'### kind = "{place.kind}"', "", f"Goes to {where}, for {each}.", ""]
        lines += [*_table(rows), ""]
    return "\n".join(lines)


def rules_page() -> str:
    """Every rule set with its rules and what it does not assess."""
    lines = [
        "# Rule sets",
        "",
        "Generated from the data. A rule set is a reading aid: limits as written, with document, "
        "edition and clause. The authority's own text and its people decide. A limit *from memory* "
        "was not read and never makes *enough*. Name a set in `rule_sets` of `build.toml`.",
        "",
    ]
    for rules in rule_sets().values():
        lines += [
            f"## {rules.title}",
            "",
            ("Invented. " if rules.invented else "")
            + f"`{rules.id}`, edition {cell(rules.edition)}, jurisdiction "
            + f"{cell(rules.jurisdiction)}. Who decides: {cell(rules.authority)}.",
            "",
            "| rule | says | source |",
            "|---|---|---|",
        ]
        for rule in rules.rule:
            how = "" if rule.how == "read" else f" ({rule.how.replace('memory', 'from memory')})"
            lines.append(f"| `{rule.id}` | {cell(rule.says)} | {cell(rule.source)}{how} |")
        lines += ["", "Not assessed:", "", *(f"- {cell(one)}" for one in rules.not_assessed), ""]
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Make the pages of reference.")
    parser.add_argument("--out", type=Path, required=True, help="folder for the pages")
    asked = parser.parse_args(argv)
    asked.out.mkdir(parents=True, exist_ok=True)
    for name, text in (("facts.md", facts_page()), ("rules.md", rules_page())):
        (asked.out / name).write_text(text, encoding="utf-8")
        print(f"{asked.out / name}: {text.count(chr(10))} lines")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
