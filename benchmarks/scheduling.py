"""How short the scheduling core makes the projects of .sm files, and what it proves of them.

    python benchmarks/scheduling.py FILE.sm … --seconds 60           a table
    python benchmarks/scheduling.py FILE.sm … --seconds 60 --json    one JSON line a file

Each schedule is checked again, apart from the search: what follows what, and every resource at
every time. --known FILE.csv (columns file, lower_bound, best_known, closed) adds what is known.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from drybuild.work.schedule.activities import faults_of, makespan
from drybuild.work.schedule.rcpsp import schedule
from psplib import SmFaults, read_sm


@dataclass(frozen=True)
class Row:
    """What was reached on one file. cpu: seconds of all cores together."""

    file: str
    makespan: int
    bound: int
    proven: bool
    seconds: float
    cpu: float
    best_known: int | None

    def as_json(self) -> str:
        found = {
            "file": self.file,
            "makespan": self.makespan,
            "bound": self.bound,
            "proven": self.proven,
            "seconds": round(self.seconds, 3),
            "cpu": round(self.cpu, 3),
        }
        if self.best_known is not None:
            found["best_known"] = self.best_known
        return json.dumps(found)

    def as_text(self) -> str:
        proof = "proven" if self.proven else "open"
        text = f"{Path(self.file).name:<18} {self.makespan:>6} {self.bound:>6}  {proof:<6}"
        text += f" {self.seconds:>7.1f} {self.cpu:>7.1f}"
        if self.best_known is None:
            return text
        gap = self.makespan / self.best_known - 1
        flag = "  bound above best known" if self.bound > self.best_known else ""
        return f"{text} {self.best_known:>6} {gap:>7.2%}{flag}"


HEAD = f"{'file':<18} {'ends':>6} {'bound':>6}  {'':<6} {'wall, s':>7} {'cpu, s':>7}"


def solve(path: Path, args: argparse.Namespace, known: dict[str, int]) -> Row:
    """One file. Raises SmFaults, and AssertionError when the schedule does not hold."""
    activities = read_sm(path)
    before = sum(os.times()[:2])
    found = schedule(activities, seconds=args.seconds, seed=args.seed, workers=args.workers)
    cpu = sum(os.times()[:2]) - before
    wrong = faults_of(activities, found.starts)
    if wrong or found.makespan != makespan(activities, found.starts):
        raise AssertionError("\n".join((f"{path}: the schedule does not hold", *wrong)))
    best = known.get(path.name)
    return Row(str(path), found.makespan, found.bound, found.proven, found.seconds, cpu, best)


def known_of(path: Path | None) -> dict[str, int]:
    """File name → best known end."""
    if path is None:
        return {}
    with path.open(newline="", encoding="utf-8") as file:
        return {Path(row["file"]).name: int(row["best_known"]) for row in csv.DictReader(file)}


def rows(args: argparse.Namespace) -> Iterator[Row | SmFaults]:
    """Each file in turn."""
    known = known_of(args.known)
    for path in args.files:
        try:
            yield solve(path, args, known)
        except SmFaults as error:
            yield error


def main() -> int:
    """Solve each file; 2 when one could not be read."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE.sm")
    parser.add_argument("--seconds", type=float, default=60.0, help="for each file")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--known", type=Path, metavar="FILE.csv", help="best known ends")
    parser.add_argument("--json", action="store_true", help="one JSON line a file")
    args = parser.parse_args()
    broken = False
    if not args.json:
        print(HEAD + (f" {'known':>6} {'above':>7}" if args.known else ""), flush=True)
    for row in rows(args):
        if isinstance(row, SmFaults):
            print(row, file=sys.stderr, flush=True)
            broken = True
        else:
            print(row.as_json() if args.json else row.as_text(), flush=True)
    return 2 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
