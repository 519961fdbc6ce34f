"""What is left of a use where another one is stopped."""

from __future__ import annotations

from pathlib import Path

from drybuild.build import Change
from drybuild.examine import Examination, open_build
from drybuild.show.sentences import free_text
from drybuild.show.text import today_text

SATURDAYS = Path(__file__).parents[2] / "examples" / "plover_saturdays"


def _with(*changes: Change) -> Examination:
    opened = open_build(SATURDAYS)
    return opened.examine(opened.state().after(changes), draws=256)


def test_a_tyre_in_the_arch_as_it_stands_stops_full_load_as_well_as_creep() -> None:
    """Strapped down the car sits no higher, and the wheels turn."""
    point = "corner.rear.left.arch_point"
    found = _with(Change("set", f"{point}.gap", "-40 mm"), Change("set", f"{point}.over", "-40 mm"))
    for use in ("creep", "full load", "compete"):
        assert "corners.tyre_arch_gap" in {h.check for h in found.use(use).holds}


def test_full_load_of_a_car_that_may_not_creep_is_strapped_down_only() -> None:
    """A closed course is driven on; brakes that do not work do not matter on a dyno."""
    plain = _with()
    assert plain.use("full load").only == ""
    found = _with(Change("set", "disc.front.thickness", "50 mm"))
    assert not found.use("creep").allowed
    left = found.use("full load")
    assert left.allowed
    assert left.only.startswith("strapped down only")
    assert free_text(left) == f"nothing recorded stops it, {left.only}"
    assert f"full load ({left.only})" in today_text(found)
    assert found.use("creep").only == ""
