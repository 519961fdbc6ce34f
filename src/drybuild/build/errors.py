"""Errors of the build folder.

BuildProblem
├── BuildFaults       faults in the files, all of them at once
├── ChangeRefused     a Change that cannot be made to this state
└── UnknownName       a part, job or session that the build does not have
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches


class BuildProblem(Exception):
    """Root of the build's errors."""


@dataclass(frozen=True, order=True)
class Fault:
    """One fault in a file: where, what was found, what was expected, the nearest right one."""

    file: str
    line: int | None
    where: str
    found: str
    expected: str
    hint: str = ""

    def __str__(self) -> str:
        line = f":{self.line}" if self.line is not None else ""
        where = f"  {self.where}" if self.where else ""
        text = (
            f"{self.file}{line}{where}\n    found     {self.found}\n    expected  {self.expected}"
        )
        return f"{text}\n    {self.hint}" if self.hint else text


class BuildFaults(BuildProblem):
    """The build cannot be read as it stands; ``faults`` holds every fault found."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(sorted(set(faults), key=lambda f: (f.file, f.line or 0, f.where)))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class ChangeRefused(BuildProblem):
    """A Change that does not suit the state it is made to."""


class UnknownName(BuildProblem):
    """A name that the build does not have; the text offers the nearest."""


def nearest(word: str, known: list[str] | tuple[str, ...]) -> str:
    """A hint naming the nearest known word, or an empty text."""
    close = get_close_matches(word, known, n=2, cutoff=0.6)
    return f"did you mean {' or '.join(repr(c) for c in close)}?" if close else ""
