"""Fasteners of wheel and suspension: what their makers say of them.

A tightening figure is the maker's, with its document, the state of the thread and the fastener;
what nobody looked up stays blank.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, Field

from drybuild.build.model import Part, Place, fact
from drybuild.build.thread_marking import ThreadMark
from drybuild.values.types import Angle, Length, Ratio, Torque

BoltClass = Literal["8.8", "10.9", "12.9"]
ThreadCondition = Literal["dry", "oiled", "thread lock", "anti-seize"]

# The figure is a setting, not a measurement: its doubt is the clamp's, not its own.
AS_GIVEN: Final[dict[str, Any]] = {"catalogue": "0 N·m"}


def one_line(text: str) -> str:
    """Text without line breaks."""
    return " ".join(text.split())


Word = Annotated[str, AfterValidator(one_line), Field(max_length=200)]


class Fastener(Part):
    """The bolts or nuts of one joint."""

    kind: Literal["fastener"] = "fastener"
    thread: ThreadMark | None = fact('thread with its pitch, e.g. "M12x1.5"')
    property_class: BoltClass | None = fact("property class as marked on the head, e.g. 10.9")
    held_by: Literal["nut", "steel", "iron", "aluminium"] | None = fact(
        "what the thread goes into: a full nut, or a part of steel, iron or aluminium"
    )
    engagement: Length | None = fact(
        "length of full thread that holds",
        catalogue="0.5 mm",
        measure=("vernier", 3, "bolt beside the joint, or turns counted times the pitch"),
    )
    torque: Torque | None = fact("tightening figure of the maker", **AS_GIVEN)
    turn: Angle | None = fact("further angle after that figure, by the maker", catalogue="0 deg")
    torque_document: Word | None = fact("document, edition and page that gives that figure")
    thread_condition: ThreadCondition | None = fact("state of the thread that the figure is for")
    nut_factor: Ratio | None = fact(
        "torque over clamp and diameter, where somebody measured it", catalogue="25 %"
    )
    laden: bool | None = fact("tightened with the car on its wheels: the bush is at ride height")
    reuse: Literal["one-time", "reusable"] | None = fact(
        "whether the maker lets it go back in once it was undone"
    )
    renewed: bool | None = fact("new ones go in when the joint is opened")
    friction: Ratio | None = fact(
        "friction of thread and seat, where its maker states it for this coating",
        catalogue="0.03",
        typical="0.08 to 0.2",
    )
    seat_diameter: Length | None = fact(
        "mean diameter of the ring that the head or nut bears on: (outside + hole)/2",
        catalogue="0.5 mm",
    )


_JOINTS = {
    "caliper_bolts": "caliper and bracket bolts",
    "damper_bolts": "damper bolts",
    "arm_bolts": "arm or beam bolts at the body",
    "ball_joint_nuts": "ball joint nuts",
    "tie_rod_nuts": "track rod nuts",
    "stub_axle_bolts": "stub axle bolts",
}

FASTENER_PLACES: Final = tuple(
    Place(root, kind="fastener", per="corner", optional=True, title=title)
    for root, title in _JOINTS.items()
)
