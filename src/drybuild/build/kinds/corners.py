"""What the corners room reads: wheels, tyres, spacers, fasteners, hubs, clearances by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from drybuild.build.kinds.corner_scan import CornerScan
from drybuild.build.kinds.fastening import (
    AS_GIVEN,
    FASTENER_PLACES,
    BoltClass,
    Fastener,
    ThreadCondition,
    Word,
)
from drybuild.build.kinds.identity import DateCode
from drybuild.build.model import Model, Part, Place, Section, fact
from drybuild.build.thread_marking import ThreadMark
from drybuild.build.tyre_marking import TyreMark
from drybuild.build.wheel_marking import offset_typed
from drybuild.values import HowKnown, Value, parse_value
from drybuild.values.types import (
    Angle,
    CurveOf,
    Fraction,
    Inertia,
    Length,
    Mass,
    Number,
    PressureGauge,
    Ratio,
    RimWidth,
    Speed,
    SpringRate,
    Torque,
)

__all__ = ["PLACES", "SECTIONS", "Fastener"]

Seat = Literal["cone 60", "ball R12", "ball R13", "ball R14", "flat"]

Offset = Annotated[Length, BeforeValidator(offset_typed)]
"""An offset, ``42 mm`` or as it stands on the wheel: ``ET42``."""

_RULE_ACROSS_FLANGE = (
    "straightedge",
    5,
    "wheel off, face down: straightedge over the inner flange, rule to the hub face, less half "
    "the overall width",
)


def _handbook(text: str, kind: str) -> Callable[[], Value]:
    """A figure with its doubt that stands where the part's file says nothing."""
    return lambda: parse_value(text, kind, how="catalogue")


def _counted(name: str, known: HowKnown, circle: Value | None) -> HowKnown:
    """How a fact of what has a bolt circle is known: whoever says its diameter (``5x112``) has
    counted the holes on it."""
    if name != "bolt_count" or circle is None or circle.same_as is not None:
        return known
    return max(known, circle.how)


class Wheel(Part):
    """A road wheel."""

    kind: Literal["wheel"] = "wheel"
    diameter_code: Annotated[int, Field(ge=10, le=24)] | None = fact(
        "rim diameter code as marked, e.g. 17 (a code, not a length)"
    )
    rim_width: RimWidth | None = fact(
        "nominal rim width between the bead seats", catalogue="1 mm", possible="3 to 14 in",
        stamped=True,
    )
    offset: Offset | None = fact(
        "mounting face to rim centre line (ET), + face outboard of the centre line",
        catalogue="1 mm",
        measure=_RULE_ACROSS_FLANGE,
        typical="20 to 50 mm",
        possible="-100 to 120 mm",
        stamped=True,
    )
    flange_allowance: Length | None = fact(
        "overall width less rim width, both flanges together; 25 mm for J flanges",
        catalogue="2 mm",
        possible="0 to 60 mm",
    )
    hub_bore: Length | None = fact(
        "diameter of the centre bore",
        catalogue="0.05 mm",
        measure=("vernier", 3, "wheel off, across the bore at two places"),
        typical="54 to 76 mm",
        possible="40 to 180 mm",
    )
    bolt_count: Annotated[int, Field(ge=3, le=10)] | None = fact(
        "number of bolt holes", plain="bolt holes"
    )
    bolt_circle: Length | None = fact(
        "bolt circle diameter (PCD)", catalogue="0.1 mm", possible="80 to 230 mm", stamped=True
    )
    seat: Seat | None = fact("form of the nut or bolt seat")
    seat_depth: Length | None = fact(
        "mounting face out to where the seated nut's thread begins (bolts: to the bolt's seat)",
        catalogue="0.5 mm",
        measure=("vernier", 5, "wheel off, through a bolt hole, nut laid in its seat"),
        typical="8 to 22 mm",
        possible="0 to 60 mm",
    )
    load_rating: Mass | None = fact(
        "rated load of one wheel, marked on it", catalogue="0 kg", stamped=True
    )
    barrel_inner_radius: Length | None = fact(
        "smallest inner radius of the barrel over the caliper, from the axis",
        catalogue="1 mm",
        measure=(
            "vernier",
            10,
            "wheel off, across the barrel at the caliper's depth, half",
        ),
        typical="165 to 230 mm",
        possible="90 to 320 mm",
    )
    spoke_depth: Length | None = fact(
        "mounting face out to the backs of the spokes, least value over the caliper's sweep",
        catalogue="1 mm",
        measure=(
            "depth gauge",
            10,
            "wheel off, face down: straightedge on the hub face, depth down to each spoke's back",
        ),
        typical="15 to 70 mm",
        possible="-60 to 160 mm",
    )
    spoke_map: CurveOf("length", "length") | None = fact(  # type: ignore[valid-type]
        "spoke depth read at several distances from the axis, out along a spoke, as a table"
    )
    valve: Literal["snap-in", "clamp-in"] | None = fact("rubber snap-in or metal clamp-in valve")
    rotating_inertia: Inertia | None = fact("inertia about the axle", catalogue="10 %")
    barrel_profile: CurveOf("length", "length") | None = fact(  # type: ignore[valid-type]
        "inner radius of the barrel, from the axis, against distance from the mounting face, "
        "+ outboard",
        measure=("depth gauge", 20, "wheel off, face down: every 10 mm from the mounting face in"),
    )

    def how_known(self, name: str, otherwise: HowKnown) -> HowKnown:
        """How a fact is known; the number of holes at least as well as their circle."""
        return _counted(name, super().how_known(name, otherwise), self.bolt_circle)


