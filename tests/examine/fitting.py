"""What the tests of what-fits share: the demo car, with and without its scan."""

from __future__ import annotations

import re
import shutil
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from drybuild.examine import OpenBuild, open_build

DEMO = Path(__file__).parents[2] / "examples" / "plover"
SCAN = re.compile(r"^\[corner\.rear\.left\.scan\]\n.*?(?=^\[)", re.MULTILINE | re.DOTALL)


@cache
def measured_by_hand() -> OpenBuild:
    """The demo as somebody with a tape has it: no corner is scanned."""
    folder = Path(mkdtemp()) / "plover"
    shutil.copytree(DEMO, folder)
    car = folder / "car.toml"
    text = car.read_text(encoding="utf-8")
    stripped, count = SCAN.subn("", text)
    assert count == 1, "the demo's scan is found and taken out"
    car.write_text(stripped, encoding="utf-8")
    return open_build(folder)


@cache
def scanned() -> OpenBuild:
    """The demo with the scan of its rear left corner."""
    return open_build(DEMO)
