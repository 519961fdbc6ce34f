"""What a kept plan does not know of, in words that go on all that is made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from drybuild.examine import OpenBuild
from drybuild.journal import WorkEntry
from drybuild.show.happened_words import happened_text
from drybuild.work import plan_file
from drybuild.work.as_planned import (
    HAPPENED,
    TAKEN_BACK,
    AsPlanned,
    SoFar,
    happened_since,
    taken_back_now,
)
from drybuild.work.happened import Happening
from drybuild.work.model import ToDo
from drybuild.work.sheets import Sheets
from drybuild.work.titles import task_titles

UNAWARE = "The plan is older than what came since, and knows nothing of it"
MOST_BACK = 8
"""Tasks that were taken back, named before the rest is counted."""


def changed_words(planned: AsPlanned, so_far: SoFar, opened: OpenBuild) -> tuple[str, ...]:
    """What a plan does not know of, with what happened by name."""
    todo = planned.hand.todo
    told = happened_since(planned, opened)
    named = "; ".join(happened_text(todo, Happening(e.what, e.more)) for e in told)
    back = back_text(opened, so_far.back)
    return tuple(
        f"{words} ({named})" if named and words.endswith(HAPPENED)
        else back if back and words == TAKEN_BACK else words
        for words in so_far.changed
    )  # fmt: skip


def back_text(opened: OpenBuild, back: Iterable[WorkEntry]) -> str:
    """Tasks that were taken back since a plan was made, by name; empty for none."""
    titles = task_titles(opened.build)
    named = list(dict.fromkeys(titles.get(one.task, one.task) for one in back))
    more = f" and {len(named) - MOST_BACK} more" if len(named) > MOST_BACK else ""
    said = f"taken back since it was made, and on no card: {'; '.join(named[:MOST_BACK])}{more}"
    return said if named else ""


def since_text(opened: OpenBuild, todo: ToDo, changed: Iterable[str]) -> str:
    """One sentence: what happened since the plan was made, by name, and else why it is out of date;
    empty where it is not. changed: as ``plan_file.stale`` says it."""
    why = list(changed)
    if not why:
        return ""
    made = plan_file.made(opened)
    upto = made.entries if made is not None else 0
    happened = [
        happened_text(todo, Happening(e.what, e.more))
        for e in opened.journal.work()
        if e.id > upto and not e.of_task
    ]
    back = back_text(opened, taken_back_now(opened))
    happened += [back] if back else []
    return f"{UNAWARE}: {'; '.join(happened or why)}"


def marked(sheets: Sheets, since: str) -> Sheets:
    """The sheets, each of them marked with what the plan does not know of."""
    if not since:
        return sheets
    state = f"{sheets.imprint.state}; older than what came since"
    return replace(sheets, since=since, imprint=replace(sheets.imprint, state=state))
