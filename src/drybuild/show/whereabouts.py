"""Where on the drawn chassis a component lies, by the plain words of its name and region.

No library says coordinates, and none should: the drawing only points. What no word gives away is
listed without a leader rather than pointed at wrongly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from drybuild.show.chassis import HALF_TRACK, WHEELBASE, Place
from drybuild.work.model import Component

FRONT, REAR = 0.0, WHEELBASE


@dataclass(frozen=True, slots=True)
class Spot:
    """A place by words: any of ``words`` says it. axle: whether front or rear moves it to the other
    axle; side: how far left or right moves it."""

    words: tuple[str, ...]
    x: float
    y: float
    z: float
    axle: bool = False
    side: float = 0.0


SPOTS = (
    Spot(("lift",), 1.2, 0.42, 0.05),
    Spot(("stands", "raised"), 0.5, 0.42, 0.05, True),
    Spot(("wheel", "wheels", "tyre", "tyres"), FRONT, HALF_TRACK + 0.1, 0.45, True, 0.84),
    Spot(("caliper", "calipers", "disc", "discs", "pads", "brake disc"), FRONT, 0.7, 0.36, True,
         0.7),
    Spot(("hub", "hubs", "knuckle", "upright", "bearing"), FRONT, 0.66, 0.31, True, 0.66),
    Spot(("strut", "struts", "spring", "springs", "damper", "dampers", "top mount"), FRONT, 0.52,
         0.7, True, 0.52),
    Spot(("arm", "arms", "control arm", "link", "links", "ball joint", "track rod"), FRONT, 0.5,
         0.26, True, 0.5),
    Spot(("anti roll bar", "roll bar", "antiroll bar"), FRONT, 0.3, 0.27, True),
    Spot(("subframe", "crossmember", "cradle"), 0.12, 0.2, 0.3, True),
    Spot(("steering wheel", "column"), 0.98, 0.36, 0.85),
    Spot(("steering rack", "rack"), 0.12, 0.1, 0.34),
    Spot(("bumper", "grille", "valance"), -0.76, 0.1, 0.5, True),
    Spot(("headlamp", "headlamps", "lamp", "lamps"), -0.66, 0.5, 0.66, True),
    Spot(("bonnet", "hood"), -0.1, 0.0, 0.86),
    Spot(("wiper", "wipers", "cowl"), 0.45, 0.0, 0.92),
    Spot(("master cylinder", "servo"), 0.42, 0.36, 0.72),
    Spot(("charge cooler", "intercooler"), -0.62, -0.1, 0.4),
    Spot(("charge pipe", "charge pipes", "charge hose", "charge hoses"), -0.45, -0.2, 0.5),
    Spot(("radiator", "fan", "fans", "condenser", "coolant"), -0.6, 0.2, 0.6),
    Spot(("thermostat",), -0.25, 0.1, 0.6),
    Spot(("battery",), -0.1, 0.4, 0.66),
    Spot(("air box", "airbox", "air filter", "intake duct", "air duct"), -0.2, -0.42, 0.66),
    Spot(("inlet manifold", "intake manifold", "plenum", "throttle", "throttle body"), 0.1, 0.2,
         0.7),
    Spot(("rail", "fuel rail", "injector", "injectors"), 0.12, 0.14, 0.74),
    Spot(("turbo", "turbocharger", "exhaust manifold", "headers", "wastegate", "dump pipe",
          "downpipe"), 0.2, -0.22, 0.5),
    Spot(("cam cover", "rocker cover", "coil", "coils", "plugs", "spark plugs", "rocker"),
         0.05, 0.0, 0.72),
    Spot(("cam belt", "timing", "belt", "crank pulley", "alternator", "water pump",
          "power steering pump", "compressor"), -0.2, 0.0, 0.55),
    Spot(("sump", "oil pan", "oil filter", "oil cooler", "engine oil"), 0.1, 0.05, 0.28),
    Spot(("mount", "mounts"), 0.05, 0.3, 0.32),
    Spot(("starter",), 0.5, 0.14, 0.42),
    Spot(("gear lever", "gear linkage"), 0.95, 0.0, 0.6),
    Spot(("gearbox", "transmission", "clutch", "flywheel", "bell housing",
          "gear oil"), 0.6, 0.0, 0.5),
    Spot(("propshaft", "prop shaft", "propeller shaft", "tunnel", "heat shield",
          "heat shields"), 1.45, 0.0, 0.38),
    Spot(("diff", "differential", "final drive"), REAR, 0.05, 0.42),
    Spot(("drive shaft", "drive shafts", "driveshaft", "driveshafts", "half shaft"), FRONT, 0.5,
         0.32, True, 0.5),
    Spot(("catalyst", "cat", "centre section", "center section", "mid pipe"), 1.45, -0.24, 0.2),
    Spot(("silencer", "muffler", "exhaust"), 2.95, -0.3, 0.36),
    Spot(("fuel pump", "pump", "tank", "fuel tank", "sender", "filler"), 2.0, 0.1, 0.56),
    Spot(("fuel line", "feed line", "return line", "fuel filter"), 1.5, 0.4, 0.28),
    Spot(("sill", "sills", "sill trims"), 1.2, 0.7, 0.3),
    Spot(("seat", "seats", "rear seat", "bench"), 1.5, 0.36, 0.46),
    Spot(("dash", "dashboard", "console", "carpet", "footwell", "ecu", "glove box", "glovebox",
          "cabin", "trim"), 0.7, 0.1, 0.72),
    Spot(("undertray", "under tray", "splash", "engine guard", "guard"), -0.36, 0.2, 0.2),
    Spot(("arch liner", "arch liners", "liner", "liners", "wing", "fender"), 0.25, 0.72,
         0.66, True, 0.72),
    Spot(("boot", "trunk", "spare wheel", "parcel shelf"), 2.9, 0.2, 0.62),
    Spot(("shelf", "rear trim", "behind the seats"), 2.05, 0.2, 0.7),
    Spot(("nose",), -0.7, 0.2, 0.5),
    Spot(("engine", "engine bay"), 0.0, 0.1, 0.7),
    Spot(("under", "underside", "underneath", "floor"), 1.2, 0.2, 0.2),
    Spot(("tail",), 3.1, 0.2, 0.5),
    Spot(("front corners", "rear corners", "corner", "corners", "axle"), FRONT, 0.6, 0.31, True,
         0.6),
)  # fmt: skip


BAY = (-0.35, 0.45)
"""How far along the car something lies that is said to be at the engine and not at its front."""


def place_of(component: Component) -> Place | None:
    """A place on the chassis: by the component's id, else its title, else its region."""
    axle = f"{component.id} {component.title} {component.region}"
    for words in (component.id, component.title, component.region):
        found = spoken_place(words, also=axle)
        if found is not None:
            return _in_bay(found, component.region)
    return None


