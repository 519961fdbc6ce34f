"""Checks of the ride room, third part: alignment in the windows that the owner stated, corner
weights, and what depth of springs and dampers adds. What is not stated is not asked about."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    FormulaRefused,
    Source,
    inside,
    not_above,
    not_below,
)
from drybuild.systems.ride import stacks
from drybuild.systems.ride.checks import EMPTY, LADEN
from drybuild.systems.ride.results import GEOMETRY, GILLESPIE_5, STATICS, room
from drybuild.systems.ride.results_depth import DampingAlong, WheelForce
from drybuild.systems.ride.results_weights import CornerSetting
from drybuild.values import Array

SET_POSE = "rolled and settled, at the ride height as it stands, straight ahead, nobody in it"
PLATES = "level pads, links of the bars off, rolled and settled, nobody in it"
SCALES = Source("statics; common practice of corner weights", how="practice")
STIFF = "rigid links: the give of bushes under load is not covered"

DAMPING_ALONG_LEAST = 0.15
CURVE_AGREES = 0.25
BUMP_LOADS = 3.0
CROSS_WINDOW = 0.005


def in_window(*, window: Array | None, aim: Array | None, value: Array | None) -> Any:
    """Window less the distance from the aim, rad."""
    if window is None or aim is None:
        return NOT_APPLICABLE
    if value is None:
        raise FormulaRefused("this angle, with the parts now fitted or as found")
    return window - np.abs(value - np.asarray(aim))


def at_most(*, most: Array | None, value: Array | None) -> Any:
    """Most allowed less the size of the value, rad."""
    return in_window(window=most, aim=0.0, value=value)


def set_back(*, most: Array | None, left: Array | None, right: Array | None) -> Any:
    """Most allowed less the difference of the wheelbases, m."""
    if most is None:
        return NOT_APPLICABLE
    if left is None or right is None:
        raise FormulaRefused("the wheelbase of both sides")
    return most - np.abs(left - np.asarray(right))


def cross_share(
    *, wanted: Array | None, window: Array | None, setting: CornerSetting | None
) -> Any:
    """Window less the distance of the diagonals' share from that wanted."""
    if wanted is None:
        return NOT_APPLICABLE
    if setting is None:
        raise FormulaRefused("the load on all four wheels, on scales")
    return _share_window(window) - np.abs(setting.share - wanted)


def _share_window(window: Array | None) -> Any:
    return CROSS_WINDOW if window is None else window


def _diagonal_share(setting: CornerSetting) -> Any:
    return setting.share


def _share_low(wanted: Array, window: Array | None) -> Any:
    return wanted - _share_window(window)


def _share_high(wanted: Array, window: Array | None) -> Any:
    return wanted + _share_window(window)


def _window_low(aim: Array, window: Array) -> Any:
    return np.asarray(aim) - window


def _window_high(aim: Array, window: Array) -> Any:
    return np.asarray(aim) + window


def _size(value: Array) -> Any:
    return np.abs(np.asarray(value))


def _apart(left: Array, right: Array) -> Any:
    return np.abs(left - np.asarray(right))


def damping_across(*, along: DampingAlong | None) -> Any:
    """Mean damping ratio of bump and rebound over the least, along shaft speed to 0.5 m/s."""
    if along is None:
        return NOT_APPLICABLE
    chosen = np.asarray(along.speed) <= 0.5
    mean = np.asarray(along.mean)[chosen]
    return Along(
        slack=mean - DAMPING_ALONG_LEAST, at=np.asarray(along.speed)[chosen], kind="speed",
        found=mean, low=DAMPING_ALONG_LEAST,
    )  # fmt: skip


def damper_figures(
    *, bump: Array | None, rebound: Array | None, bump_curve: Array | None,
    rebound_curve: Array | None,
) -> Any:  # fmt: skip
    """How well stated slopes agree with the curve at 0.1 m/s."""
    if bump is None or rebound is None or bump_curve is None or rebound_curve is None:
        return NOT_APPLICABLE
    return CURVE_AGREES - _figures_apart(bump, rebound, bump_curve, rebound_curve)


def _figures_apart(bump: Array, rebound: Array, bump_curve: Array, rebound_curve: Array) -> Any:
    return np.maximum(np.abs(bump_curve / bump - 1.0), np.abs(rebound_curve / rebound - 1.0))


def bump_force(*, force: WheelForce | None, load: Array) -> Any:
    """Wheel force at full bump over three times the load at rest, N."""
    if force is None:
        return NOT_APPLICABLE
    return _full_bump_force(force) - _bump_force_wanted(load)


def _full_bump_force(force: WheelForce) -> Any:
    return np.asarray(force.force)[-1]


def _bump_force_wanted(load: Array) -> Any:
    return BUMP_LOADS * load