class Tyre(Part):
    """A tyre. Its marking gives design sizes; measured or maker's sizes go before them."""

    kind: Literal["tyre"] = "tyre"
    marking: TyreMark | None = fact('marking on the sidewall, e.g. "205/50 R16 87V"')
    overall_diameter: Length | None = fact(
        "outside diameter, new, inflated, not loaded",
        catalogue="1 %",
        measure=("tape", 5, "around the tread, inflated, off the ground, over pi"),
        possible="400 to 1200 mm",
    )
    section_width: Length | None = fact(
        "width over the sidewalls, inflated, without rim protector or letters",
        catalogue="1.5 %",
        measure=("rule", 5, "two squares on the sidewalls, rule between them, at the widest place"),
        possible="100 to 450 mm",
    )
    section_rim_width: RimWidth | None = fact(
        "rim width on which that section width holds", catalogue="0 mm"
    )
    growth: Fraction | None = fact(
        "share by which width and height grow in service; the regulation allows 4 % over design"
    )
    rolling_circumference: Length | None = fact(
        "road covered in one turn at 60 km/h",
        catalogue="1 %",
        measure=("tape", 15, "five turns rolled in a straight line, laden, over five"),
    )
    rolling_factor: Number = Field(
        default_factory=_handbook("2.97 to 3.10", "number"),
        description="road in one turn over design diameter, where the circumference is not stated; "
        "3.05 with +1.5/-2.5 % for radial tyres at 60 km/h",
    )
    design_match: Ratio = Field(
        default_factory=_handbook("0.99 to 1.01", "ratio"),
        description="its diameter over that which its marking stands for, where its own is not "
        "stated; state the diameter instead: measured, or its maker's",
        json_schema_extra={"plain": "diameter against its marking"},
    )
    vertical_rate: SpringRate | None = fact(
        "vertical spring rate at its pressure", catalogue="10 %"
    )
    rim_width_least: RimWidth | None = fact("narrowest rim its maker permits", catalogue="0 mm")
    rim_width_greatest: RimWidth | None = fact("widest rim its maker permits", catalogue="0 mm")
    load_pressure: PressureGauge | None = fact(
        "gauge pressure at which it carries its load index", catalogue="0 kPa gauge"
    )
    pressure_limit: PressureGauge | None = fact(
        "greatest cold pressure marked or published", catalogue="0 kPa gauge", stamped=True
    )
    rotating_inertia: Inertia | None = fact("inertia about the axle", catalogue="10 %")
    date_code: DateCode | None = fact(
        'date code on the sidewall, week and year, e.g. "2523"',
        measure=("eye", 2, "the last four figures behind DOT, often on the inner sidewall only"),
    )


class Spacer(Part):
    """A spacer between hub and wheel."""

    kind: Literal["spacer"] = "spacer"
    thickness: Length | None = fact(
        "thickness", catalogue="0.1 mm", measure=("vernier", 2, "at three places")
    )
    bolted_on: bool | None = fact("has studs of its own and is bolted to the hub first")
    spigot: Length | None = fact(
        "diameter of its own centring spigot; leave out if it has none", catalogue="0.05 mm"
    )


class CentringRing(Part):
    """A ring that fills the gap between hub spigot and wheel bore. It carries no load."""

    kind: Literal["centring_ring"] = "centring_ring"
    inner_diameter: Length | None = fact("inside diameter", catalogue="0.05 mm")
    outer_diameter: Length | None = fact("outside diameter", catalogue="0.05 mm")


