"""The ride room through the kernel: what arms, what is missing, what a part's mass moves."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from drybuild.build.declared import declaration
from drybuild.build.kinds import place_of
from drybuild.findings import Evaluation, Fact, Missing, RawFinding, Registry, UnknownAddress
from drybuild.systems.ride import checks_setting, room
from drybuild.values import HowKnown

N = 3
REGISTRY = Registry([room])
SIDES = ("left", "right")

# A light car as plain numbers: spring 24/20 N/mm, motion ratio 0.72/0.82.
CAR: dict[str, Any] = {
    "car.wheelbase": 2.33, "car.cg_height": 0.48, "car.load_front_share": 0.45,
    "car.load_height": 0.52, "car.gross_limit": 1380.0, "car.headlamp_range": 0.026,
    "car.ground_clearance_mid": 0.152, "car.lowest_mid_behind_front": 1.1, "goal.load": 170.0,
    "goal.camber_front": -0.0314, "goal.camber_rear": -0.0349, "goal.toe_front": 0.001,
    "goal.toe_rear": 0.002,
}  # fmt: skip
AXLES: dict[str, dict[str, Any]] = {
    "front": {"load_kerb": 551.0, "load_limit": 690.0, "unsprung_mass": 34.0,
              "motion_ratio": 0.72, "motion_ratio_slope": 0.3, "bar_motion_ratio": 0.55,
              "bar_link_points": "down", "roll_centre_height": 0.045, "roll_centre_fall": 1.5,
              "camber_gain": -0.36, "toe_gain": -0.012, "toe_range": 0.017,
              "ground_clearance": 0.155},
    "rear": {"load_kerb": 529.0, "load_limit": 720.0, "unsprung_mass": 33.0,
             "motion_ratio": 0.82, "motion_ratio_slope": 0.3, "bar_motion_ratio": 0.60,
             "bar_link_points": "down", "roll_centre_height": 0.070, "roll_centre_fall": 1.5,
             "camber_gain": -0.42, "toe_gain": 0.012, "toe_range": 0.010,
             "ground_clearance": 0.160},
}  # fmt: skip
CORNERS: dict[str, dict[str, Any]] = {
    "front": {"bump_travel": 0.110, "bump_stop_travel": 0.066, "droop_travel": 0.065,
              "camber": -0.0157, "toe": 0.0009},
    "rear": {"bump_travel": 0.112, "bump_stop_travel": 0.072, "droop_travel": 0.076,
             "camber": -0.0209, "toe": 0.0017},
}  # fmt: skip
WIRE = {"wire_diameter": 0.0115, "mean_diameter": 0.105, "active_coils": 6.25,
        "total_coils": 7.8, "wire_strength": 1900e6}  # fmt: skip
PARTS: dict[str, dict[str, Any]] = {
    "spring_f": {"rate": 24e3, "free_length": 0.330, "mass": 2.3, **WIRE},
    "spring_r": {"rate": 20e3, "free_length": 0.340, "mass": 2.1, **WIRE},
    "spring_36": {"rate": 36e3, "free_length": 0.254, "mass": 1.9, **WIRE},
    "spring_36_helper": {"rate": 36e3, "free_length": 0.244, "helper_free_length": 0.045,
                         "helper_solid_length": 0.010, "mass": 2.1, **WIRE},
    "spring_bare": {"rate": 36e3},
    "spring_stated": {"rate": 36e3, "stated_drop": 0.030},
    "damper": {"bump_damping": 1200.0, "rebound_damping": 2500.0, "extended_length": 0.46,
               "closed_length": 0.31, "mass": 2.6},
    "damper_short": {"bump_damping": 1200.0, "rebound_damping": 2500.0,
                     "extended_length": 0.445, "closed_length": 0.31, "mass": 2.6},
    "damper_unknown": {"bump_damping": 1200.0, "rebound_damping": 2500.0},
    "stop": {"free_length": 0.048, "solid_height": 0.018},
    "bar": {"diameter": 0.020, "centre_length": 0.82, "arm": 0.2, "arm_length": 0.23},
    "link": {"length": 0.095},
    "arm": {"camber_range": 0.026, "camber_change": 0.0, "toe_range": 0.01, "mass": 3.0},
    "shim": {"camber_range": 0.015, "camber_change": 0.004, "toe_range": 0.005},
    "wheel_heavy": {"mass": 11.0},
    "wheel_light": {"mass": 7.0},
}  # fmt: skip
FITTED = {
    "spring.front": "spring_f", "spring.rear": "spring_r", "damper.front": "damper",
    "damper.rear": "damper", "bump_stop.front": "stop", "bump_stop.rear": "stop",
    "anti_roll_bar.front": "bar", "anti_roll_bar.rear": None, "bar_link.front": "link",
    "bar_link.rear": None, "arm.front": "arm", "arm.rear": "arm", "wheel.front": "wheel_heavy",
    "wheel.rear": "wheel_heavy",
}  # fmt: skip
OTHER_ROOMS = {"tyre_rate": 200e3, "loaded_radius": 0.29, "track_width": 1.45}


def per_side(table: dict[str, str | None]) -> dict[str, str | None]:
    """Axle places as instances: ``spring.rear`` to both sides, bars as they are."""
    found: dict[str, str | None] = {}
    for place, part in table.items():
        ends = [place] if place in place_of() else [f"{place}.{side}" for side in SIDES]
        found |= dict.fromkeys(ends, part)
    return found


@dataclass
class Given:
    """A source of facts from plain tables."""

    fitted: dict[str, str | None]
    base: dict[str, str | None]
    extra: dict[str, Any] = field(default_factory=dict)
    blends: tuple[str, ...] = ()

    def fact(self, address: str) -> Fact | Missing:
        room_name, _, rest = address.partition(".")
        if room_name == "corners":
            return Fact(address, OTHER_ROOMS[rest.split(".")[0]], (), HowKnown.CATALOGUE, False)
        place, _, name = address.rpartition(".")
        if place in place_of():
            changed = self.fitted.get(place) != self.base.get(place) or address in self.extra
            value = self._of_place(place, name)
            value = self.extra.get(address, value)
        else:
            changed = address in self.extra
            value = self.extra.get(address, self._of_car(address))
        if declaration(address) is None and name not in ("present", "part"):
            raise UnknownAddress(address)
        if value is None:
            return Missing(address, changed)
        value = np.full(N, value) if isinstance(value, float) else value
        return Fact(address, value, ((address, 0),), HowKnown.CATALOGUE, changed)

    def _of_place(self, place: str, name: str) -> Any:
        if place not in self.fitted:
            return None
        part = self.fitted[place]
        if name == "present":
            return part is not None
        if name == "part":
            return part or "none"
        return PARTS[part].get(name) if part is not None else None

    def _of_car(self, address: str) -> Any:
        head, *rest = address.split(".")
        if head == "axle":
            return AXLES[rest[0]].get(rest[1])
        if head == "corner":
            return CORNERS[rest[0]].get(rest[2])
        return CAR.get(address)


def car(fit: dict[str, str | None] | None = None, **extra: Any) -> Evaluation:
    """The car with some places fitted otherwise, and the car as found under it."""
    base = per_side(FITTED)
    addresses = {key.replace("__", "."): value for key, value in extra.items()}
    as_found = Evaluation(REGISTRY, Given(base, base), N)
    return Evaluation(
        REGISTRY, Given({**base, **per_side(fit or {})}, base, addresses), N, base=as_found
    )


def number(evaluation: Evaluation, address: str) -> float:
    outcome = evaluation.get(address)
    assert outcome.known, outcome.missing
    return float(np.mean(outcome.value))


def finding(evaluation: Evaluation, check: str, subject: str) -> RawFinding:
    raw = evaluation.check(REGISTRY.checks[check], subject)
    assert raw is not None
    return raw


def slack(evaluation: Evaluation, check: str, subject: str) -> float:
    raw = finding(evaluation, check, subject)
    assert raw.slack is not None, raw.outcome.missing
    return float(np.mean(raw.slack))


LOWERED: dict[str, str | None] = {"spring.rear": "spring_36"}


def test_every_check_has_a_finding_on_the_car_as_found_and_none_is_armed() -> None:
    evaluation = car()
    for spec in REGISTRY.checks.values():
        subjects = {
            "corner": ("front.left", "rear.right"), "axle": ("front", "rear"), "car": ("car",)
        }[spec.per]  # fmt: skip
        for subject in subjects:
            raw = evaluation.check(spec, subject)
            if raw is None and spec.function.__module__ == checks_setting.__name__:
                continue  # windows, curves and weights that nobody stated are not asked about
            if raw is None and spec.id == "ride.bar_link_swing":
                continue  # no swing is stated
            if raw is None:
                assert "bar" in spec.id
                assert subject.startswith("rear")
                continue
            assert raw.slack is not None, (spec.id, subject, raw.outcome.missing)
            assert np.isfinite(raw.slack).all(), spec.id
            assert not raw.outcome.touched, spec.id


def test_a_car_as_found_has_not_come_down() -> None:
    for corner in ("front.left", "rear.right"):
        assert number(car(), f"ride.ride_height_drop.{corner}") == pytest.approx(0.0, abs=1e-12)
    assert number(car(), "ride.laden_travel.rear.left") > 0.02  # two people settle it


def test_lowering_the_rear_lowers_the_rear_and_loosens_its_spring() -> None:
    lowered = car(LOWERED)
    assert number(lowered, "ride.ride_height_drop.rear.left") == pytest.approx(0.029, abs=0.002)
    assert number(lowered, "ride.ride_height_drop.front.left") == pytest.approx(0.0, abs=1e-5)
    raw = finding(lowered, "ride.spring_captive", "rear.left")
    assert raw.slack is not None
    assert np.all(raw.slack < -0.003)
    assert raw.outcome.touched
    assert not finding(lowered, "ride.spring_captive", "front.left").outcome.touched


def test_a_helper_spring_holds_it_again_at_the_same_height() -> None:
    plain, helped = car(LOWERED), car({"spring.rear": "spring_36_helper"})
    height = "ride.ride_height_drop.rear.left"
    assert number(helped, height) == pytest.approx(number(plain, height), abs=1e-4)
    assert slack(helped, "ride.spring_captive", "rear.left") > 0.015


def test_a_shorter_damper_holds_it_too_and_costs_droop() -> None:
    short = car({**LOWERED, "damper.rear": "damper_short"})
    assert slack(short, "ride.spring_captive", "rear.left") > 0.005
    droop = "ride.droop_travel.rear.left"
    assert number(short, droop) == pytest.approx(number(car(LOWERED), droop) - 0.015 / 0.82)


def test_another_damper_of_unknown_length_leaves_droop_unmeasured() -> None:
    raw = finding(car({"damper.rear": "damper_unknown"}), "ride.droop_travel", "rear.left")
    assert raw.slack is None
    assert "another damper" in " ".join(raw.outcome.missing)


def test_a_new_spring_without_length_names_what_is_missing() -> None:
    raw = finding(car({"spring.rear": "spring_bare"}), "ride.bump_travel", "rear.left")
    assert raw.slack is None
    assert any("spring.rear.left.free_length" in m.split("|") for m in raw.outcome.missing)


def test_its_makers_figure_stands_in_for_lengths_but_not_for_a_tape() -> None:
    stated = car({"spring.rear": "spring_stated"})
    assert number(stated, "ride.ride_height_drop.rear.left") == pytest.approx(0.030)
    assert finding(stated, "ride.spring_captive", "rear.left").slack is None
    taped = car(LOWERED, corner__rear__left__measured_drop=0.034)
    assert number(taped, "ride.ride_height_drop.rear.left") == pytest.approx(0.034)


def test_wheels_alone_move_loads_and_arm_nothing_of_the_ride() -> None:
    light = car({"wheel.front": "wheel_light", "wheel.rear": "wheel_light"})
    assert number(car(), "ride.total_mass") - number(light, "ride.total_mass") == pytest.approx(16)
    unsprung = "ride.unsprung_mass.front.left"
    assert number(car(), unsprung) - number(light, unsprung) == pytest.approx(4.0)
    # what is unsprung is not carried by the spring: the height stays
    assert number(light, "ride.ride_height_drop.front.left") == pytest.approx(0.0, abs=1e-9)
    for spec in REGISTRY.checks.values():
        subject = {"corner": "front.left", "axle": "front", "car": "car"}[spec.per]
        raw = light.check(spec, subject)
        assert raw is None or not raw.outcome.touched, spec.id


def test_raising_the_perch_takes_back_the_drop() -> None:
    lowered = car(LOWERED)
    raised = car(LOWERED, damper__rear__left__perch_raise=0.010)
    # by hand at 23 mm: force per perch k·MR over the wheel rate k·MR² + W/MR·slope
    here = 0.82 + 0.3 * 0.023
    lift = 0.010 * 36e3 * here / (36e3 * here**2 + 2271.0 / here * 0.3)
    assert (
        number(lowered, "ride.ride_height_drop.rear.left")
        - number(raised, "ride.ride_height_drop.rear.left")
    ) == pytest.approx(lift, rel=0.005)
    # the seats come together at full droop, so the spring is held better
    gained = slack(raised, "ride.spring_captive", "rear.left") - slack(
        lowered, "ride.spring_captive", "rear.left"
    )
    assert gained == pytest.approx(0.010)


def test_camber_follows_the_drop_and_the_arm_sets_it_back() -> None:
    lowered = car(LOWERED)
    drop = number(lowered, "ride.ride_height_drop.rear.left")
    assert number(lowered, "ride.camber.rear.left") == pytest.approx(-0.0209 - 0.42 * drop)
    back = car(LOWERED, arm__rear__left__camber_change=0.005)
    assert number(back, "ride.camber.rear.left") == pytest.approx(-0.0209 - 0.42 * drop + 0.005)
    # the reach is judged from the adjuster's middle, so setting it changes nothing of it
    reach = ("ride.camber_reach", "rear.left")
    assert slack(back, *reach) == pytest.approx(slack(lowered, *reach))


def test_a_shim_adds_to_what_the_arm_sets_and_reaches() -> None:
    place = {"stub_shim.rear.left": "shim"}
    lowered = car(LOWERED, arm__rear__left__camber_change=0.005)
    shimmed = car(LOWERED | place, arm__rear__left__camber_change=0.005)
    for result in ("ride.camber.rear.left", "ride.camber_in_bump.rear.left"):
        assert number(shimmed, result) == pytest.approx(number(lowered, result) + 0.004)
    for angle, more in (("camber", 0.015), ("toe", 0.005)):
        reach = (f"ride.{angle}_reach", "rear.left")
        assert slack(shimmed, *reach) == pytest.approx(slack(lowered, *reach) + more)
    assert not car().get("ride.camber_added.front.left").touched
    # half a degree and no adjuster's help: what the shim takes up is allowed again
    uneven = {"corner__rear__left__camber": -0.08, "corner__rear__right__camber": 0.0}
    apart = ("ride.camber_even", "rear")
    gained = slack(car(place, **uneven), *apart) - slack(car(**uneven), *apart)
    assert gained == pytest.approx(0.015)


def test_a_tail_that_came_down_lifts_the_beam() -> None:
    lowered = car(LOWERED)
    pitch = number(lowered, "ride.body_pitch")
    drop = number(lowered, "ride.axle_drop.rear")
    front = number(lowered, "ride.axle_drop.front")
    assert pitch == pytest.approx(np.arctan((drop - front) / 2.33))
    assert pitch > 0.01
    assert slack(lowered, "ride.headlamp_aim", "car") < slack(car(), "ride.headlamp_aim", "car")


def test_a_car_without_a_rear_bar_has_no_bar_stiffness_there() -> None:
    assert number(car(), "ride.no_bar.rear") == 0.0
    assert not car().get("ride.no_bar.front").known
    stiff = number(car(), "ride.roll_stiffness.rear")
    rate = number(car(), "ride.wheel_rate.rear.left")
    springs, tyres = rate * 1.45**2 / 2, 200e3 * 1.45**2 / 2
    assert stiff == pytest.approx(springs * tyres / (springs + tyres))


def test_stiffer_rear_springs_move_the_balance_and_the_check_says_so() -> None:
    share = "ride.front_transfer_share"
    assert number(car(LOWERED), share) < number(car(), share)
    assert slack(car(LOWERED), "ride.balance_shift", "car") < 0.02


def test_a_motion_ratio_the_wrong_way_round_is_caught() -> None:
    raw = car(axle__rear__motion_ratio=1 / 0.82)
    assert slack(raw, "ride.motion_ratio", "rear.left") < 0


def test_two_tapes_stand_in_for_a_stated_motion_ratio() -> None:
    saved = AXLES["rear"].pop("motion_ratio")
    try:
        assert not car(LOWERED).get("ride.ride_height_drop.rear.left").known
        taped = {"axle__rear__test_wheel_travel": 0.050, "axle__rear__test_spring_travel": 0.041}
        assert number(car(LOWERED, **taped), "ride.motion_ratio_measured.rear") == 0.82
    finally:
        AXLES["rear"]["motion_ratio"] = saved


def test_one_side_lower_than_the_other_winds_up_the_bar() -> None:
    crooked = car(
        corner__front__left__measured_drop=0.030, corner__front__right__measured_drop=0.010
    )
    assert slack(crooked, "ride.sides_even", "front") == pytest.approx(-0.014)
    assert slack(crooked, "ride.bar_preload", "front") < 0
    even = car(corner__front__left__measured_drop=0.030, corner__front__right__measured_drop=0.030)
    assert slack(even, "ride.bar_preload", "front") == pytest.approx(250.0)


def test_a_fixed_link_is_too_long_for_a_large_drop() -> None:
    fixed = car(corner__front__left__measured_drop=0.030, corner__front__right__measured_drop=0.030)
    # 0.55 of 30 mm is 16.5 mm too long; the bar works as it did to 10 degrees of a 200 mm arm
    assert slack(fixed, "ride.bar_link_length", "front.left") == pytest.approx(
        0.2 * np.sin(np.radians(10.0)) - 0.0165
    )


def test_links_of_a_lowered_car_stop_the_road_only_by_a_swing_that_their_maker_states() -> None:
    length, swing = (REGISTRY.checks[f"ride.bar_link_{end}"] for end in ("length", "swing"))
    assert "drive" not in length.stops
    assert length.consequence == "nuisance"
    drops = {f"corner__front__{side}__measured_drop": 0.030 for side in ("left", "right")}
    assert slack(car(**drops), "ride.bar_link_length", "front.left") > 0  # 4.7 of 10 degrees
    assert "drive" in swing.stops
    PARTS["link"]["swing_most"] = np.radians(3.0)
    try:
        # the bar's end 16.5 mm out on an arm of 200 mm
        assert slack(car(**drops), "ride.bar_link_swing", "front.left") == pytest.approx(
            np.radians(3.0) - np.arcsin(0.0165 / 0.2)
        )
    finally:
        del PARTS["link"]["swing_most"]
    assert car(**drops).check(swing, "front.left") is None


def test_toe_in_mm_without_its_diameter_stays_unknown() -> None:
    corners = dict(CORNERS["rear"])
    lengths = {"corner__rear__left__toe_length": 0.002}
    saved = CORNERS["rear"].pop("toe")
    try:
        without = car(**lengths).get("ride.toe.rear.left")
        assert not without.known
        asked = {a for m in without.missing for a in m.split("|")}
        assert "corner.rear.left.toe_measured_over" in asked
        with_it = car(**lengths, corner__rear__left__toe_measured_over=0.43)
        assert number(with_it, "ride.toe.rear.left") == pytest.approx(np.arcsin(0.002 / 0.43))
    finally:
        CORNERS["rear"]["toe"] = saved
    assert CORNERS["rear"] == corners


def test_records_of_steering_and_springs_ask_for_a_second_person() -> None:
    records = REGISTRY.records
    assert records["ride.fasteners_laden"].second_person
    assert records["ride.springs_seated"].second_person
    assert "creep" not in records["ride.alignment_sheet"].stops
    assert "drive" in records["ride.alignment_sheet"].stops


def test_whoever_can_be_hurt_is_told() -> None:
    captive = REGISTRY.checks["ride.spring_captive"]
    assert captive.consequence == "injury"
    assert "whatever the number" in captive.safety
    words = " ".join(
        f"{c.title} {c.when_short} {c.do} {c.safety}" for c in REGISTRY.checks.values()
    ).lower()
    for word in (" safe ", "passed", "ok to drive"):
        assert word not in words