def helper_solid(
    *, helper_rate: Array | None, free: Array | None, solid: Array | None, weight: Array,
    motion_ratio: Array,
) -> Any:  # fmt: skip
    """Spring force at rest over that at which the helper goes solid, N."""
    if helper_rate is None:
        return NOT_APPLICABLE
    if free is None or solid is None:
        raise FormulaRefused("the helper's free and solid lengths")
    return _spring_force(weight, motion_ratio) - _helper_force(helper_rate, free, solid)


def _spring_force(weight: Array, motion_ratio: Array) -> Any:
    return weight / motion_ratio


def _helper_force(helper_rate: Array, free: Array, solid: Array) -> Any:
    return stacks.helper_solid_force(helper_rate=helper_rate, helper_travel=free - solid)


def preload(
    *, least: Array | None, force: Array | None, weight: Array, motion_ratio: Array
) -> Any:
    """Preload at full droop as a share of the spring's load at rest, over the least wanted."""
    if least is None:
        return NOT_APPLICABLE
    if force is None:
        raise FormulaRefused("the spring's rate, free length and seats")
    return _preload_share(force, weight, motion_ratio) - least


def _preload_share(force: Array, weight: Array, motion_ratio: Array) -> Any:
    return force * motion_ratio / np.asarray(weight)


def _windows() -> None:
    for angle, name in (("camber", "camber"), ("toe", "toe of each wheel")):
        room.check(
            f"ride.{angle}_window", title=f"{name} in its window", per="corner", kind="angle",
            between=inside("value", _window_low, _window_high),
            needs={
                "window": f"?goal.{angle}_window", "aim": f"?goal.{angle}_{{axle}}",
                "value": f"?ride.{angle}_set.{{corner}}",
            },
            slack=in_window, formula=f"slack = window − |{angle} − aim|", consequence="nuisance",
            stops=("compete",), source=GEOMETRY, pose=f"{SET_POSE}; {STIFF}",
            when_short=f"{angle} is outside the window that was set for it",
            do=f"set {angle} in its order: height first, rear before front; where nothing "
            "sets it: shims, or another aim",
        )  # fmt: skip
    room.check(
        "ride.caster_window", title="caster in its window", kind="angle",
        between=inside("value", _window_low, _window_high),
        needs={
            "window": "?goal.caster_window", "aim": "?goal.caster_front",
            "value": "?ride.caster_mean.front",
        },
        slack=in_window, formula="slack = window − |mean of both sides − aim|",
        consequence="nuisance", stops=("compete",), source=GEOMETRY, pose=SET_POSE,
        when_short="caster is outside the window that was set for it",
        do="set caster after ride height and before camber",
    )  # fmt: skip
    room.check(
        "ride.cross_camber", title="camber alike left and right, as set", per="axle",
        between=not_above(_size, "most"),
        kind="angle",
        needs={"most": "?goal.cross_camber_most", "value": "?ride.cross_camber.{axle}"},
        slack=at_most, formula="slack = most − |left − right|", consequence="nuisance",
        stops=("compete",), source=PRACTICE, pose=SET_POSE,
        when_short="camber differs left to right: the car may draw to one side",
        do="set the side that is further from its aim; look for a bent part first",
    )  # fmt: skip
    room.check(
        "ride.cross_caster", title="caster alike left and right, as set", kind="angle",
        between=not_above(_size, "most"),
        needs={"most": "?goal.cross_caster_most", "value": "?ride.cross_caster.front"},
        slack=at_most, formula="slack = most − |left − right|", consequence="nuisance",
        stops=("compete",), source=PRACTICE, pose=SET_POSE,
        when_short="caster differs left to right: the car draws to the side with less",
        do="set the side that is further from its aim; look for a bent part first",
    )  # fmt: skip
    room.check(
        "ride.thrust_angle", title="rear wheels push straight ahead", kind="angle",
        between=not_above(_size, "most"),
        needs={"most": "?goal.thrust_angle_most", "value": "?ride.thrust_angle"},
        slack=at_most, formula="slack = most − |toe left − toe right|/2", consequence="nuisance",
        stops=("compete",), source=GEOMETRY, pose=SET_POSE,
        when_short="the car runs crabwise and its steering wheel stands askew",
        do="set the toe of each rear wheel to the car's own line before the front",
    )  # fmt: skip
    room.check(
        "ride.set_back", title="wheelbase alike on both sides", kind="length",
        between=not_above(_apart, "most"),
        needs={
            "most": "?goal.set_back_most", "left": "?car.wheelbase_left",
            "right": "?car.wheelbase_right",
        },
        slack=set_back, formula="slack = most − |wheelbase left − right|",
        consequence="nuisance", stops=("compete",), source=GEOMETRY, pose=SET_POSE,
        when_short="one front wheel stands further back: body, arm or subframe has moved",
        do="measure the body before anything is set; setting does not cure it",
        safety="Bent steering or suspension parts are renewed, never straightened.",
    )  # fmt: skip


