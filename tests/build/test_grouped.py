"""An underscore in a number: between thousands it is TOML's own, anywhere else a slip."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import drybuild
from drybuild.build import BuildProblem
from drybuild.build.grouped import grouping_faults

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover_saturdays"


@pytest.mark.parametrize(
    "text",
    ["a = 1_000", "a = -12_000.5", "a = 1.234_567_8", "a = 0xdead_beef", "a = 15",
     'a = "1_5 hours"', "a = 1 # not 1_5", "1_5 = 2", "[b.1_5]\na = 3", "a = 2026-11-29"],
)  # fmt: skip
def test_what_is_grouped_or_is_no_number_is_left_alone(text: str) -> None:
    assert grouping_faults(text, "work.toml") == ()


@pytest.mark.parametrize(
    ("text", "line", "keys", "said"),
    [
        ("format = 1\n[job.a]\nhours = 1_5", 3, "job.a.hours", "1_5, which TOML reads as 15"),
        ("a = [1.0,\n 2_5, 3]", 1, "a.1", "2_5, which TOML reads as 25"),
        ("a = { b = +0.5, c = -1_0.5 }", 1, "a.c", "-1_0.5, which TOML reads as -10.5"),
        ("[[a]]\nb = 1\n[[a]]\nb = 1_2_3", 4, "a.1.b", "1_2_3, which TOML reads as 123"),
    ],
)  # fmt: skip
def test_a_slip_says_where_it_stands_and_what_it_would_be(
    text: str, line: int, keys: str, said: str
) -> None:
    (fault,) = grouping_faults(text, "work.toml")
    assert (fault.file, fault.line, fault.where, fault.found) == ("work.toml", line, keys, said)
    assert "1_000" in fault.expected
    assert ("point" in fault.expected) == (said[:3] in ("1_5", "2_5"))


def test_hours_with_an_underscore_are_refused_with_their_line(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "car"))
    work = folder / "work.toml"
    text = work.read_text(encoding="utf-8") + "\n[job.turbo]\nhours = 1_5\n"
    work.write_text(text, encoding="utf-8")
    with pytest.raises(BuildProblem) as found:
        drybuild.open_build(folder)
    said = str(found.value)
    assert said.startswith(f"work.toml:{text.count(chr(10))}  job.turbo.hours")
    assert "1.5 if a point was meant" in said
