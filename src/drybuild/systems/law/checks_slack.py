"""The slack functions of the law room: what of the car is held against which rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

import numpy as np

from drybuild.findings import NOT_APPLICABLE, FormulaRefused
from drybuild.systems.law import formulas
from drybuild.systems.law.evaluate import Original, read_all, strictest
from drybuild.systems.law.results import RulesFound
from drybuild.values import Array

Found = RulesFound | bool
"""The rules that a check is about; False where none applies to this car."""


def against_rules(
    rules: RulesFound | bool,
    given: Mapping[str, Any],
    original: Mapping[str, Original] | None = None,
) -> Any:
    """The slack over the strictest of the rules found; no finding where there is none."""
    if isinstance(rules, bool):
        return NOT_APPLICABLE
    given = {**given, "category": rules.car.category}
    return strictest(read_all(rules.rules, given, rules.car, original))


# --- speed reading --------------------------------------------------------------------------------


def speedometer_low(*, rules: Found, indicated: Array, true_speed: Array) -> Any:
    """Indicated less the least that the rules allow at this true speed."""
    given = {"indicated_speed": indicated, "true_speed": true_speed}
    return against_rules(rules, given)


def speedometer_high(*, rules: Found, indicated: Array, true_speed: Array) -> Any:
    """The most that the rules allow to be indicated at this true speed, less what is."""
    given = {"indicated_speed": indicated, "true_speed": true_speed}
    return against_rules(rules, given)


# --- tyres and wheels -----------------------------------------------------------------------------


class PlacardTyres(Protocol):
    """What the corners room offers of the sizes on the placard, m."""

    smallest_diameter: float
    largest_diameter: float
    widest: float


def tyre_diameter(*, rules: Found, diameter: Array, placard: PlacardTyres) -> Any:
    """Marked diameter inside the range counted from the placard's sizes."""
    original = Original(placard.smallest_diameter, placard.largest_diameter)
    return against_rules(rules, {"tyre_diameter": diameter}, {"tyre_diameter": original})


def tyre_width(*, rules: Found, section_width: Array, placard: PlacardTyres) -> Any:
    """Marked section width inside the range counted from the placard's widest."""
    original = Original(placard.widest, placard.widest)
    return against_rules(rules, {"tyre_width": section_width}, {"tyre_width": original})


def tyre_speed(*, rules: Found, rated_speed: Array, top_speed: Array | None) -> Any:
    """Speed of the tyre's symbol less what the rules ask."""
    given = {"tyre_speed": rated_speed, "top_speed": top_speed}
    return against_rules(rules, given)


def tyre_load(*, rules: Found, load: Array, axle_load_limit: Array) -> Any:
    """Load of one tyre less its share of the axle's limit."""
    given = {"tyre_load": load, "axle_load_limit": axle_load_limit}
    return against_rules(rules, given)


def track_width(*, rules: Found, track: Array, before: Array, maker_max: Array | None) -> Any:
    """Track inside what the rules allow over the maker's greatest."""
    start = before if maker_max is None else maker_max
    original = {"track_width": Original(np.minimum(before, start), start)}
    return against_rules(rules, {"track_width": track}, original=original)


def wheel_offset(
    *,
    rules: Found,
    offset: Array,
    spacer: Array,
    before: Array,
    spacer_before: Array,
    smallest: Array | None,
) -> Any:
    """Offset, less any spacer, inside what the rules allow below the maker's smallest."""
    value = offset - spacer
    before = before - spacer_before
    start = before if smallest is None else smallest
    original = {"wheel_offset": Original(start, np.maximum(before, start))}
    return against_rules(rules, {"wheel_offset": value}, original=original)


def spacers(*, rules: Found, fitted: bool | None, before: bool | None) -> Any:
    """No spacer where the maker fitted none."""
    if before or fitted is None:
        return NOT_APPLICABLE
    return against_rules(rules, {"spacer": fitted})


def tyre_cover(*, rules: Found, cover: Array) -> Any:
    """How far the guard covers the tyre, less what the rules ask."""
    return against_rules(rules, {"tyre_cover": cover})


def guard_rear_edge(*, rules: Found, height: Array, drop: Array) -> Any:
    """Rear edge of the guard above the wheel axis: it comes down with the body."""
    value = formulas.lowered(height=height, drop=drop)
    return against_rules(rules, {"guard_rear_edge": value})


# --- height and travel ----------------------------------------------------------------------------


def ride_height(*, rules: Found, drop: Array, body_drop: Array) -> Any:
    """Change of ride height, and of body height with the tyres, inside what the rules allow."""
    given = {"ride_height": -np.asarray(drop), "body_height": -np.asarray(body_drop)}
    none = Original(0.0, 0.0)
    return against_rules(
        rules,
        given,
        original={"ride_height": none, "body_height": none},
    )


