"""Checks of the ride room, second part: bars, wheel angles, headlamps, clearance, load, roll."""

from __future__ import annotations

from drybuild.findings import LEFT, PRACTICE, Source, inside, not_above
from drybuild.systems.ride import checks_slack as slack
from drybuild.systems.ride.checks import EMPTY, LADEN
from drybuild.systems.ride.results import GEOMETRY, STATICS, room
from drybuild.systems.ride.results_roll import BARTON, MILLIKEN

UN_R48 = Source("UN Regulation 48", clause="6.2.6", how="memory")
PLATE = Source("the vehicle maker's plate", how="practice")
MAKER_SWING = Source("swing that the link's maker states", how="practice")
STRAIGHT = "at the new ride height, nobody in it, straight ahead"


def _bars() -> None:
    room.check(
        "ride.bar_link_length",
        between=inside("wanted", slack.link_shortest, slack.link_longest),
        title="anti-roll bar link length",
        per="corner",
        kind="length",
        needs={
            "present": "bar_link.{corner}.present",
            "wanted": "ride.bar_link_length.{corner}",
            "least": "bar_link.{corner}.length_least|bar_link.{corner}.length",
            "most": "bar_link.{corner}.length_most|bar_link.{corner}.length",
            "arm": "anti_roll_bar.{axle}.arm",
        },
        slack=slack.link_reach,
        formula="slack = arm·sin 10° + what the link's range leaves around the length wanted",
        gap_wanted=0.003,
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=STRAIGHT,
        when_short="the anti-roll bar stands further round than its links can make up for: it "
        "acts a little less, and its links stand askew",
        do="links of another length, set with the car on its wheels until they slip in by hand",
    )
    length = "bar_link.{corner}.length"
    room.check(
        "ride.bar_link_swing",
        between=not_above(slack.bar_swing, "stated"),
        title="anti-roll bar link's joints within their swing",
        per="corner",
        kind="angle",
        needs={
            "stated": "?bar_link.{corner}.swing_most",
            "present": "?bar_link.{corner}.present",
            "wanted": "?ride.bar_link_length.{corner}",
            "least": f"?bar_link.{{corner}}.length_least|{length}",
            "most": f"?bar_link.{{corner}}.length_most|{length}",
            "arm": "?anti_roll_bar.{axle}.arm",
        },
        slack=slack.link_swing,
        formula="slack = swing stated − asin(what the link is off the length wanted / arm)",
        consequence="damage",
        stops=("drive", "compete"),
        source=MAKER_SWING,
        pose=STRAIGHT,
        when_short="the anti-roll bar's links stand further round than their joints are made for",
        do="links of another length, set with the car on its wheels until they slip in by hand",
    )
    room.check(
        "ride.bar_preload",
        between=not_above("force", slack.LINK_FORCE_MOST),
        title="anti-roll bar free of load at rest",
        per="axle",
        kind="force",
        needs={
            "present": "anti_roll_bar.{axle}.present",
            "force": "ride.bar_link_force.{axle}",
        },
        slack=slack.link_force,
        formula="slack = 250 N − k_end·MR·|drop left − drop right|",
        consequence="nuisance",
        stops=("compete",),
        source=STATICS,
        pose="links of one length, car on its wheels",
        when_short="the bar is wound up at rest: one front corner carries more",
        do="set one link with the car on its wheels until it slips in by hand",
    )


def _angles() -> None:
    for angle, letter in (("camber", "γ"), ("toe", "δ")):
        room.check(
            f"ride.{angle}_reach",
            title=f"{angle} within the adjusters' reach",
            per="corner",
            kind="angle",
            needs={
                "aim": f"goal.{angle}_{{axle}}",
                "without": f"ride.{angle}_without.{{corner}}",
                "reach_each_way": f"arm.{{corner}}.{angle}_range"
                + ("|axle.{axle}.toe_range" if angle == "toe" else ""),
                "shim": f"?stub_shim.{{corner}}.{angle}_range",
                "window": f"?goal.{angle}_window",
            },
            slack=slack.reach,
            between=not_above(slack.to_take_up, slack.reach_with_shim),
            formula=(
                f"slack = range + shim + window − |{letter} aim − {letter} without the adjuster|"
            ),
            consequence="nuisance",
            stops=("drive",),
            source=GEOMETRY,
            pose=STRAIGHT,
            when_short=f"what sets {angle} does not reach that of the goal",
            when_copied={
                "aim": f"{angle} is not as found, and what sets it does not bring it back"
            },
            do="an arm or a shim with more range (a beam axle takes shims alone), another aim, or "
            "less drop",
        )
    room.check(
        "ride.camber_even",
        between=not_above(slack.camber_left_apart, slack.CAMBER_APART_MOST),
        title="camber alike on both sides",
        per="axle",
        kind="angle",
        needs={
            "left": "ride.camber_without.{axle}.left",
            "right": "ride.camber_without.{axle}.right",
            "reach_left": "arm.{axle}.left.camber_range",
            "reach_right": "arm.{axle}.right.camber_range",
            "shim_left": "?stub_shim.{axle}.left.camber_range",
            "shim_right": "?stub_shim.{axle}.right.camber_range",
        },
        slack=slack.camber_apart,
        formula="slack = 0.5° − what the adjusters cannot take up of the difference",
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=STRAIGHT,
        when_short="the sides differ by more than the adjusters take up: look for a bent part",
        do="measure the body and the arms before setting anything",
    )
    room.check(
        "ride.bump_steer",
        between=not_above(slack.steered, slack.STEER_MOST),
        title="toe change in bump",
        per="corner",
        kind="angle",
        needs={
            "change": "axle.{axle}.toe_curve|axle.{axle}.toe_gain",
            "travel": "ride.laden_travel.{corner}",
        },
        slack=slack.bump_steer,
        formula="slack = 0.25° − |toe(rest + 30 mm) − toe(rest)|",
        consequence="damage",
        stops=("compete",),
        source=PRACTICE,
        pose="from rest, laden, 30 mm further into bump",
        when_short="the wheel steers itself over bumps at the new height",
        do="correct the height of the steering joint, or drop the car less",
    )
    room.check(
        "ride.headlamp_aim",
        between=not_above(slack.pitched, "adjusters"),
        title="headlamps can be aimed again",
        kind="angle",
        needs={"adjusters": "car.headlamp_range", "pitch": "ride.body_pitch"},
        slack=slack.headlamps,
        formula="slack = adjuster range − |drop front − drop rear|/wheelbase",
        gap_wanted=0.0017,
        consequence="law",
        stops=("drive",),
        source=UN_R48,
        pose=EMPTY,
        when_short="the headlamps cannot be brought back to where they shone",
        do="even the drop front to rear, then have the aim set",
        safety="Lamps aimed too high blind others. Set them on a tester or a marked wall.",
    )


