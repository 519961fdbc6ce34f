"""Reads single-mode project-scheduling files (.sm) as PSPLIB prints them.

R. Kolisch, A. Sprecher, PSPLIB - a project scheduling problem library, European Journal of
Operational Research 96 (1996) 205-216.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from drybuild.work.schedule.activities import Activities, ActivityFaults


class SmFaults(ValueError):
    """A file that cannot be read; the text says where, what was found and what was expected."""


@dataclass(frozen=True)
class _Line:
    number: int
    words: tuple[str, ...]


class _Reader:
    """Collects every fault of one file."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.faults: list[str] = []
        try:
            text = path.read_text(encoding="ascii")
        except (OSError, UnicodeDecodeError) as error:
            raise SmFaults(f"{path}\n    found     {error}\n    expected  a .sm file") from error
        lines = enumerate(text.splitlines(), start=1)
        self.lines = [_Line(number, tuple(line.split())) for number, line in lines]

    def fault(self, line: int | None, found: str, expected: str) -> None:
        where = self.path if line is None else f"{self.path}:{line}"
        self.faults.append(f"{where}\n    found     {found}\n    expected  {expected}")

    def after(self, title: str, skip: int) -> list[_Line]:
        """The lines below a title up to the next line of stars, ``skip`` headings left out."""
        for index, line in enumerate(self.lines):
            if line.words and line.words[0].upper().startswith(title):
                below = self.lines[index + 1 + skip :]
                stop = (k for k, row in enumerate(below) if row.words and row.words[0][0] == "*")
                return [row for row in below[: next(stop, len(below))] if row.words]
        self.fault(None, f"no part {title!r}", f"a line that begins with {title!r}")
        return []

    def numbers(self, line: _Line, least: int, what: str) -> list[int]:
        """The line as whole numbers, or nothing and a fault."""
        shown = " ".join(line.words)
        try:
            row = [int(word) for word in line.words]
        except ValueError:
            self.fault(line.number, shown, f"whole numbers: {what}")
            return []
        if len(row) < least or min(row) < 0:
            self.fault(line.number, shown, f"at least {least} numbers, none below 0: {what}")
            return []
        return row

    def stop(self) -> None:
        if self.faults:
            raise SmFaults("\n".join(self.faults))


def read_sm(path: Path) -> Activities:
    """The activities of one file, dummies included: activity 0 is its job 1.

    Raises SmFaults with every fault found.
    """
    reader = _Reader(path)
    capacities = _capacities(reader)
    successors = _successors(reader)
    rows = _requests(reader, len(capacities))
    reader.stop()
    jobs = sorted(successors)
    if jobs != list(range(1, len(jobs) + 1)) or sorted(rows) != jobs:
        reader.fault(None, f"jobs {jobs} and requests of {sorted(rows)}", "both 1, 2, 3 … alike")
        reader.stop()
    try:
        return Activities(
            durations=tuple(rows[job][0] for job in jobs),
            demands=tuple(tuple(rows[job][1:]) for job in jobs),
            capacities=tuple(capacities),
            successors=tuple(tuple(later - 1 for later in successors[job]) for job in jobs),
        )
    except ActivityFaults as error:
        text = "; ".join(error.faults)
        reader.fault(None, f"{text} (counted from 0)", "a project that can be done")
        raise SmFaults("\n".join(reader.faults)) from error


def _capacities(reader: _Reader) -> list[int]:
    lines = reader.after("RESOURCEAVAILABILITIES", 1)
    if not lines:
        reader.fault(None, "no capacities", "a line of them below RESOURCEAVAILABILITIES")
        return []
    return reader.numbers(lines[0], 1, "the capacity of each resource")


def _successors(reader: _Reader) -> dict[int, list[int]]:
    found = {}
    for line in reader.after("PRECEDENCE", 1):
        row = reader.numbers(line, 3, "job, modes, number of successors, successors")
        if not row:
            continue
        job, modes, count, *later = row
        if modes != 1:
            reader.fault(line.number, f"{modes} modes", "1 (single-mode files only)")
        if len(later) != count:
            reader.fault(line.number, f"{len(later)} successors", f"{count}, as the line says")
        if job in found:
            reader.fault(line.number, f"job {job} again", "each job once")
        found[job] = later
    return found


def _requests(reader: _Reader, resources: int) -> dict[int, list[int]]:
    found = {}
    for line in reader.after("REQUESTS/DURATIONS", 2):
        row = reader.numbers(line, 3, "job, mode, duration, demand of each resource")
        if not row:
            continue
        if resources and len(row) != 3 + resources:
            reader.fault(line.number, f"{len(row) - 3} demands", f"{resources}, one a resource")
        if row[0] in found:
            reader.fault(line.number, f"job {row[0]} again", "each job once")
        found[row[0]] = row[2:]
    return found
