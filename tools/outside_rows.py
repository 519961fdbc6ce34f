"""The comparisons that the outside tests wrote down, and the formulas that there are."""

from __future__ import annotations

import ast
import json
import sys
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path

import floors

# Strongest first: the table and the guard name the best thing that holds a formula.
MARKS = ("authority", "textbook", "measured", "cross_model", "practice", "regression")


@dataclass(frozen=True)
class Row:
    """One comparison of one formula with one source, as the `against` fixture writes it."""

    formula: str
    source: str
    mark: str
    test: str
    kind: str
    error: float
    tolerance: float
    points: int
    note: str
    held: bool


@dataclass(frozen=True)
class Held:
    """One formula against one source: however many rows and tests, it counts once."""

    formula: str
    source: str
    mark: str
    tests: tuple[str, ...]
    worst: Row
    points: int
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Formula:
    """A public function with keyword-only arguments, in a module of formulas."""

    name: str
    path: Path
    line: int
    calls: frozenset[str]


def read_rows(path: Path) -> list[Row]:
    names = [field.name for field in fields(Row)]
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines():
        data = json.loads(line)
        rows.append(Row(**{name: data[name] for name in names}))
    return sorted(set(rows), key=lambda row: (row.formula, row.source, row.test, row.note))


def _strain(row: Row) -> float:
    """How much of its tolerance an error uses up."""
    return row.error / row.tolerance if row.tolerance else row.error


def group(rows: Iterable[Row]) -> list[Held]:
    """Rows by formula, source and mark, ordered by formula and strength of mark."""
    boxes: dict[tuple[str, str, str], list[Row]] = {}
    for row in rows:
        boxes.setdefault((row.formula, row.source, row.mark), []).append(row)
    held = [
        Held(
            formula,
            source,
            mark,
            tests=tuple(sorted({row.test.split("[")[0] for row in box})),
            worst=max(box, key=_strain),
            points=sum(row.points for row in box),
            notes=tuple(sorted({row.note for row in box if row.note})),
        )
        for (formula, source, mark), box in boxes.items()
    ]
    return sorted(held, key=lambda one: (one.formula, MARKS.index(one.mark), one.source))


def _called(node: ast.AST) -> frozenset[str]:
    """Names of the functions that a function calls, without the module before the dot."""
    calls = [inner.func for inner in ast.walk(node) if isinstance(inner, ast.Call)]
    return frozenset(
        {call.id for call in calls if isinstance(call, ast.Name)}
        | {call.attr for call in calls if isinstance(call, ast.Attribute)}
    )


def _is_formula(node: ast.stmt) -> bool:
    """A public function that takes keyword-only arguments and nothing else."""
    if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
        return False
    taken = node.args
    return bool(taken.kwonlyargs) and not (taken.args or taken.posonlyargs or taken.vararg)


def formulas(package: Path) -> list[Formula]:
    """Every formula of every room in systems/, by what floors.toml calls a module of formulas."""
    rules = floors.read_rules()
    found = []
    for path in sorted((package / "systems").rglob("*.py")):
        module = floors.module_name(path, package)
        if not floors.holds_formulas(module, rules):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and _is_formula(node):
                name = f"{module}.{node.name}"
                found.append(Formula(name, path, node.lineno, _called(node)))
    return found


def need(path: Path) -> Path:
    """The file of rows, or an exit that says how to make it."""
    if not path.is_file():
        sys.exit(f"{path} is not there: run `make test` first, it writes the file")
    return path
