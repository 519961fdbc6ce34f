"""Steps of a task can be done at the hour of its card: what is only so later is on a later card."""

from __future__ import annotations

import pytest

from drybuild.work.library import Library, load, outlines


@pytest.fixture(params=outlines())
def library(request: pytest.FixtureRequest) -> Library:
    return load(request.param)


def test_a_corrected_speed_is_compared_on_the_drive_after_it(library):
    """The car is on stands while it is entered; nobody reads a speed there."""
    entered, driven = library.jobs["speed_reading"], library.effects["road_check"].clear
    assert not [line for line in (*entered.steps, *entered.verify) if "speed" in line]
    assert "read back" in entered.verify[0]
    assert "road check" in entered.cautions[0]
    assert any("two steady speeds" in line for line in driven.steps)
    assert any("true speed written down" in line for line in driven.verify)


def test_cold_exhaust_joints_are_listened_to_while_the_engine_still_is_cold(library):
    """The look at them comes after the first start: it is cold once, at that start."""
    check, start = (library.effects[name].clear for name in ("exhaust_check", "first_start"))
    assert "clear:first_start" in check.first
    assert "at the first start, where that was today" in check.steps[0]
    assert "exhaust joints" in start.steps[0]
    assert "cold" in start.steps[0]


def test_a_link_slips_in_by_hand_once_what_it_hangs_on_is_there(library):
    place = library.place("bar_link", "rear")
    assert place is not None
    assert place.steps[-1].startswith("once arms and units are on")


def test_brake_fluid_in_the_reservoir_goes_through_at_the_bleeding(library):
    place, bled = library.place("brake_fluid"), library.effects["brakes_open"].clear
    assert place is not None
    assert "at the bleeding" in place.steps[-1]
    assert any("at every nipple" in line for line in bled.steps)
