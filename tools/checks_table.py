"""Make the table of checks and records from what the rooms registered.

python tools/checks_table.py --out docs/generated/checks.md
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from drybuild.findings import CheckSpec, Need, RecordSpec, Registry, Room, Source
from drybuild.systems import REGISTRY
from drybuild.values import KINDS, show
from validation_table import cell

PER = {"car": "the car", "axle": "each axle", "corner": "each corner", "blend": "each fuel"}
HOW = {"read": "read", "computed": "worked out", "memory": "from memory", "practice": "practice"}


def source_text(source: Source) -> str:
    """Document, edition, clause, and how we have it."""
    named = ", ".join(part for part in (source.document, source.edition, source.clause) if part)
    return cell(named) if source.how == "practice" else f"{cell(named)} ({HOW[source.how]})"


def gap_text(check: CheckSpec) -> str:
    """The gap wanted, as a reader meets it."""
    if isinstance(check.gap_wanted, Need):
        return cell(" or ".join(f"`{address}`" for address in check.gap_wanted.addresses))
    if not check.gap_wanted or check.kind not in KINDS:
        return ""
    return cell(show(check.kind, float(check.gap_wanted)))


def check_row(check: CheckSpec) -> str:
    """One check as a line of the table."""
    what = cell(check.title)
    if check.pose:
        what += f"<br>{cell(check.pose)}"
    if check.safety:
        what += f"<br>*{cell(check.safety)}*"
    columns = (
        f"`{check.id}`",
        what,
        PER[check.per],
        gap_text(check),
        str(check.consequence),
        ", ".join(check.stops),
        source_text(check.source),
    )
    return "| " + " | ".join(columns) + " |"


def record_row(record: RecordSpec) -> str:
    """One record as a line of the table."""
    evidence = ", ".join(record.evidence)
    if record.second_person:
        evidence += ", a second person"
    changed = ", ".join(f"`{pattern}`" for pattern in record.changed)
    columns = (
        f"`{record.id}`",
        cell(record.title),
        changed,
        evidence,
        ", ".join(record.stops),
        source_text(record.source),
    )
    return "| " + " | ".join(columns) + " |"


def _room(room: Room) -> list[str]:
    lines = [f"## {room.title[:1].upper()}{room.title[1:]}", ""]
    if room.checks:
        lines += [
            "| check | what, in which pose | for | gap wanted | when short | stops | source |",
            "|---|---|---|---|---|---|---|",
            *(check_row(check) for check in room.checks),
            "",
        ]
    if room.records:
        lines += [
            "Records:",
            "",
            "| record | what | owed after a change of | evidence | stops | source |",
            "|---|---|---|---|---|---|",
            *(record_row(record) for record in room.records),
            "",
        ]
    return lines


def page(registry: Registry) -> str:
    """The whole page."""
    checks = list(registry.checks.values())
    hows = Counter(check.source.how for check in checks)
    counted = ", ".join(f"{hows[how]} {HOW[how]}" for how in HOW if hows[how])
    return "\n".join(
        [
            "# Checks",
            "",
            f"Generated from the code: **{len(checks)} checks** and "
            f"{len(registry.records)} records. A check is one margin, not one for each side or "
            "axle. Ids are for ever.",
            "",
            "Where the source says *from memory*, the figure was recalled and not read; read the "
            f"document before you lean on it. Of the checks' sources: {counted}.",
            "",
            "A use that is stopped takes along what needs it: what stops *run* stops *creep*, "
            "*drive*, *full load* and *compete*.",
            "",
            *(line for room in registry.rooms for line in _room(room)),
        ]
    )


def missing_words(checks: Iterable[CheckSpec]) -> list[str]:
    """Checks that leave a reader alone: no pose, no cure, or no caution where somebody is hurt."""
    faults = []
    for check in checks:
        if not check.do:
            faults.append(f"{check.id}: says not what to do when short")
        if not check.source.document:
            faults.append(f"{check.id}: names no source")
        if str(check.consequence) == "injury" and not check.safety:
            faults.append(f"{check.id}: somebody can be hurt, and it has no caution")
    return faults


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Make the table of checks.")
    parser.add_argument("--out", type=Path, required=True)
    asked = parser.parse_args(argv)
    faults = missing_words(REGISTRY.checks.values())
    for fault in faults:
        print(fault)
    asked.out.parent.mkdir(parents=True, exist_ok=True)
    asked.out.write_text(page(REGISTRY), encoding="utf-8")
    print(f"{asked.out}: {len(REGISTRY.checks)} checks, {len(REGISTRY.records)} records")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
