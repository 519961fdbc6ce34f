"""What is to be written down before a part is paid for: measurements that the plan supposes.

A check that the plan supposes to turn out well, which rests on the part and on something nobody has
measured yet: if that turns out otherwise, another part is wanted.
"""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.build.kinds import room_of
from drybuild.build.state import instances_of
from drybuild.examine import OpenBuild
from drybuild.findings import Registry
from drybuild.work.model import Plan, ToMeasure


def before_it_is_paid(
    plan: Plan, opened: OpenBuild, places: Iterable[str], part: str
) -> ToMeasure | None:
    """The first measurement of the plan's list that a part at these places waits for; None for a
    part that waits for none. What is measured of other parts counts where they are of its room."""
    at = [one for place in places for one in instances_of(place)]
    roots = {place.partition(".")[0] for place in at}
    rooms = {room_of()[root] for root in roots if root in room_of()}
    found = [
        rested for one in plan.supposed if (spec := opened.registry.checks.get(one.check))
        if spec.room in rooms for subject in one.subjects or ("car",)
        if any(_is_of(rested := rests_on(opened.registry, one.check, subject, opened.build.blends),
                      place) for place in at)
    ]  # fmt: skip
    for m in plan.measure:
        room = room_of().get(m.input.removeprefix("base:").partition(".")[0])
        of_another = m.note_as.startswith("part.") and m.note_as.split(".")[1] != part
        if of_another or (room is not None and room not in rooms):
            continue
        if any(m.input.removeprefix("base:") in rested for rested in found):
            return m
    return None


def rests_on(
    registry: Registry, check: str, subject: str, blends: tuple[str, ...]
) -> frozenset[str]:
    """Addresses of all facts that a check at a subject asks for, through the results between."""
    made, seen = registry.instances(blends), set[str]()
    waiting = [a for _, n in registry.inputs(registry.checks[check], subject) for a in n.addresses]
    while waiting:
        address = waiting.pop()
        if address in seen:
            continue
        seen.add(address)
        if address in made:
            spec, of = made[address]
            waiting += [a for _, n in registry.inputs(spec, of) for a in n.addresses]
    return frozenset(seen - made.keys())


def _is_of(rested: frozenset[str], place: str) -> bool:
    return any(address.startswith(f"{place}.") for address in rested)
