"""The words of the build book: what it is, what its fingerprint is, who signs for what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import Any

import numpy as np

from drybuild.examine.book import Limit, Taken
from drybuild.examine.book.records import Made, Worked
from drybuild.examine.naming import lacking_text
from drybuild.findings import Finding
from drybuild.findings.sides import Sides
from drybuild.show.bands import limit_figures, room_figures, said_as
from drybuild.show.record import done_text, task_words
from drybuild.values import System, Value, band_text, figures, show, show_number, unsigned

WHAT_IT_IS = (
    "This book says what is on this car and what its record holds, on the day it was printed. It "
    "is for whoever certifies, insures or buys the car. Nothing in it says that the car may be "
    "driven: the maker's data, local rules and licensed people decide."
)
AS_BUILT = (
    "Only what is on the car stands here. Work that is planned is named once, on the last page, "
    "and no figure of this book rests on it."
)
FINGERPRINT = (
    "The fingerprint is a hash of the build's files and of the journal's last mark (SHA-256; its "
    "first sixteen figures). It shows that this print and that folder belong together. It is no "
    "signature: it says nothing of who wrote either, and not that what they say is so."
)
HOW_FOUND = (
    "At least or at most is the limit. Room is what is left to it, worked out from the readings "
    "under it, as middle and as the range that holds 95 in 100. Worst is the poor end of that "
    "range, less what good practice wants kept free. How sure stands in the appendix. The pose or "
    "load condition is named under each line; what it leaves out was not assessed."
)
READING_AID = (
    "A rule set is a reading aid. The authority's own text and its people decide. A rule from "
    "memory is one that nobody here has read again: read it before you rest on it."
)
PAPERS_WORDS = (
    "What stands behind parts that are not the vehicle maker's own. An absence is said, not "
    "filled: it is for the certifier to judge."
)
CHANCES = (
    "Each figure was drawn many times inside its doubt, and the whole car worked out each time. "
    "“97 in 100” counts cars: of 100 that fit every number here and its doubt, so many have the "
    "room that is wanted. It is no chance of an accident."
)
NOT_BUILT = (
    "Planned and not done. None of this is on the car, and nothing in this book speaks of it. "
    "Drafts are not listed at all."
)
ON_CARDS = (
    "Not printed here: each lies in photos/ of the build's folder; its hash tells it from another."
)
VOID = (
    "Each of these was written down before later work on what it looked at. It says nothing of the "
    "car as it stands now."
)
TORQUES = (
    "joint by joint, as the cards write them down; figures that a hand check names stand with it"
)
OWNER_DECLARES = (
    "I am the owner of the car described here. The facts, readings and deeds that carry my name "
    "are as I took and did them. I have kept nothing back that I know to be wrong with the car."
)
WORKSHOP_DID = (
    "We did the work named below, and no other, as the record says. For work that others did, and "
    "for what was changed since, we do not sign."
)
ENGINEER_INSPECTED = (
    "I inspected what is named below, on the day and in the state named, and nothing else. My "
    "report is a paper of its own; this page names it."
)
NOTHING = 1e-9
"""Share of the limit below which a figure is the rounding of the sums alone."""
NOTHING_RECORDED = "nothing recorded stops it"
NO_CHANGE = "no change to the car stops it"
ABSENT = "none known"
NOT_STATED = "not stated"


def amount(value: str | Value, system: System) -> str:
    """A fact of the car as text."""
    if isinstance(value, str):
        return value
    if value.exact:
        return show(value.kind, value.centre, system=system)
    low, high = value.interval
    return show(value.kind, value.median, low, high, system=system)


def as_shown(value: str | Value, system: System) -> str:
    """A fact as an instrument shows it, without its doubt."""
    return value if isinstance(value, str) else show_number(value.kind, value.centre, system)


def reading_text(one: Taken, system: System) -> str:
    """What was read, as it was said, with its doubt where it is a figure."""
    return amount(one.value, system) if one.value is not None else one.raw


def found_text(finding: Finding, system: System) -> str:
    """The room that there is to the limit; yes or no; or what nobody has measured."""
    if finding.slack is None:
        return lacking_text(finding)
    if finding.kind == "match":
        return "yes" if finding.slack.median > 0 else "no"
    return band_text(limit_figures(finding, system))


PERCENTS = ("ratio", "fraction")


def room_of(one: Limit) -> str:
    """What a room in percent is of, where limit and figure are no percents that say so."""
    if not one.share_of or (one.sides is not None and one.sides.kind in PERCENTS):
        return ""
    return f"of {one.share_of}" if one.finding.slack is not None else ""


def void_text(made: Made, deeds: Iterable[Worked], titles: Mapping[str, str]) -> str:
    """What came after a hand check and undid it, and whether it is owed for that or made again."""
    work = next((d for d in deeds if made.void in d.entries), None)
    done = done_words(work, titles) if work is not None else ""
    then = "owed again" if made.again else "made again since"
    return f"before {done or 'later work'} (entry {made.void}); {then}"


def done_words(work: Worked, titles: Mapping[str, str]) -> str:
    """A piece of work by its card's title, or what it made of the car."""
    if work.title:
        return work.title
    if work.task:
        return task_words(work.task, titles)
    return "; ".join(done_text(c, titles, None) for c in work.changes)


