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
    wide = max(len(joint.title) for joint in joints) + 1
    for joint in joints:
        lines += wrapped(f"  {joint.title:<{wide}}{figure_text(joint, system)}", wide + 2)
    return "\n".join([*lines, *wrapped(RULE, 0)])


def figure_text(joint: Joint, system: System = "metric") -> str:
    """The maker's figure with its document, or LOOK UP and blanks."""
    figure = figure_of(joint, system)
    said = f"{figure}, {source_of(joint)}" if figure else BLANK
    if joint.one_time:
        said += "; one-time: new ones go in"
    if joint.laden:
        said += "; car on its wheels"
    return said


def figure_of(joint: Joint, system: System = "metric") -> str:
    """The maker's figure alone; empty where it cannot be traced, for that is no figure."""
    if joint.torque is None or not joint.document or joint.condition is None:
        return ""
    said = show("torque", joint.torque, system=system)
    return said if joint.turn is None else f"{said}, then {show('angle', joint.turn)}"


def source_of(joint: Joint) -> str:
    """State of the thread, the fastener and the document that a figure is for."""
    thread = f", {joint.thread}" if joint.thread is not None else ""
    return f"threads {joint.condition}{thread} ({joint.document})"
