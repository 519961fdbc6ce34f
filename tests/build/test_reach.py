"""How far a Change reaches: what it arms, what it leaves behind, and what it may not name."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import BuildFaults, Change, ChangeRefused, State, read_build
from drybuild.build.drawn import DrawnFacts
from drybuild.build.state import ends_as_found, reached, spoils
from drybuild.values import Draws

BUILD = """\
format = 1
[build]
name = "toy"
[blend.strong]
ethanol = "60 to 80 %"
"""
CAR = """\
format = 1
name = "toy car"
[fitted]
wheel = "std"
spacer = "none"
[car]
wheelbase = "2330 mm"
[corner.front]
camber = "-1 deg"
[corner.rear]
toe = { same_as = "corner.front.left.camber" }
"""
PARTS = """\
format = 1
[part.std]
kind = "wheel"
offset = "45 mm"
[part.wide]
kind = "wheel"
offset = "32 mm"
"""


@pytest.fixture
def state(tmp_path: Path) -> State:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "all.toml").write_text(PARTS, encoding="utf-8")
    return read_build(tmp_path).base_state


def changed(state: State, address: str) -> bool:
    return DrawnFacts(state, Draws(16)).fact(address).changed


# ---- disturb


@pytest.mark.parametrize(
    ("target", "arms"),
    [
        ("corner.front.left.camber", ["corner.front.left.camber"]),
        ("corner.front.camber", ["corner.front.left.camber", "corner.front.right.camber"]),
        ("corner.camber", ["corner.front.left.camber", "corner.rear.right.camber"]),
        ("corner.front", ["corner.front.right.toe"]),
        ("corner", ["corner.rear.left.toe"]),
        ("wheel", ["wheel.front.left.offset"]),
        ("wheel.*", ["wheel.rear.right.offset"]),
        ("corner.*.camber", ["corner.rear.left.camber"]),
        ("car", ["car.wheelbase"]),
    ],
)
def test_a_disturb_arms_all_that_it_names(state, target, arms):
    after = state.after([Change("disturb", target)])
    for address in arms:
        assert changed(after, address), address
    assert not changed(after, "axle.front.track_width")


@pytest.mark.parametrize("target", ["corner.front.cambr", "weel", "nothing.*", "", "front"])
def test_a_disturb_that_names_nothing_is_refused(state, target):
    with pytest.raises(ChangeRefused):
        state.after([Change("disturb", target)])


@pytest.mark.parametrize("target", ["wheel", "wheel.front", "wheel.front.left", "wheel.*"])
def test_a_disturbed_group_owes_its_records(state, target):
    after = state.after([Change("disturb", target)])
    assert "wheel.front.left" in after.owed(("wheel.*",), "nuts")


@pytest.mark.parametrize("target", ["wheel", "wheel.front", "wheel.front.left", "wheel.*"])
def test_a_disturbed_group_spoils_its_readings(target):
    assert spoils(Change("disturb", target), "wheel.front.left.offset")
    assert not spoils(Change("disturb", target), "corner.front.left.toe")


def test_reached_writes_groups_out():
    assert reached("wheel.front") == ("wheel.front.left", "wheel.front.right")
    assert reached("car") == ("car",)


# ---- set


def test_a_set_spoils_its_own_address_and_no_other_of_its_table():
    used = Change("set", "blend.strong.used", True)
    assert spoils(used, "blend.strong.used")
    assert not spoils(used, "blend.strong.ethanol")
    assert not spoils(Change("set", "registration.seats", 2), "registration.dipped_lamp_height")


def test_a_blend_that_the_build_has_not_is_refused(state):
    state.after([Change("set", "blend.strong.used", True)])
    with pytest.raises(ChangeRefused, match="did you mean 'strong'"):
        state.after([Change("set", "blend.strog.used", True)])


def test_a_table_is_not_set_as_a_whole(state):
    with pytest.raises(ChangeRefused, match="name one of its keys"):
        state.after([Change("set", "corner.front.left.arch_point", {"gap": "20 mm"})])


def test_nothing_is_set_on_an_empty_place(state):
    with pytest.raises(ChangeRefused, match="nothing is fitted"):
        state.after([Change("set", "spacer.front.thickness", "5 mm")])
    with pytest.raises(ChangeRefused, match="nothing is fitted"):
        state.after([Change("remove", "wheel"), Change("set", "wheel.offset", "30 mm")])


def test_nothing_is_set_to_no_value(state):
    with pytest.raises(ChangeRefused, match="no value"):
        state.after([Change("set", "car.wheelbase")])


def test_what_was_set_on_a_part_does_not_speak_for_the_next(state):
    after = state.after([
        Change("set", "wheel.front.offset", "40 mm"), Change("fit", "wheel.front.left", "wide"),
    ])  # fmt: skip
    assert "wheel.front.left.offset" not in after.settings
    assert "wheel.front.right.offset" in after.settings


# ---- remove


def test_a_place_that_nobody_spoke_of_is_changed_when_it_is_emptied(state):
    after = state.after([Change("remove", "caliper.front")])
    assert after.emptied == ("caliper.front.left", "caliper.front.right")
    assert changed(after, "caliper.front.left.present")
    assert changed(after, "caliper.front.left.mass")
    assert state.after([Change("remove", "spacer")]).emptied == ()  # it was empty as found


def test_swapped_and_swapped_back_is_as_found_but_for_the_records(state):
    there = state.after([Change("fit", "wheel", "wide")])
    back = there.after([Change("fit", "wheel", "std")])
    assert changed(there, "wheel.front.left.offset")
    assert not changed(back, "wheel.front.left.offset")
    assert len(back.owed(("wheel.*",), "nuts")) == 4


# ---- references


def test_a_reference_to_what_a_change_took_away_is_changed(state):
    text = (state.build.root / "car.toml").read_text(encoding="utf-8")
    mass = 'kerb_mass = { same_as = "wheel.front.left.mass" }'
    text = text.replace("wheelbase =", f"{mass}\nwheelbase =")
    (state.build.root / "car.toml").write_text(text, encoding="utf-8")
    after = read_build(state.build.root).base_state.after([Change("remove", "wheel.front.left")])
    assert changed(after, "car.kerb_mass")


# ---- as found and as it stands now


def test_a_figure_as_found_outlives_the_changes_that_are_reckoned_from_it():
    spring = Change("fit", "spring.front", "short")
    assert not spoils(spring, "corner.front.left.camber")
    assert ends_as_found(spring, "corner.front.left.camber")
    assert not ends_as_found(spring, "corner.rear.left.camber")
    assert not ends_as_found(Change("verify", "nuts"), "corner.front.left.camber")


def test_a_figure_as_it_stands_now_does_not():
    spring = Change("fit", "spring.front", "short")
    for address in ("camber_now", "toe_now", "load_now", "measured_drop", "strings_now.front"):
        assert spoils(spring, f"corner.front.left.{address}"), address
    assert not spoils(spring, "corner.rear.left.camber_now")
    assert not spoils(spring, "corner.front.left.arch_point.camber")  # a pose, written with its gap


def test_every_rule_speaks_of_something_declared():
    from drybuild.build.declared import declared_addresses
    from drybuild.build.depends import _answers, _rules
    from drybuild.build.kinds import place_of

    names = {*declared_addresses(), *place_of()}
    for stand in ("now", "as_found"):
        for readings, on in _rules(stand):
            for pattern in (*readings, *(p.replace("{axle}", "*") for p in on)):
                assert any(_answers(name, pattern) for name in names), pattern


# ---- adjusters


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ('address = "wheel.front"\nchoices = ["wid"]', "did you mean 'wide'"),
        ('address = "wheel.front.offset"\nlow = "banana"\nhigh = "40 mm"', "offset"),
        ('address = "wheel.front.offset"\nlow = "3 kg"\nhigh = "40 mm"', "length"),
        ('address = "blend.strog.ethanol"\nlow = "1 %"\nhigh = "2 %"', "did you mean 'strong'"),
        ('address = "wheel.front"\ntogether = ["weel.rear"]\nchoices = ["wide"]', "did you mean"),
    ],
)
def test_an_adjuster_that_could_never_be_tried_is_a_fault(state, lines, message):
    path = state.build.root / "build.toml"
    path.write_text(f"{BUILD}[[adjuster]]\n{lines}\n", encoding="utf-8")
    with pytest.raises(BuildFaults, match=message):
        read_build(state.build.root)
