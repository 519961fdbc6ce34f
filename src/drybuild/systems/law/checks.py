"""Checks of the law room: each a margin over the strictest applicable rule.

A rule of the road stops *drive* alone; a club's rule stops *compete* alone. What a rule says, and
which of them binds, is shown with the finding.
"""

from __future__ import annotations

from typing import Any

from drybuild.findings import Room, Source
from drybuild.systems.law import checks_slack as slack
from drybuild.systems.law.results import rules_on

READ_AID = "A rule set is a reading aid: the authority's own text and its people decide."
EXHAUST = {"dump_pipe": "?dump_pipe.part", "catalyst": "?catalyst.part", "exhaust": "?exhaust.part"}
STATES = Source("state texts of the national code of practice", how="read")
CLUB = Source("the chosen club rulebook", how="practice")
MEMORY_DO = "read the clause in the authority's own text, then name it under rules_read"


def register(room: Room) -> None:
    """Offer the room's checks."""
    _speed(room)
    _wheels(room)
    _height(room)
    _equipment(room)
    _clubs(room)


def _rules_on(
    room: Room, id: str, on: tuple[str, ...], governs: str, shapes: tuple[str, ...]
) -> dict[str, str]:
    """Offer the rules that one check is about, as the need through which it takes them."""
    name = f"law.rules_on_{id.removeprefix('law.')}.present"
    room.result(
        name,
        of=rules_on(on, governs, shapes),
        kind="object",
        needs={"concerned": "~law.concerned"},
        formula="rules of the chosen sets on " + ", ".join(on).replace("_", " "),
        source=Source("the rule sets of the build", how="computed"),
    )
    return {"rules": f"~{name}"}


def _road(
    room: Room, id: str, *, on: tuple[str, ...], shapes: tuple[str, ...] = (), **words: Any
) -> None:
    words["needs"] = {**_rules_on(room, id, on, "road", shapes), **words["needs"]}
    words.setdefault("formula", "slack = least distance to the limits of the applicable rules")
    room.check(id, consequence="law", stops=("drive",), safety=READ_AID, **words)


def _speed(room: Room) -> None:
    needs = {"indicated": "speedo.indicated", "true_speed": "law.true_speed"}
    source = Source("UN R39", clause="para 5.3", how="read")
    pose = "at the speed of the reading; other speeds are not assessed"
    _road(
        room,
        "law.speedometer_low",
        on=("indicated_speed",),
        shapes=("at least",),
        title="speed reading not below true speed",
        slack=slack.speedometer_low,
        kind="speed",
        needs=needs,
        source=source,
        pose=pose,
        formula="slack = V1 − V2",
        when_short="the speed reading is below true speed",
        do="have the reading corrected, or a tyre with a smaller rolling circumference",
    )
    _road(
        room,
        "law.speedometer_high",
        on=("indicated_speed",),
        shapes=("at most",),
        title="speed reading not far above true speed",
        slack=slack.speedometer_high,
        kind="speed",
        needs=needs,
        source=source,
        pose=pose,
        formula="slack = 1.1·V2 + 4 km/h − V1",
        when_short="the speed reading is too far above true speed",
        do="have the reading corrected, or a tyre with a larger rolling circumference",
    )


