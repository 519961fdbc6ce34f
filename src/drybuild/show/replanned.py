"""What a plan becomes after what was done or happened: what moved, why, and what is next."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from drybuild.show.cards_words import clock, short_day
from drybuild.show.happened_words import (
    NOTHING_MOVES,
    handed_lines,
    happened_text,
    moved_lines,
    moved_tasks_lines,
    task_title,
    turned_lines,
)
from drybuild.show.lines import wrapped
from drybuild.show.no_plan import no_plan_text
from drybuild.show.planning import ALL_DONE, CLOSING, book_line, used, way_back_lines
from drybuild.show.wanted_words import wanted_lines
from drybuild.show.work_list import aim_text
from drybuild.show.work_supposed import supposed_line
from drybuild.work.handed import handed
from drybuild.work.happened import Happening
from drybuild.work.model import NoPlan, Plan, Problem, Step, ToDo
from drybuild.work.openings import title_of
from drybuild.work.replan import Replanned
from drybuild.work.turned import turned
from drybuild.work.wanted import Earlier

MOST_NEXT = 6
STAYS = (
    "The plan in the folder stays as it was and knows nothing of this: cards and calendar made "
    "from it say so from now on; those on paper do not."
)


def replanned_text(
    before: ToDo,
    found: Replanned,
    tasks: Iterable[str],
    happened: Iterable[Happening] = (),
    *,
    folder: str,
    name: str,
    entries: range = range(0),
    left: Collection[Step] = (),
    least: float | None = None,
    beside: Iterable[str] = (),
    earlier: Iterable[Earlier] = (),
) -> str:
    """The answer of ``drybuild done``. before: the work before; tasks, happened: what was written
    down; entries: under which numbers of the journal; left: of the plan before;
    least: person-hours that any plan takes, where that is known; beside: lines on what was
    written down; earlier: what is to be there earlier than before."""
    problem, plan = found.todo.problem, found.plan
    noted = [
        *(f"{task_title(before, key)} [{key}]" for key in tasks),
        *(happened_text(before, one) for one in happened),
    ]
    lines = wrapped(f"Written down: {'; '.join(noted)}", 2) if noted else []
    if noted:
        which = f" {entries[0]}-{entries[-1]} --who NAME" if entries else ""
        lines += [f"to take it back: drybuild undo {folder}{which}", *beside, ""]
    if isinstance(plan, NoPlan):
        said = no_plan_text(plan, problem, folder=folder, name=name)
        return "\n".join([*lines, said, *wrapped(STAYS, 0)])
    if not plan.steps:
        lines += [f"{name} · {ALL_DONE}", *_still_lines(problem), "", book_line(folder), ""]
        return "\n".join([*lines, *wrapped(CLOSING, 0)])
    lines += [f"{name} · planned again, near to what was planned"]
    if found.moved or found.tasks:
        how = turned(left, plan, found.moved, found.tasks, least)
        anew = f"drybuild plan {folder} --anew"
        for words in turned_lines(before.problem, problem, how, anew):
            lines += wrapped(f"  {words}", 4)
        lines.append(f"the plan before, as it was: drybuild plan {folder} --former")
    lines.append("")
    lines += [*wrapped(supposed_line(plan), 2), ""] if plan.supposed else []
    lines += what_moves_lines(before.problem, found)
    for words in handed_lines(found.todo, handed(left, plan)):
        lines += wrapped(f"  {words}", 4)
    for words in wanted_lines(earlier):
        lines += wrapped(f"  {words}", 4)
    lines += ["", *_next_lines(found.todo, plan)]
    for aim in plan.aims:
        lines += wrapped(f"  {aim_text(problem, aim)}", 4)
    lines += ["", *way_back_lines(problem, found.back, everything=False)]
    lines += ["", f"next: drybuild cards {folder}", "", *wrapped(CLOSING, 0)]
    return "\n".join(lines)


def what_moves_lines(before: Problem, found: Replanned) -> list[str]:
    """All that is now in another session, each with its reason."""
    said = [
        *moved_lines(before, found.todo.problem, found.moved),
        *moved_tasks_lines(before, found.todo, found.tasks),
    ]
    lines = ["What moves"] if said else [NOTHING_MOVES]
    for words in said:
        lines += wrapped(f"  {words}", 4)
    return lines


def _still_lines(problem: Problem) -> list[str]:
    """What nothing planned puts right: it is off, or owed after a distance."""
    titles = [problem.components[name].title for name in sorted(problem.off)]
    titles += [problem.effects[name].title for name in sorted(problem.pending)]
    return wrapped(f"  left, and in no work session: {'; '.join(titles)}", 4) if titles else []


def _next_lines(todo: ToDo, plan: Plan) -> list[str]:
    problem = todo.problem
    first = used(problem, plan)[0]
    lines = [f"Next, {short_day(problem.at(first.start))}  [{first.id}]"]
    for step in plan.of(first.id)[:MOST_NEXT]:
        who = " and ".join(step.who) or "nobody"
        title = title_of(problem, step, todo.notes)
        lines += wrapped(f"  {clock(problem.at(step.start))}  {who}: {title}", 9)
    more = len(plan.of(first.id)) - MOST_NEXT
    return [*lines, *([f"  {more} more task{'s' * (more > 1)}"] if more > 0 else [])]
