"""Results of the ride room, first part: loads, springs, ride height, travel, frequency."""

from __future__ import annotations

from drybuild.findings import Room, Source
from drybuild.systems.ride import coil, linkage, masses, motion
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride import results_masses as carried

room = Room("ride", title="Ride and alignment")

STATICS = Source("statics", how="computed")
GEOMETRY = Source("geometry", how="computed")
VIRTUAL_WORK = Source("virtual work", how="computed")
EN_13906 = Source("EN 13906-1", "2013", "clauses 8 to 10", how="memory")
GILLESPIE_5 = Source("Gillespie, Fundamentals of Vehicle Dynamics", "1992", "ch. 5", how="memory")

# What every wheel travel is worked with.
# Hardpoints, where stated, go before what was measured at the axle.
RATIO = (
    "ride.spring_ratio_by_links.{corner}|axle.{axle}.motion_ratio|ride.motion_ratio_measured.{axle}"
)
LINKAGE = {
    "motion_ratio": RATIO,
    "slope": "?ride.spring_ratio_slope_by_links.{corner}|axle.{axle}.motion_ratio_slope",
}
BALANCE = "ride.rest_on_stack.{corner}|ride.rest_on_new_spring.{corner}"
PERCH = {
    "perch": "?damper.{corner}.perch_raise",
    "perch_found": "?base:damper.{corner}.perch_raise",
}
# A progressive spring or a helper that still gives goes before the one rate of the main spring.
RATE = "ride.stack_rate.{corner}|spring.{corner}.rate|ride.coil_rate.{corner}"
DAMPER_RATIO = "ride.damper_ratio_by_links.{corner}|axle.{axle}.damper_motion_ratio|" + RATIO


def _springs() -> None:
    room.result(
        "ride.motion_ratio_measured",
        of=linkage.motion_ratio_from_travels,
        per="axle",
        kind="ratio",
        needs={
            "spring_travel": "axle.{axle}.test_spring_travel",
            "wheel_travel": "axle.{axle}.test_wheel_travel",
        },
        formula="MR = spring travel/wheel travel, same move",
        source=GEOMETRY,
    )
    room.result(
        "ride.coil_rate",
        of=coil.coil_rate,
        per="corner",
        kind="spring_rate",
        needs={
            "wire_diameter": "spring.{corner}.wire_diameter",
            "mean_diameter": "spring.{corner}.mean_diameter",
            "active_coils": "spring.{corner}.active_coils",
        },
        formula="k = G·d⁴/(8·D³·n)",
        source=EN_13906,
    )
    room.result(
        "ride.spring_rate",
        of=given.itself,
        per="corner",
        kind="spring_rate",
        needs={"value": RATE},
        formula="given, or from the coil",
        source=EN_13906,
    )
    room.result(
        "ride.coil_solid_length",
        of=coil.solid_length,
        per="corner",
        kind="length",
        needs={
            "total_coils": "spring.{corner}.total_coils",
            "wire_diameter": "spring.{corner}.wire_diameter",
        },
        formula="Lc = nt·d",
        source=EN_13906,
    )
    room.result(
        "ride.seat_distance_found",
        of=linkage.seat_distance_found,
        per="corner",
        kind="length",
        needs={
            "free_length": "base:spring.{corner}.free_length",
            "spring_rate": "base:ride.spring_rate.{corner}",
            "sprung_weight": "base:ride.kerb_sprung_weight.{corner}",
            "motion_ratio": RATIO,
        },
        formula="L = L0 − W/(MR·k), with the spring as found",
        source=STATICS,
    )
    room.result(
        "ride.seat_distance",
        of=given.itself,
        per="corner",
        kind="length",
        needs={
            "value": "corner.{corner}.spring_length|ride.seat_distance_on_stack.{corner}"
            "|ride.seat_distance_found.{corner}"
        },
        formula="measured, or from the spring as found",
        source=STATICS,
    )