def sides_texts(one: Limit, system: System) -> list[str]:
    """The limit, what was found, and what is wanted kept free beyond the limit."""
    said = []
    if one.sides is not None:
        ends = (("at least", one.sides.low), ("at most", one.sides.high))
        said = [f"{word} {_drawn(one.sides, end, system)}" for word, end in ends if end is not None]
        if one.share_of and one.sides.kind in PERCENTS:
            said[-1] += f" of {one.share_of}"
        same = one.sides.is_room
        found = found_text(one.finding, system) if same else _found(one.sides, system)
        said.append(f"found {found}")
    elif one.finding.kind == "match":
        said = ["must agree"]
    gap = one.finding.gap_wanted
    if gap:
        amount = show(said_as(one.finding.kind), abs(gap), system=system)
        said.append(f"{amount} wanted free" if gap > 0 else f"{amount} beyond it allowed")
    return said


def _found(sides: Sides, system: System) -> str:
    return _drawn(sides, sides.found, system)


def _drawn(sides: Sides, value: Any, system: System) -> str:
    """A figure of a check, with its doubt where it has one, in one unit with its limit."""
    band = _band(value)
    if band is None:
        return "not solved"
    size = max(
        abs(other[0]) for end in (sides.found, sides.low, sides.high) if end is not None
        if (other := _band(end)) is not None
    )  # fmt: skip
    if max(map(abs, band)) <= NOTHING * size:
        band = (0.0, 0.0, 0.0)
    median, low, high = band
    kind = "fraction" if sides.kind in PERCENTS else sides.kind
    return band_text(figures(kind, median, low, high, system, beside=(size, size, size)))


def _band(value: Any) -> tuple[float, float, float] | None:
    """Middle and ends of what is drawn; None where no draw is solved."""
    drawn = np.asarray(value, dtype=np.float64).ravel()
    if not np.isfinite(drawn).any():
        return None
    low, median, high = np.nanquantile(drawn, (0.025, 0.5, 0.975), method="nearest")
    return float(median), float(low), float(high)


def worst_text(finding: Finding, system: System) -> str:
    """The poor end of the doubt, less what is wanted, with the decimals of the doubt."""
    m = finding.margin
    if m is None or finding.kind == "match":
        return ""
    if not isfinite(m.low):
        return "not solved in some draws: counts as short"
    _, low, _, label = room_figures(finding, system)
    said = f"{unsigned(low)} {label}".strip()
    return f"short by {said}" if m.low < 0 else f"{said} to spare"
