"""A picture of where a thing is measured: the corner's section, or the chassis with one leader."""

from __future__ import annotations

from drybuild.build.declared import Declared
from drybuild.build.kinds import place_of as places_by_instance
from drybuild.examine import Examination
from drybuild.examine.naming import plain_name
from drybuild.show.chassis import WHEELBASE, Chassis, Place, layout, seen
from drybuild.show.drawing import SCREEN, Drawing
from drybuild.show.section import corner_section
from drybuild.show.section_drawing import draw_section
from drybuild.show.whereabouts import spoken_place
from drybuild.values import System

WIDE, TALL = 760.0, 430.0
ORIGIN = (236.0, 246.0)

AT_THE_WHEEL = ("corner", "wheel", "tyre", "spacer", "centring_ring")
"""Tables of which the section through a corner shows something."""

SHEET = "var(--sheet)"
NOW, DONE = "as the car stands now", "as the car is when all is done"


def picture(
    examination: Examination, declared: Declared, *, outline: str = "", system: System = "metric"
) -> tuple[str, str]:
    """Title and SVG of where it is measured; two empty texts where no drawing shows it."""
    words = declared.owner.split(".")
    if words[0] in AT_THE_WHEEL and len(words) == 3:
        section = corner_section(examination, ".".join(words[1:]))
        if section is not None:
            stands = NOW if examination.is_present else DONE
            return f"{section.title}, {stands}", draw_section(section, system)
    place = places_by_instance().get(declared.owner)
    titled = f"{place.title} {place.root}" if place is not None else ""
    where = next(
        (
            found
            for said in (declared.doc, titled.replace("_", " "), plain_name(declared.address))
            if (found := spoken_place(said, also=plain_name(declared.owner))) is not None
        ),
        None,
    )
    if where is None:
        return "", ""
    drawing = Drawing(SCREEN, ink="currentColor")
    Chassis(drawing, ORIGIN, layout(outline)).draw()
    ends = _ends(where, declared)
    tips = [seen(end, ORIGIN) for end in ends]
    x, y = (sum(tip[k] for tip in tips) / len(tips) for k in (0, 1))
    name = plain_name(declared.address)
    lines = drawing.broken(name, WIDE - 40, size=20, heavy=True)
    drawing.line([(x, y), (x, 44.0 + 22 * (len(lines) - 1))], width=1.4)
    drawing.line(tips, width=2.4)
    for tip in tips:
        drawing.box(tip[0] - 6, tip[1] - 6, 12, 12, width=2.4)
    half = drawing.long(max(lines, key=len), size=20, heavy=True) / 2
    middle = min(max(x, half + 8), WIDE - half - 8)
    drawing.lines(middle, 28, lines, size=20, heavy=True, anchor="middle")
    svg = drawing.svg(WIDE, TALL, f"{name}, on a chassis")
    return "Where it is, on a chassis of no car in particular", svg.replace("#fff", SHEET)


def _ends(where: Place, declared: Declared) -> list[Place]:
    """From where to where it is measured: the one place, or from axle to axle."""
    if "front to rear" not in declared.doc:
        return [where]
    _, y, z = where
    return [(x, y, z) for x in (0.0, WHEELBASE)]