def spoken_place(words: str, *, also: str = "") -> Place | None:
    """The place that words speak of: the longest term wins, and of equal ones the last, which is
    the noun. ``also`` may add front, rear, left and right."""
    plain = _plain(words)
    best: tuple[int, int, Spot] | None = None
    for spot in SPOTS:
        for term in spot.words:
            at = f" {plain} ".rfind(f" {term} ")
            if at >= 0 and (best is None or (len(term.split()), at) > best[:2]):
                best = (len(term.split()), at, spot)
    if best is None:
        return None
    return _placed(best[2], set(plain.split()), set(_plain(also).split()))


def _placed(spot: Spot, said: set[str], also: set[str]) -> Place:
    x, y = spot.x, spot.y
    for words in (also, said):
        if spot.axle and "rear" in words and "front" not in words:
            x = WHEELBASE - spot.x
        elif spot.axle and "front" in words:
            x = spot.x
        if spot.side and "right" in words and "left" not in words:
            y = -spot.side
        elif spot.side and "left" in words:
            y = spot.side
    return x, y, spot.z


def _in_bay(place: Place, region: str) -> Place:
    """A charge cooler lies at the nose, unless its region says that it lies on the engine."""
    words = _plain(region).split()
    if "engine" not in words or "front" in words:
        return place
    x, y, z = place
    inside = min(max(x, BAY[0]), BAY[1])
    return inside, y, max(z, 0.74) if "top" in words else z


def _plain(words: str) -> str:
    return " ".join(re.findall(r"[a-z]+", words.lower()))
