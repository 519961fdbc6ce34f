"""Addresses in plain words: ``wheel.front.left.spoke_depth`` is a front left wheel spoke depth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from drybuild.build import Build, Change
from drybuild.build.declared import declaration, expand, is_word
from drybuild.build.fixings import fixing_of, in_own_words
from drybuild.build.model import Part
from drybuild.findings import AXLES, SIDES, Finding
from drybuild.values import HowKnown

OF_THE_CAR = frozenset({"car", "corner", "identity", "registration", "goal", "build"})
"""Tables that need no word of their own: what they hold is the car's or the owner's, and of a
corner the place is said."""

SAID = {"wheel_nuts": "wheel nuts or bolts"}
"""Tables that hold more than their name says."""

WAYS = {
    "measure": ("nobody has measured", "measure"),
    "read off": ("nobody has read off", "read off"),
    "look up": ("nobody has looked up", "look up"),
    "ask": ("the calibrator has not said", "ask the calibrator for"),
    "say": ("you have not said", "say"),
    "": ("nobody has stated", "measure or look up"),
}
"""How something can come to be known → how it is said to be missing, and what is to be done."""

_NO_GAUGE = {"eye": "read off", "document": "look up"}
"""Tools that only read what is there to be read."""

OWNERS_WORD = frozenset({"blend", "goal", "site"})
"""Tables whose figures say what is wanted; nothing on the car shows them."""


def plain_name(address: str, *, seen_from: str = "") -> str:
    """An address as one says it.

    seen_from: a subject (``front.left``, ``rear``, a blend's id) that was named already and is not
    said again. Alternatives (``a|b``) are joined by *or*, ``base:`` is said as *as found*.
    """
    if "|" in address:
        ways = address.split("|")
        names = [plain_name(ways[0], seen_from=seen_from)]
        owner = ways[0].rpartition(".")[0]
        for one in ways[1:]:
            at, _, fact = one.rpartition(".")
            same = at == owner and not one.startswith("base:")  # of the same thing: named once
            names.append(_fact(one, [fact]) if same else plain_name(one, seen_from=seen_from))
        return " or ".join(dict.fromkeys(names))
    plain = address.removeprefix("base:")
    table, *rest = plain.split(".")
    where = []
    while rest and rest[0] in (*AXLES, *SIDES):
        where.append(rest.pop(0))
    if table == "blend" and rest:
        where, table = [rest.pop(0)], ""
    if where and seen_from.split(".")[: len(where)] == where:
        where = []
    words = [*where, "" if table in OF_THE_CAR else table]
    said = " ".join([*(_word(w) for w in words if w), _fact(plain, rest)]).strip()
    return f"{said}, as found" if plain != address else said


def car_name(address: str, parts: Mapping[str, Part]) -> str:
    """``plain_name`` in the words of the car that has these parts: its wheel bolts, say."""
    return in_own_words(plain_name(address), fixing_of(parts))


def _fact(address: str, path: list[str]) -> str:
    """A fact as its model calls it; by the words of its address where no model knows it."""
    known = declaration(next(iter(expand(address.removeprefix("base:"))), ""))
    return known.plain if known is not None else " ".join(_word(one) for one in path)


def _word(name: str) -> str:
    return SAID.get(name, name.replace("_", " "))


def to_be_chosen(name: str) -> bool:
    """Whether a part's name says that it stands in for one that nobody has named yet."""
    return "to be chosen" in name


def unnamed_parts(build: Build, changes: Iterable[Change]) -> list[tuple[str, str]]:
    """Id and name of each part that Changes fit while nobody has said which one it is."""
    fitted = dict.fromkeys(str(c.value) for c in changes if c.kind == "fit")
    names = {part: build.parts[part].name or "" for part in fitted if part in build.parts}
    return [(part, name) for part, name in names.items() if to_be_chosen(name)]


def lacking_text(finding: Finding) -> str:
    """Why nothing is calculated: ``nobody has measured …``, or ``cannot be worked out: …``."""
    if finding.beyond:
        return "; ".join(one.removeprefix("base:") for one in finding.beyond)
    found = by_way(finding.missing, seen_from=finding.subject)
    return "; ".join(f"{WAYS[way][0]} {names}" for way, names in found.items())


def asking_text(finding: Finding) -> str:
    """What is to be done about what is missing: ``measure …; look up …``, hands before papers."""
    found = by_way(finding.missing, seen_from=finding.subject)
    return "; ".join(f"{WAYS[way][1]} {names}" for way, names in found.items())


def worth_asking(finding: Finding) -> tuple[str, ...]:
    """Of its unknowns, the largest first, what is not said yet: a figure that its maker states is
    asked for again only where a gauge would tell more."""
    return tuple(
        u.input for u in finding.unknowns
        if u.known in (None, HowKnown.ASSUMED) or way_to_know(u.input) == "measure"
    )  # fmt: skip


def by_way(addresses: tuple[str, ...], *, seen_from: str = "") -> dict[str, str]:
    """Addresses in words by the way in which they come to be known, in the order of ``WAYS``."""
    found: dict[str, list[str]] = {}
    for address in wanted(addresses):
        found.setdefault(way_to_know(address), []).append(address)
    return {w: plain_list(tuple(found[w]), seen_from=seen_from) for w in WAYS if w in found}


def wanted(addresses: tuple[str, ...]) -> tuple[str, ...]:
    """Of what is missing, what is asked for: no alternatives of which one is wanted anyhow."""
    alone = {one for one in addresses if "|" not in one}
    return tuple(a for a in addresses if a in alone or alone.isdisjoint(a.split("|")))


def way_to_know(address: str) -> str:
    """How a fact can come to be known, a key of ``WAYS``; of alternatives the first in its order.

    What a gauge reads is measured, a word is read off the part; what its maker tells is looked up;
    what a map holds only the calibrator knows; what is wanted, the owner. Empty: not known.
    """
    ways = {_way(one.removeprefix("base:")) for one in address.split("|")}
    return next(way for way in WAYS if way in ways)


def _way(address: str) -> str:
    declared = declaration(address)
    if declared is None:
        return ""
    table = declared.owner.partition(".")[0]
    if declared.measure is not None:
        return _NO_GAUGE.get(declared.measure.tool, "measure")
    if table == "map":
        return "ask"
    if table in OWNERS_WORD:
        return "say"
    return "read off" if is_word(declared) else "look up"


def plain_list(addresses: tuple[str, ...], *, seen_from: str = "", most: int = 3) -> str:
    """Addresses in words, the first few of them, each said once."""
    words = list(dict.fromkeys(plain_name(a, seen_from=seen_from) for a in addresses))
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")