def _weights() -> None:
    room.check(
        "ride.cross_weight", title="weight on the diagonals", kind="fraction",
        between=inside(_diagonal_share, _share_low, _share_high), share_of="the car's weight",
        needs={
            "wanted": "?goal.cross_share", "window": "?goal.cross_share_window",
            "setting": "?ride.corner_setting",
        },
        slack=cross_share, formula="slack = window − |(fl + rr)/all − wanted|",
        consequence="nuisance", stops=("compete",), source=SCALES, pose=PLATES,
        when_short="the car turns better one way than the other",
        do="turn the perches as the sheet says, a little on all four, then weigh again",
    )  # fmt: skip


def _springs() -> None:
    carried = {
        "weight": "~ride.kerb_sprung_weight.{corner}",
        "motion_ratio": "~axle.{axle}.motion_ratio|ride.motion_ratio_measured.{axle}",
    }
    room.check(
        "ride.helper_solid", title="helper spring solid at rest", per="corner", kind="force",
        between=not_below(_spring_force, _helper_force),
        needs={
            "helper_rate": "?spring.{corner}.helper_rate",
            "free": "?spring.{corner}.helper_free_length",
            "solid": "?spring.{corner}.helper_solid_length",
            **{key: need.replace("~", "~?") for key, need in carried.items()},
        },
        slack=_when_known(helper_solid), formula="slack = W/MR − k_helper·(free − solid)",
        consequence="nuisance", stops=("compete",), source=STATICS, pose=EMPTY,
        when_short="the helper still gives at rest: the car rides softer than its main spring",
        do="a softer helper, or reckon with both rates knowingly",
    )  # fmt: skip
    room.check(
        "ride.preload", title="spring preload at full droop", per="corner", kind="ratio",
        between=not_below(_preload_share, "least"), share_of="the spring's load at rest",
        needs={
            "least": "?goal.spring_preload_least", "force": "?ride.droop_preload.{corner}",
            **{key: need.replace("~", "~?") for key, need in carried.items()},
        },
        slack=_when_known(preload), formula="slack = preload·MR/W − least wanted",
        consequence="nuisance", stops=("compete",), source=STATICS,
        pose="body lifted, wheel hanging",
        when_short="the spring is held with less preload than wanted",
        do="a longer spring, a perch higher, or a helper",
        safety="A squeezed spring can kill: restrain it, whatever the number.",
    )  # fmt: skip
    room.check(
        "ride.bump_force", title="bump rubber takes the last of the travel", per="corner",
        between=not_below(_full_bump_force, _bump_force_wanted),
        kind="force",
        needs={"force": "?ride.wheel_force.{corner}", "load": "~?ride.corner_load.{corner}"},
        slack=_when_known(bump_force), formula="slack = force at full bump − 3·load at rest",
        consequence="damage", stops=("compete",), source=PRACTICE,
        pose=f"wheel at full bump, from rest laden; {STIFF}",
        when_short="a hard bump goes through the rubber to metal",
        do="a longer or firmer bump rubber that leaves its travel, or a stiffer spring",
    )  # fmt: skip
    room.check(
        "ride.damping_across", title="damping across the damper's speed", per="corner",
        share_of="critical damping",
        kind="ratio", needs={"along": "?ride.damping_along.{corner}"}, slack=damping_across,
        formula="slack = mean ζ of bump and rebound − 0.15, worst up to 0.5 m/s",
        consequence="nuisance", stops=("compete",), source=GILLESPIE_5, pose=LADEN,
        when_short="the damper goes soft at speed: it blows off too much for this spring",
        do="a damper valved for the spring rate",
    )  # fmt: skip
    room.check(
        "ride.damper_figures", title="damper's figures agree with its curve", per="corner",
        between=not_above(_figures_apart, CURVE_AGREES), share_of="the figure stated",
        kind="ratio",
        needs={
            "bump": "?damper.{corner}.bump_damping", "rebound": "?damper.{corner}.rebound_damping",
            "bump_curve": "?ride.bump_from_curve.{corner}",
            "rebound_curve": "?ride.rebound_from_curve.{corner}",
        },
        slack=damper_figures, formula="slack = 0.25 − |F/v at 0.1 m/s over the slope stated − 1|",
        consequence="nuisance", stops=("compete",), source=PRACTICE, pose="on a damper dyno",
        when_short="stated slope and curve are not of one damper, or of one setting",
        do="have it run again at the setting that is fitted",
    )  # fmt: skip


def _when_known(function: Any) -> Any:
    """The check where what it rests on is known; what is quiet must not ask by itself."""

    def of(**given: Any) -> Any:
        first, *_ = given.values()
        if first is not None and any(
            given[k] is None for k in ("weight", "motion_ratio", "load") if k in given
        ):
            raise FormulaRefused("the load on this wheel and its motion ratio")
        return function(**given)

    return of


_windows()
_weights()
_springs()
