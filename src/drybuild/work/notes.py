"""What a person at the car needs to know of a task, in words, and what it uses up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Renewable:
    """Something used up by the work: a gasket, a one-time fastener, a fluid.

    unit: ``""`` for pieces, else L, g, m. price: of one unit, in the build's currency, or None.
    """

    name: str
    quantity: float = 1.0
    unit: str = ""
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Notes:
    """What a person at the car needs to know of one task, in words.

    bench: tools to have there; steps: in order; verify: checks before closing; photograph, bag:
    what to take pictures of and what to bag and label; tags: what to hang in the car until it is
    lifted. joints: roots of the joints that are tightened (as ``examine.joints`` names them), whose
    figures are the maker's or LOOK UP. beforehand: what is done before the day. records: hand
    checks whose hour it is. watched: whether somebody stands by, if one is free.
    """

    title: str
    bench: tuple[str, ...] = ()
    renew: tuple[Renewable, ...] = ()
    cautions: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    verify: tuple[str, ...] = ()
    photograph: tuple[str, ...] = ()
    bag: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    beforehand: tuple[str, ...] = ()
    records: tuple[str, ...] = ()
    watched: bool = False
