"""The list of joints to tighten, in words: the maker's figure with its document, or LOOK UP."""

from __future__ import annotations

from drybuild.examine.tightening import Joint
from drybuild.show.lines import wrapped
from drybuild.values import System, show

BLANK = "LOOK UP  ________  document ____________________  threads ________"
RULE = (
    "Figures are the maker's alone, for that fastener and that state of its thread; none is worked "
    "out here. Wheels again after 50 to 100 km, joints after the first 100 km: cold, same tool, "
    "same figure, never by angle. One-time fasteners are new each time."
)


def tightening_text(joints: tuple[Joint, ...], system: System = "metric") -> str:
    """One line a joint."""
    if not joints:
        return ""
    lines = ["Joints that this work opens"]
    for joint in joints:
        lines += wrapped(f"  {joint.title:<32}{figure_text(joint, system)}", 34)
    return "\n".join([*lines, *wrapped(RULE, 0)])


def figure_text(joint: Joint, system: System = "metric") -> str:
    """The maker's figure with its document, or LOOK UP and blanks."""
    if joint.torque is None or not joint.document or joint.condition is None:
        said = BLANK  # a figure that nobody can trace is no figure
    else:
        said = show("torque", joint.torque, system=system)
        if joint.turn is not None:
            said += f", then {show('angle', joint.turn)}"
        said += f", threads {joint.condition}"
        if joint.thread is not None:
            said += f", {joint.thread}"
        said += f" ({joint.document})"
    if joint.one_time:
        said += "; one-time: new ones go in"
    if joint.laden:
        said += "; car on its wheels"
    return said
