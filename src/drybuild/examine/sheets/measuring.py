"""Measuring sheets: what is measured at each corner and in each system, by letters of a drawing.

What is asked is what the models say can be measured, with what and how; nothing is asked of a place
that is known to be empty, nor as found once it has been changed (then the figure now is asked).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_lowercase
from types import MappingProxyType

from drybuild.build.declared import Declared, declaration
from drybuild.build.fixings import Fixing, in_own_words, only_of
from drybuild.build.kinds import place_of
from drybuild.examine.held_by import held_by
from drybuild.examine.lookup import Present
from drybuild.examine.naming import plain_name
from drybuild.examine.opened import OpenBuild
from drybuild.findings import CORNERS
from drybuild.journal import not_as_found
from drybuild.values import System

JACK = (
    "A car on a jack kills: axle stands on firm level ground, wheels chocked, nobody under it "
    "while it moves."
)
SPRINGS = (
    "Springs hold energy whatever the number says: a compressor that suits the spring, and never "
    "in line with it. " + JACK
)
FUEL = (
    "Fuel stands under pressure and its vapour lights: let the pressure off first, battery off, "
    "cold engine, outdoors, an extinguisher at hand. Ethanol flames are hard to see."
)
ENGINE = "Hot and turning parts, exhaust gas: outdoors or with extraction, sleeves and hair away."
ELECTRICS = "A battery short burns: tools and rings off the posts; a meter on amps is a short."
ROAD = "Whoever drives does not read: a second person does, or a logger."

EITHER = (
    "Nobody has said for certain whether nuts on studs or bolts into the hub hold this wheel: "
    "measure what it has, leave the other out, and write down which."
)

DRAWINGS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "standing": (
            "corner.{corner}.arch_point.gap", "corner.{corner}.arch_point.over",
            "corner.{corner}.arch_point.height", "corner.{corner}.upright_point.gap",
            "corner.{corner}.arm_point.gap", "corner.{corner}.arm_point.height",
            "corner.{corner}.guard_edge", "corner.{corner}.guard_rear_edge_height",
            "corner.{corner}.measured_drop", "corner.{corner}.spring_length",
            "corner.{corner}.camber", "corner.{corner}.toe", "corner.{corner}.tyre_pressure",
            "corner.{corner}.load_kerb",
        ),
        "travel": (
            "corner.{corner}.bump_travel", "corner.{corner}.bump_stop_travel",
            "corner.{corner}.droop_travel", "corner.{corner}.bump_outboard",
            "corner.{corner}.hose_reach",
        ),
        "wheel": (
            "wheel.{corner}.offset", "wheel.{corner}.hub_bore", "wheel.{corner}.seat_depth",
            "wheel.{corner}.spoke_depth", "wheel.{corner}.barrel_inner_radius",
            "tyre.{corner}.section_width", "tyre.{corner}.overall_diameter",
            "spacer.{corner}.thickness", "wheel_nuts.{corner}.thread_length",
            "tyre.{corner}.date_code", "wheel_nuts.{corner}.shank_length",
        ),
        "hub": (
            "corner.{corner}.hub_spigot", "corner.{corner}.stud_spacing",
            "wheel_studs.{corner}.length", "caliper.{corner}.outer_radius",
            "caliper.{corner}.face_offset", "disc.{corner}.outer_diameter",
            "disc.{corner}.thickness", "pads.{axle}.pad_thickness",
            "corner.{corner}.hub_thread_depth",
        ),
        "car": (
            "car.wheelbase_left", "car.wheelbase_right", "axle.front.track_width",
            "axle.rear.track_width", "axle.front.ground_clearance", "car.ground_clearance_mid",
            "axle.rear.ground_clearance", "registration.dipped_lamp_height",
            "axle.front.load_kerb", "axle.rear.load_kerb", "car.kerb_mass",
        ),
        "springs": (
            "spring.{corner}.free_length", "spring.{corner}.wire_diameter",
            "spring.{corner}.mean_diameter", "damper.{corner}.extended_length",
            "damper.{corner}.closed_length", "damper.{corner}.perch_raise",
            "anti_roll_bar.{axle}.diameter", "bar_link.{corner}.length",
        ),
        "fuel": (
            "regulator.base_pressure", "feed_line.bore", "feed_line.length", "return_line.bore",
            "return_line.length", "tank.fuel_temperature", "injectors.static_flow",
            "injectors.smallest_pulse",
        ),
        "air": (
            "intake.pressure_loss", "intake.temperature_rise", "air_meter.bore",
            "charge_cooler.pressure_loss", "charge_cooler.effectiveness",
            "dump_pipe.pressure_loss", "catalyst.pressure_loss", "exhaust.pressure_loss",
            "boost_control.overshoot", "turbo.full_boost_speed",
        ),
        "electrics": (
            "battery.resting_voltage", "alternator.voltage", "car.electrical_load",
            "pump_wire.feed_length", "pump_wire.earth_length", "pump_wire.section",
            "fan_wire.feed_length", "fan_wire.earth_length", "fan.current",
        ),
        "road": (
            "speedo.indicated", "speedo.true_speed", "registration.noise_at_rest",
            "engine.idle_speed", "engine.idle_manifold_pressure", "identity.odometer",
        ),
    }
)  # fmt: skip
"""Drawing → addresses in the order of its spots, a, b, c and on. A sheet that does not ask all of
them names those that it asks by letters in a row."""

TITLES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "standing": ("on its wheels, rolled and settled", JACK),
        "travel": ("through its travel, spring out", SPRINGS),
        "wheel": ("wheel off, face down on a cloth", JACK),
        "hub": ("hub, disc and caliper, wheel off", JACK),
        "car": ("the whole car, level floor", JACK),
        "springs": ("springs, dampers and bar, off the car", SPRINGS),
        "fuel": ("fuel", FUEL),
        "air": ("air and exhaust", ENGINE),
        "electrics": ("electrics", ELECTRICS),
        "road": ("at idle and on the road", f"{ENGINE} {ROAD}"),
    }
)
OF_CORNERS = ("standing", "travel", "wheel", "hub")
OF_AXLES = ("springs",)


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing to measure. letter: by which sheet and drawing name it; spot: where in the drawing
    it belongs, by the place in its list; now: what stands there, and how known."""

    letter: str
    spot: str
    address: str
    title: str
    doc: str
    tool: str
    minutes: int
    how: str
    now: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. corner: ``front.left``, an axle, or empty; drawing: which one goes with it; note:
    what whoever measures chooses by."""

    drawing: str
    corner: str
    title: str
    care: str
    rows: tuple[Asked, ...]
    note: str = ""


def measuring_sheets(
    opened: OpenBuild, *, corners: tuple[str, ...] = CORNERS, system: System = "metric",
    drawings: tuple[str, ...] = tuple(DRAWINGS),
) -> tuple[Sheet, ...]:  # fmt: skip
    """The sheets of the car as it stands: corner by corner, then by system."""
    present = Present(opened, system)
    found = []
    for corner in corners:
        for drawing in OF_CORNERS:
            if drawing in drawings:
                found.append(_sheet(opened, present, drawing, corner))
    for axle in dict.fromkeys(c.partition(".")[0] for c in corners):
        for drawing in OF_AXLES:
            if drawing in drawings:
                found.append(_sheet(opened, present, drawing, f"{axle}.left"))
    for drawing in DRAWINGS:
        if drawing in drawings and drawing not in (*OF_CORNERS, *OF_AXLES):
            found.append(_sheet(opened, present, drawing, ""))
    return tuple(sheet for sheet in found if sheet.rows)


def _sheet(opened: OpenBuild, present: Present, drawing: str, corner: str) -> Sheet:
    axle = corner.partition(".")[0]
    where = axle if drawing in OF_AXLES else corner.replace(".", " ")
    words, care = TITLES[drawing]
    rows: list[Asked] = []
    fixing = held_by(opened.present.state, corner) if corner else ""
    for spot, template in zip(ascii_lowercase, DRAWINGS[drawing], strict=False):
        address = template.format(corner=corner, axle=axle)
        if fixing and _only(template) not in ("", fixing):
            continue
        row = _asked(opened, present, (ascii_lowercase[len(rows)], spot), address, corner)
        if row is not None:
            rows.append(row)
    note = EITHER if not fixing and any(map(_only, DRAWINGS[drawing])) else ""
    title = f"{where}: {words}" if where else words
    return Sheet(drawing, corner, title, care, tuple(rows), note)


def _only(template: str) -> Fixing:
    return only_of(template.partition(".")[0], template.rpartition(".")[2])


def _asked(
    opened: OpenBuild, present: Present, named: tuple[str, str], address: str, corner: str
) -> Asked | None:
    """The row, of the figure now where the one as found has gone; None where nothing is there."""
    declared = declaration(address)
    if declared is None or _empty(opened, declared):
        return None
    made = (change for deed in opened.journal.deeds() for change in deed.changes)
    if not_as_found(made, address) is not None:
        declared = declaration(f"{address}_now") or declaration(_now_of(address))
        if declared is None:
            return None
    measure = declared.measure
    if measure is None:
        return None
    state = opened.present.state
    fixing = held_by(state, corner) if corner else ""
    return Asked(
        *named, declared.address, _short_name(declared.address, corner, fixing), declared.doc,
        measure.tool, measure.minutes, measure.how, present.at(declared.address, state),
    )  # fmt: skip


def _short_name(address: str, corner: str, fixing: Fixing) -> str:
    """Its name without the corner, which stands over the sheet, in the words of its wheel."""
    said = in_own_words(plain_name(address, seen_from=corner).removeprefix("corner "), fixing)
    first, _, rest = said.partition(" ")
    return rest if rest.startswith(f"{first.removesuffix('s')} ") else said


def _now_of(address: str) -> str:
    """Corner loads of the finished car have a name of their own."""
    return address.replace(".load_kerb", ".load_now") if address.startswith("corner.") else ""


def _empty(opened: OpenBuild, declared: Declared) -> bool:
    state = opened.present.state
    return declared.owner in place_of() and not state.fitted.get(declared.owner)
