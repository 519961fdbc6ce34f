"""The JSON of ``check``: stable, versioned, units fixed per kind whatever the display."""

from __future__ import annotations

from typing import Any

from drybuild.examine.examination import Examination
from drybuild.examine.measuring import Measurement
from drybuild.examine.uses import Hold, Owed, UseState
from drybuild.findings import Finding, Interval
from drybuild.values import KINDS

FORMAT = 1
"""Version of this JSON; keys are only ever added within a version."""


def check_json(
    examination: Examination,
    measurements: tuple[Measurement, ...],
    *,
    version: str,
    rule_sets: list[dict[str, str]],
) -> dict[str, Any]:
    """The whole answer of ``check`` as plain data."""
    state = examination.state
    return {
        "format": FORMAT,
        "tool": f"drybuild {version}",
        "build": state.build.head.name,
        "state": state.name,
        "seed": examination.seed,
        "draws": examination.draws,
        "inputs_hash": state.inputs_hash,
        "coverage": _coverage(examination),
        "rule_sets": rule_sets,
        "uses": [_use(u) for u in examination.uses],
        "findings": [_finding(f) for f in examination.findings],
        "measure_next": [
            {
                "input": m.input, "how": m.how, "with": m.tool, "minutes": m.minutes,
                "settles": _round(m.settles), "both_sides": m.both_sides,
            }
            for m in measurements
        ],
    }  # fmt: skip


def _coverage(examination: Examination) -> dict[str, Any]:
    return {
        "findings": len(examination.findings),
        "armed": sum(f.armed for f in examination.findings),
        **{str(v): n for v, n in examination.counts.items()},
        "joint_chance": _round(examination.joint_chance),
        "joint_by_system": {k: _round(v) for k, v in examination.joint_by_system.items()},
        "not_covered": list(NOT_COVERED),
    }


NOT_COVERED = (
    "full lock and combined steer and bump by calculation: static points moved to each pose only",
    "strength of parts and welds, fatigue, corrosion",
    "crash behaviour",
)
"""What no check looks at, said with every answer."""


def _use(use: UseState) -> dict[str, Any]:
    return {
        "use": use.use,
        "allowed": use.allowed,
        "joint_chance": _round(use.joint_chance),
        "holds": [_hold(h) for h in use.holds],
        "records_owed": [_owed(o) for o in use.records_owed],
        "only": use.only,
        "outside_as_found": [{"check": f.check, "subject": f.subject} for f in use.outside],
    }


def _hold(hold: Hold) -> dict[str, Any]:
    return {
        "check": hold.check, "subject": hold.subject, "why": hold.why, "do": hold.do,
        "through": hold.through, "kind": hold.kind,
    }  # fmt: skip


def _owed(owed: Owed) -> dict[str, Any]:
    return {
        "record": owed.record, "title": owed.title, "places": list(owed.places),
        "evidence": list(owed.evidence), "second_person": owed.second_person, "do": owed.do,
    }  # fmt: skip


def _finding(f: Finding) -> dict[str, Any]:
    return {
        "check": f.check,
        "subject": f.subject,
        "place": f.place,
        "system": f.system,
        "title": f.title,
        "verdict": str(f.verdict),
        "settles_by": f.settles_by,
        "slack": _interval(f.slack, f.kind),
        "margin": _interval(f.margin, f.kind),
        "chance": _round(f.chance),
        "gap_wanted": _round(f.gap_wanted),
        "consequence": str(f.consequence),
        "armed": f.armed,
        "stops": list(f.stops),
        "source": {
            "document": f.source.document, "edition": f.source.edition,
            "clause": f.source.clause, "how": f.source.how,
        },
        "pose": f.pose,
        "unknowns": [{"input": u.input, "share": _round(u.share)} for u in f.unknowns],
        "lowest_known": f.lowest_known.words if f.lowest_known is not None else None,
        "missing": list(f.missing),
        "outside_range": list(f.outside_range),
        "safety": f.safety,
        "why": f.why,
        "rules": list(f.rules),
    }  # fmt: skip


def _interval(interval: Interval | None, kind: str) -> dict[str, Any] | None:
    if interval is None:
        return None
    unit = KINDS[kind].si if kind in KINDS else ""
    return {
        "unit": unit, "median": _round(interval.median), "low": _round(interval.low),
        "high": _round(interval.high),
    }  # fmt: skip


def _round(value: float | None, digits: int = 9) -> float | None:
    """Nine significant figures: what two machines agree on; None for what is not finite."""
    if value is None or value != value or value in (float("inf"), float("-inf")):
        return None
    return float(f"{value:.{digits}g}")
