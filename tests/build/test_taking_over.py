"""Two jobs never fit one place because a draft was kept."""

from __future__ import annotations

from drybuild.build import Change
from drybuild.build.folder import Job
from drybuild.build.taking_over import taken_over, together

WHEELS = Job(id="wheels", fit={"wheel": "old", "tyre.front": "old_tyre", "tyre.rear": "old_tyre"})
BRAKES = Job(id="brakes", fit={"disc.front": "disc"})


def fit(target: str, part: str) -> Change:
    return Change("fit", target, part)


def test_what_no_job_fits_makes_a_job_of_its_own():
    found = taken_over((WHEELS, BRAKES), (fit("caliper.front", "four"),))
    assert (found.fit, found.with_it) == ({}, ())
    assert found.rest == (fit("caliper.front", "four"),)


def test_a_part_goes_into_the_job_that_fits_its_place_and_takes_the_rest_of_the_draft_along():
    found = taken_over((WHEELS, BRAKES), (fit("disc.front", "big"), fit("caliper.front", "four")))
    assert found.fit == {"brakes": {"disc.front": "big"}}
    assert found.instead == {"brakes": ("disc",)}
    assert found.with_it == (fit("caliper.front", "four"),)
    assert found.rest == ()


def test_one_axle_of_what_a_job_fits_all_round():
    found = taken_over((WHEELS,), (fit("wheel.front", "new"),))
    assert found.fit["wheels"] == {
        "wheel.front": "new", "wheel.rear": "old", "tyre.front": "old_tyre",
        "tyre.rear": "old_tyre",
    }  # fmt: skip


def test_all_round_what_a_job_fits_by_axle():
    found = taken_over((WHEELS,), (fit("tyre", "new_tyre"),))
    new = {"wheel": "old", "tyre.front": "new_tyre", "tyre.rear": "new_tyre"}
    assert found.fit["wheels"] == new


def test_of_two_jobs_changed_neither_takes_what_is_of_no_job():
    tried = (fit("disc.front", "big"), fit("wheel", "new"), Change("set", "car.wheelbase", "2 m"))
    found = taken_over((WHEELS, BRAKES), tried)
    assert set(found.fit) == {"wheels", "brakes"}
    assert found.with_it == ()
    assert found.rest == (Change("set", "car.wheelbase", "2 m"),)


def test_what_a_place_would_have_had_in_the_end_is_what_is_replaced():
    again = Job(id="again", fit={"wheel.front": "second"})
    found = taken_over((WHEELS, again), (fit("wheel.front", "third"),))
    assert set(found.fit) == {"again"}
    half = taken_over((WHEELS, again), (fit("wheel", "third"),))
    assert half.fit["again"] == {"wheel.front": "third"}
    assert half.fit["wheels"]["wheel.rear"] == "third"
    assert half.fit["wheels"]["wheel.front"] == "old"


def test_sides_are_written_together_where_they_have_the_same():
    four = {f"wheel.{a}.{s}": "w" for a in ("front", "rear") for s in ("left", "right")}
    assert together(four) == {"wheel": "w"}
    assert together(four | {"wheel.rear.left": "v"}) == {
        "wheel.front": "w", "wheel.rear.left": "v", "wheel.rear.right": "w",
    }  # fmt: skip
    assert together({"map": "m"}) == {"map": "m"}


def test_a_part_of_another_room_does_not_go_along_into_the_job_that_is_changed():
    fuel = Job(id="fuel", fit={"injectors": "small", "pump": "pump"})
    air = Job(id="air", fit={"intake": "cone", "exhaust": "pipe"})
    tried = (fit("turbo", "big"), fit("injectors", "large"), fit("regulator", "own"))
    alone = taken_over((WHEELS, fuel), tried)
    assert alone.fit == {"fuel": {"injectors": "large", "pump": "pump"}}
    assert alone.with_it == (fit("regulator", "own"),)  # of the same room
    assert alone.rest == (fit("turbo", "big"),)
    both = taken_over((air, fuel), tried)
    assert list(both.fit) == ["fuel", "air"]
    assert both.fit["air"] == {"intake": "cone", "exhaust": "pipe", "turbo": "big"}
    assert both.instead == {"fuel": ("small",), "air": ()}
    assert (both.with_it, both.rest) == ((fit("regulator", "own"),), ())
