"""The guard and the validation table, on a toy room with known rows."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pytest

import guarded
import outside_rows
import validation_table

SOURCE = """
def outer(*, x: float) -> float:
    return inner(x=x) + 1

def inner(*, x: float) -> float:
    return x

def alone(*, x: float) -> float:
    return x

def _private(*, x: float) -> float:
    return x

def helper(x: float) -> float:
    return x
"""
HEAD = "drybuild.systems.toy.formulas."


def _row(name: str, mark: str = "textbook", **other: object) -> outside_rows.Row:
    values: dict[str, object] = {
        "formula": HEAD + name,
        "source": "a book",
        "mark": mark,
        "test": "tests/outside/test_toy.py::test_it[1]",
        "kind": "rel",
        "error": 0.001,
        "tolerance": 0.01,
        "points": 1,
        "note": "",
        "held": True,
    }
    return outside_rows.Row(**{**values, **other})  # type: ignore[arg-type]


@pytest.fixture
def found(tmp_path: Path) -> list[outside_rows.Formula]:
    path = tmp_path / "drybuild" / "systems" / "toy" / "formulas.py"
    path.parent.mkdir(parents=True)
    path.write_text(SOURCE, encoding="utf-8")
    path.with_name("checks.py").write_text("def slack(*, x: float) -> float:\n    return x\n")
    return outside_rows.formulas(tmp_path / "drybuild")


def test_public_functions_are_the_formulas(found: list[outside_rows.Formula]) -> None:
    assert [one.name for one in found] == [HEAD + name for name in ("outer", "inner", "alone")]


def test_a_formula_is_held_directly_or_through_its_caller(
    found: list[outside_rows.Formula],
) -> None:
    assert guarded.guards(found, [_row("outer")]) == {
        HEAD + "outer": "textbook",
        HEAD + "inner": "through outer",
    }
    # what is called does not hold its caller
    assert guarded.guards(found, [_row("inner")]) == {HEAD + "inner": "textbook"}


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (_row("alone", "regression"), "only by its own output"),
        (_row("alone", held=False), "by nothing"),
    ],
)
def test_own_output_and_failed_tests_hold_nothing(
    found: list[outside_rows.Formula], row: outside_rows.Row, words: str
) -> None:
    faults, remarks = guarded.judge(found, [_row("outer"), row], {})
    assert remarks == []
    assert len(faults) == 1
    assert words in faults[0]
    assert "alone" in faults[0]


def test_an_exception_needs_to_be_needed(found: list[outside_rows.Formula]) -> None:
    rows = [_row("outer")]
    faults, remarks = guarded.judge(found, rows, {HEAD + "alone": "no source is known"})
    assert faults == []
    assert len(remarks) == 1
    faults, _ = guarded.judge(found, [*rows, _row("alone")], {HEAD + "alone": "stale"})
    assert "no more" in faults[0]
    faults, _ = guarded.judge(found, [*rows, _row("alone")], {HEAD + "gone": "stale"})
    assert "no more" in faults[0]


def test_one_formula_and_one_source_count_once() -> None:
    rows = [
        _row("outer", error=0.002, points=3),
        _row("outer", error=0.009, test="tests/outside/test_toy.py::test_other"),
        _row("outer", source="another book"),
    ]
    held = outside_rows.group(rows)
    assert [(one.source, one.points) for one in held] == [("a book", 4), ("another book", 1)]
    assert held[0].worst.error == 0.009
    assert held[0].tests == (
        "tests/outside/test_toy.py::test_it",
        "tests/outside/test_toy.py::test_other",
    )


def test_the_table_says_what_holds_what(found: list[outside_rows.Formula]) -> None:
    rows = [
        _row("outer", points=3, source="a | book <x>"),
        _row("alone", "regression"),
        _row("outer", "authority", source="a code", kind="abs", error=0.02, tolerance=0.05),
    ]
    text = validation_table.page(outside_rows.group(rows), found, guarded.guards(found, rows))
    assert "**2 checks against the world**, over 1 rooms." in text
    assert "a \\| book &lt;x>" in text
    assert "| authority | 0.02 | 0.05 |" in text
    assert "| textbook | 0.1 %, worst of 3 | 1 % |" in text
    assert "| `toy.formulas.inner` | through outer |" in text
    assert "Held by nothing" not in text  # alone is listed with its regression row


def test_rows_are_read_as_written(tmp_path: Path) -> None:
    rows = [_row("outer"), _row("inner", note="± as printed")]
    path = tmp_path / "rows.jsonl"
    text = "".join(json.dumps(asdict(row), ensure_ascii=False) + "\n" for row in rows)
    path.write_text(text, encoding="utf-8")
    assert set(outside_rows.read_rows(path)) == set(rows)
    with pytest.raises(SystemExit, match="make test"):
        outside_rows.need(tmp_path / "none")