def _loads() -> None:
    room.result(
        "ride.half_axle_kerb",
        of=given.half_axle,
        per="axle",
        kind="mass",
        needs={"axle_load": "axle.{axle}.load_kerb"},
        formula="half of the axle load",
        source=STATICS,
    )
    room.result(
        "ride.mass_change",
        of=carried.corner_masses,
        per="corner",
        kind="object",
        needs=carried.corner_needs(),
        formula="Σ (mass now − mass as found); unstated masses are left out",
        source=STATICS,
    )
    for axle, of in (("front", carried.body_on_front), ("rear", carried.body_on_rear)):
        room.result(
            f"ride.body_mass_change_{axle}",
            of=of,
            kind="mass",
            needs=carried.body_needs(),
            formula="Σ (mass now − mass as found)·share; unstated masses are left out",
            source=STATICS,
        )
    for axle, share in (("front", given.load_on_front), ("rear", given.load_on_rear)):
        room.result(
            f"ride.load_on_{axle}",
            of=share,
            kind="mass",
            needs={"load": "goal.load", "front_share": "car.load_front_share"},
            formula="load·share",
            source=STATICS,
        )
    room.result(
        "ride.unsprung_mass",
        of=given.unsprung_now,
        per="corner",
        kind="mass",
        needs={"found": "axle.{axle}.unsprung_mass", "change": "ride.mass_change.{corner}"},
        formula="m_u = as found + Σ share·(mass now − mass as found)",
        source=STATICS,
    )
    room.result(
        "ride.kerb_mass_on",
        of=given.kerb_mass_on,
        per="corner",
        kind="mass",
        needs={
            "found": "corner.{corner}.load_kerb|ride.half_axle_kerb.{axle}",
            "change": "ride.mass_change.{corner}",
            "body_change": "ride.body_mass_change_{axle}",
        },
        formula="as found + masses of changed parts",
        source=STATICS,
    )
    room.result(
        "ride.laden_mass_on",
        of=given.laden_mass_on,
        per="corner",
        kind="mass",
        needs={"kerb": "ride.kerb_mass_on.{corner}", "load_on_axle": "ride.load_on_{axle}"},
        formula="kerb + load·share/2",
        source=STATICS,
    )
    room.result(
        "ride.corner_load",
        of=given.weight,
        per="corner",
        kind="force",
        needs={"mass": "ride.laden_mass_on.{corner}"},
        formula="F = m·g, laden",
        source=STATICS,
    )
    for name, mass in (
        ("kerb_sprung_weight", "ride.kerb_mass_on.{corner}"),
        ("laden_sprung_weight", "ride.laden_mass_on.{corner}"),
    ):
        room.result(
            f"ride.{name}",
            of=given.sprung_weight,
            per="corner",
            kind="force",
            needs={"mass": mass, "unsprung": "ride.unsprung_mass.{corner}"},
            formula="W = (m − m_u)·g",
            source=STATICS,
        )
    room.result(
        "ride.sprung_mass",
        of=masses.corner_sprung_mass,
        per="corner",
        kind="mass",
        needs={
            "corner_load": "ride.corner_load.{corner}",
            "unsprung_mass": "ride.unsprung_mass.{corner}",
        },
        formula="m_s = F/g − m_u, laden",
        source=STATICS,
    )
    room.result(
        "ride.axle_load",
        of=given.both,
        per="axle",
        kind="force",
        needs={"left": "ride.corner_load.{axle}.left", "right": "ride.corner_load.{axle}.right"},
        formula="left + right, laden",
        source=STATICS,
    )
    room.result(
        "ride.total_mass",
        of=given.total_mass,
        kind="mass",
        needs={"front": "ride.axle_load.front", "rear": "ride.axle_load.rear"},
        formula="(F_front + F_rear)/g, laden",
        source=STATICS,
    )


