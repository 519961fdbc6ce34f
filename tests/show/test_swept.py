"""The swept space of a scan is drawn to scale round the tyre that it belongs to."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

import drybuild
from drybuild.show.swept import swept_drawings

DEMO = Path(__file__).parents[2] / "examples" / "plover_scanned"


@pytest.fixture(scope="module")
def done():
    return drybuild.open_build(DEMO).examine("finished", draws=1024)


@pytest.fixture(scope="module")
def drawing(done):
    ((title, svg, words),) = swept_drawings(done, "metric")
    assert title == "rear left, swept by its scan"
    assert "arch lip" in words
    return svg


def test_the_tyre_is_drawn_to_scale(done, drawing):
    outline = done.evaluation.get("corners.swept.rear.left").value.outline.corners
    path = re.search(r'<path d="M([^"]*)" class="tyre"', drawing).group(1)
    drawn = np.array([[float(v) for v in p.split()] for p in path.split(" L")])
    assert np.ptp(drawn[:, 0]) == pytest.approx(np.ptp(outline[:, 0]) * 1000, abs=0.2)
    assert np.ptp(drawn[:, 1]) == pytest.approx(np.ptp(outline[:, 1]) * 1000, abs=0.2)


def test_where_it_touches_something_stands_inside_the_outline(done, drawing):
    """The finding says that the lip stands in the tyre: so it does on the drawing."""
    assert done.finding("corners.swept_gap", "rear.left").verdict == "short"
    spots = re.search(r'<path d="([^"]*)" class="taken"', drawing).group(1)
    taken = np.array(
        [[float(v) for v in s.split()] for s in re.findall(r"M([-\d.]+ [-\d.]+)", spots)]
    )
    cross = re.search(r'<path d="M([-\d.]+) ([-\d.]+)l18', drawing)
    contact = np.array([float(cross.group(1)) + 9, float(cross.group(2)) + 9])
    away = np.hypot(*(taken - contact).T).min()
    assert away < 12


def test_the_drawing_is_told_in_words(drawing):
    told = re.search(r'aria-label="([^"]*)"', drawing).group(1)
    assert "rear left" in told
    assert "short" in told
    assert "mm" in told
