"""What papers tell of a check that would otherwise be cured: looked up before it is paid for."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LookUp:
    """A guess that is most of the doubt of a check that would be cured, and that papers tell.

    title: of the check; input, note_as, part: as of ``ToMeasure``; share: of its doubt, 0 to 1.
    """

    title: str
    input: str
    note_as: str
    share: float
    part: str = ""
