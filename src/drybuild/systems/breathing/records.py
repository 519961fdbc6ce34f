"""Hand checks that the breathing room asks for after work on the air path or the exhaust."""

from __future__ import annotations

from drybuild.findings import PRACTICE, Room


def register(room: Room) -> None:
    """Offer the records."""
    room.record(
        "breathing.intake_clamps",
        title="intake and charge hoses: nothing left inside, every clamp tight and seated",
        changed=("intake", "air_meter", "charge_cooler", "throttle", "turbo", "relief_valve"),
        stops=("run",), evidence=("value", "name"),
        do="Each hose is looked into as it goes on, and one that was not comes off for it: rags "
        "and tools go through the engine. Clamps behind the bead, to their maker's figure or "
        "LOOK UP.",
        safety="Keep hands, sleeves and tools away from an open compressor inlet when it runs.",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "breathing.turbo_oil",
        title="turbocharger oil: feed primed and tight, return free and falling all the way",
        changed=("turbo",), stops=("run",), evidence=("value", "name"),
        do="Fill the bearing housing by hand, turn over with ignition and injection disabled "
        "until oil pressure shows, then look at every joint.",
        safety="Oil on a hot exhaust burns: no leak is small here.", source=PRACTICE,
    )  # fmt: skip
    room.record(
        "breathing.boost_leak", title="boost leak test of the charge side",
        changed=("intake", "charge_cooler", "throttle", "turbo", "relief_valve", "boost_control"),
        stops=("full load",), evidence=("value", "tool", "name"),
        do="Close the intake with a plug that cannot fly off, bring the charge side to no more "
        "than the maker allows for a test, note the pressure and how fast it falls.",
        safety="A plug or hose under pressure flies off hard: stand aside, eye protection, let the "
        "pressure off before you open anything.",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "breathing.exhaust_clearance",
        title="exhaust: gap to fuel and brake lines, wiring and floor; heat shields back on",
        changed=("dump_pipe", "catalyst", "exhaust", "turbo"), stops=("run",),
        evidence=("value", "tool", "name"),
        do="Measure the least gap to every fuel line, brake line and loom, engine pushed both ways "
        "on its mounts; write the least one down.",
        safety="A hot pipe beside a fuel line is a fire. Petrol vapour lights at about 260 °C; the "
        "pipe is far hotter.",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "breathing.exhaust_leak", title="exhaust joints tight, cold and warm",
        changed=("dump_pipe", "catalyst", "exhaust", "turbo"), stops=("creep", "full load"),
        evidence=("value", "name"),
        do="Outdoors: listen and feel for leaks from a distance on a cold start, look again for "
        "soot when it is warm and off.",
        safety="Exhaust gas kills without a smell: never indoors without extraction, windows of "
        "the car shut until it is tight. Hot parts burn.",
        source=PRACTICE,
    )  # fmt: skip
