"""What the tests of what-fits share: the demo car, with and without a scan."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from drybuild.examine import OpenBuild, open_build

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMO = EXAMPLES / "plover"


@cache
def measured_by_hand() -> OpenBuild:
    """The demo as somebody with a tape has it: no corner is scanned."""
    return open_build(DEMO)


@cache
def scanned() -> OpenBuild:
    """The demo with the scan of its rear left corner."""
    return open_build(EXAMPLES / "plover_scanned")
