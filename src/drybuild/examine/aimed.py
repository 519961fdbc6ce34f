"""Where the planned alignment sets another camber than the one the car is worked out with.

Which of two stated figures counts is for the owner to say: nothing is put right here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

import numpy as np

from drybuild.build import Change, State
from drybuild.build.editing import comment_at
from drybuild.examine.examination import DRAWS, SEED, evaluate
from drybuild.findings import AXLES, Registry
from drybuild.values import show, summary

SHEET = "ride.alignment_sheet"
APART = radians(0.25)
"""Common practice: camber is set this near to its aim; at the top of a tyre it is 1 to 1.5 mm."""


GIVEN = ("as standard", "a guess")
"""How the comment behind a wish begins that a new folder was given and nobody has said."""


def as_given(state: State, address: str) -> bool:
    """Whether a wish stands as a new folder was given it: its comment there says so."""
    table, _, key = address.partition(".")
    if table != "goal" or state.settings.get(address) is not None:
        return False
    return comment_at(state.build, "build.toml", (table, key)).startswith(GIVEN)


@dataclass(frozen=True, slots=True)
class AimApart:
    """An axle whose aim is not the camber that it is worked out with. said: in plain words; line:
    with the line of a job that makes it one."""

    axle: str
    said: str

    @property
    def aim(self) -> str:
        """The address of the aim."""
        return f"goal.camber_{self.axle}"

    @property
    def setting(self) -> Change:
        """What the job that aligns does, where the aim counts."""
        return Change("set", f"corner.{self.axle}.camber_now", {"same_as": self.aim})

    @property
    def line(self) -> str:
        """The sentence with both cures, as a file has them."""
        return (
            f"{self.said} Say which: put the aim right ({self.aim}), or let the job that aligns "
            f'set it: set = {{ "{self.setting.target}" = {{ same_as = "{self.aim}" }} }}'
        )


def aims_apart(state: State, registry: Registry) -> list[AimApart]:
    """Each axle whose aim is not the camber that the state is worked out with.

    Only where an alignment is owed, an aim is stated, and neither a reading nor a job says how the
    wheels stand after it.
    """
    owed = state.owed(registry.records[SHEET].changed, SHEET)
    axles = [axle for axle in AXLES if any(f".{axle}." in f"{place}." for place in owed)]
    if not axles:
        return []
    evaluation = evaluate(state, registry, DRAWS, SEED)
    found = []
    for axle in axles:
        aim = evaluation.get(f"goal.camber_{axle}")
        if not aim.known or aim.value is None:
            continue
        wanted = float(np.nanmedian(aim.value))
        sides = [evaluation.get(f"ride.camber.{axle}.{side}") for side in ("left", "right")]
        now = [evaluation.get(f"corner.{axle}.{side}.camber_now") for side in ("left", "right")]
        worked = [
            summary(one.value) for one, read in zip(sides, now, strict=True)
            if one.known and one.value is not None and not read.known
        ]  # fmt: skip
        furthest = max(worked, key=lambda at: abs(at[0] - wanted), default=None)
        if furthest is not None and abs(furthest[0] - wanted) > APART:
            found.append(AimApart(axle, _sentence(axle, show("angle", *furthest), wanted)))
    return found


def _sentence(axle: str, worked: str, wanted: float) -> str:
    return (
        f"the {axle} wheels are worked out at a camber of {worked}, as the parts leave "
        f"them, and the alignment is to set {show('angle', wanted)}: room at arch and arm is "
        "worked out for the first alone."
    )