def suspension_travel(
    *,
    rules: Found,
    drop: Array,
    full_bump: Array,
    full_droop: Array,
    bump_before: Array,
    droop_before: Array,
) -> Any:
    """Travel kept, in all and in each direction, and how much of it the new height takes.

    All counted from ride height as found with nobody in the car; droop positive.
    """
    total_before = bump_before + droop_before
    given = {
        "suspension_travel": full_bump + full_droop,
        "bump_travel": full_bump - drop,
        "droop_travel": full_droop + drop,
        "lowering": drop,
        "lifting": -np.asarray(drop),
        "original_bump_travel": bump_before,
        "original_droop_travel": droop_before,
    }
    return against_rules(
        rules,
        given,
        original={
            "suspension_travel": Original(total_before, total_before),
            "bump_travel": Original(bump_before, bump_before),
            "droop_travel": Original(droop_before, droop_before),
        },
    )


def clearance_near_axle(*, rules: Found, clearance: Array) -> Any:
    """Ground clearance near an axle, less what the rules ask."""
    given = {"clearance_near_axle": clearance}
    return against_rules(rules, given)


def clearance_between_axles(*, rules: Found, clearance: Array, wheelbase: Array) -> Any:
    """Ground clearance between the axles, less what the rules ask."""
    given = {"clearance_between_axles": clearance, "wheelbase": wheelbase}
    return against_rules(rules, given)


def lamp_height(*, rules: Found, height: Array) -> Any:
    """Height of the dipped beam's lower lit edge, inside what the rules allow."""
    return against_rules(rules, {"lamp_height": height})


# --- equipment, noise, seats ----------------------------------------------------------------------


def catalyst(*, rules: Found, fitted: bool, before: bool | None) -> Any:
    """The catalyst is there, where the car came with one."""
    return _stays(rules, "catalyst", fitted, before)


def flaps(*, rules: Found, fitted: bool | None, before: bool | None) -> Any:
    """The charge-motion flaps are there, where the car came with them."""
    return NOT_APPLICABLE if fitted is None else _stays(rules, "flaps", fitted, before)


def vapour_system(*, rules: Found, fitted: bool | None, before: bool | None) -> Any:
    """The fuel vapour system is there, where the car came with one."""
    return NOT_APPLICABLE if fitted is None else _stays(rules, "vapour_system", fitted, before)


def _stays(rules: Found, quantity: str, fitted: bool, before: bool | None) -> Any:
    if before is False:
        return NOT_APPLICABLE
    return against_rules(rules, {quantity: fitted})


def noise_at_rest(
    *,
    rules: Found,
    noise: Array,
    certified: Array | None,
    dump_pipe: Any,
    catalyst: Any,
    exhaust: Any,
) -> Any:
    """Noise at rest inside what the rules allow over the certified figure.

    dump_pipe, catalyst, exhaust: which parts are there; a change of them calls for the reading.
    """
    original = None if certified is None else {"noise_at_rest": Original(certified, certified)}
    given = {"noise_at_rest": noise}
    return against_rules(rules, given, original=original)


def pass_by_noise(
    *, rules: Found, noise: Array | None, power: Array | None, mass: Array | None
) -> Any:
    """Drive-by noise inside the limit for the power-to-mass ratio, if anybody measured it."""
    if noise is None:
        return NOT_APPLICABLE
    if power is None or mass is None:
        raise FormulaRefused("rated power or kerb mass is not stated")
    # mass in running order: kerb mass and a driver of 75 kg
    ratio = formulas.power_to_mass(power=power, mass_in_running_order=mass + 75.0)
    given = {"pass_by_noise": noise, "power_to_mass": ratio}
    return against_rules(rules, given)


def seats(*, rules: Found, fitted: Array, registered: Array) -> Any:
    """As many seats as the papers say."""
    original = {"seats": Original(registered, registered)}
    return against_rules(rules, {"seats": fitted}, original=original)


# --- the club -------------------------------------------------------------------------------------


def _club(rules: Found, quantity: str, value: Any) -> Any:
    return against_rules(rules, {quantity: value})


def club_catch_tank(*, rules: Found, fitted: bool, turbo: Any) -> Any:
    """A catch tank is fitted. turbo: which one is there; another asks for the tank anew."""
    return _club(rules, "catch_tank", fitted)


def club_tow_eye(*, rules: Found, fitted: bool) -> Any:
    """A tow eye is fitted at this end."""
    return _club(rules, "tow_eye", fitted)


def club_tow_eye_colour(*, rules: Found, fitted: bool, colour: str) -> Any:
    """The tow eye has a colour that the club asks for."""
    return _club(rules, "tow_eye_colour", colour) if fitted else NOT_APPLICABLE


def club_rollover_bar(*, rules: Found, fitted: bool) -> Any:
    """A roll-over bar, where the club asks for one."""
    return _club(rules, "rollover_bar", fitted)


def club_tyre_cover(*, rules: Found, cover: Array) -> Any:
    """How far the bodywork covers the tyre, less what the club asks."""
    return _club(rules, "tyre_cover", cover)


def club_tyre_speed(*, rules: Found, rated_speed: Array) -> Any:
    """Speed of the tyre's symbol less what the club asks."""
    return _club(rules, "tyre_speed", rated_speed)


def club_noise(*, rules: Found, noise: Array, dump_pipe: Any, catalyst: Any, exhaust: Any) -> Any:
    """Noise at rest inside the club's limit; arguments as in ``noise_at_rest``."""
    return _club(rules, "noise_at_rest", noise)
