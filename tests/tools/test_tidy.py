"""What does not belong here is found, and what only looks like it is left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

import tidy

# Put together from halves, so that this file is not found itself.
FOUND = [
    "see /ho" + "me/anna/car",
    "in '/ro" + "ot/x'",
    "in /wo" + "rk/planks",
    "https://py" + "pi.org/simple",
    "<" * 7 + " HEAD",
]


@pytest.mark.parametrize("text", FOUND)
def test_found(text: str) -> None:
    (fault,) = tidy.faults(Path("a.md"), f"first line\n{text}\n")
    assert fault.startswith("a.md:2: ")


@pytest.mark.parametrize(
    "text", ["m/s", "docs/work/x", "../work/plan", "work/", "/work/cards/3", "<<<< HEAD"]
)
def test_left_alone(text: str) -> None:
    assert list(tidy.faults(Path("a.md"), text)) == []


def test_a_module_is_one_room() -> None:
    assert list(tidy.faults(Path("src/a.py"), "x\n" * 501))
    assert not list(tidy.faults(Path("src/a.py"), "x\n" * 500))
    assert not list(tidy.faults(Path("tests/a.py"), "x\n" * 501))
