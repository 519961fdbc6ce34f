"""The second example is the first with a scan and joints added, and nothing else."""

from __future__ import annotations

import tomllib
from pathlib import Path

EXAMPLES = Path(__file__).parents[1] / "examples"
PLAIN, SCANNED = EXAMPLES / "plover", EXAMPLES / "plover_scanned"


def read(path):
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_the_parts_are_the_same():
    plain = {p.name: p.read_text(encoding="utf-8") for p in (PLAIN / "parts").glob("*.toml")}
    scanned = {p.name: p.read_text(encoding="utf-8") for p in (SCANNED / "parts").glob("*.toml")}
    assert plain == scanned


def test_the_car_differs_by_scan_and_joints_alone():
    plain, scanned = read(PLAIN / "car.toml"), read(SCANNED / "car.toml")
    assert scanned["corner"]["rear"]["left"].pop("scan")
    assert scanned["corner"]["front"].pop("hardpoints")
    if not scanned["corner"]["rear"]["left"]:
        plain["corner"]["rear"].setdefault("left", {})
    assert plain == scanned


def test_the_work_is_the_same():
    plain, scanned = read(PLAIN / "build.toml"), read(SCANNED / "build.toml")
    for build in (plain, scanned):
        del build["build"]["name"], build["build"]["scenario"]
    assert plain == scanned