def _wheels(room: Room) -> None:
    placard = {"placard": "~corners.original_tyres"}
    vsb = Source("VSB 14 section LS", edition="v2.0", how="memory")
    _road(
        room,
        "law.tyre_diameter",
        on=("tyre_diameter",),
        title="tyre diameter against the placard",
        slack=slack.tyre_diameter,
        per="corner",
        kind="length",
        needs={"diameter": "corners.marked_diameter.{corner}", **placard},
        source=STATES,
        pose="marked sizes, new",
        when_short="the tyre is larger or smaller than the rules allow",
        do="a size nearer to those on the placard, or certification",
    )
    _road(
        room,
        "law.tyre_width",
        on=("tyre_width",),
        title="tyre width against the placard",
        slack=slack.tyre_width,
        per="corner",
        kind="length",
        needs={"section_width": "corners.marked_width.{corner}", **placard},
        source=vsb,
        pose="marked sizes",
        when_short="the tyre is wider than the rules allow",
        do=MEMORY_DO,
    )
    _road(
        room,
        "law.tyre_speed_symbol",
        on=("tyre_speed",),
        title="speed symbol of the tyre",
        slack=slack.tyre_speed,
        per="corner",
        kind="speed",
        needs={
            "rated_speed": "corners.symbol_speed.{corner}",
            "top_speed": "~?registration.top_speed",
        },
        source=Source("UN R142 and state texts", how="read"),
        when_short="the tyre's speed symbol is too low",
        do="a tyre with a higher speed symbol",
    )
    _road(
        room,
        "law.tyre_load_index",
        on=("tyre_load",),
        title="load index of the tyre against the axle's limit",
        slack=slack.tyre_load,
        per="corner",
        kind="mass",
        needs={
            "load": "corners.load_at_top_speed.{corner}",
            "axle_load_limit": "~axle.{axle}.load_limit",
        },
        source=Source("UN R142", clause="para 5.2.2", how="memory"),
        pose="axle at its permitted mass, at top speed",
        when_short="the tyre may carry less than half the axle's permitted mass",
        do="a tyre with a higher load index; " + MEMORY_DO,
    )
    _road(
        room,
        "law.track_width",
        on=("track_width",),
        title="track over the maker's greatest",
        slack=slack.track_width,
        per="axle",
        kind="length",
        needs={
            "track": "corners.track_width.{axle}",
            "before": "~base:corners.track_width.{axle}",
            "maker_max": "~?registration.track_maker_max_{axle}",
        },
        source=STATES,
        pose="ride height, straight ahead",
        when_short="the track is wider than the rules allow",
        do="wheels with more offset, no spacers, or approval by the authority",
    )
    _road(
        room,
        "law.wheel_offset",
        on=("wheel_offset",),
        title="wheel offset against the maker's",
        slack=slack.wheel_offset,
        per="corner",
        kind="length",
        needs={
            "offset": "wheel.{corner}.offset",
            "spacer": "corners.spacer_thickness.{corner}",
            "before": "~base:wheel.{corner}.offset",
            "spacer_before": "~base:corners.spacer_thickness.{corner}",
            "smallest": "~?registration.original_offset_smallest",
        },
        source=Source(
            "SA Road Traffic (Miscellaneous) Regulations 1999", clause="s. 26", how="read"
        ),
        pose="a spacer counts as less offset",
        when_short="the wheel stands further out than the rules allow",
        do="wheels with more offset",
    )
    _road(
        room,
        "law.spacers",
        on=("spacer",),
        title="no wheel spacers unless original",
        slack=slack.spacers,
        per="corner",
        kind="match",
        needs={"fitted": "?spacer.{corner}.present", "before": "~?base:spacer.{corner}.present"},
        source=Source(
            "SA Road Traffic (Miscellaneous) Regulations 1999", clause="s. 26", how="read"
        ),
        when_short="spacers are fitted that the maker did not fit",
        do="wheels with the offset wanted, without spacers",
    )
    guards = Source("Regulation (EU) 1009/2010", clause="annex II", how="read")
    _road(
        room,
        "law.tyre_cover",
        on=("tyre_cover",),
        title="guard covers the tyre",
        slack=slack.tyre_cover,
        per="corner",
        kind="length",
        needs={"cover": "law.tyre_cover.{corner}"},
        gap_wanted=0.002,
        source=guards,
        pose="straight ahead, ride height; lettering and toe are the gap",
        when_short="the tyre stands out of the guard",
        do="more offset, a narrower tyre, or a guard extension",
    )
    _road(
        room,
        "law.guard_rear_edge",
        on=("guard_rear_edge",),
        title="rear edge of the guard over the wheel axis",
        slack=slack.guard_rear_edge,
        per="corner",
        kind="length",
        needs={
            "height": "corner.{corner}.guard_rear_edge_height",
            "drop": "ride.ride_height_drop.{corner}",
        },
        source=guards,
        pose="ride height",
        when_short="the guard's rear edge stands too high over the wheel axis",
        do="a mud flap or a guard extension",
    )


