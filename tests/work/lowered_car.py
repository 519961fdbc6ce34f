"""A car that is lowered, whose camber is wanted just as it was found: then it must be set.

The front anti-roll bar has short arms with links on the struts: it swings far when the car is low.
"""

from __future__ import annotations

import re
from pathlib import Path

from drybuild.build.new import make_build


def lowered_car(folder: Path, starter: str = "front-turbo-hatch") -> Path:
    """A new folder without the window in which camber may be off."""
    make_build(folder, nearest=starter, driving="yes", first_change="lower it")
    file = folder / "build.toml"
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith("camber_window")]
    assert len(kept) == len(lines) - 1
    file.write_text("".join(kept), encoding="utf-8")
    short_bar(folder)
    return folder


def short_bar(folder: Path) -> None:
    """Give a car such a bar."""
    _swap(folder / "car.toml", r"bar_motion_ratio = .*", 'bar_motion_ratio = "0.9 ± 0.1"')
    bar = r"(?<=\[part\.std_bar_front\])((?:\n.+)*?\narm = ).*"
    _swap(folder / "parts" / "standard.toml", bar, r'\g<1>"70 mm"')


def _swap(file: Path, pattern: str, line: str) -> None:
    """The first line that is so."""
    text, count = re.subn(pattern, line, file.read_text(encoding="utf-8"), count=1)
    assert count == 1, (file.name, pattern)
    file.write_text(text, encoding="utf-8")
