"""Checks of wheels, tyres and fasteners. Clearances of the tyre are in ``clearance_checks``."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.build.thread_marking import Thread, parse_thread
from drybuild.build.tyre_marking import TyreMarking
from drybuild.findings import (
    LEFT,
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    FormulaRefused,
    Lacking,
    Source,
    matches,
    not_above,
    not_below,
)

from .checks_held import (
    as_marked,
    carried_standing,
    circles_apart,
    half_of_axle,
    narrowest,
    one_thread,
    play_centred,
    rolling_apart,
    scrub_moved,
    standing,
    stud_in_nut,
    turns_least,
    turns_on,
    widest,
)
from .results_holding import ENGAGEMENT, PermittedRims
from .results_room import room

CIRCLE_TOLERANCE = 0.3e-3
"""Difference of bolt circles that seats still take up: drawing tolerances (common practice)."""

FIT_PLAY = 0.20e-3
"""Play between bore and spigot up to which the spigot centres the wheel (common practice)."""

SNAP_IN_SPEED = 210 / 3.6
"""Speed up to which rubber snap-in valves are used (ETRTO recommendation, from memory)."""

ROLLING_MATCH = 0.01
"""Share by which axles of an all-wheel-drive car may differ where the maker says nothing."""

SCRUB_SHIFT = 15e-3
"""Shift of scrub radius from which steering is felt to pull on common cars (practice)."""


def rim_diameter(*, marking: TyreMarking, code: int) -> Any:
    """Tyre and rim carry the same diameter code."""
    return matches(marking.rim_code == code)


def rim_not_too_narrow(*, rims: PermittedRims, rim_width: Any) -> Any:
    """Rim width over the narrowest permitted, both as marked."""
    return as_marked(rim_width) - rims.least


def rim_not_too_wide(*, rims: PermittedRims, rim_width: Any) -> Any:
    """Widest permitted over the rim width, both as marked."""
    return rims.greatest - as_marked(rim_width)



def load_of_axle(*, capacity: Any, axle_limit: Any) -> Any:
    """What the tyre or wheel carries over half of the permitted axle load."""
    return capacity - half_of_axle(axle_limit)


def load_standing(*, capacity: Any, load: Any) -> Any:
    """94 % of what the tyre carries at its pressure over its load with the car laden."""
    return carried_standing(capacity) - standing(load)


def speed_reserve(*, rated: Any, speed: Any) -> Any:
    """Speed of the symbol over the fastest the car will be driven."""
    return rated - speed


def bore_goes_on(*, bore: Any, spigot: Any) -> Any:
    """Wheel bore over hub spigot."""
    return bore - spigot


def centred(
    *,
    bore: Any,
    spigot: Any,
    spacer: Any,
    spacer_spigot: Any,
    spigot_length: Any,
    ring: bool | None,
    ring_inner: Any,
    ring_outer: Any,
) -> Any:
    """Room in the play of the wheel on what centres it: spigot, spacer's spigot or ring."""
    return FIT_PLAY - play_centred(
        bore, spigot, spacer, spacer_spigot, spigot_length, ring, ring_inner, ring_outer
    )


def same_count(*, wheel_count: int, hub_count: int) -> Any:
    """As many bolt holes as studs."""
    return matches(wheel_count == hub_count)


def same_circle(*, wheel_circle: Any, hub_circle: Any) -> Any:
    """Tolerance less the difference of the two bolt circles."""
    return CIRCLE_TOLERANCE - circles_apart(wheel_circle, hub_circle)


def same_thread(*, form: str, nut: Thread, stud: str | None, hub: str | None) -> Any:
    """Nut and stud, or bolt and hub, have one thread."""
    other = stud if form == "nut" else hub
    if other is None:
        if form == "nut":
            raise Lacking("stud", said="the thread of the studs")
        raise Lacking("hub", said="the hub's thread")
    return matches(parse_thread(other) == nut)


def same_seat(*, nut_seat: str, wheel_seat: str) -> Any:
    """Seat of nut or bolt has the form of the wheel's seat."""
    return matches(nut_seat == wheel_seat)


def one_diameter(*, engagement: Any, thread: Thread) -> Any:
    """Thread that holds over one thread diameter."""
    return engagement - one_thread(thread)


def enough_turns(*, engagement: Any, thread: Thread) -> Any:
    """Turns of thread that hold over the least of the table."""
    return turns_on(engagement, thread) - turns_least(thread)


