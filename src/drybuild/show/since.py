"""What a kept plan does not know of, in words that go on all that is made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from drybuild.examine import OpenBuild
from drybuild.show.happened_words import happened_text
from drybuild.work import plan_file
from drybuild.work.as_planned import HAPPENED, AsPlanned, SoFar, happened_since
from drybuild.work.happened import Happening
from drybuild.work.model import ToDo
from drybuild.work.sheets import Sheets

UNAWARE = "The plan is older than what came since, and knows nothing of it"


def changed_words(planned: AsPlanned, so_far: SoFar, opened: OpenBuild) -> tuple[str, ...]:
    """What a plan does not know of, with what happened by name."""
    todo = planned.hand.todo
    told = happened_since(planned, opened)
    named = "; ".join(happened_text(todo, Happening(e.what, e.more)) for e in told)
    return tuple(
        f"{words} ({named})" if named and words.endswith(HAPPENED) else words
        for words in so_far.changed
    )


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
    return f"{UNAWARE}: {'; '.join(happened or why)}"


def marked(sheets: Sheets, since: str) -> Sheets:
    """The sheets, each of them marked with what the plan does not know of."""
    if not since:
        return sheets
    state = f"{sheets.imprint.state}; older than what came since"
    return replace(sheets, since=since, imprint=replace(sheets.imprint, state=state))
