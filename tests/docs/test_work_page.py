"""The page on the work is held to the code: its blocks run, in order, on a part of the demo."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from drybuild.work.happened import KINDS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "work.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```python\n(.*?)^```$", re.MULTILINE | re.DOTALL)
JOBS = ("intake", "relief-valve", "catch-tank")


@pytest.fixture
def few(tmp_path: Path) -> Path:
    """The demo of the work with three of its jobs."""
    shutil.copytree(ROOT / "examples" / "plover_saturdays", tmp_path / "car")
    head = tmp_path / "car" / "build.toml"
    tables = re.split(r"(?m)^(?=\[)", head.read_text(encoding="utf-8"))
    named = [(re.match(r'\[\[job\]\]\nid = "([\w-]+)"', t), t) for t in tables]
    head.write_text("".join(t for m, t in named if m is None or m[1] in JOBS), encoding="utf-8")
    return tmp_path / "car"


def test_every_block_runs(few: Path, capsys: pytest.CaptureFixture[str]) -> None:
    blocks = BLOCK.findall(PAGE)
    assert len(blocks) == 3
    scope: dict[str, Any] = {}
    for block in blocks:
        exec(compile(block.replace('"my-car"', repr(str(few))), "page", "exec"), scope)
    said = capsys.readouterr().out
    assert said.startswith("()\nhours")
    assert "job:catch-tank" in said


def test_each_happening_on_the_page_is_known() -> None:
    table = re.findall(r"^\| `(\w+)` \|", PAGE, re.MULTILINE)
    assert sorted(table) == sorted(KINDS)
