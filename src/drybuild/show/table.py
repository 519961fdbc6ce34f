"""Findings as a plain table: a list of flat rows that any table library takes."""

from __future__ import annotations

from drybuild.examine import Examination
from drybuild.values import KINDS


def as_table(examination: Examination) -> list[dict[str, object]]:
    """One row per finding: words, numbers in SI with the unit named, None where unmeasured.

    Every row has the same keys and holds only text, numbers, True or False, and None.
    """
    rows: list[dict[str, object]] = []
    for f in examination.findings:
        margin = f.margin
        rows.append(
            {
                "check": f.check,
                "subject": f.subject,
                "system": f.system,
                "title": f.title,
                "verdict": str(f.verdict),
                "armed": f.armed,
                "consequence": str(f.consequence),
                "unit": KINDS[f.kind].si if f.kind in KINDS else "",
                "slack": f.slack.median if f.slack is not None else None,
                "gap_wanted": f.gap_wanted,
                "margin": margin.median if margin is not None else None,
                "margin_low": margin.low if margin is not None else None,
                "margin_high": margin.high if margin is not None else None,
                "chance": f.chance,
                "stops": ", ".join(f.stops) if f.stopping else "",
                "missing": ", ".join(f.missing),
            }
        )
    return rows
