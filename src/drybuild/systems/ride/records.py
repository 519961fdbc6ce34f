"""Records that ride work makes owed: what only a hand and an eye can release."""

from __future__ import annotations

from drybuild.findings import PRACTICE, Source
from drybuild.systems.ride.checks import SPRING_SAFETY
from drybuild.systems.ride.results import room

MAKER = Source("the vehicle maker's workshop data", how="practice")

STANDS_ON = ("spring.*", "damper.*", "arm.*")

room.record(
    "ride.fasteners_laden",
    title="suspension fasteners tightened with the car on its wheels",
    changed=(*STANDS_ON, "anti_roll_bar.*", "bar_link.*"),
    stops=("creep", "full load"),
    evidence=("value", "tool", "name"),
    second_person=True,
    do="tighten to the maker's figures (LOOK UP), bushes at ride height, new one-time fasteners; "
    "a second person goes over each one",
    safety="A loose arm steers the car by itself. Nobody is under it before it stands on stands.",
    source=MAKER,
)
room.record(
    "ride.springs_seated",
    title="springs seated, held at full droop, compressors off",
    changed=("spring.*", "damper.*"),
    stops=("move",),
    evidence=("value", "name"),
    second_person=True,
    do="wheel hanging: turn each spring by hand, it must not; ends in their steps; then on its "
    "wheels again the same; note the squeeze seen",
    safety=SPRING_SAFETY,
    source=MAKER,
    hanging=True,
)
room.record(
    "ride.alignment_sheet",
    title="alignment measured and set at the new ride height",
    changed=(*STANDS_ON, "bump_stop.*", "stub_shim.*"),
    stops=("drive", "compete"),
    evidence=("value", "tool", "name"),
    do="rolled and settled, tyres at pressure, steering centred: camber, caster and toe, both "
    "sides, before and after",
    safety="Steering joints that were loosened are tightened and seen by a second person.",
    source=PRACTICE,
)
room.record(
    "ride.headlamps_aimed",
    title="headlamp aim seen and set",
    changed=("spring.*", "damper.*", "tyre.*"),
    stops=("drive",),
    evidence=("value", "tool", "name"),
    do="level floor, tyres at pressure, one person in the driver's seat: tester, or a marked wall "
    "at 10 m; beam slope as printed on the lamp or the plate",
    source=Source("UN Regulation 48", clause="6.2.6", how="memory"),
)
room.record(
    "ride.bar_links_set",
    title="anti-roll bar links set free of load",
    changed=("spring.*", "bar_link.*", "anti_roll_bar.*"),
    stops=("compete",),
    evidence=("value", "name"),
    do="both wheels of the axle alike, hanging or with the car on them: the last link bolt slips "
    "in by hand; links clear of tyre and arm at both ends of travel",
    source=PRACTICE,
)
room.record(
    "ride.first_look_after",
    title="ride height and fasteners looked at again after the first 100 km",
    changed=("spring.*", "arm.*", "stub_shim.*"),
    stops=("compete",),
    evidence=("value", "name"),
    do="springs settle: measure hub to arch lip at all four, and go over the fasteners",
    safety="Has anyone touched it since?",
    source=PRACTICE,
)