class WheelNut(Part):
    """The wheel nuts or bolts of one corner."""

    kind: Literal["wheel_nut"] = "wheel_nut"
    form: Literal["nut", "bolt"] | None = fact("nuts on studs, or bolts into the hub")
    thread: ThreadMark | None = fact('thread with its pitch, e.g. "M12x1.5"')
    seat: Seat | None = fact("form of its seat")
    thread_length: Length | None = fact(
        "length of full thread in a nut (bolts: leave out, the hub decides)",
        catalogue="0.5 mm",
        measure=("vernier", 2, "nut in hand: depth of full thread"),
    )
    closed_depth: Length | None = fact(
        "closed nut: from where its thread begins to its blind end; leave out if open",
        catalogue="0.5 mm",
    )
    shank_length: Length | None = fact(
        "bolt: from its seat to its tip", catalogue="0.5 mm", measure=("vernier", 2, "bolt in hand")
    )
    property_class: BoltClass | None = fact(
        "property class of the stud or bolt, as marked on it; nuts carry its first number"
    )
    torque: Torque | None = fact("tightening figure of the car's or wheel's maker", **AS_GIVEN)
    torque_document: Word | None = fact("document, edition and page that gives that figure")
    thread_condition: ThreadCondition | None = fact("state of the thread that the figure is for")
    nut_factor: Ratio | None = fact(
        "torque over clamp and diameter; by the seat where nobody measured it", catalogue="25 %"
    )


class WheelStud(Part):
    """The wheel studs of one hub."""

    kind: Literal["wheel_stud"] = "wheel_stud"
    thread: ThreadMark | None = fact('thread with its pitch, e.g. "M12x1.5"')
    length: Length | None = fact(
        "from the hub face to the end of full thread at the tip",
        catalogue="0.5 mm",
        measure=("vernier", 3, "wheel off, disc on: disc face to the stud's last full thread"),
        typical="22 to 50 mm",
    )


class HandClearance(Model):
    """A clearance measured by hand at one point, with all that it was measured with.

    What is left out reads as the car as found at its ride height.
    """

    gap: Length | None = fact(
        "level distance from the tyre's side to the point; − where the point stands over the tread",
        catalogue="1 mm",
        plain="tyre's side to {of}",
        measure=("coins", 5, "stacked coins or a drill shank at the tightest place, this side"),
        typical="5 to 45 mm",
        possible="-200 to 400 mm",
    )
    over: Length | None = fact(
        "upright distance from the tyre's shoulder to the point, where it can pass over the tread",
        catalogue="2 mm",
        plain="tyre's shoulder up to {of}",
        measure=("rule", 3, "tread shoulder straight up to the point"),
        possible="-200 to 500 mm",
    )
    height: Length | None = fact(
        "height of the point over the hub centre, + above",
        catalogue="5 mm",
        plain="hub centre up to {of}",
        measure=("tape", 3, "hub centre straight up to the point"),
        possible="-500 to 700 mm",
    )
    # With what the gap was taken: said beside it, and asked for only where it is named.
    rim_width: RimWidth | None = fact(
        "rim width of the wheel it was taken with", catalogue="0 mm", beside=True,
        plain="rim width when the gap to {of} was taken",
        possible="3 to 14 in",
    )
    offset: Offset | None = fact(
        "offset of the wheel it was taken with", catalogue="1 mm", beside=True,
        plain="offset when the gap to {of} was taken",
        possible="-100 to 120 mm",
    )
    spacer: Length | None = fact(
        "spacer behind that wheel, 0 if none", catalogue="0.1 mm", beside=True,
        plain="spacer when the gap to {of} was taken",
    )
    tyre: TyreMark | None = fact(
        "marking of the tyre it was taken with", beside=True,
        plain="tyre when the gap to {of} was taken",
    )
    section_width: Length | None = fact(
        "measured width of that tyre on that wheel", catalogue="2 mm", beside=True,
        plain="tyre's width when the gap to {of} was taken",
    )
    overall_diameter: Length | None = fact(
        "measured diameter of that tyre", catalogue="3 mm", beside=True,
        plain="tyre's diameter when the gap to {of} was taken",
    )
    pressure: PressureGauge | None = fact(
        "pressure in that tyre", catalogue="10 kPa gauge", beside=True,
        plain="tyre pressure when the gap to {of} was taken",
    )
    camber: Angle | None = fact(
        "camber when it was taken, + top out", catalogue="0.25 deg", beside=True,
        plain="camber when the gap to {of} was taken",
        possible="-15 to 15 deg",
    )
    drop: Length | None = fact(
        "how much lower than as found the body stood over the hub, all reasons together",
        catalogue="2 mm", beside=True, plain="drop when the gap to {of} was taken",
    )
    load: Word | None = fact(
        'who and what was in the car, e.g. "nobody"', beside=True,
        plain="load when the gap to {of} was taken",
    )
    pose: Word | None = fact(
        'how it stood, e.g. "on its wheels, straight ahead"', beside=True,
        plain="how the car stood when the gap to {of} was taken",
    )
    tilts: bool | None = fact(
        "camber is set between this point and the wheel (strut bolts): the wheel tilts against it",
        beside=True, plain="whether the wheel tilts against {of}",
    )


