"""The demo's scan is invented and its truth known: what is told must hold the truth."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from drybuild.build.scans import read_scan
from drybuild.examine import OpenBuild, open_build
from drybuild.systems.corners import formulas_clearance as move
from drybuild.systems.corners import formulas_wheel as wheel
from drybuild.systems.corners import swept

DEMO = Path(__file__).parents[3] / "examples" / "plover_scanned"


@pytest.fixture(scope="module")
def truth() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_scan", DEMO / "scans" / "make_scan.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def plover() -> OpenBuild:
    return open_build(DEMO)


def median(evaluation: Any, address: str) -> float:
    return float(np.median(evaluation.get(address).value))


def test_the_committed_scan_is_the_one_that_is_made(truth: Any) -> None:
    path = DEMO / "scans" / "rear_left.ply"
    assert path.read_bytes() == truth.ply(truth.scanned())
    assert path.stat().st_size < 300_000
    assert b"invented" in path.read_bytes()[:200]
    assert len(read_scan(path).points) > 10_000


def test_the_surfaces_stand_where_the_hand_measured(truth: Any, plover: OpenBuild) -> None:
    found = plover.examine("as found", draws=1024).evaluation
    corner = "rear.left"
    camber = median(found, f"ride.camber.{corner}")
    reach = {side: median(found, f"corners.{side}_reach.{corner}") for side in ("outer", "inner")}
    # hand gaps were taken against the tyre new, not grown
    width = median(found, f"corners.section_width.{corner}")
    grown = (reach["outer"] + reach["inner"] - width) / 2.0
    lip = move.side_position(
        extent=reach["outer"] - grown, height=0.371, camber=camber, towards=1.0
    )
    assert lip + 0.023 == pytest.approx(truth.LIP[0], abs=0.001)
    arm = move.side_position(
        extent=reach["inner"] - grown, height=0.120, camber=camber, towards=-1.0
    )
    assert -(arm + 0.027) == pytest.approx(truth.ARM[0], abs=0.001)
    inner = wheel.inner_extent(width=width, offset=0.045, spacer=0.0)
    assert -(inner + 0.019) == pytest.approx(truth.UPRIGHT[0], abs=0.001)


def test_what_is_told_holds_the_truth(truth: Any, plover: OpenBuild) -> None:
    """Folding the true surfaces, without noise, shift or strays, as the finished car moves."""
    examination = plover.examine("finished", draws=4096)
    told = examination.finding("corners.swept_gap", "rear.left")
    found = examination.evaluation.get("corners.swept.rear.left").value
    assert told.slack is not None
    surface = truth.surfaces(np.random.default_rng(99))
    lip = surface[:3600]
    least = np.inf
    for one in [b for b in found.bounds if b.name == "arch lip"]:
        a, r = swept.folding.half_plane(points=lip, poses=one.pose[None])
        off, _, _ = swept.section.signed_distance(outline=found.outline, axial=a[0], radius=r[0])
        least = min(least, float(off.min()))
    kept = swept.allowance.ROOM_KEPT["painted edge"] - 0.003
    assert told.slack.low < least - kept < told.slack.high
    assert least < 0.0
    assert told.rules[0].startswith("arch lip and the tyre's outer")


def test_the_scan_and_the_hand_agree_on_which_tyre_touches(plover: OpenBuild) -> None:
    for state, short in (("as found", False), ("finished", True)):
        examination = plover.examine(state, draws=1024)
        by_scan = examination.finding("corners.swept_gap", "rear.left")
        by_hand = examination.finding("corners.arch_bump_gap", "rear.left")
        assert by_scan.slack is not None
        assert by_hand.slack is not None
        assert (by_scan.slack.median < 0.0) is short
        assert (by_hand.slack.median < 0.0) is short


def test_corners_without_a_scan_make_no_finding(plover: OpenBuild) -> None:
    found = plover.examine("finished", draws=1024).findings
    assert {f.subject for f in found if f.check == "corners.swept_gap"} == {"rear.left"}
