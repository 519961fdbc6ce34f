"""What an added part's blanks begin as, where one figure goes with another."""

from __future__ import annotations

from pathlib import Path

import pytest

import drybuild
from drybuild.examine.begun_alike import guesses
from drybuild.values import parse_value

EXAMPLES = Path(__file__).parents[2] / "examples"
LIKE = "plover_caliper_front"


@pytest.fixture(scope="module")
def opened():
    return drybuild.open_build(EXAMPLES / "plover")


def radius(opened, disc):
    table = {"kind": "caliper"} | ({"disc_diameter": disc} if disc is not None else {})
    said = guesses(opened, LIKE, table)["outer_radius"]
    assert said["by"] == "assumed"
    return parse_value(said["is"], "length")


@pytest.mark.parametrize("disc", ["312 mm", {"is": "312 mm", "by": "maker"}])
def test_a_caliper_for_a_larger_disc_reaches_out_with_the_discs_edge(opened, disc):
    """Geometry: the bridge lies over the edge, which is half of the difference farther out."""
    old = opened.build.parts[LIKE]
    new, same = radius(opened, disc), radius(opened, None)
    edge = (0.312 - old.disc_diameter.centre) / 2
    assert new.centre - old.outer_radius.centre == pytest.approx(edge)
    assert same.centre == pytest.approx(old.outer_radius.centre)
    assert new.half_width == pytest.approx(edge / 2, rel=0.1)  # two digits are written
    assert new.half_width > same.half_width  # another caliper, not the same one made larger


def test_a_smaller_one_reaches_out_less(opened):
    old = opened.build.parts[LIKE]
    assert radius(opened, "250 mm").centre < old.outer_radius.centre


def test_what_is_no_length_is_left_to_where_the_part_is_taken_in(opened):
    assert radius(opened, "large").centre == radius(opened, None).centre
