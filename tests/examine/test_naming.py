"""How a fact can come to be known, and the words for that."""

from __future__ import annotations

import pytest

from drybuild.build.declared import declared_addresses
from drybuild.examine.naming import by_way, plain_name, wanted, way_to_know


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


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("corner.front.bolt_count", "front studs or bolt holes of the hub"),
        ("corner.rear.left.arch_point.height", "rear left hub centre up to arch lip"),
        ("corner.rear.arm_point.gap", "rear tyre's side to arm, spring or body"),
        ("corner.arch_point.camber", "camber when the gap to arch lip was taken"),
        ("base:corner.rear.left.tyre_pressure", "rear left tyre pressure, as found"),
        ("bar_link.front.left.length_least|bar_link.front.left.length",
         "front left bar link shortest setting or length"),
    ],
)  # fmt: skip
def test_a_fact_is_called_as_a_mechanic_calls_it(address: str, words: str) -> None:
    assert plain_name(address) == words


def test_no_two_facts_of_a_corner_have_one_name() -> None:
    found = [a for a in declared_addresses() if a.startswith("corner.front.left.")]
    assert len({plain_name(a) for a in found}) == len(found)


def test_alternatives_are_not_named_beside_the_one_that_is_wanted_anyhow():
    ratio, dampers = "axle.front.motion_ratio", "axle.front.damper_motion_ratio"
    either = f"{dampers}|{ratio}"
    both = by_way((either, ratio), seen_from="front.left")
    assert both == by_way((ratio,), seen_from="front.left")
    assert " or " not in next(iter(both.values()))
    assert " or " in next(iter(by_way((either,), seen_from="front.left").values()))
    assert wanted((either, ratio, "car.mass")) == (ratio, "car.mass")
    assert wanted((either,)) == (either,)
