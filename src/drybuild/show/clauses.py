"""What examining the car along a plan taught, each reason once with its places."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.show.lines import wrapped
from drybuild.show.sentences import places
from drybuild.work.model import Clause, Problem


def clause_lines(problem: Problem, clauses: Iterable[Clause], everything: bool) -> list[str]:
    """What the examinations along the way taught."""
    by_check: dict[tuple[str, str], list[Clause]] = {}
    for clause in clauses:
        by_check.setdefault((clause.check, clause.anywhere), []).append(clause)
    if not by_check:
        return ["What examining the car along the way taught: nothing that was not planned for"]
    many = len(by_check)
    lines = [
        f"What examining the car along the way taught: {many} reason{'s' if many != 1 else ''}"
    ]
    for (check, _), same in by_check.items():
        named = f"  [{check}]" if check else ""
        others = len({clause.subject for clause in same}) - 1
        too = f", and so {others} more" if others else ""
        lines += wrapped(f"  {same[0].use}: {same[0].why}{too}{named}", 4)
        for clause in same if everything else same[:1]:
            lines += wrapped(f"     {_together(problem, clause)}", 7)
    return lines


def _together(problem: Problem, clause: Clause) -> str:
    done = ", ".join(problem.jobs[j].title for j in sorted(clause.done) if j in problem.jobs)
    wanting = " or ".join(
        problem.jobs[j].title for j in sorted(clause.not_done) if j in problem.jobs
    )
    if not wanting:
        return f"so with: {done}" if done else "whatever is done"
    return f"so with: {done or 'the car as it is'}; not before: {wanting}"


def grouped(clauses: Iterable[Clause]) -> list[tuple[str, Clause]]:
    """What stops, each once with all its places, and the first clause of it."""
    same: dict[tuple[str, str], list[Clause]] = {}
    for clause in clauses:
        same.setdefault((clause.check, clause.anywhere), []).append(clause)
    found = []
    for (_, words), these in same.items():
        where = places(c.subject for c in these)
        found.append((f"{where}: {words}" if where else words, these[0]))
    return found
