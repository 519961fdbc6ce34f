"""What the tests of the pages share: the small build that docs/folder.md shows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
BLOCK = re.compile(r"^## (?P<name>\S+)\n\n```toml\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The files of the page as a build folder."""
    page = (DOCS / "folder.md").read_text(encoding="utf-8")
    files = {found["name"]: found["text"] for found in BLOCK.finditer(page)}
    assert sorted(files) == ["build.toml", "car.toml", "parts/"]
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "mine.toml").write_text(files.pop("parts/"), encoding="utf-8")
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path
