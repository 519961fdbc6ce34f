"""What is said of a scan of one corner: the file, what was picked in it, its doubt, its things."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from drybuild.build.model import Model, fact
from drybuild.values import Value, parse_value
from drybuild.values.types import Angle, Length

Place3 = tuple[Length, Length, Length]
ObstacleKind = Literal["fixed", "turns with the upright", "hose", "liner", "painted edge"]


def _name_of_file(name: str) -> str:
    if "/" in name or "\\" in name or name.startswith("."):
        raise ValueError("found a path; expected the name of a file in the folder scans/")
    return name


FileName = Annotated[str, Field(min_length=3, max_length=120), AfterValidator(_name_of_file)]


def _usual(text: str, kind: str) -> Callable[[], Value]:
    """A doubt that stands where nobody stated one."""
    return lambda: parse_value(text, kind, how="assumed")


class Picked(Model):
    """A point found in the scan whose place against the hub is known."""

    name: str = Field(max_length=120, description="what it is, e.g. hub face middle")
    at: tuple[float, float, float] = Field(description="in the scan's own numbers and axes")
    place: Place3 = Field(description="forward, outboard, up of the hub face's middle")


class ScannedThing(Model):
    """Part of the scan that is one obstacle: what lies between two corners of a box."""

    name: str = Field(max_length=120, description="what it is called in findings")
    kind: ObstacleKind = Field(default="fixed", description="how much room it needs")
    low: Place3 = Field(description="rearmost, inmost, lowest corner: forward, outboard, up")
    high: Place3 = Field(description="foremost, outmost, highest corner")


class CornerScan(Model):
    """A 3-D scan of a corner. What no table of ``things`` holds counts as fixed."""

    file: FileName | None = Field(
        default=None, description="file in the folder scans/: PLY, STL, OBJ, XYZ, glTF or GLB"
    )
    units: Literal["m", "mm", "cm", "in"] | None = Field(
        default=None, description="units of its numbers, where its size leaves them in doubt"
    )
    picked: tuple[Picked, ...] = Field(
        default=(), description="three picked points or more; four out of one plane tell a mirror"
    )
    things: tuple[ScannedThing, ...] = Field(default=(), description="obstacles by name")
    wheel_on: bool = Field(
        default=False, description="the wheel as found was on the car when it was scanned"
    )
    hub_rise: Length | None = fact(
        "hub over its place at ride height as found when it was scanned, + up",
        catalogue="2 mm",
        measure=("tape", 3, "hub centre to arch lip, then and on its wheels"),
    )
    fore_error: Length = Field(
        default_factory=_usual("0 ± 1.5 mm", "length"),
        description="doubt of the scan's place along the car, all of it together",
    )
    outboard_error: Length = Field(
        default_factory=_usual("0 ± 1.5 mm", "length"), description="the same across the car"
    )
    up_error: Length = Field(
        default_factory=_usual("0 ± 1.5 mm", "length"), description="the same upwards"
    )
    tilt_error: Angle = Field(
        default_factory=_usual("0 ± 0.3 deg", "angle"),
        description="doubt of its tilt about the car's long axis, + top outboard",
    )
    turn_error: Angle = Field(
        default_factory=_usual("0 ± 0.3 deg", "angle"),
        description="doubt of its turn about the upright axis, + front inboard",
    )
    surface_error: Length = Field(
        default_factory=_usual("0 ± 1 mm", "length"),
        description="doubt of its surface near the binding place, smooth, + away from the wheel",
    )
    bush_give: Length = Field(
        default_factory=_usual("0.5 to 2 mm", "length"),
        description="how far the hub gives sideways each way under load",
    )
