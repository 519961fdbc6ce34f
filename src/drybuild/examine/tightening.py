"""The joints that the work opens, each with the maker's figure or a blank to fill.

Nothing here is worked out: a figure stands in the build with its document, or it is looked up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.build.fixings import fixing_of, in_own_words
from drybuild.build.kinds import places
from drybuild.examine.examination import Examination
from drybuild.findings import AXLES
from drybuild.systems.corners.results_fasteners import HOSTS

ROOTS = ("wheel_nuts", *HOSTS)
WHEELS = ("wheel", "tyre", "disc", "caliper", "spring", "damper", "arm", "stub_shim")


@dataclass(frozen=True)
class Joint:
    """One kind of joint of one axle. None where nobody stated it."""

    title: str
    torque: float | None
    turn: float | None
    document: str | None
    condition: str | None
    thread: str | None
    one_time: bool
    laden: bool


def joints(examination: Examination) -> tuple[Joint, ...]:
    """Joints of the axles whose parts were changed since as found."""
    found = []
    for axle in AXLES:
        for root in ROOTS:
            hosts = WHEELS if root == "wheel_nuts" else (HOSTS[root],)
            if any(_changed(examination, f"{host}.{axle}.left") for host in (*hosts, root)):
                found.append(joint(examination, root, axle))
    return tuple(found)


def _changed(examination: Examination, place: str) -> bool:
    return examination.state.place_changed(place)


def joint(examination: Examination, root: str, axle: str) -> Joint:
    """The joints of one kind on one axle, whether or not its parts were changed.

    root: one of ``ROOTS``.
    """

    def fact(name: str) -> Any:
        at = f"{root}.{axle}.left.{name}"
        outcome = examination.evaluation.get(at)
        return outcome.value if outcome.known else None

    def figure(name: str) -> float | None:
        found = fact(name)
        return None if found is None else float(found)

    wheel = root == "wheel_nuts"
    fixing = fixing_of(examination.state.build.parts)
    return Joint(
        f"{axle} {in_own_words(places()[root].title, fixing)}", figure("torque"),
        None if wheel else figure("turn"), fact("torque_document"), fact("thread_condition"),
        fact("thread"), not wheel and fact("reuse") == "one-time",
        not wheel and bool(fact("laden")),
    )  # fmt: skip
