"""Hold the floors: a room imports only from floors below it, or from itself.

    python tools/floors.py src/drybuild

Reads the source, never runs it. The floors, the rooms that stay apart and the imports that may
be deferred are in floors.toml. Exit 0 when the house stands, 1 when it does not.
"""

from __future__ import annotations

import argparse
import ast
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from pathlib import Path

RULES = Path(__file__).with_name("floors.toml")


@dataclass(frozen=True)
class Deferred:
    """One import inside a function that is allowed, and why."""

    importer: str
    imported: str
    because: str


@dataclass(frozen=True)
class Rules:
    floors: tuple[tuple[str, ...], ...]
    top: frozenset[str]
    apart: frozenset[str]
    formulas: tuple[str, ...]
    not_formulas: tuple[str, ...] = ()
    beside_top: frozenset[str] = frozenset()
    deferred: tuple[Deferred, ...] = ()
    dynamic: tuple[Deferred, ...] = ()
    package: str = "drybuild"
    height: dict[str, int] = field(init=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.height.update({room: n for n, rooms in enumerate(self.floors) for room in rooms})


@dataclass(frozen=True)
class Import:
    """One import: the module that asks, the module asked for, and where."""

    importer: str
    imported: str
    line: int
    deferred: bool


@dataclass(frozen=True)
class Fault:
    path: Path
    line: int
    what: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.what}"


def read_rules(path: Path = RULES) -> Rules:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    return Rules(
        floors=tuple(tuple(rooms) for rooms in data["floors"]),
        top=frozenset(data["top"]),
        beside_top=frozenset(data["beside_top"]),
        apart=frozenset(data["apart"]),
        formulas=tuple(data["formulas"]),
        not_formulas=tuple(data["not_formulas"]),
        deferred=tuple(
            Deferred(entry["in"], entry["imports"], entry["because"])
            for entry in data.get("deferred", ())
        ),
        dynamic=tuple(
            Deferred(entry["in"], "", entry["because"]) for entry in data.get("dynamic", ())
        ),
    )


class _Finder(ast.NodeVisitor):
    """Collects imports, with whether they stand inside a function."""

    def __init__(self, module: str, is_package: bool, known: frozenset[str]) -> None:
        self.module = module
        self.package = module if is_package else module.rpartition(".")[0]
        self.known = known
        self.depth = 0
        self.found: list[Import] = []
        self.dynamic: list[int] = []

    def _add(self, name: str, line: int) -> None:
        self.found.append(Import(self.module, name, line, self.depth > 0))

    def visit_Import(self, node: ast.Import) -> None:
        for alias in node.names:
            self._add(alias.name, node.lineno)

    def visit_ImportFrom(self, node: ast.ImportFrom) -> None:
        base = node.module or ""
        if node.level:
            parts = self.package.split(".")
            kept = parts[: len(parts) - node.level + 1]
            base = ".".join([*kept, base] if base else kept)
        for alias in node.names:
            # `from a import b` asks for a.b when that is a module, else for a name inside a
            deeper = f"{base}.{alias.name}"
            self._add(deeper if deeper in self.known else base, node.lineno)

    def visit_Call(self, node: ast.Call) -> None:
        called = node.func.attr if isinstance(node.func, ast.Attribute) else None
        called = node.func.id if isinstance(node.func, ast.Name) else called
        if called in ("import_module", "__import__") and node.args:
            name = node.args[0]
            if isinstance(name, ast.Constant) and isinstance(name.value, str):
                full = self.package + name.value if name.value.startswith(".") else name.value
                self._add(full, node.lineno)
            else:
                self.dynamic.append(node.lineno)
        self.generic_visit(node)

    def _inside(self, node: ast.AST) -> None:
        self.depth += 1
        self.generic_visit(node)
        self.depth -= 1

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        self._inside(node)

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> None:
        self._inside(node)


