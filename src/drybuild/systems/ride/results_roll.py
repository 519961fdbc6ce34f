"""Results of the ride room, second part: roll, wheel angles, headlamps, clearance, mass height."""

from __future__ import annotations

from drybuild.findings import Source
from drybuild.systems.ride import alignment, masses, roll
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride.results import GEOMETRY, STATICS, room
from drybuild.values import Array

BAR = Source("mechanics of a twisted bar with bent arms", how="computed")
BARTON = Source(
    "Barton and Fieldhouse, Automotive Chassis Engineering", "2018", "eq. 3.18", how="read"
)
MILLIKEN = Source("Milliken and Milliken, Race Car Vehicle Dynamics", "1995", "ch. 18")
BODY_BUILDERS = Source("weighing with one axle lifted, body builders' method", how="read")
TOE = Source("workshop note, toe from lengths", how="read")
# Hardpoints, where stated, go before what was measured at the axle.
BAR_RATIO = "ride.axle_bar_ratio_by_links.{axle}|axle.{axle}.bar_motion_ratio"


def _sides(address: str) -> dict[str, str]:
    """Both sides of an axle as inputs."""
    return {side: address.format(side=side) for side in ("left", "right")}


def _heights() -> None:
    for name, of in (
        ("axle_drop", "ride.ride_height_drop.{{axle}}.{side}"),
        ("axle_laden_travel", "ride.laden_travel.{{axle}}.{side}"),
        ("axle_loaded_radius", "~corners.loaded_radius.{{axle}}.{side}"),
    ):
        room.result(
            f"ride.{name}",
            of=given.mean_of,
            per="axle",
            kind="length",
            needs=_sides(of),
            formula="mean of both sides",
            source=GEOMETRY,
        )
    for name, down in (
        ("body_down", "ride.axle_drop.{axle}"),
        ("body_down_laden", "ride.axle_laden_travel.{axle}"),
    ):
        room.result(
            f"ride.{name}",
            of=masses.body_down,
            per="axle",
            kind="length",
            needs={
                "suspension_down": down,
                "loaded_radius": "ride.axle_loaded_radius.{axle}",
                "loaded_radius_found": "base:ride.axle_loaded_radius.{axle}",
            },
            formula="drop − (loaded radius now − as found)",
            source=GEOMETRY,
        )
    room.result(
        "ride.body_pitch",
        of=alignment.body_pitch,
        kind="angle",
        needs={
            "front_down": "ride.body_down.front",
            "rear_down": "ride.body_down.rear",
            "wheelbase": "car.wheelbase",
        },
        formula="θ = atan((drop rear − drop front)/wheelbase), nose up +",
        source=GEOMETRY,
    )
    room.result(
        "ride.beam_slope",
        of=alignment.beam_fall,
        kind="ratio",
        needs={"pitch": "ride.body_pitch"},
        formula="rise of the beam over distance = tan θ",
        source=Source("UN Regulation 48", clause="6.2.6"),
    )
    room.result(
        "ride.ground_clearance",
        of=given.clearance_by_axle,
        per="axle",
        kind="length",
        needs={
            "found": "axle.{axle}.ground_clearance",
            "down": "ride.body_down_laden.{axle}",
        },
        formula="as found − how far the body came down, laden",
        source=GEOMETRY,
    )
    room.result(
        "ride.ground_clearance_mid",
        of=given.clearance_mid,
        kind="length",
        needs={
            "found": "car.ground_clearance_mid",
            "behind_front": "car.lowest_mid_behind_front",
            "wheelbase": "car.wheelbase",
            "front_down": "ride.body_down_laden.front",
            "rear_down": "ride.body_down_laden.rear",
        },
        formula="as found − drop between the axles by distance, laden",
        source=GEOMETRY,
    )


def _mass_height() -> None:
    room.result(
        "ride.cg_height_by_lifting",
        of=masses.cg_height_by_lifting,
        kind="length",
        needs={
            "mass": "car.kerb_mass",
            "wheelbase": "car.wheelbase",
            "lift": "car.cg_test_lift",
            "load_gain": "car.cg_test_gain",
            "loaded_radius": "car.cg_test_radius",
        },
        formula="h = r + L·(ΔW/W)/tan θ, sin θ = H/L",
        source=BODY_BUILDERS,
    )
    room.result(
        "ride.cg_height",
        of=given.cg_height,
        kind="length",
        needs={
            "found": "car.cg_height|ride.cg_height_by_lifting",
            "front_down": "ride.body_down_laden.front",
            "rear_down": "ride.body_down_laden.rear",
            "total": "~ride.total_mass",
            "load": "goal.load",
            "load_height": "car.load_height",
            "front_load": "~ride.axle_load.front",
        },
        formula="(m_kerb·(h − drop at the centre of gravity) + m_load·h_load)/m",
        source=STATICS,
    )
    room.result(
        "ride.axle_unsprung_mass",
        of=given.both,
        per="axle",
        kind="mass",
        needs=_sides("~ride.unsprung_mass.{{axle}}.{side}"),
        formula="left + right",
        source=STATICS,
    )
    room.result(
        "ride.axle_sprung_mass",
        of=given.both,
        per="axle",
        kind="mass",
        needs=_sides("~ride.sprung_mass.{{axle}}.{side}"),
        formula="left + right, laden",
        source=STATICS,
    )
    room.result(
        "ride.sprung_cg_height",
        of=given.sprung_cg_height,
        kind="length",
        needs={
            "cg_height": "ride.cg_height",
            "total": "~ride.total_mass",
            "front": "~ride.axle_unsprung_mass.front",
            "rear": "~ride.axle_unsprung_mass.rear",
            "front_height": "~ride.axle_loaded_radius.front",
            "rear_height": "~ride.axle_loaded_radius.rear",
        },
        formula="h_s = (m·h − Σ m_u·r)/(m − Σ m_u)",
        source=STATICS,
    )