def _height(room: Room) -> None:
    drop = {"drop": "ride.ride_height_drop.{corner}"}
    _road(
        room,
        "law.ride_height",
        on=("ride_height", "body_height"),
        title="change of ride height",
        slack=slack.ride_height,
        per="corner",
        kind="length",
        needs={**drop, "body_drop": "law.body_drop.{corner}"},
        source=STATES,
        pose="nobody in the car, against as found",
        when_short="the car stands lower or higher than the rules allow without a certificate",
        do="springs with less drop, or certification",
    )
    _road(
        room,
        "law.suspension_travel",
        on=("suspension_travel", "bump_travel", "droop_travel", "lowering", "lifting"),
        title="suspension travel kept",
        slack=slack.suspension_travel,
        per="corner",
        kind="length",
        needs={
            **drop,
            "full_bump": "ride.full_bump.{corner}",
            "full_droop": "ride.full_droop.{corner}",
            "bump_before": "~base:ride.full_bump.{corner}",
            "droop_before": "~base:ride.full_droop.{corner}",
        },
        source=STATES,
        pose="nobody in the car, against as found",
        when_short="more of the travel is gone than the rules allow",
        do="springs with less drop, or certification",
    )
    adr = Source(
        "ADR 43 and Light Vehicle Standards Rules", clause="ground clearance", how="memory"
    )
    _road(
        room,
        "law.ground_clearance_axle",
        on=("clearance_near_axle",),
        title="ground clearance near an axle",
        slack=slack.clearance_near_axle,
        per="axle",
        kind="length",
        needs={"clearance": "ride.ground_clearance.{axle}"},
        source=adr,
        pose="laden as the goal says",
        when_short="the car stands lower near an axle than the rules allow",
        do="less drop; " + MEMORY_DO,
    )
    _road(
        room,
        "law.ground_clearance_between",
        on=("clearance_between_axles",),
        title="ground clearance between the axles",
        slack=slack.clearance_between_axles,
        kind="length",
        needs={"clearance": "ride.ground_clearance_mid", "wheelbase": "~car.wheelbase"},
        source=adr,
        pose="laden as the goal says",
        when_short="the car stands lower between the axles than the rules allow",
        do="less drop; " + MEMORY_DO,
    )
    _road(
        room,
        "law.lamp_height",
        on=("lamp_height",),
        title="height of the dipped beam",
        slack=slack.lamp_height,
        kind="length",
        needs={"height": "law.lamp_height"},
        source=Source("UN R48", clause="para 6.2.4.2", how="memory"),
        pose="level floor, unladen",
        when_short="the dipped beam stands lower or higher than the rules allow",
        do="less drop; " + MEMORY_DO,
    )


def _equipment(room: Room) -> None:
    r83 = Source("UN R83; ADR 79", how="memory")
    for id, title, place, function, optional in (
        ("law.catalyst_present", "catalyst still fitted", "catalyst", slack.catalyst, ""),
        ("law.flaps_present", "charge-motion flaps still fitted", "flaps", slack.flaps, "?"),
        (
            "law.vapour_system",
            "vapour system still fitted",
            "vapour_system",
            slack.vapour_system,
            "?",
        ),
    ):
        _road(
            room,
            id,
            on=(place,),
            title=title,
            slack=function,
            kind="match",
            needs={
                "fitted": f"{optional}{place}.present",
                "before": f"~?base:{place}.present",
            },
            source=r83,
            pose="whether it is there, not what comes out of the tailpipe",
            when_short=f"not on the road: {title.replace(' still fitted', '')} missing",
            do="fit one that is approved for this car; " + MEMORY_DO,
        )
    _road(
        room,
        "law.noise",
        on=("noise_at_rest",),
        title="noise at rest",
        slack=slack.noise_at_rest,
        kind="sound_level",
        needs={
            "noise": "registration.noise_at_rest",
            "certified": "~?registration.noise_at_rest_certified",
            **EXHAUST,
        },
        source=Source("Light Vehicle Standards Rules; ADR 83/00", how="memory"),
        pose="at rest, 0.5 m from the tailpipe at 45°, at the speed the papers give",
        when_short="louder at rest than the rules allow",
        do="a quieter silencer; " + MEMORY_DO,
    )
    _road(
        room,
        "law.pass_by_noise",
        on=("pass_by_noise",),
        title="drive-by noise",
        slack=slack.pass_by_noise,
        kind="sound_level",
        needs={
            "noise": "?registration.pass_by_noise",
            "power": "~?registration.rated_power",
            "mass": "~?car.kerb_mass",
        },
        source=Source("UN R51", edition="03 series", clause="para 6.2.2", how="memory"),
        pose="as measured by a test house; a limit for approval, here a reading aid",
        when_short="louder in the drive-by test than the limit for its class",
        do="a quieter intake or silencer; " + MEMORY_DO,
    )
    _road(
        room,
        "law.seats",
        on=("seats",),
        title="seats against the papers",
        slack=slack.seats,
        kind="number",
        needs={"fitted": "registration.seats_fitted", "registered": "~registration.seats"},
        source=Source("VSB 14 section LK", how="memory"),
        when_short="another number of seats than the papers say",
        do="refit the seats with their belts, or have the papers changed",
    )


