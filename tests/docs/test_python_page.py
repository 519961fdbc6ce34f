"""The page on Python is held to the code: every block runs, in order, on the small build."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

PAGE = (Path(__file__).parents[2] / "docs" / "python.md").read_text(encoding="utf-8")
README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```python\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("text", [PAGE, README], ids=["docs/python.md", "README.md"])
def test_every_block_runs(text: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    blocks = BLOCK.findall(text)
    assert blocks
    scope: dict[str, Any] = {}
    for block in blocks:
        assert '"my-car"' in block or "my-car" not in block
        exec(compile(block.replace('"my-car"', repr(str(folder))), "page", "exec"), scope)
    said = capsys.readouterr().out
    assert "nothing recorded stops it" in said or "unmeasured" in said