class Corner(Section):
    """One corner: hub, pressure, and clearances measured by hand."""

    tyre_pressure: PressureGauge | None = fact(
        "cold tyre pressure as set",
        catalogue="10 kPa gauge",
        measure=("tyre gauge", 2, "cold, before driving"),
        typical="1.7 to 2.6 bar gauge",
        possible="0 to 8 bar gauge",
    )
    hub_spigot: Length | None = fact(
        "diameter of the hub's spigot",
        catalogue="0.05 mm",
        measure=("vernier", 3, "wheel off, across the spigot at two places"),
        possible="40 to 180 mm",
    )
    hub_spigot_length: Length | None = fact(
        "how far the spigot stands out of the hub face", catalogue="0.5 mm"
    )
    bolt_count: Annotated[int, Field(ge=3, le=10)] | None = fact(
        "studs or bolt holes of the hub", plain="studs or bolt holes of the hub"
    )
    bolt_circle: Length | None = fact(
        "bolt circle diameter (PCD) of the hub", catalogue="0.1 mm", plain="hub bolt circle",
        possible="80 to 230 mm",
    )
    stud_spacing: Length | None = fact(
        "centre to centre of neighbouring studs, where the bolt circle is not known",
        catalogue="0.3 mm",
        measure=("vernier", 3, "outside to outside of two neighbours, less one stud"),
    )
    hub_thread: ThreadMark | None = fact("bolts: the thread in the hub")
    hub_thread_depth: Length | None = fact(
        "bolts: depth of thread in the hub", catalogue="0.5 mm",
        measure=("vernier", 5, "wheel off: depth rod down a bolt hole to the end of its thread, "
                 "less what has no thread (the disc, a countersink)"),
    )  # fmt: skip
    bump_outboard: Length | None = fact(
        "how far the hub moves outboard from ride height as found to the solid bump stop",
        plain="hub's way outboard up to full bump",
        catalogue="2 mm",
        measure=("plumb line", 15, "spring out: hub face to the line, both ends"),
        typical="-8 to 8 mm",
    )
    upright_point: HandClearance | None = fact(
        "inner side: tightest point on what carries the hub (upright, stub axle, end of a beam) or "
        "on the damper or strut: it moves with the hub",
        plain="hub carrier or damper",
    )
    arm_point: HandClearance | None = fact(
        "inner side: tightest point on body, arm, spring or liner (the hub rises past it)",
        plain="arm, spring or body",
    )
    arch_point: HandClearance | None = fact(
        "outer side: the inner edge of the arch lip", plain="arch lip"
    )
    scan: CornerScan | None = fact("a 3-D scan of this corner, in the folder scans/")

    def how_known(self, name: str, otherwise: HowKnown) -> HowKnown:
        """How a fact is known; the number of holes at least as well as their circle."""
        return _counted(name, super().how_known(name, otherwise), self.bolt_circle)


class CornersCar(Section):
    """What the corners room reads of the whole car."""

    rolling_match_limit: Fraction | None = fact(
        "all-wheel drive: greatest share by which front and rear may differ, by the maker"
    )
    kpi_front: Angle | None = fact(
        "kingpin inclination at the front wheels, + leaning in at the top", catalogue="0.5 deg"
    )


class CornersGoal(Section):
    """What the owner wants of wheels and tyres."""

    top_speed: Speed | None = fact("fastest that the car will be driven, road or circuit")


PLACES = (
    Place("wheel", kind="wheel", per="corner", title="wheel", without=("move",)),
    Place("tyre", kind="tyre", per="corner", title="tyre", without=("move",)),
    Place("spacer", kind="spacer", per="corner", optional=True, title="spacer"),
    Place(
        "centring_ring", kind="centring_ring", per="corner", optional=True, title="centring ring"
    ),
    Place(
        "wheel_nuts",
        kind="wheel_nut",
        per="corner",
        title="wheel nuts or bolts",
        without=("move",),
    ),
    Place("wheel_studs", kind="wheel_stud", per="corner", optional=True, title="wheel studs"),
    *FASTENER_PLACES,
)

SECTIONS = {"corner": Corner, "car": CornersCar, "goal": CornersGoal}
