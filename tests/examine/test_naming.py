"""How a fact can come to be known, and the words for that."""

from __future__ import annotations

import pytest

from drybuild.examine.naming import by_way, way_to_know


@pytest.mark.parametrize(
    ("address", "way"),
    [
        ("wheel.front.left.spoke_depth", "measure"),  # with a depth gauge
        ("wheel.front.left.spoke_map|wheel.front.left.spoke_depth", "measure"),
        ("base:spring.rear.left.free_length", "measure"),
        ("tyre.front.left.marking", "read off"),
        ("pressure_sensor.span", "look up"),  # its maker's sheet
        ("map.injector_flow", "ask"),
        ("map.stage", "ask"),
        ("goal.power", "say"),
        ("blend.petrol.research_octane", "say"),
        ("the length of the rod", ""),
    ],
)
def test_a_fact_is_asked_for_in_the_way_in_which_it_can_be_known(address: str, way: str) -> None:
    assert way_to_know(address) == way


def test_what_hands_can_do_stands_first_and_each_way_once() -> None:
    found = by_way(("map.boost_target", "injectors.static_flow", "map.injector_flow"))
    assert list(found) == ["measure", "ask"]
    assert found["ask"] == "map boost target, map injector flow"