def _clearance() -> None:
    room.check(
        "ride.ground_clearance",
        between=LEFT,
        title="ground clearance near the axle",
        per="axle",
        kind="length",
        needs={"value": "ride.ground_clearance.{axle}"},
        slack=slack.as_it_is,
        formula="slack = as found − how far the body came down",
        gap_wanted=0.090,
        consequence="damage",
        stops=("drive",),
        source=PRACTICE,
        pose=LADEN,
        when_short="it will ground on ramps and ruts",
        do="less drop, or a guard under the lowest part",
    )
    room.check(
        "ride.ground_clearance_mid",
        between=LEFT,
        title="ground clearance between the axles",
        kind="length",
        needs={"value": "ride.ground_clearance_mid"},
        slack=slack.as_it_is,
        formula="slack = as found − how far the body came down there",
        gap_wanted=0.090,
        consequence="damage",
        stops=("drive",),
        source=PRACTICE,
        pose=LADEN,
        when_short="it will ground on crests and humps",
        do="less drop, or a flatter exhaust",
    )


def _load() -> None:
    room.check(
        "ride.axle_load",
        between=not_above("load", slack.load_limit),
        title="axle load within its limit",
        per="axle",
        kind="force",
        needs={"limit": "axle.{axle}.load_limit", "load": "ride.axle_load.{axle}"},
        slack=slack.axle_load,
        formula="slack = limit·g − load",
        consequence="law",
        stops=("drive",),
        source=PLATE,
        pose=LADEN + "; parts whose mass nobody stated are left out",
        when_short="more on the axle than its plate permits",
        do="carry less, or lighter parts",
    )
    room.check(
        "ride.gross_mass",
        between=not_above("mass", "limit"),
        title="total mass within its limit",
        kind="mass",
        needs={"limit": "car.gross_limit", "mass": "ride.total_mass"},
        slack=slack.gross_mass,
        formula="slack = limit − mass",
        consequence="law",
        stops=("drive",),
        source=PLATE,
        pose=LADEN + "; parts whose mass nobody stated are left out",
        when_short="heavier than its plate permits",
        do="carry less, or lighter parts",
    )


def _roll() -> None:
    room.check(
        "ride.roll_gradient",
        between=not_above("now", slack.roll_limit),
        title="rolls no more than before",
        kind="roll_gradient",
        needs={"now": "ride.roll_gradient", "found": "base:ride.roll_gradient"},
        slack=slack.rolls_no_more,
        formula="slack = 1.05·as found − now",
        consequence="nuisance",
        stops=("compete",),
        source=BARTON,
        pose="steady cornering, small angles, laden",
        when_short="it rolls more than before: the roll centres fell further than the body",
        do="stiffer springs or bar, or less drop",
    )
    room.check(
        "ride.balance_shift",
        between=not_above(slack.share_moved, slack.BALANCE_SHIFT_MOST),
        share_of="all load transfer",
        title="load transfer shared front to rear as before",
        kind="fraction",
        needs={"now": "ride.front_transfer_share", "found": "base:ride.front_transfer_share"},
        slack=slack.balance_kept,
        formula="slack = 0.05 − |front share now − as found|",
        consequence="damage",
        stops=("compete",),
        source=MILLIKEN,
        pose="steady cornering, small angles, laden",
        when_short="the balance has moved: less at the front means a tail that lets go sooner",
        do="bring springs or bar back towards the old share, try it first where there is room",
        safety="A car whose balance moved is learnt on a closed course, gently, dry before wet.",
    )


_bars()
_angles()
_clearance()
_load()
_roll()