def _height() -> None:
    room.result(
        "ride.rest_on_same_spring",
        of=given.rest_on_same_spring,
        per="corner",
        kind="length",
        needs={
            "spring": "spring.{corner}.part",
            "spring_found": "base:spring.{corner}.part",
            "rate": RATE,
            "weight": "~ride.kerb_sprung_weight.{corner}",
            "weight_found": "base:ride.kerb_sprung_weight.{corner}",
            **LINKAGE,
            **PERCH,
        },
        formula="k·(s0 + ∫MR dz)·MR(z) = W",
        source=VIRTUAL_WORK,
    )
    room.result(
        "ride.rest_on_new_spring",
        of=given.rest_on_new_spring,
        per="corner",
        kind="length",
        needs={
            "rate": RATE,
            "free_length": "spring.{corner}.free_length",
            "seat_distance": "ride.seat_distance.{corner}",
            "weight": "~ride.kerb_sprung_weight.{corner}",
            "helper_solid": "?spring.{corner}.helper_solid_length",
            **LINKAGE,
            **PERCH,
        },
        formula="k·(L0 − L_seats + ∫MR dz)·MR(z) = W",
        source=VIRTUAL_WORK,
    )
    room.result(
        "ride.no_drop",
        of=given.no_drop,
        per="corner",
        kind="length",
        needs={
            "spring": "?spring.{corner}.part",
            "spring_found": "?base:spring.{corner}.part",
            "damper": "?damper.{corner}.part",
            "damper_found": "?base:damper.{corner}.part",
            **PERCH,
        },
        formula="0: spring, damper and perch are as found",
        source=GEOMETRY,
    )
    room.result(
        "ride.ride_height_drop",
        of=given.itself,
        per="corner",
        kind="length",
        needs={
            "value": "corner.{corner}.measured_drop|ride.rest_on_same_spring.{corner}"
            f"|!{BALANCE.replace('|', '|!')}|!ride.drop_as_stated.{{corner}}|{BALANCE}"
            "|spring.{corner}.stated_drop|ride.no_drop.{corner}"
        },
        formula="measured; else force balance, its maker's figure before one of guesses; nobody in "
        "the car",
        source=VIRTUAL_WORK,
    )
    room.result(
        "ride.laden_travel",
        of=given.laden_travel,
        per="corner",
        kind="length",
        needs={
            "drop": "ride.ride_height_drop.{corner}",
            "rate": RATE,
            "weight": "~ride.kerb_sprung_weight.{corner}",
            "laden_weight": "~ride.laden_sprung_weight.{corner}",
            **LINKAGE,
        },
        formula="drop + what the load of the goal adds",
        source=VIRTUAL_WORK,
    )
    room.result(
        "ride.wheel_rate",
        of=given.wheel_rate_laden,
        per="corner",
        kind="spring_rate",
        needs={
            "rate": RATE,
            "travel": "ride.laden_travel.{corner}",
            "laden_weight": "~ride.laden_sprung_weight.{corner}",
            **LINKAGE,
        },
        formula="k·MR² + F·dMR/dz, at rest, laden",
        source=VIRTUAL_WORK,
        valid={"rate": (5e3, 300e3)},
    )