def _bars() -> None:
    room.result(
        "ride.bar_rate_from_size",
        of=given.bar_end_rate,
        per="axle",
        kind="spring_rate",
        needs={
            "diameter": "anti_roll_bar.{axle}.diameter",
            "bore": "?anti_roll_bar.{axle}.bore",
            "centre_length": "anti_roll_bar.{axle}.centre_length",
            "arm": "anti_roll_bar.{axle}.arm",
            "arm_length": "?anti_roll_bar.{axle}.arm_length",
        },
        formula="1/k = L·a²/(G·J) + 2·C³/(3·E·I), other end held",
        source=BAR,
        valid={"diameter": (0.008, 0.045)},
    )
    room.result(
        "ride.bar_end_rate",
        of=given.itself,
        per="axle",
        kind="spring_rate",
        needs={"value": "anti_roll_bar.{axle}.end_rate|ride.bar_rate_from_size.{axle}"},
        formula="by its maker, or from its size",
        source=BAR,
    )
    room.result(
        "ride.no_bar",
        of=given.no_bar,
        per="axle",
        kind="roll_stiffness",
        needs={"present": "anti_roll_bar.{axle}.present"},
        formula="0 without a bar",
        source=BAR,
    )
    room.result(
        "ride.bar_stiffness",
        of=roll.bar_roll_stiffness,
        per="axle",
        kind="roll_stiffness",
        needs={
            "end_rate": "ride.bar_end_rate.{axle}",
            "motion_ratio": BAR_RATIO,
            "track_width": "~corners.track_width.{axle}",
        },
        formula="K = k_end·MR²·t²",
        source=BAR,
    )
    room.result(
        "ride.bar_link_length",
        of=given.link_length_wanted,
        per="corner",
        kind="length",
        needs={
            "length_found": "base:bar_link.{corner}.length",
            "drop": "ride.ride_height_drop.{corner}",
            "motion_ratio": BAR_RATIO,
            "points": "axle.{axle}.bar_link_points",
        },
        formula="L = L_found ∓ MR_bar·drop",
        source=GEOMETRY,
    )
    room.result(
        "ride.bar_link_force",
        of=given.bar_link_force,
        per="axle",
        kind="force",
        needs={
            "end_rate": "ride.bar_end_rate.{axle}",
            "motion_ratio": BAR_RATIO,
            **_sides("ride.ride_height_drop.{{axle}}.{side}"),
        },
        formula="F = k_end·MR·|drop left − drop right|, links of one length",
        source=STATICS,
    )