def not_bottomed(
    *, form: str, closed_depth: Any, stud_length: Any, seat_depth: Any, spacer: Any
) -> Any:
    """Depth of a closed nut over the stud inside it; an open nut has no end to meet."""
    if form != "nut" or closed_depth is None:
        return NOT_APPLICABLE
    if stud_length is None:
        raise FormulaRefused("the length of the studs")
    return closed_depth - stud_in_nut(stud_length, seat_depth, spacer)


def barrel_gap(*, barrel: Any, caliper: Any) -> Any:
    """Barrel's inner radius over the caliper's outer radius."""
    return barrel - caliper


def spoke_gap(*, spokes: Any, spacer: Any, face: Any, radius: Any) -> Any:
    """Spokes' backs outboard of the caliper's face; along the radius where a map is given."""
    if not hasattr(spokes, "x"):
        return spokes + spacer - face
    at = np.asarray(spokes.x, dtype=np.float64)
    depth = np.asarray(spokes.y, dtype=np.float64)
    depth = depth[:, None] if depth.ndim == 1 else depth
    inside = at <= float(np.max(radius))
    if not np.any(inside):
        raise FormulaRefused("spoke depths at the caliper's radius (the map begins outside it)")
    return Along(slack=depth[inside] + spacer - face, at=at[inside], kind="length")


def rolling_match(
    *, drive: str, front_left: Any, front_right: Any, rear_left: Any, rear_right: Any, limit: Any
) -> Any:
    """Limit less the share by which front and rear wheels turn differently."""
    if drive != "all":
        return NOT_APPLICABLE
    allowed = ROLLING_MATCH if limit is None else limit
    return allowed - rolling_apart(front_left, front_right, rear_left, rear_right)


def pair_match(*, left: TyreMarking, right: TyreMarking) -> Any:
    """Both tyres of an axle carry the same size."""
    return matches(left.size == right.size)


def pressure_reserve(*, limit: Any, pressure: Any) -> Any:
    """Greatest cold pressure of the tyre over the pressure that is set."""
    return limit - pressure


def valve_speed(*, valve: str, speed: Any) -> Any:
    """Speed up to which a snap-in valve is used over the fastest the car will be driven."""
    if valve == "clamp-in":
        return NOT_APPLICABLE
    return SNAP_IN_SPEED - speed


def scrub_shift(
    *, axle_shift_left: Any, axle_shift_right: Any, radius: Any, radius_then: Any, kpi: Any
) -> Any:
    """Room left in the shift of scrub radius, the worse side of the front axle."""
    return SCRUB_SHIFT - scrub_moved(axle_shift_left, axle_shift_right, radius, radius_then, kpi)



MARK = "corners.marking.{corner}"
SPACER = "corners.spacer_thickness.{corner}"
TOP_SPEED = "goal.top_speed|registration.top_speed"
FASTENED = "A wheel can come off. Ask the vehicle's or the wheel's maker; do not guess."
BURST = "A tyre that is overloaded or too fast for its rating can burst."
BRAKE = "A wheel that meets the caliper can lock or cut a brake line or lose its weights."
CALIPER_DO = "measure with putty; another wheel, or a spacer if thread, arch and law allow it"

