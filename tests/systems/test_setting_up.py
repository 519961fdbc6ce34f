"""Alignment, corner weights, spring stacks, damper curves, fade and fasteners through the kernel,
on a copy of the demo (an invented car) with facts that the demo itself does not state."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import drybuild
from drybuild.build import Change, ChangeRefused
from drybuild.examine import Examination, OpenBuild
from drybuild.examine.setting_sheet import setting_sheet
from drybuild.examine.tightening import joints
from drybuild.findings import Finding, Verdict
from drybuild.show.tightening import tightening_text
from drybuild.show.travel import corner_travel
from drybuild.systems.corners import checks_fasteners
from drybuild.systems.ride import checks_setting, transfer
from drybuild.values import UnitFault, parse_value

DEMO = Path(__file__).parents[2] / "examples" / "plover"
EXTRA = """\
format = 1
known = "catalogue"

# Invented, for these tests: a straight spring by its rate, the same by its curve, and one with a
# tender spring that still gives.
[part.straight]
kind = "spring"
rate = { is = "36 N/mm", exact = true }
free_length = { is = "254 mm", exact = true }

[part.by_curve]
kind = "spring"
force_curve = { x = [0, 30, 60, 90, 120], x_unit = "mm", y = [0, 1080, 2160, 3240, 4320], y_unit = "N", scale_doubt = "0 %" }
free_length = { is = "254 mm", exact = true }

[part.rising]
kind = "spring"
force_curve = { x = [0, 30, 60, 90, 120], x_unit = "mm", y = [0, 600, 1500, 3240, 6000], y_unit = "N", scale_doubt = "0 %" }
free_length = { is = "254 mm", exact = true }

[part.tender]
kind = "spring"
rate = { is = "48 N/mm", exact = true }
free_length = { is = "225 mm", exact = true }
helper_rate = { is = "60 N/mm", exact = true }
helper_free_length = { is = "130 mm", exact = true }
helper_solid_length = { is = "30 mm", exact = true }

