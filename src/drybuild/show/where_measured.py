"""A picture of where a thing is measured: the corner's section, or the chassis with one leader."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from drybuild.build.declared import Declared
from drybuild.build.kinds import place_of as places_by_instance
from drybuild.examine import Examination
from drybuild.examine.lookup import where_words
from drybuild.examine.naming import plain_name
from drybuild.show.chassis import WHEELBASE, Chassis, Place, layout, seen
from drybuild.show.drawing import SCREEN, Drawing
from drybuild.show.section import corner_section, growth_words
from drybuild.show.section_drawing import ASKED, draw_section
from drybuild.show.whereabouts import spoken_place
from drybuild.values import System

WIDE, TALL = 760.0, 430.0
ORIGIN = (236.0, 246.0)

SHOWN: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "corner": tuple(
        f"{point}_point.{way}" for point in ("arch", "upright", "arm")
        for way in ("gap", "over", "height")
    ),
    "wheel": ("rim_width", "offset", "barrel_inner_radius", "barrel_profile", "spoke_depth",
              "spoke_map"),
    "tyre": ("marking", "overall_diameter", "section_width"),
    "spacer": ("thickness",),
    "caliper": ("outer_radius", "face_offset", "profile"),
})  # fmt: skip
"""What the section through a corner shows, by its table: lengths that one sees drawn."""

SHEET = "var(--sheet)"
NOW, DONE = "as the car stands now", "as the car is when all is done"


def picture(
    examination: Examination, declared: Declared, *others: Declared, outline: str = "",
    system: System = "metric",
) -> tuple[str, str]:  # fmt: skip
    """Title and SVG of where it is measured; two empty texts where no drawing shows it.

    others: the same at other places, where it is not chosen yet at which.
    """
    if not others and _in_the_section(declared):
        section = corner_section(examination, declared.owner.partition(".")[2])
        if section is not None:
            stands = NOW if examination.is_present else DONE
            drawn = draw_section(section, system, asked=_asked(declared))
            return f"{section.title}, {stands}", drawn
    places = [found for one in (declared, *others) if (found := _place(one)) is not None]
    if not places:
        return "", ""
    drawing = Drawing(SCREEN, ink="currentColor")
    Chassis(drawing, ORIGIN, layout(outline)).draw()
    ends = _ends(places[0], declared)
    tips = [seen(end, ORIGIN) for end in ends]
    x, y = (sum(tip[k] for tip in tips) / len(tips) for k in (0, 1))
    name = plain_name(declared.address)
    if others:
        name = name.removeprefix(where_words(declared.address)).strip()
        tips = [seen(place, ORIGIN) for place in places]
    lines = drawing.broken(name, WIDE - 40, size=20, heavy=True)
    if not others:
        drawing.line([(x, y), (x, 44.0 + 22 * (len(lines) - 1))], width=1.4)
        drawing.line(tips, width=2.4)
    for tip in tips:
        drawing.box(tip[0] - 6, tip[1] - 6, 12, 12, width=2.4)
    half = drawing.long(max(lines, key=len), size=20, heavy=True) / 2
    middle = min(max(x, half + 8), WIDE - half - 8)
    drawing.lines(middle, 28, lines, size=20, heavy=True, anchor="middle")
    svg = drawing.svg(WIDE, TALL, f"{name}, on a chassis")
    return "Where it is, on a chassis of no car in particular", svg.replace("#fff", SHEET)


def in_gaps(
    examination: Examination, declared: Declared, system: System = "metric"
) -> tuple[tuple[tuple[str, str], ...], str]:
    """Letters of the drawing with what they stand for, and why its gaps are less than one reads;
    nothing where the drawing shows no gaps."""
    corner = declared.owner.partition(".")[2]
    if not _in_the_section(declared) or _asked(declared):
        return (), ""
    section = corner_section(examination, corner)
    if section is None:
        return (), ""
    letters = tuple((gap.letter, gap.name) for gap in section.gaps)
    return letters, growth_words(examination, corner, system)


def _asked(declared: Declared) -> str:
    """The length that the drawing marks in place of its gaps; empty: it shows those."""
    of_a_part = declared.owner.partition(".")[0] in ("wheel", "caliper")
    return declared.path[-1] if of_a_part and declared.path[-1] in ASKED else ""


def _in_the_section(declared: Declared) -> bool:
    """Whether the section through a corner shows it: what it draws, and what stands beside that."""
    table, *where = declared.owner.split(".")
    return len(where) == 2 and ".".join(declared.path) in SHOWN.get(table, ())


def _place(declared: Declared) -> Place | None:
    place = places_by_instance().get(declared.owner)
    titled = f"{place.title} {place.root}" if place is not None else ""
    said = (declared.doc, titled.replace("_", " "), plain_name(declared.address))
    found = (spoken_place(words, also=plain_name(declared.owner)) for words in said)
    return next((one for one in found if one is not None), None)


def _ends(where: Place, declared: Declared) -> list[Place]:
    """From where to where it is measured: the one place, or from axle to axle."""
    if "front to rear" not in declared.doc:
        return [where]
    _, y, z = where
    return [(x, y, z) for x in (0.0, WHEELBASE)]
