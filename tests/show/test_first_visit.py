"""Drawings of the first visit: words stay on the sheet and keep their size; bands are to scale."""

from __future__ import annotations

import math
import re

import pytest

from drybuild.asking.questions import NEW, TYRE, WHEEL
from drybuild.build.wheel_marking import parse_wheel
from drybuild.show import marking_sketch, room_bands, shank
from drybuild.show.drawing import SCREEN
from drybuild.show.room_bands import Band, Scale, draw_bands

MARKED = (
    ("tyre", TYRE), ("wheel", WHEEL), ("wheel", NEW["wheels"][0]), ("tyre", NEW["wheels"][1]),
)  # fmt: skip
PHONE = 350.0
"""Width of the sheet on a phone of 390: its edges take the rest."""

LEAST = 16.0
GAP = Scale("length", 0.004, "touches", "clear")
BANDS = (
    Band("cars like yours", -0.010, -0.002, 0.007),
    Band("and the new wheel", -0.003, 0.003, 0.009),
    Band("and 14 mm measured", 0.006, 0.007, 0.009),
)


def _texts(svg: str) -> list[tuple[float, float, str, str]]:
    """Left end, size, anchor and words of every text."""
    found = re.findall(
        r'<text x="([\d.-]+)" y="[\d.-]+" font-size="([\d.]+)"(?: text-anchor="(\w+)")?'
        r"[^>]*>([^<]*)<",
        svg,
    )
    return [(float(x), float(size), anchor or "start", words) for x, size, anchor, words in found]


@pytest.mark.parametrize(
    ("svg", "wide"),
    [
        *((shank.draw_shank(point), shank.WIDE) for point in shank.POINTS),
        *(
            (marking_sketch.draw_marking(of, question.example), marking_sketch.WIDE)
            for of, question in MARKED
        ),
        (draw_bands(BANDS, GAP, "metric"), room_bands.WIDE),
    ],
)
def test_words_stay_on_the_sheet_and_are_read_on_a_phone(svg: str, wide: float) -> None:
    texts = _texts(svg)
    assert texts
    for x, size, anchor, words in texts:
        assert size * PHONE / wide >= LEAST - 0.5, words
        if "textLength" in svg and size > 20:
            continue  # stretched to its length
        long = len(words) * SCREEN.em * size
        left = {"start": x, "middle": x - long / 2, "end": x - long}[anchor]
        assert left >= -1, words
        assert left + long <= wide + 1, words


def _bars(svg: str) -> list[tuple[float, float]]:
    found = re.findall(r'd="M([\d.]+) [\d.]+ L([\d.]+) [\d.]+ L[^"]*Z"', svg)
    return [(float(left), float(right)) for left, right in found]


def test_bands_are_to_one_scale() -> None:
    bars = _bars(draw_bands(BANDS, GAP, "metric"))
    assert len(bars) == len(BANDS)
    each = [(right - left) / ((b.high or 0) - (b.low or 0))
            for (left, right), b in zip(bars, BANDS, strict=True)]  # fmt: skip
    assert max(each) - min(each) < 0.02 * max(each)


def test_nothing_known_has_no_bar_and_says_so() -> None:
    svg = draw_bands((Band("nothing but the questions"), BANDS[2]), GAP, "metric")
    assert len(_bars(svg)) == 1
    assert "nothing but the questions: not known" in svg


def test_the_drawing_says_in_words_what_it_shows() -> None:
    svg = draw_bands(BANDS, GAP, "metric")
    assert "and 14 mm measured: about 7 mm, 6 to 9" in svg
    assert 'role="img"' in svg


@pytest.mark.parametrize("scale", [GAP, Scale("length", 0.0, "short", "to spare")])
def test_both_ends_of_the_axis_have_their_figure(scale: Scale) -> None:
    words = [words for *_, words in _texts(draw_bands(BANDS, scale, "metric"))]
    assert "−11" in words
    assert "9.9 mm" in words
    assert ("4 mm wanted" in words) is (scale is GAP)


@pytest.mark.parametrize("count", [4, 5])
def test_the_bolt_circle_is_found_from_two_neighbours(count: int) -> None:
    """The factor on the sketch is that of the polygon which it draws."""
    svg = marking_sketch.draw_marking("wheel", WHEEL.example)
    said = re.findall(rf"{count} holes: a × ([\d.]+)<", svg)
    ways = [2 * math.pi * n / count for n in range(2)]
    side = math.dist(*[(math.cos(way) / 2, math.sin(way) / 2) for way in ways])
    assert [float(one) for one in said] == [pytest.approx(1 / side, abs=0.005)]
    drawn = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="8"', svg)
    assert len(drawn) == 5
    (a, b), (c, d) = drawn[:2]
    apart = math.dist((float(a), float(b)), (float(c), float(d)))
    assert apart == pytest.approx(2 * marking_sketch.CIRCLE * math.sin(math.pi / 5), abs=0.2)
    assert "ET35" not in marking_sketch.draw_marking("tyre", TYRE.example)


def test_the_examples_of_wheels_are_read() -> None:
    for question in (WHEEL, NEW["wheels"][0]):
        read = parse_wheel(question.example)
        assert (read.bolt_count, read.circle_mm) == (5, 112.0)
        assert read.offset_mm


def test_a_gap_wider_than_a_drill_says_what_to_use_then() -> None:
    narrow, wide = shank.with_shank(0.012), shank.with_shank(0.035)
    for said in (narrow, wide):
        assert "coins" in said
        assert "a rule, to the nearest mm" in said
    assert "35 mm may be there, and a usual set ends at 13 mm" in wide
    assert "may be there" not in narrow
