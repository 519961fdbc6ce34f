"""The check on a scanned corner."""

from __future__ import annotations

from typing import Any

from drybuild.findings import LEFT, NOT_APPLICABLE, RuleSlack

from .checks_clearance import TOUCH
from .results_room import room
from .results_swept import LEAST_KEPT, SWEPT, Swept


def swept_gap(*, swept: Swept) -> Any:
    """Least room through all of the travel; no finding where no scan is named."""
    if not swept.scanned:
        return NOT_APPLICABLE
    shown = (swept.words, *swept.notes, "not covered: " + ", ".join(swept.left_out))
    return RuleSlack(slack=swept.slack, rule=swept.words, memory=False, shown=shown)


room.check(
    "corners.swept_gap",
    title="tyre through all of its travel against the scanned corner",
    per="corner", kind="length",
    needs={"swept": "corners.swept.{corner}"}, slack=swept_gap, between=LEFT,
    gap_wanted=LEAST_KEPT,
    formula="least distance over poses and obstacles; what a hose, an edge or a fixed part wants "
    "beyond 3 mm is taken off, and the bulge at the road",
    consequence="injury", stops=("drive", "compete"), source=SWEPT,
    pose="full droop to full bump, straight ahead, hub pushed to both sides by what the bushes "
    "give; steering lock is not covered",
    when_short="the tyre meets what was scanned",
    do="less offset or more, a narrower or lower tyre, more negative camber, less bump travel",
    safety=TOUCH,
)  # fmt: skip
