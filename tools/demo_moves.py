"""Which findings of the demo build moved since they were last recorded, and by how much.

    python tools/demo_moves.py results/plover.json            compare; exit 1 when any moved
    python tools/demo_moves.py results/plover.json --record   record them anew

A change to a formula may move what somebody was told about their car. So each recording has a
number, keeps what moved at it, and wants a line in CHANGELOG.md that names it: "(demo 3)".
Only the standard library is used here.
"""

from __future__ import annotations

import argparse
import json
import math
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
RECORD = ROOT / "tests" / "data" / "demo_findings.json"
CHANGELOG = ROOT / "CHANGELOG.md"
FORMAT = 1
# A median that wanders by less than this share of its own doubt moves nobody's decision.
SHARE_OF_DOUBT = 0.005
CHANCE = 0.002

Finding = Mapping[str, Any]
Findings = Mapping[str, Finding]


@dataclass(frozen=True)
class Move:
    """One finding, before and after, and whether it matters."""

    key: str
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.key}: {self.before} -> {self.after}"


def pick(answer: Mapping[str, Any]) -> dict[str, Finding]:
    """The part of `check --json` that is recorded: per finding its verdict, margin and chance."""
    picked: dict[str, Finding] = {}
    for finding in answer["findings"]:
        key = f"{finding['check']} {finding['subject']}".strip()
        if key in picked:
            sys.exit(f"two findings are called {key}: (check, subject) is to be unique")
        margin = finding.get("margin") or {}
        picked[key] = {
            "verdict": finding["verdict"],
            "unit": margin.get("unit"),
            "margin": [_round(margin.get(name)) for name in ("low", "median", "high")],
            "chance": _round(finding.get("chance")),
        }
    return dict(sorted(picked.items()))


def _round(value: object) -> float | None:
    """Five figures: enough to see a move, too few to see another processor's last bit."""
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        return None
    return float(f"{value:.5g}")


def _moved(before: Finding, after: Finding) -> bool:
    if before["verdict"] != after["verdict"] or before["unit"] != after["unit"]:
        return True
    if _further(before["chance"], after["chance"], CHANCE):
        return True
    numbers = [value for value in (*before["margin"], *after["margin"]) if value is not None]
    spread = max(numbers, default=0.0) - min(numbers, default=0.0)
    size = max((abs(value) for value in numbers), default=0.0)
    allowed = max(SHARE_OF_DOUBT * spread, 2e-5 * size)
    return any(
        _further(old, new, allowed)
        for old, new in zip(before["margin"], after["margin"], strict=True)
    )


def _further(old: float | None, new: float | None, allowed: float) -> bool:
    if old is None or new is None:
        return old is not new
    return abs(new - old) > allowed


def _say(finding: Finding) -> str:
    low, median, high = finding["margin"]
    if median is None:
        return str(finding["verdict"])
    chance = "" if finding["chance"] is None else f", {finding['chance']:.0%}"
    edges = "" if low is None or high is None else f" ({low:.3g} to {high:.3g})"
    return f"{finding['verdict']}, {median:.3g}{edges} {finding['unit'] or ''}{chance}".strip()


def moves(before: Findings, after: Findings) -> list[Move]:
    """Every finding that came, went or moved."""
    found = []
    for key in sorted({*before, *after}):
        old, new = before.get(key), after.get(key)
        if old is None and new is not None:
            found.append(Move(key, "not there", _say(new)))
        elif new is None and old is not None:
            found.append(Move(key, _say(old), "gone"))
        elif old is not None and new is not None and _moved(old, new):
            found.append(Move(key, _say(old), _say(new)))
    return found


def read_record(path: Path) -> dict[str, Any]:
    if not path.is_file():
        return {"format": FORMAT, "recording": 0, "moved": [], "findings": {}}
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    if data.get("format") != FORMAT:
        sys.exit(f"{path}: format {data.get('format')} is not known here")
    return data


def named_in(changelog: str, recording: int) -> bool:
    """Whether a line of the changelog names this recording, as in '- ... (demo 3)'."""
    return re.search(rf"^\s*-.*\(demo {recording}\)", changelog, re.MULTILINE) is not None


def write_record(path: Path, recording: int, moved: list[Move], findings: Findings) -> None:
    data = {
        "format": FORMAT,
        "recording": recording,
        "moved": [str(move) for move in moved],
        "findings": findings,
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Which findings of the demo build moved.")
    parser.add_argument("answer", type=Path, help="what `drybuild check --json` printed")
    parser.add_argument("--record", action="store_true", help="record these findings")
    parser.add_argument("--against", type=Path, default=RECORD)
    parser.add_argument("--changelog", type=Path, default=CHANGELOG)
    asked = parser.parse_args(argv)
    findings = pick(json.loads(asked.answer.read_text(encoding="utf-8")))
    if not findings:
        sys.exit(f"{asked.answer} has no findings")
    record = read_record(asked.against)
    recording = int(record["recording"])
    moved = moves(record["findings"], findings)

    if asked.record:
        if not moved:
            print("Nothing moved; the record stands.")
            return 0
        write_record(asked.against, recording + 1, moved, findings)
        print(f"{len(moved)} of {len(findings)} findings recorded anew.")
        print(f'Now add a line to {asked.changelog.name} that ends in "(demo {recording + 1})".')
        return 0

    if record["moved"]:
        print(f"At recording {recording} these moved:")
        for line in record["moved"]:
            print(f"  {line}")
    print(f"Since recording {recording}: {len(moved)} of {len(findings)} findings moved")
    for move in moved:
        print(f"  {move}")
    if moved:
        print("If that is meant: make record, and say in CHANGELOG.md what moved and why.")
        return 1
    if not named_in(asked.changelog.read_text(encoding="utf-8"), recording):
        print(f'{asked.changelog.name} has no line that ends in "(demo {recording})".')
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