def _roll() -> None:
    room.result(
        "ride.axle_wheel_rate",
        of=given.mean_of,
        per="axle",
        kind="spring_rate",
        needs=_sides("ride.wheel_rate.{{axle}}.{side}"),
        formula="mean of both sides",
        source=STATICS,
    )
    room.result(
        "ride.axle_tyre_rate",
        of=given.mean_of,
        per="axle",
        kind="spring_rate",
        needs=_sides("~corners.tyre_rate.{{axle}}.{side}"),
        formula="mean of both sides",
        source=STATICS,
    )
    room.result(
        "ride.roll_stiffness",
        of=given.axle_roll_stiffness,
        per="axle",
        kind="roll_stiffness",
        needs={
            "wheel_rate": "ride.axle_wheel_rate.{axle}",
            "bar": "ride.no_bar.{axle}|ride.bar_stiffness.{axle}",
            "tyre_rate": "ride.axle_tyre_rate.{axle}",
            "track_width": "~corners.track_width.{axle}",
        },
        formula="(k_w·t²/2 + K_bar) in series with k_t·t²/2",
        source=MILLIKEN,
    )
    room.result(
        "ride.roll_centre_height",
        of=given.roll_centre,
        per="axle",
        kind="length",
        needs={
            "found": "ride.roll_centre_by_links.{axle}|axle.{axle}.roll_centre_height",
            "fall": "ride.roll_centre_fall_by_links.{axle}|axle.{axle}.roll_centre_fall",
            "drop": "ride.axle_drop.{axle}",
            "body_down": "ride.body_down.{axle}",
        },
        formula="as found − fall·drop + what the tyres lift",
        source=GEOMETRY,
    )
    room.result(
        "ride.roll_arm",
        of=given.roll_arm,
        kind="length",
        needs={
            "cg_height": "ride.sprung_cg_height",
            "front_mass": "~ride.axle_sprung_mass.front",
            "rear_mass": "~ride.axle_sprung_mass.rear",
            "roll_centre_front": "ride.roll_centre_height.front",
            "roll_centre_rear": "ride.roll_centre_height.rear",
        },
        formula="d = h_s − height of the roll axis under it",
        source=GEOMETRY,
    )
    room.result(
        "ride.roll_gradient",
        of=given.roll_gradient,
        kind="roll_gradient",
        needs={
            "front_mass": "~ride.axle_sprung_mass.front",
            "rear_mass": "~ride.axle_sprung_mass.rear",
            "arm": "ride.roll_arm",
            "front": "ride.roll_stiffness.front",
            "rear": "ride.roll_stiffness.rear",
        },
        formula="m_s·d/(K − m_s·g·d)",
        source=BARTON,
    )
    room.result(
        "ride.load_transfer",
        of=roll.axle_load_transfer,
        per="axle",
        kind="mass",
        needs={
            "gradient": "ride.roll_gradient",
            "axle_stiffness": "ride.roll_stiffness.{axle}",
            "axle_sprung_mass": "~ride.axle_sprung_mass.{axle}",
            "roll_centre_height": "ride.roll_centre_height.{axle}",
            "axle_unsprung_mass": "~ride.axle_unsprung_mass.{axle}",
            "unsprung_height": "~ride.axle_loaded_radius.{axle}",
            "track_width": "~corners.track_width.{axle}",
        },
        formula="(roll gradient·K + m_s·z_rc + m_u·r)/t, N per m/s²",
        source=MILLIKEN,
    )
    room.result(
        "ride.front_transfer_share",
        of=roll.front_share,
        kind="fraction",
        needs={"front": "ride.load_transfer.front", "rear": "ride.load_transfer.rear"},
        formula="front/(front + rear)",
        source=MILLIKEN,
    )


def added(*, arm: Array | None, shim: Array | None) -> Array | None:
    """What sets a wheel adds together, rad; None where nobody stated any of it."""
    return shim if arm is None else arm + given.or_zero(shim)


def _angles() -> None:
    room.result(
        "ride.toe_from_length",
        of=alignment.toe_angle,
        per="corner",
        kind="angle",
        needs={
            "toe_length": "corner.{corner}.toe_length",
            "measured_over": "corner.{corner}.toe_measured_over",
        },
        formula="asin(toe length/diameter)",
        source=TOE,
    )
    angles = {
        "camber": (
            "corner.{corner}.camber",
            "ride.camber_by_links.{corner}|axle.{axle}.camber_curve|axle.{axle}.camber_gain",
        ),
        "toe": (
            "corner.{corner}.toe|ride.toe_from_length.{corner}"
            "|ride.toe_by_string_{axle}_{side}|ride.toe_by_gauge.{axle}",
            "ride.toe_by_links.{corner}|axle.{axle}.toe_curve|axle.{axle}.toe_gain",
        ),
    }
    for angle, (found, change) in angles.items():
        moved = {"found": found, "change": change}
        room.result(
            f"ride.{angle}_added",
            of=added,
            per="corner",
            kind="angle",
            needs={
                "arm": f"?arm.{{corner}}.{angle}_change",
                "shim": f"?stub_shim.{{corner}}.{angle}_change",
            },
            formula="what the arm's adjuster adds + what a shim adds",
            source=GEOMETRY,
        )
        set_by = {
            "set_by": f"?ride.{angle}_added.{{corner}}",
            "set_by_found": f"?base:ride.{angle}_added.{{corner}}",
        }
        drop = {"travel": "ride.ride_height_drop.{corner}"}
        room.result(
            f"ride.{angle}",
            of=given.angle_now,
            per="corner",
            kind="angle",
            needs={**moved, **drop, **set_by},
            formula="as found + change over the drop + what the adjuster adds",
            source=GEOMETRY,
        )
        room.result(
            f"ride.{angle}_without",
            of=given.angle_without,
            per="corner",
            kind="angle",
            needs={**moved, **drop, "set_by_found": set_by["set_by_found"]},
            formula="as found + change over the drop, adjuster in the middle",
            source=GEOMETRY,
        )
        room.result(
            f"ride.{angle}_in_bump",
            of=given.angle_in_bump,
            per="corner",
            kind="angle",
            needs={
                **moved, "bump": "ride.full_bump.{corner}", **set_by, **drop,
                "measured_now": f"?corner.{{corner}}.{angle}_now",
            },
            formula="as measured now + change from there up to full bump; else as found + change "
            "up to full bump + what the adjuster adds",
            source=GEOMETRY,
        )  # fmt: skip


_heights()
_mass_height()
_bars()
_roll()
_angles()
