"""The corner from the front: to scale, told in words, its angles traced to where they are from."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

import drybuild
from drybuild.show.travel import Pose, Travel, corner_travel, draw_travel

DEMO = Path(__file__).parents[2] / "examples" / "plover_scanned"


@pytest.fixture(scope="module")
def done():
    return drybuild.open_build(DEMO).examine("finished", draws=1024)


def points(svg, kind):
    path = re.search(rf'<path d="([^"]*)" class="wheel {kind}"', svg).group(1)
    return np.array([[float(v) for v in p.split()] for p in re.findall(r"[-\d.]+ [-\d.]+", path)])


def test_an_upright_wheel_is_drawn_to_scale():
    poses = (
        Pose("full droop", -0.07, 0.0, (0.0, 0.0), 0.0),
        Pose("at rest", 0.02, 0.0, (0.0, 0.0), 0.0),
        Pose("full bump", 0.11, 0.0, (0.0, 0.0), 0.0),
    )
    svg = draw_travel(Travel("rear.left", poses, 0.31, 0.09, 0.13, "stated gain"))
    rest, bump = points(svg, "rest"), points(svg, "bump")
    assert np.ptp(rest[:, 0]) == pytest.approx(220, abs=0.2)  # 90 + 130 mm wide
    assert np.ptp(rest[:, 1]) == pytest.approx(620, abs=0.2)  # twice the radius
    # full bump stands 90 mm above rest, and a sheet's y goes down
    assert rest[:, 1].min() - bump[:, 1].min() == pytest.approx(90, abs=0.2)


def test_negative_camber_leans_the_top_inboard():
    pose = Pose("at rest", 0.0, math.radians(-3), (0.0, 0.0), 0.0)
    svg = draw_travel(Travel("rear.left", (pose, pose, pose), 0.31, 0.09, 0.13, "stated gain"))
    rest = points(svg, "rest")
    top, foot = rest[rest[:, 1].argsort()][:2], rest[rest[:, 1].argsort()][-2:]
    assert top[:, 0].mean() < foot[:, 0].mean()


@pytest.mark.parametrize(
    ("corner", "by"), [("front.left", "hardpoints"), ("rear.left", "measured curve")]
)
def test_the_demo_says_where_its_angles_are_from(done, corner, by):
    travel = corner_travel(done, corner)
    assert by in travel.by
    camber = float(np.nanmedian(done.evaluation.get(f"ride.camber_in_bump.{corner}").value))
    assert travel.poses[-1].camber == pytest.approx(camber, abs=math.radians(0.1))
    assert "full bump, " in draw_travel(travel)


def test_a_lowered_car_is_said_to_be_lower_and_its_ways_are_from_rest():
    poses = (
        Pose("full droop", -0.065, 0.0, (-0.01, 0.01), 0.0),
        Pose("at rest", 0.029, -0.0253, (-0.0288, -0.0227), 0.0),
        Pose("full bump", 0.110, 0.0, (-0.01, 0.01), 0.0),
    )
    svg = draw_travel(Travel("front.left", poses, 0.31, 0.09, 0.13, "stated gain"))
    said = re.findall(r">([^<]+)</text>", svg)
    assert "29 mm lower than as found" in said
    assert "94 mm down from rest" in said
    assert "81 mm up from rest" in said


def test_every_line_of_a_label_ends_within_the_drawing(done):
    travel = corner_travel(done, "front.left")
    svg = draw_travel(travel)
    wide, tall = map(float, re.search(r'viewBox="0 0 (\d+) (\d+)', svg).groups())
    rows = re.findall(r'<text x="([\d.]+)"[^>]*>([^<]+)</text>', svg)
    assert len(rows) == 12
    feet = [float(y) for y in re.findall(r'<text x="[\d.]+" y="([-\d.]+)"', svg)]
    assert sorted(set(feet)) == sorted(feet)
    assert min(feet) > 30
    assert max(feet) < tall
    # 30 px letters, and of the widest face in use one is 0.62 of that wide
    assert all(float(x) + 0.62 * 30 * len(words) <= wide for x, words in rows)


def test_nothing_is_drawn_of_what_is_not_known(done):
    class Nothing:
        def get(self, address):
            return type("Outcome", (), {"known": False, "value": None})()

    blank = type("Examination", (), {"evaluation": Nothing()})()
    assert corner_travel(blank, "rear.left") is None
