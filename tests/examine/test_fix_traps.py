"""Fixes that look like cures and are none, and adjusters that are awkward to write down."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drybuild.build import Change, read_build
from drybuild.examine import cure_all, find_fixes
from drybuild.examine.fixes import nearest_fix
from drybuild.examine.opened import OpenBuild
from drybuild.findings import NOT_APPLICABLE, PRACTICE, Registry, Room, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED
from drybuild.journal import Journal, present
from drybuild.show.answers import NEAREST, fix_answer

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
    return written(folder, adjuster, CAR, *checks)


def written(folder: Path, adjuster: str, car_file: str, *checks: dict[str, Any]) -> OpenBuild:
    (folder / "build.toml").write_text(BUILD + adjuster, encoding="utf-8")
    (folder / "car.toml").write_text(car_file, encoding="utf-8")
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


FINE = LOWER.replace("300 mm", "360 mm").replace("500 mm", "380 mm").replace("= 3\n", "= 41\n")
"""By half millimetres."""
DOUBTED = {
    "needs": {
        "base": "car.wheelbase", "height": "car.cg_height", "track": "axle.front.track_width",
    },
    "slack": lambda *, base, height, track: track - 1.05 - height,
}  # fmt: skip
WIDE = CAR + '[axle.front]\ntrack_width = "1450 ± 40 mm"\n'


def doubted(folder: Path, adjuster: str, car_file: str = WIDE, **check: Any) -> OpenBuild:
    return written(folder, adjuster, car_file, {**DOUBTED, **check})


def test_the_smallest_setting_that_is_enough_with_all_draws_is_offered(tmp_path):
    """Not what cures the best estimate (400 mm), nor what few draws take for enough."""
    opened = doubted(tmp_path, FINE)
    done = opened.examine("finished", draws=4096)
    (fix,) = find_fixes(done, done.finding("toy.c0", "car"))
    taken = fix.changes[0].value["is"]
    assert taken.endswith(" mm")
    height = float(taken.removesuffix(" mm"))
    # ± 40 mm is two sigma: at 95 in 100 it wants 1.645 of 20 mm below what cures the best estimate
    assert height == pytest.approx(400 - 1.645 * 20, abs=1.0)
    more = {"is": f"{height + 0.5} mm", "exact": True}
    before = opened.examine(opened.draft("less", (Change("set", "car.cg_height", more),)))
    assert before.finding("toy.c0", "car").verdict is Verdict.UNSURE


def test_where_doubt_keeps_it_open_what_comes_nearest_is_told_and_what_the_rest_hangs_on(tmp_path):
    opened = doubted(tmp_path, LOWER, WIDE.replace("1450", "1355"))
    done = opened.examine("finished", draws=1024)
    finding = done.finding("toy.c0", "car")
    assert find_fixes(done, finding) == ()
    near = nearest_fix(done, finding)
    assert near is not None
    assert near.after.verdict is Verdict.UNSURE
    assert near.after.chance == pytest.approx(0.6, abs=0.02)  # 5 mm of 20
    said = fix_answer(finding, (), done, "metric", near=near)
    assert NEAREST in " ".join(said.split())
    assert ": 300 mm" in said
    assert "enough 60 in 100" in said
    assert "for the rest: measure front axle track width" in said
    # below half of the chances it is no help, and what brings nobody further is none
    worse = doubted(tmp_path, LOWER, WIDE.replace("1450", "1340"))
    done = worse.examine("finished", draws=1024)
    assert nearest_fix(done, done.finding("toy.c0", "car")) is None


def test_on_a_guess_where_someone_can_be_hurt_a_change_is_told_with_what_to_measure(tmp_path):
    guessed = WIDE.replace('"1450 ± 40 mm"', '{ is = "1450 ± 40 mm", by = "assumed" }')
    opened = doubted(tmp_path, LOWER, guessed, consequence="injury")
    done = opened.examine("finished", draws=1024)
    finding = done.finding("toy.c0", "car")
    assert find_fixes(done, finding) == ()
    near = nearest_fix(done, finding)
    assert near is not None
    assert near.after.verdict is Verdict.UNSURE
    assert near.after.why == RESTS_ON_ASSUMED
    assert "measure front axle track width" in fix_answer(finding, (), done, "metric", near=near)
