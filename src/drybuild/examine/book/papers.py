"""Documents of makers behind wheel rating, brakes and structure, or that there are none."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.build.kinds import place_of
from drybuild.examine.book.identity import BuiltPart

GROUPS = (
    ("what carries the wheel", ("wheel", "tyre", "spacer", "centring_ring", "wheel_nuts",
                                "wheel_studs")),
    ("brakes", ("disc", "caliper", "pads", "brake_hose", "brake_fluid", "master_cylinder",
                "brake_valve", "caliper_bolts")),
    ("structure and suspension", ("arm", "anti_roll_bar", "bar_link", "spring", "damper",
                                  "bump_stop", "rollover_bar", "tow_eye", "damper_bolts",
                                  "arm_bolts", "ball_joint_nuts", "tie_rod_nuts", "stub_shim",
                                  "stub_axle_bolts")),
)  # fmt: skip
"""Where a part that fails hurts somebody: title, roots of its places."""


@dataclass(frozen=True, slots=True)
class Papers:
    """A part and the documents behind it. standard: the vehicle maker's own, covered by its
    approval; then none is looked for. An empty tuple for another part is an absence."""

    group: str
    part: BuiltPart
    documents: tuple[str, ...]
    standard: bool

    @property
    def absent(self) -> bool:
        """Whether nothing stands behind a part that is not the vehicle maker's."""
        return not self.standard and not self.documents


def papers(parts: tuple[BuiltPart, ...]) -> tuple[Papers, ...]:
    """Every part of those groups that is on the car."""
    found = []
    for group, roots in GROUPS:
        for one in parts:
            if place_of()[one.places[0]].root in roots:
                part = one.part
                found.append(Papers(group, one, part.documents, part.standard))
    return tuple(found)
