"""Checks against the world: one formula, one source, one mark, one tolerance that the source set.

Each test here carries exactly one mark and makes its comparison through `against`. With
DRYBUILD_VALIDATION=FILE in the environment every comparison adds one line of JSON to FILE;
tools/validation_table.py makes the published table of it and tools/guarded.py finds formulas
that nothing outside holds.
"""

from __future__ import annotations

import importlib
import json
import os
from collections.abc import Callable, Generator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pytest

MARKS = frozenset({"authority", "textbook", "measured", "cross_model", "practice", "regression"})
ROWS = "DRYBUILD_VALIDATION"


@dataclass(frozen=True)
class Row:
    """One comparison, as the validation table shows it."""

    formula: str
    source: str
    mark: str
    test: str
    kind: str  # "rel", "abs" or "exact"
    error: float
    tolerance: float
    points: int
    note: str
    held: bool


def marks_of(item: pytest.Item) -> list[str]:
    return sorted({mark.name for mark in item.iter_markers() if mark.name in MARKS})


def faults_of(item: pytest.Item) -> list[str]:
    """What keeps an outside test from counting."""
    marks = marks_of(item)
    faults = []
    if len(marks) != 1:
        worn = ", ".join(marks) or "none"
        faults.append(f"needs exactly one mark of {', '.join(sorted(MARKS))}; it has: {worn}")
    if "against" not in getattr(item, "fixturenames", ()):
        faults.append("makes no comparison through the fixture `against`")
    return faults


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A module or class with a test that cannot count is not collected at all."""
    report = yield
    found = [item for item in report.result or () if isinstance(item, pytest.Item)]
    wrong = [f"{item.nodeid}: {fault}" for item in found for fault in faults_of(item)]
    if wrong:
        report.outcome = "failed"
        report.longrepr = "\n".join(wrong)
        report.result = []
    return report


def resolve(name: str) -> object:
    """The formula that a dotted name means; a name that means nothing fails the test."""
    parts = name.split(".")
    for end in range(len(parts) - 1, 0, -1):
        try:
            found: object = importlib.import_module(".".join(parts[:end]))
        except ModuleNotFoundError as error:
            # only a module of that very name may be absent; a broken import inside it is a fault
            if error.name is None or not ".".join(parts[:end]).startswith(error.name):
                raise
            continue
        for part in parts[end:]:
            found = getattr(found, part)
        return found
    raise ModuleNotFoundError(f"no module holds {name}")


def compare(
    got: Any, expected: Any, *, rel: float | None, abs_: float | None
) -> tuple[str, float, float, int, bool]:
    """(kind, worst error, tolerance, number of points, held) of a comparison."""
    if isinstance(expected, (str, bool, tuple)) and not _numeric(expected):
        return "exact", 0.0 if got == expected else 1.0, 0.0, 1, bool(got == expected)
    if (rel is None) == (abs_ is None):
        raise TypeError("say rel= or abs=, one of them: the tolerance that the source allows")
    found = np.asarray(got, dtype=float)
    wanted = np.asarray(expected, dtype=float)
    if found.shape != wanted.shape and wanted.ndim > 0:
        raise TypeError(f"got has shape {found.shape}, expected has {wanted.shape}")
    error = np.abs(found - wanted)
    if rel is not None:
        if np.any(wanted == 0):
            raise TypeError("rel= cannot judge an expected value of 0: say abs=")
        error = error / np.abs(wanted)
    tolerance = abs_ if abs_ is not None else rel
    assert tolerance is not None
    if not 0 < tolerance < np.inf:
        raise TypeError("a tolerance is above 0 and finite")
    # The last digit of a printed value is a decimal; a hair of binary rounding is not an error.
    held = bool(np.all(error <= tolerance * (1 + 1e-9)))
    return "abs" if abs_ is not None else "rel", float(np.max(error)), tolerance, error.size, held


def _numeric(value: object) -> bool:
    try:
        np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        return False
    return not isinstance(value, (str, bool))


@pytest.fixture
def against(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Hold `got` to `expected` from a source outside this project, and write the row down.

    against("drybuild.systems.x.formulas.y", got=..., expected=..., rel=1e-3, source="...")

    rel or abs is the tolerance that the source's own rounding or the sensor's accuracy sets,
    never one taken from the error seen. Texts, yes/no and tuples of texts compare exactly and
    take none. The rows of one table go in as one array and count once.
    """
    marks = marks_of(request.node)

    def hold(
        formula: str,
        *,
        got: Any,
        expected: Any,
        source: str,
        rel: float | None = None,
        abs: float | None = None,
        note: str = "",
    ) -> None:
        if not source.strip():
            raise TypeError("a comparison names its source")
        if not callable(resolve(formula)):
            raise TypeError(f"{formula} is no formula")
        kind, error, tolerance, points, held = compare(got, expected, rel=rel, abs_=abs)
        where = request.node.nodeid.replace("\\", "/")
        _write(Row(formula, source, marks[0], where, kind, error, tolerance, points, note, held))
        assert held, (
            f"{formula} against {source}: got {got}, expected {expected}, "
            f"{kind} error {error:.3g}, allowed {tolerance:.3g}"
        )

    return hold


def _write(row: Row) -> None:
    path = os.environ.get(ROWS)
    if not path:
        return
    line = json.dumps(asdict(row), ensure_ascii=False) + "\n"
    # One write at the end of the file: workers side by side do not tear each other's lines.
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    try:
        os.write(handle, line.encode("utf-8"))
    finally:
        os.close(handle)