def _club_check(room: Room, id: str, *, on: tuple[str, ...], **words: Any) -> None:
    words["needs"] = {**_rules_on(room, id, on, "competition", ()), **words["needs"]}
    words.setdefault("formula", "slack = least distance to the limits of the club's rules")
    room.check(id, consequence="law", stops=("compete",), safety=READ_AID, source=CLUB, **words)


def _clubs(room: Room) -> None:
    _club_check(
        room,
        "law.club_catch_tank",
        on=("catch_tank",),
        title="catch tank (club)",
        slack=slack.club_catch_tank,
        kind="match",
        needs={"fitted": "catch_tank.present", "turbo": "?turbo.part"},
        when_short="no catch tank",
        do="fit a catch tank between crankcase breather and intake",
    )
    _club_check(
        room,
        "law.club_tow_eye",
        on=("tow_eye",),
        title="tow eye (club)",
        slack=slack.club_tow_eye,
        per="axle",
        kind="match",
        needs={"fitted": "tow_eye.{axle}.present"},
        when_short="no tow eye",
        do="fit a tow eye",
    )
    _club_check(
        room,
        "law.club_tow_eye_colour",
        on=("tow_eye_colour",),
        title="colour of the tow eye (club)",
        slack=slack.club_tow_eye_colour,
        per="axle",
        kind="match",
        needs={"fitted": "tow_eye.{axle}.present", "colour": "tow_eye.{axle}.colour"},
        when_short="the tow eye has another colour than the club asks",
        do="paint it",
    )
    _club_check(
        room,
        "law.club_rollover_bar",
        on=("rollover_bar",),
        title="roll-over bar (club)",
        slack=slack.club_rollover_bar,
        kind="match",
        needs={"fitted": "rollover_bar.present"},
        when_short="no roll-over bar",
        do="fit a bar, or the maker's hoops",
    )
    _club_check(
        room,
        "law.club_tyre_cover",
        on=("tyre_cover",),
        title="bodywork covers the tyre (club)",
        slack=slack.club_tyre_cover,
        per="corner",
        kind="length",
        needs={"cover": "law.tyre_cover.{corner}"},
        pose="straight ahead, ride height, seen from above",
        when_short="the tyre stands out of the bodywork",
        do="more offset, or a narrower tyre",
    )
    _club_check(
        room,
        "law.club_tyre_speed",
        on=("tyre_speed",),
        title="speed symbol of the tyre (club)",
        slack=slack.club_tyre_speed,
        per="corner",
        kind="speed",
        needs={"rated_speed": "corners.symbol_speed.{corner}"},
        when_short="the tyre's speed symbol is too low for the club",
        do="a tyre with a higher speed symbol",
    )
    _club_check(
        room,
        "law.club_noise",
        on=("noise_at_rest",),
        title="noise at rest (club)",
        slack=slack.club_noise,
        kind="sound_level",
        needs={"noise": "registration.noise_at_rest", **EXHAUST},
        pose="at rest, as the club measures it",
        when_short="louder at rest than the club allows",
        do="a quieter silencer, or an insert for the day",
    )
