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
    assert "out of gear" in check.steps[0]
    assert "at the first start, where that was today" in check.steps[1]
    assert check.not_before == ("first_start",)
    assert any("exhaust joints" in line and "cold" in line for line in start.steps)


def test_a_link_slips_in_by_hand_once_what_it_hangs_on_is_there(library):
    """On the card that puts the links on: the job itself may come before arms and units are on."""
    place, axle = library.place("bar_link", "front"), library.components["bar_links_front"]
    assert place is not None
    assert not [line for line in place.steps if "slips in" in line]
    assert any("the last bolt slips in by hand" in line for line in axle.refit_steps)


def test_an_exhaust_is_lined_up_and_its_gaps_measured_with_what_puts_it_on(library):
    for name in ("dump_pipe", "exhaust_rear"):
        place, part = library.place(name.removesuffix("_rear")), library.components[name]
        assert place is not None
        said = " ".join((*place.steps, *place.verify))
        assert "tightened from the front" not in said
        assert "once" in said, "the job points to the card that puts it on"
        assert any("gap to " in line for line in part.verify)
    assert "tightened from the front" in library.components["exhaust_rear"].refit_steps[0]


def test_a_regulator_is_set_when_its_pump_may_run(library):
    place, leaks = library.place("regulator"), library.effects["fuel_leak"].clear
    assert place is not None
    assert "battery_earth" in place.open[0] + place.open[1]
    assert "leak check" in place.steps[-1]
    assert any("regulator" in line and "pump running" in line for line in leaks.steps)


def test_brake_fluid_in_the_reservoir_goes_through_at_the_bleeding(library):
    place, bled = library.place("brake_fluid"), library.effects["brakes_open"].clear
    assert place is not None
    assert "at the bleeding" in place.steps[-1]
    assert any("at every nipple" in line for line in bled.steps)
