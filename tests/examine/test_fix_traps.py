"""Fixes that look like cures and are none, and adjusters that are awkward to write down."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drybuild.build import read_build
from drybuild.examine import cure_all, find_fixes
from drybuild.examine.opened import OpenBuild
from drybuild.findings import NOT_APPLICABLE, PRACTICE, Registry, Room, Verdict
from drybuild.journal import Journal, present

BUILD = """\
format = 1
[build]
name = "toy"
[site]
temperature = { is = "20 °C", exact = true }
[[job]]
id = "longer"
set = { "car.wheelbase" = { is = "2.4 m", exact = true } }
"""
LOWER = """\
[[adjuster]]
address = "car.cg_height"
low = { is = "300 mm", exact = true }
high = { is = "500 mm", exact = true }
steps = 3
"""
COOLER = """\
[[adjuster]]
address = "site.temperature"
low = "0 ± 2 °C"
high = "20 ± 2 °C"
steps = 3
"""
CAR = """\
format = 1
name = "toy car"
[car]
wheelbase = "2330 mm"
cg_height = { is = "500 mm", exact = true }
"""


def car(folder: Path, adjuster: str, *checks: dict[str, Any]) -> OpenBuild:
    (folder / "build.toml").write_text(BUILD + adjuster, encoding="utf-8")
    (folder / "car.toml").write_text(CAR, encoding="utf-8")
    room = Room("toy", title="Toy")
    for number, check in enumerate(checks):
        plain = {"consequence": "damage", "stops": ("drive",), "source": PRACTICE, "safety": "mind"}
        room.check(f"toy.c{number}", title=f"c{number}", kind="length", **{**plain, **check})
    build, journal = read_build(folder), Journal(folder)
    return OpenBuild(build, journal, present(build, journal), Registry([room]))


LOW = {
    "needs": {"base": "car.wheelbase", "height": "car.cg_height"},
    "slack": lambda *, base, height: 0.35 - height,
}


def test_a_cure_that_lets_another_finding_stop_is_none(tmp_path):
    """As found, the second is short and stops nothing; the move would make it the owner's doing."""
    sleeping = {"needs": {"height": "car.cg_height"}, "slack": lambda *, height: -1.0}
    alone = car(tmp_path, LOWER, LOW)
    done = alone.examine("finished", draws=256)
    assert find_fixes(done, done.finding("toy.c0", "car"))
    both = car(tmp_path, LOWER, LOW, sleeping)
    done = both.examine("finished", draws=256)
    assert not done.finding("toy.c1", "car").stopping
    assert find_fixes(done, done.finding("toy.c0", "car")) == ()


def test_a_temperature_with_doubt_can_be_adjusted(tmp_path):
    warm = {
        "needs": {"base": "car.wheelbase", "air": "site.temperature"},
        "slack": lambda *, base, air: 285.0 - air,
    }
    opened = car(tmp_path, COOLER, warm)
    done = opened.examine("finished", draws=256)
    (fix,) = find_fixes(done, done.finding("toy.c0", "car"))
    assert fix.after.verdict is Verdict.ENOUGH
    assert fix.after.margin is not None
    # 285 K less 10 °C, and the ± 2 °C of the adjuster's ends
    assert fix.after.margin.median == pytest.approx(285 - 283.15, abs=0.01)
    assert fix.after.margin.high - fix.after.margin.median == pytest.approx(2.0, abs=0.1)


def test_a_finding_that_a_later_fix_does_away_with_is_not_left(tmp_path):
    gone = {
        "needs": {"base": "car.wheelbase", "height": "car.cg_height"}, "consequence": "injury",
        "slack": lambda *, base, height: NOT_APPLICABLE if height < 0.4 else -1.0,
    }  # fmt: skip
    cure = cure_all(car(tmp_path, LOWER, gone, LOW).examine("finished", draws=256))
    assert len(cure.fixes) == 1
    assert cure.left == ()
