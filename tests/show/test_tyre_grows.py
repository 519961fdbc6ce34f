"""Another tyre grows half to each side, and upwards by its section ratio: said in figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.examine import open_build
from drybuild.show.tyre_grows import EACH_SIDE, grows_text, why_half

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def opened():
    return open_build(EXAMPLE)


def _with(opened, fact, value):
    tried = opened.draft("tried", [Change("set", f"tyre.front.{fact}", value)])
    return opened.examine(tried, draws=64)


def test_a_wider_section_of_one_marking_grows_to_both_sides_alone(opened):
    before = _with(opened, "section_width", "225 mm")
    after = _with(opened, "section_width", "235 mm")
    said = grows_text(before, after, "front", "metric")
    assert "10 mm wider: it grows by 5 mm to each side, and is as high as before" in said
    back = grows_text(after, before, "front", "metric")
    assert "10 mm narrower: it shrinks by 5 mm to each side" in back
    assert grows_text(before, before, "front", "metric") == ""
    assert grows_text(before, after, "rear", "metric") == ""


def test_why_a_gap_loses_less_than_the_tyre_gains_is_said_where_it_is_worked_out(opened):
    examination = opened.examine(draws=64)
    gap = examination.finding("corners.tyre_arch_gap", "front.left")
    assert why_half(opened.workings(examination, gap)) == EACH_SIDE
    flow = examination.finding("fuel.pump_flow", opened.build.blends[0])
    assert why_half(opened.workings(examination, flow)) == ""
