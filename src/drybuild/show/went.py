"""How far findings went by what was written down, where no verdict changed as well."""

from __future__ import annotations

from collections.abc import Mapping

from drybuild.examine import Examination
from drybuild.examine.uses import do_of
from drybuild.findings import Finding
from drybuild.show.sentences import headline, margin_text
from drybuild.values import System

MOVED = 0.05
"""Share of its width by which a band moves or narrows before a word is said of it."""
MOST = 6


def went_text(
    before: Mapping[tuple[str, str], Finding], after: Examination, system: System
) -> list[str]:
    """Verdicts that changed; then, of what is open still, the bands that moved most."""
    changed: dict[str, None] = {}
    moved: list[tuple[float, str]] = []
    for f in after.findings:
        was = before.get((f.check, f.subject))
        if was is None:
            continue
        if was.verdict is not f.verdict:
            verdicts = f"was {was.verdict}, now {f.verdict}"
            changed[f"{headline(f)}: {verdicts}{_bands(was, f, system)}"] = None
        elif f.armed and (by := _moved(was, f)) >= MOVED:
            left = f"; next: {do_of(f)}" if f.waits_for else ""
            moved.append(
                (by, f"{headline(f)}: {f.verdict} as before{_bands(was, f, system)}{left}")
            )
    moved.sort(key=lambda one: -one[0])
    more = [f"{len(moved) - MOST} more moved, by less"] if len(moved) > MOST else []
    return [*changed, *(words for _, words in moved[:MOST]), *more]


def _moved(was: Finding, now: Finding) -> float:
    """By how much of its width a margin's band moved, the end that moved most."""
    if was.margin is None or now.margin is None:
        return 0.0
    width = was.margin.high - was.margin.low
    ends = (was.margin.low - now.margin.low, was.margin.high - now.margin.high)
    return max(map(abs, ends)) / width if width > 0 else 0.0


def _bands(was: Finding, now: Finding, system: System) -> str:
    if was.margin is None or now.margin is None:
        return ""
    return f"; before {margin_text(was, system)}; now {margin_text(now, system)}"