def _travel() -> None:
    damper = {
        "damper": "?damper.{corner}.part",
        "damper_found": "?base:damper.{corner}.part",
        "motion_ratio": DAMPER_RATIO,
    }
    room.result(
        "ride.full_bump",
        of=given.full_bump,
        per="corner",
        kind="length",
        needs={
            "travel": "corner.{corner}.bump_travel",
            "closed": "?damper.{corner}.closed_length",
            "closed_found": "?base:damper.{corner}.closed_length",
            "stop": "?bump_stop.{corner}.part",
            "stop_found": "?base:bump_stop.{corner}.part",
            "solid": "?bump_stop.{corner}.solid_height",
            "solid_found": "?base:bump_stop.{corner}.solid_height",
            **damper,
        },
        formula="as found + (stop and damper shorter by)/MR",
        source=GEOMETRY,
    )
    room.result(
        "ride.stop_touch",
        of=given.full_bump,
        per="corner",
        kind="length",
        needs={
            "travel": "corner.{corner}.bump_stop_travel",
            "closed": "?damper.{corner}.closed_length",
            "closed_found": "?base:damper.{corner}.closed_length",
            "stop": "?bump_stop.{corner}.part",
            "stop_found": "?base:bump_stop.{corner}.part",
            "solid": "?bump_stop.{corner}.free_length",
            "solid_found": "?base:bump_stop.{corner}.free_length",
            **damper,
        },
        formula="as found + (stop and damper shorter by)/MR",
        source=GEOMETRY,
    )
    room.result(
        "ride.full_droop",
        of=given.full_droop,
        per="corner",
        kind="length",
        needs={
            "travel": "corner.{corner}.droop_travel",
            "extended": "?damper.{corner}.extended_length",
            "extended_found": "?base:damper.{corner}.extended_length",
            **damper,
        },
        formula="as found + (damper longer by)/MR",
        source=GEOMETRY,
    )
    room.result(
        "ride.bump_travel",
        of=linkage.travel_left,
        per="corner",
        kind="length",
        needs={
            "full_travel": "ride.full_bump.{corner}",
            "rest": "ride.laden_travel.{corner}",
        },
        formula="full bump − rest, laden",
        source=GEOMETRY,
    )
    room.result(
        "ride.droop_travel",
        of=given.droop_left,
        per="corner",
        kind="length",
        needs={
            "full": "ride.full_droop.{corner}",
            "drop": "ride.ride_height_drop.{corner}",
        },
        formula="full droop + drop, nobody in the car",
        source=GEOMETRY,
    )
    for name, of, travel in (
        ("seats_at_bump", given.seats_at, "ride.full_bump.{corner}"),
        ("seats_at_droop", given.seats_at_droop, "ride.full_droop.{corner}"),
    ):
        room.result(
            f"ride.{name}",
            of=of,
            per="corner",
            kind="length",
            needs={
                "seat_distance": "ride.seat_distance.{corner}",
                "travel": travel,
                **LINKAGE,
                **PERCH,
            },
            formula="L_seats − perch − ∫MR dz",
            source=GEOMETRY,
        )
    room.result(
        "ride.spring_energy",
        of=coil.spring_energy,
        per="corner",
        kind="energy",
        needs={
            "rate": RATE,
            "free_length": "spring.{corner}.free_length",
            "held_length": "ride.seats_at_droop.{corner}",
        },
        formula="E = k·x²/2 at full droop: restrain the spring, whatever the number",
        source=STATICS,
    )


def _motion() -> None:
    room.result(
        "ride.rate_with_tyre",
        of=linkage.series_rate,
        per="corner",
        kind="spring_rate",
        needs={
            "first": "ride.wheel_rate.{corner}",
            "second": "~corners.tyre_rate.{corner}",
        },
        formula="k_w·k_t/(k_w + k_t)",
        source=GILLESPIE_5,
    )
    room.result(
        "ride.frequency",
        of=motion.natural_frequency,
        per="corner",
        kind="frequency",
        needs={
            "rate": "ride.rate_with_tyre.{corner}",
            "mass": "~ride.sprung_mass.{corner}",
        },
        formula="f = sqrt(k/m_s)/2π, tyre in series, laden",
        source=GILLESPIE_5,
        valid={"rate": (3e3, 200e3)},
    )
    room.result(
        "ride.wheel_damping",
        of=motion.wheel_damping,
        per="corner",
        kind="damping",
        needs={
            "bump": "damper.{corner}.bump_damping|ride.bump_from_curve.{corner}",
            "rebound": "damper.{corner}.rebound_damping|ride.rebound_from_curve.{corner}",
            "motion_ratio": DAMPER_RATIO,
        },
        formula="c = MR²·(c_bump + c_rebound)/2",
        source=VIRTUAL_WORK,
    )
    room.result(
        "ride.damping_ratio",
        of=motion.damping_ratio,
        per="corner",
        kind="ratio",
        needs={
            "wheel_damping_rate": "ride.wheel_damping.{corner}",
            "rate": "ride.wheel_rate.{corner}",
            "mass": "~ride.sprung_mass.{corner}",
        },
        formula="ζ = c/(2·sqrt(k_w·m_s)), laden",
        source=GILLESPIE_5,
    )


_springs()
_loads()
_height()
_travel()
_motion()
