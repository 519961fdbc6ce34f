"""What stands first on the first page."""

from __future__ import annotations

from pathlib import Path

import pytest

import drybuild
from drybuild.examine import Measurement
from drybuild.examine.measuring import in_turn
from drybuild.show.front_page import front_page
from drybuild.show.text import measure_words

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def finished():
    return drybuild.open_build(DEMO).examine("finished", draws=64)


def reading(address: str, tool: str, note_as: str = "") -> Measurement:
    return Measurement(
        address, "doc", "how", tool, 5, 1.0, 9, (), False, "", note_as or address
    )  # fmt: skip


def test_the_next_thing_for_hands_is_a_reading_on_the_car_where_there_is_one(finished):
    stage = reading("map.stage", "calibrator's sheet")
    marking = reading("tyre.front.left.marking", "eye", "part.my_tyre.marking")
    depth = reading("wheel.front.left.spoke_depth", "depth gauge", "part.my_wheel.spoke_depth")
    gap = reading("corner.front.left.arm_point.gap", "drill shank")
    ranked = (stage, marking, depth, gap)
    for most, at in ((4, gap), (3, depth), (2, marking), (1, stage)):
        found = front_page(finished, ranked[:most], "metric")
        assert found.measure is not None
        assert found.measure.at == at.note_as
    assert found.measure is not None
    assert found.measure.ask == "ask the calibrator for"
    weighed = reading("clutch.mass", "scales")
    assert in_turn((weighed, *ranked)) == (gap, weighed, depth, marking, stage)
    assert in_turn((marking, stage, gap)) == (gap, marking, stage)

def test_of_a_part_that_may_not_be_bought_yet_the_seller_is_asked(finished):
    depth = reading("wheel.front.left.spoke_depth", "depth gauge", "part.my_wheel.spoke_depth")
    gap = reading("corner.front.left.arm_point.gap", "drill shank")
    asked = front_page(finished, (depth,), "metric").measure
    assert asked is not None
    assert asked.ask == "ask the seller for, or measure when it is here:"
    at_the_car = front_page(finished, (gap,), "metric").measure
    assert at_the_car is not None
    assert at_the_car.ask == "measure"
    assert "not here yet: ask the seller" in " ".join(measure_words(depth, finished))
    assert "seller" not in " ".join(measure_words(gap, finished))
    assert "ask the seller" in depth.turn