room.check(
    "corners.rim_diameter", title="tyre and rim of the same diameter code", per="corner",
    kind="match", needs={"marking": MARK, "code": "wheel.{corner}.diameter_code"},
    slack=rim_diameter, formula="codes are equal", consequence="injury",
    stops=("move", "full load"), source=Source("ISO 4000-1", clause="rim diameter code"),
    when_short="the tyre does not belong on this rim", do="a tyre of the wheel's diameter code",
    safety="Never mount a tyre on a rim of another code: it can burst while it is inflated.",
)  # fmt: skip
room.check(
    "corners.rim_width_low", title="rim wide enough for the tyre", per="corner", kind="rim_width",
    between=not_below(as_marked, narrowest),
    needs={"rims": "corners.permitted_rims.{corner}", "rim_width": "wheel.{corner}.rim_width"},
    slack=rim_not_too_narrow, formula="rim as marked − narrowest permitted",
    consequence="injury", stops=("drive", "compete"),
    source=Source("ISO 4000-1", clause="approved rims, bands fitted to the tables"),
    when_short="the rim is narrower than the tyre's maker permits",
    do="read the tyre maker's rim list; a narrower tyre or a wider rim",
    safety="Outside the permitted rims the bead can leave its seat in a bend.",
)  # fmt: skip
room.check(
    "corners.rim_width_high", title="rim not too wide for the tyre", per="corner",
    between=not_above(as_marked, widest),
    kind="rim_width",
    needs={"rims": "corners.permitted_rims.{corner}", "rim_width": "wheel.{corner}.rim_width"},
    slack=rim_not_too_wide, formula="widest permitted − rim as marked",
    consequence="injury", stops=("drive", "compete"),
    source=Source("ISO 4000-1", clause="approved rims, bands fitted to the tables"),
    when_short="the rim is wider than the tyre's maker permits",
    do="read the tyre maker's rim list; a wider tyre or a narrower rim",
    safety="Outside the permitted rims the bead can leave its seat in a bend.",
)  # fmt: skip
room.check(
    "corners.tyre_load", title="tyre load rating against half the axle limit", per="corner",
    between=not_below("capacity", half_of_axle),
    kind="mass", needs={
        "capacity": "corners.load_at_top_speed.{corner}", "axle_limit": "axle.{axle}.load_limit",
    },
    slack=load_of_axle, formula="load at top speed − axle limit/2", consequence="injury",
    stops=("drive", "compete"), source=Source("UN R142", clause="5.2.2"),
    pose="axle at its permitted load, top speed",
    when_short="the tyre's load rating is below half the axle limit",
    do="a tyre of higher load index", safety=BURST,
)  # fmt: skip
room.check(
    "corners.tyre_pressure_load", title="tyre carries its load at the pressure that is set",
    between=not_above(standing, carried_standing),
    per="corner", kind="mass", needs={
        "capacity": "corners.load_at_pressure.{corner}", "load": "~ride.corner_load.{corner}",
    },
    slack=load_standing, formula="0.94·load at pressure − standing load", consequence="injury",
    stops=("drive", "compete"), source=Source("49 CFR 571.110", clause="S4.2.1"),
    pose="standing, laden as the goal says",
    when_short="the pressure is too low for the load",
    do="more pressure within the tyre's limit, or a tyre of higher load index", safety=BURST,
)  # fmt: skip
room.check(
    "corners.wheel_load", title="wheel load rating against half the axle limit", per="corner",
    between=not_below("capacity", half_of_axle),
    kind="mass", needs={
        "capacity": "wheel.{corner}.load_rating", "axle_limit": "axle.{axle}.load_limit",
    },
    slack=load_of_axle, formula="wheel rating − axle limit/2", consequence="injury",
    stops=("drive", "compete"), source=Source("UN R124", clause="maximum wheel load"),
    pose="axle at its permitted load",
    when_short="the wheel's load rating is below half the axle limit",
    do="a wheel of higher load rating", safety="An overloaded wheel can crack.",
)  # fmt: skip
room.check(
    "corners.tyre_speed", title="speed symbol against top speed", per="corner", kind="speed",
    between=not_below("rated", "speed"),
    needs={"rated": "corners.symbol_speed.{corner}", "speed": TOP_SPEED},
    slack=speed_reserve, formula="symbol speed − top speed", consequence="injury",
    stops=("drive", "full load", "compete"), source=Source("UN R30", clause="2.29"),
    when_short="the speed symbol is below the car's top speed",
    do="a tyre of a higher speed symbol", safety=BURST,
)  # fmt: skip
room.check(
    "corners.hub_bore", title="wheel goes over the hub's spigot", per="corner", kind="length",
    between=not_below("bore", "spigot"),
    needs={"bore": "wheel.{corner}.hub_bore", "spigot": "corner.{corner}.hub_spigot"},
    slack=bore_goes_on, formula="bore − spigot", consequence="damage",
    stops=("move", "full load"), source=Source("geometry", how="computed"),
    when_short="the wheel's bore is smaller than the hub's spigot",
    do="another wheel; boring one out is work for its maker",
)  # fmt: skip
room.check(
    "corners.centring_ring", title="wheel is centred on hub, spacer or ring", per="corner",
    between=not_above(play_centred, FIT_PLAY),
    kind="length", needs={
        "bore": "wheel.{corner}.hub_bore", "spigot": "corner.{corner}.hub_spigot",
        "spacer": SPACER, "spacer_spigot": "?spacer.{corner}.spigot",
        "spigot_length": "?corner.{corner}.hub_spigot_length",
        "ring": "?centring_ring.{corner}.present",
        "ring_inner": "?centring_ring.{corner}.inner_diameter",
        "ring_outer": "?centring_ring.{corner}.outer_diameter",
    },
    slack=centred, formula="0.2 mm − play of bore on spigot or ring − play of ring on spigot",
    consequence="damage", stops=("drive", "compete"), source=PRACTICE,
    when_short="nothing centres the wheel before its nuts or bolts are tight",
    do="a ring of the wheel's bore and the hub's spigot; a ring only centres, it carries no load",
)  # fmt: skip
room.check(
    "corners.bolt_count", title="as many bolt holes as studs", per="corner", kind="match",
    needs={
        "wheel_count": "wheel.{corner}.bolt_count", "hub_count": "corner.{corner}.bolt_count",
    },
    slack=same_count, formula="counts are equal", consequence="injury",
    stops=("move", "full load"), source=PRACTICE,
    when_short="the wheel has another number of bolt holes than the hub",
    do="a wheel of the hub's pattern", safety=FASTENED,
)  # fmt: skip
room.check(
    "corners.bolt_circle", title="bolt circles of wheel and hub", per="corner", kind="length",
    between=not_above(circles_apart, CIRCLE_TOLERANCE),
    needs={
        "wheel_circle": "wheel.{corner}.bolt_circle",
        "hub_circle": "corners.hub_bolt_circle.{corner}",
    },
    slack=same_circle, formula="0.3 mm − |difference|", consequence="injury",
    stops=("move", "full load"), source=PRACTICE,
    when_short="the bolt circles differ", do="a wheel of the hub's pattern",
    safety="Nuts or bolts that pull a wheel onto another bolt circle come loose or break.",
)  # fmt: skip
room.check(
    "corners.stud_thread", title="thread of the wheel nuts or bolts against stud or hub",
    per="corner", kind="match",
    needs={
        "form": "wheel_nuts.{corner}.form", "nut": "corners.fastener_thread.{corner}",
        "stud": "?corners.thread_of_studs.{corner}", "hub": "?corners.thread_of_hub.{corner}",
    },
    slack=same_thread, formula="diameter and pitch are equal", consequence="injury",
    stops=("move", "full load"), source=Source("ISO 261", clause="thread designation"),
    when_short="the nuts or bolts have another thread than stud or hub",
    do="nuts or bolts of the thread of stud or hub",
    safety="A nut or bolt of another pitch starts and then strips. " + FASTENED,
)  # fmt: skip
room.check(
    "corners.nut_seat", title="seat of the nuts or bolts fits the wheel", per="corner",
    kind="match",
    needs={"nut_seat": "wheel_nuts.{corner}.seat", "wheel_seat": "wheel.{corner}.seat"},
    slack=same_seat, formula="forms are equal", consequence="injury",
    stops=("move", "full load"), source=PRACTICE,
    when_short="the seat of the nuts or bolts has another form than the wheel's",
    do="nuts or bolts made for this wheel's seat",
    safety="A ball in a cone touches on a line and comes loose. " + FASTENED,
)  # fmt: skip
room.check(
    "corners.thread_engagement", per="corner",
    between=not_below("engagement", one_thread),
    title="thread that holds the wheel, against one stud or bolt diameter",
    kind="length", needs={
        "engagement": ENGAGEMENT,
        "thread": "corners.fastener_thread.{corner}",
    },
    slack=one_diameter, formula="engaged length − thread diameter", consequence="injury",
    stops=("creep", "full load"), source=PRACTICE,
    when_short="less thread holds the wheel than its diameter",
    do="longer studs or bolts, or a thinner spacer", safety=FASTENED,
)  # fmt: skip
room.check(
    "corners.thread_turns", per="corner",
    between=not_below(turns_on, turns_least),
    title="turns that nuts or bolts go on, against the least for their thread",
    kind="number", needs={
        "engagement": ENGAGEMENT,
        "thread": "corners.fastener_thread.{corner}",
    },
    slack=enough_turns, formula="engaged length/pitch − least turns", consequence="injury",
    stops=("move", "full load"),
    source=Source("wheel hardware maker's installation table", how="read"),
    when_short="fewer turns hold the wheel than the least that is used",
    do="longer studs or bolts, or a thinner spacer", safety=FASTENED,
)  # fmt: skip
room.check(
    "corners.nut_bottoming", title="closed nuts seat before they bottom", per="corner",
    between=not_above(stud_in_nut, "closed_depth"),
    kind="length", needs={
        "form": "wheel_nuts.{corner}.form", "closed_depth": "?wheel_nuts.{corner}.closed_depth",
        "stud_length": "?wheel_studs.{corner}.length",
        "seat_depth": "wheel.{corner}.seat_depth", "spacer": SPACER,
    },
    slack=not_bottomed, formula="closed depth − stud inside the nut", gap_wanted=0.001,
    consequence="injury", stops=("move", "full load"), source=PRACTICE,
    when_short="the stud meets the nut's end before the wheel is clamped",
    do="open or deeper nuts",
    safety="A nut that bottoms feels tight and clamps nothing. " + FASTENED,
)  # fmt: skip
room.check(
    "corners.caliper_barrel_gap", title="caliper to the rim's barrel", per="corner",
    between=LEFT,
    kind="length", needs={
        "barrel": "wheel.{corner}.barrel_inner_radius",
        "caliper": "caliper.{corner}.outer_radius",
    },
    slack=barrel_gap, formula="barrel inner radius − caliper outer radius", gap_wanted=0.003,
    consequence="injury", stops=("move", "full load"), source=PRACTICE,
    pose="wheel turned by hand; stuck-on balance weights come off this room",
    when_short="the rim's barrel meets the caliper", do=CALIPER_DO, safety=BRAKE,
)  # fmt: skip
room.check(
    "corners.caliper_spoke_gap", title="caliper to the spokes", per="corner", kind="length",
    between=LEFT,
    needs={
        "spokes": "wheel.{corner}.spoke_map|wheel.{corner}.spoke_depth", "spacer": SPACER,
        "face": "caliper.{corner}.face_offset", "radius": "caliper.{corner}.outer_radius",
    },
    slack=spoke_gap, formula="spoke depth + spacer − caliper face", gap_wanted=0.003,
    consequence="injury", stops=("move", "full load"), source=PRACTICE,
    pose="wheel turned by hand, new pads; bending of wheel and hub in a bend is in the gap wanted",
    when_short="the spokes meet the caliper", do=CALIPER_DO, safety=BRAKE,
)  # fmt: skip
room.check(
    "corners.rolling_match", title="front and rear wheels turn alike", per="car", kind="ratio",
    between=not_above(rolling_apart, ("limit", ROLLING_MATCH)),
    share_of="the rear wheels' rolling radius",
    needs={
        "drive": "car.drive", "limit": "?car.rolling_match_limit",
        "front_left": "corners.rolling_radius.front.left",
        "front_right": "corners.rolling_radius.front.right",
        "rear_left": "corners.rolling_radius.rear.left",
        "rear_right": "corners.rolling_radius.rear.right",
    },
    slack=rolling_match, formula="limit − |front − rear|/rear", consequence="damage",
    stops=("drive", "compete"), source=PRACTICE, pose="all-wheel drive, straight ahead",
    when_short="front and rear roll differently and wind up the drive",
    do="sizes whose circumferences match; ask the maker for the limit",
)  # fmt: skip
room.check(
    "corners.pair_match", title="both tyres of an axle of one size", per="axle", kind="match",
    needs={"left": "corners.marking.{axle}.left", "right": "corners.marking.{axle}.right"},
    slack=pair_match, formula="sizes are equal", consequence="damage",
    stops=("drive", "compete"), source=Source("UN R142", clause="same tyres on one axle"),
    when_short="left and right carry different sizes", do="the same size on both sides",
)  # fmt: skip
room.check(
    "corners.tyre_pressure", title="pressure within the tyre's limit", per="corner",
    between=not_above("pressure", "limit"),
    kind="pressure_gauge", needs={
        "limit": "tyre.{corner}.pressure_limit", "pressure": "corner.{corner}.tyre_pressure",
    },
    slack=pressure_reserve, formula="cold limit − cold pressure", consequence="injury",
    stops=("drive", "compete"), source=Source("ETRTO Standards Manual", clause="pressures"),
    pose="cold", when_short="more pressure is set than the tyre allows",
    do="less pressure, or a tyre that allows it", safety=BURST,
)  # fmt: skip
room.check(
    "corners.valve", title="tyre valve against top speed", per="corner", kind="speed",
    between=not_above("speed", SNAP_IN_SPEED),
    needs={"valve": "wheel.{corner}.valve", "speed": TOP_SPEED},
    slack=valve_speed, formula="210 km/h − top speed, snap-in valves only", consequence="injury",
    stops=("compete",), source=Source("ETRTO recommendations", clause="snap-in valves"),
    when_short="rubber valves bend outwards at this speed", do="clamp-in metal valves",
    safety="A valve that bends at speed lets the tyre down.",
)  # fmt: skip
room.check(
    "corners.scrub_shift", title="shift of scrub radius at the front", per="car", kind="length",
    between=not_above(scrub_moved, SCRUB_SHIFT),
    needs={
        "axle_shift_left": "corners.outboard_shift.front.left",
        "axle_shift_right": "corners.outboard_shift.front.right",
        "radius": "corners.loaded_radius.front.left",
        "radius_then": "base:corners.loaded_radius.front.left", "kpi": "car.kpi_front",
    },
    slack=scrub_shift, formula="15 mm − |outboard shift − radius growth·tan KPI|",
    consequence="nuisance", stops=("compete",), source=PRACTICE, pose="straight ahead",
    when_short="the contact patch stands much further out than the maker meant",
    do="offset nearer to standard; expect more tug at the wheel under one-sided braking",
)  # fmt: skip
