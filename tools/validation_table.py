"""Make the validation table: formula, source, test, mark, error seen, tolerance.

    python tools/validation_table.py --rows build/validation.jsonl --out FILE

One formula against one source is one line and counts once, however many points were compared.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from guarded import guards
from outside_rows import MARKS, Formula, Held, formulas, group, need, read_rows

ROOT = Path(__file__).parents[1]
MEANING = {
    "authority": "a standard, a regulation or a handbook table",
    "textbook": "a worked example in print",
    "measured": "open measured data",
    "cross_model": "an independent library",
    "practice": "a fact of the trade, without a printed source",
    "regression": "the project's own earlier output",
}


def number(value: float, kind: str) -> str:
    """Two figures; relative errors in percent."""
    if kind == "exact":
        return "exact" if value == 0 else "differs"
    if value == 0:
        return "0"
    return f"{value * 100:.2g} %" if kind == "rel" else f"{value:.2g}"


def cell(text: str) -> str:
    """Text that cannot break a table's row."""
    return text.replace("|", "\\|").replace("\n", " ").replace("<", "&lt;").strip()


def short(formula: str) -> str:
    return formula.removeprefix("drybuild.").removeprefix("systems.")


def _room(formula: str) -> str:
    return short(formula).split(".")[0]


def in_room(formula: str) -> str:
    """The name below its room's heading: room and module of formulas go without saying."""
    return short(formula).split(".", 1)[1].removeprefix("formulas.")


def _line(one: Held) -> str:
    tests = ", ".join(f"`{test.split('::')[-1]}`" for test in one.tests)
    source = one.source + (f" ({'; '.join(one.notes)})" if one.notes else "")
    seen = number(one.worst.error, one.worst.kind)
    if one.points > 1:
        seen += f", worst of {one.points}"
    allowed = "" if one.worst.kind == "exact" else number(one.worst.tolerance, one.worst.kind)
    columns = (f"`{in_room(one.formula)}`", cell(source), tests, one.mark, seen, allowed)
    return "| " + " | ".join(columns) + " |"


def _files(held: Iterable[Held]) -> str:
    files = {test.split("::")[0] for one in held for test in one.tests}
    return ", ".join(f"`{name}`" for name in sorted(files))


def page(held: Iterable[Held], found: Iterable[Formula], guarded: dict[str, str]) -> str:
    held, found = list(held), list(found)
    outside = [one for one in held if one.mark != "regression"]
    counts = Counter(one.mark for one in held)
    lines = [
        "# Validation table",
        "",
        "Generated from the tests. One formula against one source is one line and counts once. "
        "Errors in percent are relative; the others are in SI units. "
        "A tolerance comes from the source's own rounding or from the sensor, "
        "never from the error seen.",
        "",
        f"**{len(outside)} checks against the world**, over "
        f"{len({_room(one.formula) for one in outside})} rooms.",
        "",
        "| mark | held to | checks |",
        "|---|---|---|",
        *(f"| {mark} | {MEANING[mark]} | {counts[mark]} |" for mark in MARKS if counts[mark]),
        "",
    ]
    for room in sorted({_room(one.formula) for one in held}):
        lines += [
            f"## {room.capitalize()}",
            "",
            f"Tests in {_files(one for one in held if _room(one.formula) == room)}.",
            "",
            "| formula | source | test | mark | error seen | allowed |",
            "|---|---|---|---|---|---|",
            *(_line(one) for one in held if _room(one.formula) == room),
            "",
        ]
    direct = {one.formula for one in held}
    through = [formula for formula in found if guarded.get(formula.name, "").startswith("through")]
    if through:
        lines += ["## Held through another formula", "", "| formula | held |", "|---|---|"]
        lines += [f"| `{short(one.name)}` | {guarded[one.name]} |" for one in through]
        lines += [""]
    bare = [one.name for one in found if one.name not in guarded and one.name not in direct]
    if bare:
        lines += ["## Held by nothing outside", "", *(f"- `{short(name)}`" for name in bare), ""]
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Make the validation table.")
    parser.add_argument("--rows", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--package", type=Path, default=ROOT / "src" / "drybuild")
    asked = parser.parse_args(argv)
    rows = [row for row in read_rows(need(asked.rows)) if row.held]
    found = formulas(asked.package)
    held = group(rows)
    asked.out.parent.mkdir(parents=True, exist_ok=True)
    asked.out.write_text(page(held, found, guards(found, rows)), encoding="utf-8")
    outside = sum(one.mark != "regression" for one in held)
    print(f"{asked.out}: {outside} checks against the world")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
