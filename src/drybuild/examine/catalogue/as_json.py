"""The JSON of ``what-fits``: SI figures, ids and chances, for programs."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.build import Change
from drybuild.examine.catalogue.candidates import Candidate
from drybuild.examine.catalogue.inverse import Answer, MustFitAnswer
from drybuild.examine.catalogue.ladders import Step
from drybuild.examine.catalogue.moved import Figure, Moves
from drybuild.examine.catalogue.search import Offer, WhatFits
from drybuild.examine.catalogue.window import Window
from drybuild.examine.examination import Examination
from drybuild.findings import Finding, Interval

FORMAT = 1


def what_fits_json(found: WhatFits, *, version: str) -> dict[str, Any]:
    """The ranked list and the window."""
    return {
        **_head(found.planned, found.wanted.axle, version),
        "candidates": len(found.field.candidates),
        "of_another_diameter": found.field.apart,
        "offers": [_offer(offer) for offer in found.offers],
        "as_planned": None if found.as_planned is None else _offer(found.as_planned),
        "as_found": None if found.as_found is None else _offer(found.as_found),
        "window": None if found.window is None else _window(found.window),
    }


def must_fit_json(found: MustFitAnswer, *, version: str) -> dict[str, Any]:
    """What must change so that a tyre fits."""
    return {
        **_head(found.planned, found.asked.axle, version),
        "candidate": _candidate(found.candidate),
        "joint_chance": _round(found.joint),
        "groups": [
            {
                "findings": [_finding(f) for f in group.findings],
                "answers": [_answer(answer) for answer in group.answers],
            }
            for group in found.groups
        ],
        "left": [_finding(f) for f in found.left],
        "unmeasured": [_finding(f) for f in found.unmeasured],
        "together": None if found.together is None else _answer(found.together),
        "moves": _moves(found.moves),
    }


def _head(planned: Examination, axle: str, version: str) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "tool": f"drybuild {version}",
        "build": planned.state.build.head.name,
        "state": planned.state.name,
        "axle": axle,
        "draws": planned.draws,
        "seed": planned.seed,
        "inputs_hash": planned.state.build.inputs_hash,
    }


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "wheel": candidate.wheel.part.name or candidate.wheel.id,
        "wheel_from": candidate.wheel.origin,
        "tyre": str(getattr(candidate.tyre.part, "marking", "")),
        "tyre_name": candidate.tyre.part.name,
        "tyre_from": candidate.tyre.origin,
        "rim_width": _round(candidate.rim_width),
        "offset": _round(candidate.offset),
        "spacer": _round(candidate.spacer),
        "camber": _round(candidate.camber),
        "extras": list(candidate.extras),
        "changes": [_change(c) for c in candidate.changes],
    }


def _offer(offer: Offer) -> dict[str, Any]:
    return {
        **_candidate(offer.candidate),
        "joint_chance": _round(offer.joint),
        "clears_chance": _round(offer.clears),
        "screened_chance": _round(offer.screened),
        "offset_from": _round(offer.offsets[0]),
        "offset_to": _round(offer.offsets[1]),
        "binds": None if offer.binds is None else _finding(offer.binds),
        "open": [_finding(f) for f in offer.open],
        "short": [_finding(f) for f in offer.short],
        "guessed": [_finding(f) for f in offer.guessed],
        "other_axle_diameter_code": offer.beside,
        "unmeasured": list(offer.unmeasured),
        "moves": _moves(offer.moves),
    }


def _moves(moves: Moves) -> dict[str, Any]:
    return {
        "figures": [_figure(f) for f in moves.figures],
        "margins": [_figure(f) for f in moves.margins],
        "verdicts": [
            {
                "check": t.check, "subjects": list(t.subjects), "title": t.title,
                "before": str(t.before), "after": str(t.after),
            }
            for t in moves.turned
        ],
    }  # fmt: skip


def _figure(figure: Figure) -> dict[str, Any]:
    return {
        "what": figure.what, "kind": figure.kind, "is_share": figure.share,
        "before": _round(figure.before), "after": _round(figure.after),
        "change": _round(figure.change),
    }  # fmt: skip


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "steps": [_step(step) for step in answer.steps],
        "notes": list(answer.notes),
        "effort": _round(answer.effort),
        "joint_chance": _round(answer.joint),
        "changes": [_change(c) for c in answer.changes],
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "what": step.name, "part": step.said, "kind": step.kind, "to": _round(step.to),
        "by": _round(step.by),
    }  # fmt: skip


def _change(change: Change) -> dict[str, Any]:
    return {"kind": change.kind, "target": change.target, "value": change.value}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "check": finding.check, "subject": finding.subject, "title": finding.title,
        "verdict": str(finding.verdict), "consequence": str(finding.consequence),
        "kind": finding.kind, "margin": _interval(finding.margin),
        "chance": _round(finding.chance), "missing": list(finding.missing), "why": finding.why,
    }  # fmt: skip


def _interval(interval: Interval | None) -> dict[str, Any] | None:
    if interval is None:
        return None
    return {
        "median": _round(interval.median), "low": _round(interval.low),
        "high": _round(interval.high),
    }  # fmt: skip


def _window(window: Window) -> dict[str, Any]:
    return {
        "tyre": window.tyre, "up": window.up, "rows": list(window.rows),
        "offsets": [_round(v) for v in window.offsets],
        "widths": [_round(v) for v in window.widths],
        "chance": [[_round(v) for v in row] for row in window.chance],
        "binds": [
            [None if i < 0 else window.regions[i].check for i in row] for row in window.binding
        ],
        "alike": [
            {"check": a.check, "title": a.title, "chance": _round(a.chance)} for a in window.alike
        ],
    }  # fmt: skip


def _round(value: float | None) -> float | None:
    """Six figures are more than any of these is known to; what is not finite is left out."""
    if value is None or not np.isfinite(value):
        return None
    return float(f"{value:.6g}")
