"""Records of the corners: what calculation cannot release and a hand must."""

from __future__ import annotations

from drybuild.findings import PRACTICE

from .results_room import room

FITTED = ("wheel.*", "spacer.*", "wheel_nuts.*", "wheel_studs.*", "centring_ring.*")

# Work for which the wheels come off, whatever is changed.
WHEELS_OFF = (
    *FITTED, "tyre.*", "disc.*", "caliper.*", "pads.*", "brake_hose.*", "spring.*", "damper.*",
    "bump_stop.*", "arm.*", "stub_shim.*", "bar_link.*", "drive_shaft.*",
)  # fmt: skip

room.record(
    "corners.nuts_tightened",
    title="wheel nuts or bolts tightened crosswise to the maker's figure",
    changed=WHEELS_OFF,
    stops=("creep", "full load"),
    evidence=("value", "tool", "name"),
    do="clean dry threads and seats, wheel off the ground, crosswise in two steps, then lowered; "
    "LOOK UP the figure for this car and wheel",
    safety="The figure is the vehicle or wheel maker's, with thread condition and document; never "
    "one worked out from a table. Nobody lies under a car on a jack.",
    source=PRACTICE,
)
room.record(
    "corners.nuts_again",
    title="wheel nuts or bolts checked again after the first 50 to 100 km",
    changed=WHEELS_OFF,
    stops=("compete",),
    evidence=("value", "tool", "name"),
    do="same tool, same figure, wheels cold; write the distance with it",
    safety="Paint and new seats settle; nuts or bolts that turn again need the cause found.",
    source=PRACTICE,
)
room.record(
    "corners.swept_by_hand",
    title="clearances by hand through full travel and full lock",
    changed=(
        "wheel.*", "tyre.*", "spacer.*", "arm.*", "stub_shim.*", "spring.*", "damper.*",
        "bump_stop.*",
    ),
    stops=("drive", "compete"),
    evidence=("value", "tool", "name"),
    second_person=True,
    do="springs out (or the car loaded to its limit), each wheel moved from droop to the solid "
    "stop and turned lock to lock; write the smallest gap and where",
    safety="Axle stands on firm level ground, never a jack alone; springs hold energy: restrain "
    "them, whatever the number. Keep hands out while the wheel moves.",
    source=PRACTICE,
)
room.record(
    "corners.turned_by_hand",
    title="each wheel turned by hand, caliper seen clear all round",
    changed=("wheel.*", "spacer.*", "caliper.*", "disc.*", "stub_shim.*"),
    stops=("move", "full load"),
    evidence=("value", "tool", "name"),
    second_person=True,
    do="nuts or bolts at half their figure, one slow turn with putty on the caliper's face and "
    "outer edge; write the thinnest putty",
    safety="Wheel off the ground on axle stands, handbrake and engine off.",
    source=PRACTICE,
    hanging=True,
)
room.record(
    "corners.seat_and_ring_seen",
    title="seats of nuts or bolts, centring ring and hub face seen clean and matching",
    changed=FITTED,
    stops=("creep", "full load"),
    evidence=("value", "name"),
    do="marking paste or a felt pen on the seats: contact all round; hub face free of rust and old "
    "rings",
    safety="A centring ring carries no load: seats and clamping do.",
    source=PRACTICE,
)