[part.bolt_109]
kind = "fastener"
thread = "M12x1.5"
property_class = "10.9"
held_by = "aluminium"
engagement = "20 mm"
torque = "85 N·m"
torque_document = "invented workshop book, page 12"
thread_condition = "dry"
reuse = "one-time"
laden = true
"""  # noqa: E501


@pytest.fixture(scope="module")
def car(tmp_path_factory: pytest.TempPathFactory) -> OpenBuild:
    folder = tmp_path_factory.mktemp("car") / "plover"
    shutil.copytree(DEMO, folder)
    (folder / "parts" / "extra.toml").write_text(EXTRA, encoding="utf-8")
    text = (folder / "car.toml").read_text(encoding="utf-8")
    text = text.replace("[fitted]\n", '[fitted]\ndamper_bolts = "bolt_109"\n', 1)
    (folder / "car.toml").write_text(text, encoding="utf-8")
    return drybuild.open_build(folder)


def exact(text: str) -> dict[str, Any]:
    return {"is": text, "exact": True}


def look(car: OpenBuild, fit: Any = (), draws: int = 256, **settings: Any) -> Examination:
    changes = [Change("fit", place, part) for place, part in dict(fit).items()]
    changes += [Change("set", a.replace("__", "."), v) for a, v in settings.items()]
    return car.examine(car.draft("test", changes), draws=draws)


def value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    assert outcome.known, outcome.missing
    return outcome.value


def mean(examination: Examination, address: str) -> float:
    return float(np.mean(value(examination, address)))


def finding(examination: Examination, check: str, subject: str) -> Finding | None:
    found = [f for f in examination.findings if f.check == check and f.subject == subject]
    return found[0] if found else None


def verdict(examination: Examination, check: str, subject: str) -> Verdict:
    found = finding(examination, check, subject)
    assert found is not None
    return found.verdict


def test_nobody_is_asked_about_what_nobody_stated() -> None:
    plain = drybuild.open_build(DEMO).examine("finished", draws=64)
    mine = {
        spec.id for spec in plain.evaluation.registry.checks.values()
        if spec.function.__module__ in (checks_setting.__name__, checks_fasteners.__name__)
        or spec.id in ("brakes.caliper_template", "brakes.fade", "brakes.face_heat")
    }  # fmt: skip
    asked = {f.check for f in plain.findings}
    assert len(mine) > 30
    # _when_known wraps its checks in this module too
    assert not asked & mine


def test_a_window_is_asked_about_once_it_is_stated(car: OpenBuild) -> None:
    seen = look(
        car, goal__camber_window="0.3 deg", corner__rear__left__camber_now=exact("-2.1 deg"),
        corner__rear__right__camber_now=exact("-2.5 deg"), goal__cross_camber_most="0.3 deg",
    )  # fmt: skip
    assert verdict(seen, "ride.camber_window", "rear.left") is Verdict.ENOUGH
    assert verdict(seen, "ride.camber_window", "rear.right") is Verdict.SHORT
    assert verdict(seen, "ride.cross_camber", "rear") is Verdict.SHORT
    assert mean(seen, "ride.cross_camber.rear") == pytest.approx(np.radians(0.4))


def test_a_camber_that_is_read_now_leans_the_wheel_in_every_gap(car: OpenBuild) -> None:
    """Worked by hand: a level gap moves with its height over the hub times the tangent; the drawing
    of the travel and full bump start from what was read."""
    plain = look(car)
    leaned = look(car, corner__front__left__camber_now=exact("-4 deg"))
    at = "front.left"
    assert mean(leaned, f"ride.camber_set.{at}") == pytest.approx(np.radians(-4.0))
    by = mean(leaned, f"ride.camber_set.{at}") - mean(plain, f"ride.camber_set.{at}")
    assert by < np.radians(-1.0)
    for check in ("corners.tyre_arm_gap", "corners.arch_bump_gap"):
        one, two = finding(plain, check, at), finding(leaned, check, at)
        assert one is not None
        assert two is not None
        assert one.margin is not None, check
        assert two.margin is not None, check
        assert abs(two.margin.median - one.margin.median) > 1e-3, check
    bump = [float(np.nanmedian(value(e, f"ride.camber_in_bump.{at}"))) for e in (plain, leaned)]
    assert bump[1] - bump[0] == pytest.approx(by, abs=2e-3)
    drawn = [corner_travel(e, at) for e in (plain, leaned)]
    assert drawn[0] is not None
    assert drawn[1] is not None
    for first, second in zip(drawn[0].poses, drawn[1].poses, strict=True):
        assert second.camber - first.camber == pytest.approx(by, abs=2e-3), first.name


def test_caster_and_set_back_that_nobody_measured_are_unmeasured_when_wanted(
    car: OpenBuild,
) -> None:
    seen = look(car, goal__caster_front="5 deg", goal__caster_window="0.5 deg",
                goal__set_back_most="5 mm")  # fmt: skip
    assert verdict(seen, "ride.caster_window", "car") is Verdict.UNMEASURED
    assert verdict(seen, "ride.set_back", "car") is Verdict.UNMEASURED


def strings(front_left: float, front_right: float, over: str | None = "450 mm") -> dict[str, Any]:
    """Readings, mm of toe at each front wheel; the rear points 1 mm in on both sides."""
    found: dict[str, Any] = {}
    for corner, toe in (("front.left", front_left), ("front.right", front_right),
                        ("rear.left", 1.0), ("rear.right", 1.0)):  # fmt: skip
        at = f"corner.{corner}.strings_now"
        found |= {f"{at}.front": exact(f"{60 + toe / 2} mm"),
                  f"{at}.rear": exact(f"{60 - toe / 2} mm"), f"{at}.hub": exact("90 mm")}
        if over is not None:
            found[f"{at}.over"] = exact(over)
    return found


def test_strings_set_the_toe_of_each_wheel(car: OpenBuild) -> None:
    seen = look(car, **strings(2.0, -1.0))
    assert mean(seen, "ride.toe_set.front.left") == pytest.approx(np.arcsin(2 / 450))
    assert mean(seen, "ride.toe_set.front.right") == pytest.approx(-np.arcsin(1 / 450))
    assert mean(seen, "ride.thrust_angle") == pytest.approx(0.0, abs=1e-12)
    rows = {(r.corner, r.angle): r for r in setting_sheet(seen).rows}
    row = rows["front.left", "toe"]
    assert row.measured
    assert row.over == pytest.approx(0.45)
    lengths = row.lengths(row.after)
    assert lengths is not None
    assert lengths.median == pytest.approx(2e-3)


def test_strings_without_the_diameter_are_not_used_and_it_is_said_why(car: OpenBuild) -> None:
    seen = look(car, **strings(2.0, -1.0, over=None))
    assert not seen.evaluation.get("ride.toe_by_string_now_front_left").known
    faults = setting_sheet(seen).faults
    assert len(faults) == 4
    assert "nothing without its diameter" in faults[0]
    assert "corner.front.left.strings_now.over" in faults[0]


def test_toe_in_mm_is_refused_as_an_angle(car: OpenBuild) -> None:
    with pytest.raises(ChangeRefused, match="expected an angle"):
        look(car, corner__front__left__toe="2 mm")
    with pytest.raises(UnitFault, match="nothing without the diameter") as told:
        parse_value("2 mm", "angle")
    assert "toe_measured_over" in told.value.hint


def test_what_is_wrong_with_the_gauge_falls_out_of_the_difference(car: OpenBuild) -> None:
    gauge = {"is": "-1.9 deg", "by": "camber gauge"}
    seen = look(car, draws=2048, corner__front__left__camber_now=gauge)
    row = next(r for r in setting_sheet(seen).rows
               if (r.corner, r.angle) == ("front.left", "camber"))  # fmt: skip
    assert row.before is not None
    assert row.after is not None
    assert row.change is not None
    one = row.after.high - row.after.low
    # repeat 0.15 deg each and a bias of 0.1 deg that both share
    assert row.change.high - row.change.low < 0.9 * np.sqrt(2.0) * one


WEIGHED = {"front.left": 285, "front.right": 266, "rear.left": 258, "rear.right": 271}


def test_perches_by_the_sheet_reach_the_cross_share(car: OpenBuild) -> None:
    loads = {f"corner.{c}.load_kerb": exact(f"{kg} kg") for c, kg in WEIGHED.items()}
    wanted = {"goal.cross_share": exact("50 %"), "goal.cross_share_window": exact("0.2 %")}
    before = look(car, **loads, **wanted)
    setting = value(before, "ride.corner_setting")
    assert float(np.mean(setting.share)) == pytest.approx((285 + 271) / 1080, abs=1e-4)
    assert verdict(before, "ride.cross_weight", "car") is Verdict.SHORT
    turned = {}
    for i, corner in enumerate(WEIGHED):
        now = before.evaluation.get(f"damper.{corner}.perch_raise")
        start = float(np.mean(now.value)) if now.known else 0.0
        found = before.evaluation.base.get(f"damper.{corner}.perch_raise")
        start = start if now.known else float(np.mean(found.value)) if found.known else 0.0
        by = start + float(np.mean(setting.perch[i]))
        turned[f"damper.{corner}.perch_raise"] = exact(f"{1e3 * by:.9f} mm")
    after = look(car, **loads, **wanted, **turned)
    moved = mean(after, "ride.cross_share") - 0.5
    as_it_was = mean(before, "ride.cross_share") - 0.5
    assert abs(moved) < 0.1 * abs(as_it_was)
    assert verdict(after, "ride.cross_weight", "car") is Verdict.ENOUGH


def test_a_curve_of_a_straight_spring_is_that_spring(car: OpenBuild) -> None:
    plain = look(car, fit={"spring.rear": "straight"})
    curve = look(car, fit={"spring.rear": "by_curve"})
    for address in ("ride.ride_height_drop.rear.left", "ride.wheel_rate.rear.left",
                    "ride.frequency.rear.left"):  # fmt: skip
        assert mean(curve, address) == pytest.approx(mean(plain, address), rel=1e-3), address


def test_a_progressive_spring_has_the_rate_of_where_it_works(car: OpenBuild) -> None:
    rising = look(car, fit={"spring.rear": "rising"})
    rate = value(rising, "ride.spring_rate.rear.left")
    assert set(np.round(np.unique(rate))) <= {20e3, 30e3, 58e3, 92e3}


def test_a_tender_spring_works_with_the_main_one_until_it_is_solid(car: OpenBuild) -> None:
    seen = look(car, fit={"spring.rear": "tender"})
    assert mean(seen, "ride.spring_rate.rear.left") == pytest.approx(48e3 * 60 / 108, rel=1e-6)
    assert verdict(seen, "ride.helper_solid", "rear.left") is Verdict.SHORT


def test_dampers_by_curve(car: OpenBuild) -> None:
    def curves(bump: list[float], rebound: list[float]) -> dict[str, Any]:
        x = {"x": [0.02, 0.1, 0.5], "x_unit": "m/s", "y_unit": "N", "scale_doubt": "0 %"}
        return {"damper.front.bump_curve": {**x, "y": bump},
                "damper.front.rebound_curve": {**x, "y": rebound}}  # fmt: skip

    stated = {"damper.front.bump_damping": exact("1500 N·s/m"),
              "damper.front.rebound_damping": exact("3500 N·s/m")}  # fmt: skip
    straight = look(car, **stated, **curves([30, 150, 750], [70, 350, 1750]))
    along = value(straight, "ride.damping_along.front.left")
    assert np.allclose(along.mean, value(straight, "ride.damping_ratio.front.left"), rtol=1e-9)
    assert verdict(straight, "ride.damper_figures", "front.left") is Verdict.ENOUGH
    blown = look(car, **stated, **curves([30, 90, 100], [70, 150, 180]))
    assert verdict(blown, "ride.damping_across", "front.left") is Verdict.SHORT
    assert verdict(blown, "ride.damper_figures", "front.left") is Verdict.SHORT


def test_a_bump_rubber_joins_the_wheel_rate_near_full_bump(car: OpenBuild) -> None:
    rubber = {"x": [0, 10, 20, 30, 40, 60], "x_unit": "mm",
              "y": [0, 250, 800, 2500, 7000, 30000], "y_unit": "N"}  # fmt: skip
    seen = look(car, **{"bump_stop.front.force_curve": rubber})
    force = value(seen, "ride.wheel_force.front.left")
    middle = np.nanmedian(force.rate, axis=1)
    assert middle[-1] > 2.0 * middle[0]
    assert np.all(np.diff(np.nanmedian(force.force, axis=1)) > 0.0)
    at_rest = value(seen, "ride.laden_sprung_weight.front.left")
    assert np.allclose(force.force[0], at_rest, rtol=1e-6)
    assert finding(seen, "ride.bump_force", "front.left") is not None


def test_parts_of_the_load_transfer_add_up(car: OpenBuild) -> None:
    seen = look(car)
    for axle in ("front", "rear"):
        parts = value(seen, f"ride.transfer_parts.{axle}")
        assert np.allclose(parts.total, value(seen, f"ride.load_transfer.{axle}"), rtol=1e-12)


def test_moments_of_both_axles_are_those_of_the_whole_car_and_its_lean(car: OpenBuild) -> None:
    seen = look(car)
    moments = sum(
        value(seen, f"ride.transfer_parts.{axle}").total
        * value(seen, f"corners.track_width.{axle}")
        for axle in ("front", "rear")
    )
    sprung = sum(value(seen, f"ride.axle_sprung_mass.{axle}") for axle in ("front", "rear"))
    lean = transfer.lean_moment(
        gradient=value(seen, "ride.roll_gradient"), sprung_mass=sprung,
        arm=value(seen, "ride.roll_arm"),
    )  # fmt: skip
    whole = value(seen, "ride.total_mass") * value(seen, "ride.cg_height")
    assert np.allclose(moments - lean, whole, rtol=1e-9)


OUTLINE = {"x": [-60, 0, 40], "x_unit": "mm", "y": [168, 178, 176], "y_unit": "mm",
           "scale_doubt": "0 %"}  # fmt: skip


@pytest.mark.parametrize(("barrel", "heat", "told"), [
    (183.0, "60 K", Verdict.ENOUGH), (181.2, "60 K", Verdict.SHORT),
    (181.2, "0 K", Verdict.ENOUGH), (177.0, "0 K", Verdict.SHORT),
])  # fmt: skip
def test_template_of_the_caliper(
    car: OpenBuild, barrel: float, heat: str, told: Verdict
) -> None:
    # 178 mm grows by 0.25 mm over 60 K; 3 mm are wanted beside that
    seen = look(car, **{
        "caliper.front.profile": OUTLINE, "caliper.front.heat_rise": exact(heat),
        "wheel.front.barrel_profile": {
            "x": [-80, 60], "x_unit": "mm", "y": [barrel, barrel], "y_unit": "mm",
            "scale_doubt": "0 %"},
    })  # fmt: skip
    assert verdict(seen, "brakes.caliper_template", "front.left") is told


def test_pads_that_fade_are_short_and_the_row_warms_up(car: OpenBuild) -> None:
    def pads(hot: float) -> Any:
        return {"x": [20, 100, 300, 900], "x_unit": "°C", "y": [0.36, 0.42, 0.42, hot]}

    good = look(car, **{"pads.front.friction_curve": pads(0.40)})
    assert verdict(good, "brakes.fade", "front") is Verdict.ENOUGH
    row = value(good, "brakes.fade.front")
    assert row.stop[-1] == 5
    assert np.all(np.diff(np.median(row.temperature, axis=1)) > 0)
    bad = look(car, **{"pads.front.friction_curve": {
        "x": [20, 100, 150, 900], "x_unit": "°C", "y": [0.36, 0.42, 0.20, 0.05]}})  # fmt: skip
    assert verdict(bad, "brakes.fade", "front") is Verdict.SHORT


def test_joints_of_the_dampers(car: OpenBuild) -> None:
    seen = look(car)
    assert verdict(seen, "corners.damper_bolts_once", "front.left") is Verdict.SHORT
    assert verdict(seen, "corners.damper_bolts_clamp", "front.left") is Verdict.ENOUGH
    assert verdict(seen, "corners.damper_bolts_engaged", "front.left") is Verdict.SHORT
    new = look(car, **{"damper_bolts.renewed": True, "damper_bolts.engagement": "26 mm"})
    assert verdict(new, "corners.damper_bolts_once", "front.left") is Verdict.ENOUGH
    assert verdict(new, "corners.damper_bolts_engaged", "front.left") is Verdict.ENOUGH
    found = value(new, "corners.clamp_of_damper_bolts.front.left")
    assert found.least < found.middle < found.most < found.proof


def test_a_figure_that_belongs_to_a_stronger_bolt_is_short(car: OpenBuild) -> None:
    seen = look(car, **{"damper_bolts.torque": "190 N·m"})
    assert verdict(seen, "corners.damper_bolts_clamp", "rear.right") is Verdict.SHORT


def test_clamp_by_the_friction_that_its_maker_states(car: OpenBuild) -> None:
    usual = value(look(car), "corners.clamp_of_damper_bolts.front.left")
    slippery = {"damper_bolts.friction": exact("0.10"),
                "damper_bolts.seat_diameter": exact("15 mm")}  # fmt: skip
    seen = value(look(car, **slippery), "corners.clamp_of_damper_bolts.front.left")
    assert seen.middle > usual.middle
    assert seen.most > seen.middle > seen.least
    rough = {**slippery, "damper_bolts.friction": exact("0.20")}
    twisted = value(look(car, **rough), "corners.clamp_of_damper_bolts.front.left")
    assert twisted.middle < seen.middle
    assert twisted.proof < usual.proof  # twist takes its share of yield before pull reaches proof
    turned = look(car, **{"damper_bolts.turn": "90 deg"})
    assert verdict(turned, "corners.damper_bolts_clamp", "front.left") is Verdict.UNMEASURED


def test_inner_wheel_is_said_at_the_cornering_wanted(car: OpenBuild) -> None:
    gentle, hard = (look(car, goal__cornering=exact(f"{a} g")) for a in (0.4, 0.8))
    loads = [mean(seen, "ride.inner_wheel_load.rear") for seen in (gentle, hard)]
    half = 0.5 * mean(gentle, "ride.axle_load.rear")
    assert half - loads[1] == pytest.approx(2.0 * (half - loads[0]))


def test_wheel_figure_needs_its_document(car: OpenBuild) -> None:
    bare = look(car, **{"wheel_nuts.torque": "100 N·m"})
    assert verdict(bare, "corners.wheel_figure", "front.left") is Verdict.SHORT
    told = tightening_text(joints(bare))
    line = next(one for one in told.splitlines() if "front wheel nuts" in one)
    assert "LOOK UP" in line
    assert "100" not in line
    full = look(car, **{
        "wheel_nuts.torque": "100 N·m", "wheel_nuts.torque_document": "owner's book, p. 80",
        "wheel_nuts.thread_condition": "dry", "wheel_nuts.property_class": "10.9",
    })  # fmt: skip
    assert verdict(full, "corners.wheel_figure", "front.left") is Verdict.ENOUGH
    assert verdict(full, "corners.wheel_clamp", "front.left") is Verdict.ENOUGH
    told = " ".join(tightening_text(joints(full)).split())
    assert "100 N·m, threads dry" in told
    assert "one-time: new ones go in" in told
