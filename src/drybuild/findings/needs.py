"""Input addresses of results and checks, as written at registration.

``"~?base:corners.track_width.{axle}|axle.{axle}.track_width"`` reads: the first of the two that
is known, in the as-found car, may be absent, does not arm a check. ``"!a|b|a"``: the first only
where no guess is in it, so that what is stated goes before what was worked out from guesses.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from drybuild.findings.words import AXLES, CORNERS, Per


@dataclass(frozen=True)
class Need:
    """One input: alternatives in order, and how it is taken; sure: places in that order of those
    that are taken only where no guess is in them."""

    addresses: tuple[str, ...]
    arms: bool
    optional: bool
    base: bool
    sure: frozenset[int] = frozenset()


def parse_need(text: str) -> Need:
    """Read an input address; prefixes may stand in any order."""
    arms, optional, base = True, False, False
    rest = text
    while True:
        if rest.startswith("~"):
            arms, rest = False, rest[1:]
        elif rest.startswith("?"):
            optional, rest = True, rest[1:]
        elif rest.startswith("base:"):
            base, rest = True, rest[5:]
        else:
            break
    ways = [part.strip() for part in rest.split("|")]
    sure = frozenset(at for at, way in enumerate(ways) if way.startswith("!"))
    return Need(tuple(way.removeprefix("!") for way in ways), arms, optional, base, sure)


@cache
def fill(need: Need, per: Per, subject: str) -> Need:
    """A need with the subject put in for {corner}, {axle}, {side}, {blend}."""
    words: dict[str, str] = {}
    if per == "corner":
        axle, side = subject.split(".")
        other = "right" if side == "left" else "left"
        words = {"corner": subject, "axle": axle, "side": side, "other_side": other}
    elif per == "axle":
        words = {"axle": subject}
    elif per == "blend":
        words = {"blend": subject}
    filled = tuple(a.format(**words) for a in need.addresses)
    return Need(filled, need.arms, need.optional, need.base, need.sure)


def subjects(per: Per, blends: tuple[str, ...]) -> tuple[str, ...]:
    """The subjects of a per: corners, axles, blends, or the one car."""
    if per == "corner":
        return CORNERS
    if per == "axle":
        return AXLES
    if per == "blend":
        return blends
    return ("car",)


def instance(name: str, per: Per, subject: str) -> str:
    """The address of a result for one subject."""
    return name if per == "car" else f"{name}.{subject}"