def module_name(path: Path, root: Path) -> str:
    parts = path.relative_to(root.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _room(module: str, package: str) -> str | None:
    """First name below the package: 'values' of drybuild.values.units; None for strangers."""
    if module == package:
        return "__init__"
    if not module.startswith(package + "."):
        return None
    return module.removeprefix(package + ".").split(".")[0]


def _apart_room(module: str, rules: Rules, folders: frozenset[str]) -> str | None:
    """The folder inside an apart room that a module belongs to: 'brakes' of systems.brakes.x."""
    parts = module.split(".")
    if len(parts) < 3 or parts[0] != rules.package or parts[1] not in rules.apart:
        return None
    return parts[2] if ".".join(parts[:3]) in folders else None


def _matches(name: str, pattern: str) -> bool:
    return fnmatchcase(name, pattern) or (
        pattern.endswith(".*") and name == pattern.removesuffix(".*")
    )


def _judge(found: Import, rules: Rules, folders: frozenset[str]) -> Iterator[str]:
    """What is wrong with one import, in words."""
    here, there = _room(found.importer, rules.package), _room(found.imported, rules.package)
    if found.deferred and not any(
        _matches(found.importer, entry.importer) and _matches(found.imported, entry.imported)
        for entry in rules.deferred
    ):
        yield (
            f"import of {found.imported} inside a function: move it to the head of the module, "
            "or add it to floors.toml with its reason"
        )
    if here is None or there is None or here in rules.top:
        return
    if there in rules.top:
        if here in rules.beside_top:
            return
        yield f"{here} imports from {rules.package} itself: import from the room that has it"
    elif there not in rules.height:
        yield f"{found.imported} stands on no floor: give its room a floor in floors.toml"
    elif here not in rules.height:
        return  # said once for the module, not once for each of its imports
    elif rules.height[there] > rules.height[here]:
        yield f"{here} imports {found.imported}, which is a floor above it"
    elif here != there and rules.height[there] == rules.height[here]:
        yield f"{here} imports {found.imported}, its neighbour on the same floor"
    elif here == there and here in rules.apart:
        mine = _apart_room(found.importer, rules, folders)
        other = _apart_room(found.imported, rules, folders)
        if mine is not None and other != mine:
            yield (
                f"{here}.{mine} imports {found.imported}: ask for its results by address, "
                "or move what is shared to a floor below"
            )


def holds_formulas(module: str, rules: Rules) -> bool:
    """Whether a module of an apart room is one of formulas, by its name."""
    parts = module.split(".")
    if len(parts) < 4 or parts[0] != rules.package or parts[1] not in rules.apart:
        return False
    return not any(fnmatchcase(parts[3], pattern) for pattern in rules.not_formulas)


def _judge_formulas(found: Import, rules: Rules) -> Iterator[str]:
    if not holds_formulas(found.importer, rules) or holds_formulas(found.imported, rules):
        return
    if not any(_matches(found.imported, allowed) for allowed in rules.formulas):
        yield f"formulas import {found.imported}: they are plain numbers in, plain numbers out"


def check(root: Path, rules: Rules) -> list[Fault]:
    """Every fault in the tree under root, in the order of files and lines."""
    paths = sorted(root.rglob("*.py"))
    names = {path: module_name(path, root) for path in paths}
    known = frozenset(names.values())
    folders = frozenset(names[path] for path in paths if path.name == "__init__.py")
    used: set[Deferred] = set()
    faults: list[Fault] = []
    for path in paths:
        module = names[path]
        room = _room(module, rules.package)
        if room not in rules.top and room not in rules.height:
            faults.append(Fault(path, 1, f"{module} stands on no floor"))
        finder = _Finder(module, path.name == "__init__.py", known)
        try:
            finder.visit(ast.parse(path.read_text(encoding="utf-8"), filename=str(path)))
        except SyntaxError as error:
            faults.append(Fault(path, error.lineno or 1, f"cannot be read: {error.msg}"))
            continue
        allowed = [entry for entry in rules.dynamic if entry.importer == module]
        if finder.dynamic:
            used.update(allowed)
        for line in () if allowed else finder.dynamic:
            faults.append(Fault(path, line, "an import whose name is only known when it runs"))
        for found in dict.fromkeys(finder.found):
            used.update(
                entry
                for entry in rules.deferred
                if found.deferred
                and _matches(found.importer, entry.importer)
                and _matches(found.imported, entry.imported)
            )
            for what in (*_judge(found, rules, folders), *_judge_formulas(found, rules)):
                faults.append(Fault(path, found.line, what))
    faults.extend(
        Fault(RULES, 1, f"the exception for {entry.importer} {entry.imported} is used no more")
        for entry in (*rules.deferred, *rules.dynamic)
        if entry not in used
    )
    return faults


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Check that each room imports only from below.")
    parser.add_argument("root", type=Path, help="the package's folder")
    parser.add_argument("--rules", type=Path, default=RULES)
    asked = parser.parse_args(argv)
    if not (asked.root / "__init__.py").is_file():
        print(f"{asked.root} is not a package", file=sys.stderr)
        return 2
    faults = check(asked.root, read_rules(asked.rules))
    for fault in faults:
        print(fault)
    count = len(list(asked.root.rglob("*.py")))
    print(f"floors: {count} modules, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
