"""Find formulas that nothing outside the project holds.

    python tools/guarded.py --rows build/validation.jsonl

A formula is guarded when an outside test with a mark other than `regression` holds it, or holds
another formula of its room that calls it. The rest fail, unless guarded.toml names them with a
reason. A reason that is no longer needed fails too.
"""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from outside_rows import Formula, Row, formulas, need, read_rows

ROOT = Path(__file__).parents[1]
ALLOWED = Path(__file__).with_name("guarded.toml")


def room_of(name: str) -> str:
    return name.split(".systems.")[1].split(".")[0]


def guards(found: Iterable[Formula], rows: Iterable[Row]) -> dict[str, str]:
    """Formula -> what guards it: a mark, or `through NAME`. Unguarded formulas are absent."""
    every = {formula.name: formula for formula in found}
    guarded: dict[str, str] = {}
    for row in rows:
        if row.held and row.mark != "regression" and row.formula in every:
            guarded.setdefault(row.formula, row.mark)
    waiting = list(guarded)
    while waiting:
        outer = every[waiting.pop()]
        for name in every:
            if (
                name not in guarded
                and room_of(name) == room_of(outer.name)
                and name.rpartition(".")[2] in outer.calls
            ):
                guarded[name] = f"through {outer.name.rpartition('.')[2]}"
                waiting.append(name)
    return guarded


def judge(
    found: Iterable[Formula], rows: Iterable[Row], allowed: Mapping[str, str]
) -> tuple[list[str], list[str]]:
    """(faults, remarks) in words."""
    found, rows = list(found), list(rows)
    guarded = guards(found, rows)
    names = {formula.name for formula in found}
    regression = {row.formula for row in rows if row.mark == "regression"}
    faults, remarks = [], []
    for formula in found:
        if formula.name in guarded:
            continue
        by = "only by its own output" if formula.name in regression else "by nothing"
        if formula.name in allowed:
            remarks.append(f"{formula.name}: guarded {by}; {allowed[formula.name]}")
        else:
            where = formula.path.relative_to(ROOT) if formula.path.is_relative_to(ROOT) else ""
            faults.append(f"{where}:{formula.line}: {formula.name} is guarded {by}")
    for name in allowed:
        if name not in names or name in guarded:
            faults.append(f"{ALLOWED.name}: {name} needs its exception no more")
    return faults, remarks


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Find formulas that nothing outside holds.")
    parser.add_argument("--rows", type=Path, required=True)
    parser.add_argument("--package", type=Path, default=ROOT / "src" / "drybuild")
    parser.add_argument("--report", action="store_true", help="list, but exit 0")
    asked = parser.parse_args(argv)
    allowed: dict[str, str] = {}
    if ALLOWED.is_file():
        allowed = tomllib.loads(ALLOWED.read_text(encoding="utf-8")).get("allowed", {})
    found = formulas(asked.package)
    faults, remarks = judge(found, read_rows(need(asked.rows)), allowed)
    for line in (*remarks, *faults):
        print(line)
    print(f"guarded: {len(found)} formulas, {len(faults)} faults, {len(remarks)} exceptions")
    return 1 if faults and not asked.report else 0


if __name__ == "__main__":
    raise SystemExit(main())
