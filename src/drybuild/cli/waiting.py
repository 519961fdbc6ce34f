"""What somebody at the terminal sees while it plans; on the way that no answer is read from."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drybuild.work.planned import Stage

USUAL = "usually half a minute to a minute and a half, longer when nothing fits"


def telling(quiet: bool = False) -> Callable[[Stage], None]:
    """What says where planning stands: once as it begins, and on a terminal at each stage.

    quiet: says nothing, for an answer that a program reads.
    """
    if quiet:
        return lambda stage: None
    begun = time.monotonic()
    first = [USUAL]

    def tell(stage: Stage) -> None:
        if first:
            said = f"planning, and examining every state on the way: {first.pop()}"
            print(said, file=sys.stderr, flush=True)
        if sys.stderr.isatty():
            seconds = round(time.monotonic() - begun)
            print(f"  {seconds:>3} s  {stage_text(stage)}", file=sys.stderr, flush=True)

    return tell


def stage_text(stage: Stage) -> str:
    """One stage in a line."""
    learned = f", {stage.learned} things learned of the car" if stage.learned else ""
    if stage.name == "explaining":
        return "no plan fits; looking for what would make room"
    if stage.found:
        return "a plan is found; looking for a better one"
    what = "looking for any plan" if stage.name == "looking" else "looking for the best plan"
    return f"round {stage.round}: {what}{learned}"
