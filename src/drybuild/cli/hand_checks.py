"""Hand checks at the terminal: which are owed, and what one types to write them down."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.build import Change, State
    from drybuild.examine import OpenBuild
    from drybuild.findings.registry import RecordSpec
    from drybuild.work.model import Step


TOOLS = "each with the --tool and --second of its own (one alone is taken for all)"


def owed_lines(
    opened: OpenBuild,
    state: State,
    folder: str,
    head: str = "Hand checks to make and write down:",
) -> list[str]:
    """Hand checks that a state owes, and the command that writes one, or several of them, down:
    each with a tool and a day of its own, for they are seldom made with the same."""
    owed = [r for r in opened.registry.records.values() if state.owed(r.changed, r.id)]
    if not owed:
        return []
    lines = [head]
    lines += [line for record in owed for line in record_lines(record)]
    lines.append(f"each so: drybuild did {folder} {_words(opened, owed[:1])}")
    if len(owed) > 1:
        more = f"{TOOLS}, and --verify again for each of the others" if len(owed) > 3 else TOOLS
        lines.append(f"several at once, {more}: drybuild did {folder} {_words(opened, owed[:3])}")
    return lines


def record_lines(record: RecordSpec) -> list[str]:
    """A hand check with what it asks for, and its id."""
    from drybuild.show.lines import wrapped

    second = ", second person" if record.second_person else ""
    asked = f"{', '.join(record.evidence)}{second}"
    return wrapped(f"  {record.title}: {asked}  [{record.id}]", 4)


def _words(opened: OpenBuild, records: Sequence[RecordSpec]) -> str:
    """The rest of the command that writes hand checks down; with a day where their work is written
    down as of one that lies ahead."""
    words = {"value": "--value FOUND", "tool": "--tool TOOL"}
    said = []
    for record in records:
        given = [words[one] for one in record.evidence if one in words]
        second = ["--second NAME"] if record.second_person else []
        said.append(" ".join([f"--verify {record.id}", *given, *second]))
    day = max(_worked_on(opened, record) for record in records)
    at = f" --at {day}" if day > f"{date.today()}" else ""
    return f"{' '.join(said)} --who NAME{at}"


def refuse_older(
    opened: OpenBuild, verified: Sequence[Change], arguments: argparse.Namespace
) -> None:
    """A check is never dated before the work that it looks at, which may be written down as of a
    day that lies ahead of the clock."""
    from drybuild.journal.entries import dated

    told = dated(arguments.at)[:10] if arguments.at else f"{date.today()}"
    for change in verified:
        day = _worked_on(opened, opened.registry.records[change.target])
        if told < day:
            raise Refused(
                f"{change.target}: not written down. The work that it looks at is written down as "
                f"of {day}, after {told}: say the day of the check, --at {day}"
            )


def early_lines(opened: OpenBuild, verified: Sequence[Change]) -> list[str]:
    """That a check was written down of work on which a plan has tasks open: it is owed again."""
    from drybuild.build import BuildProblem, ChangeRefused
    from drybuild.work.as_planned import as_planned, so_far
    from drybuild.work.before import open_before
    from drybuild.work.evidence import changes_of

    try:
        planned = as_planned(opened) if verified else None
    except (BuildProblem, ChangeRefused):  # the plan is of no use any more: nothing is known of it
        return []
    if planned is None:
        return []
    problem, plan, lines = planned.hand.todo.problem, planned.plan, []
    done = so_far(planned, opened).done
    for change in verified:
        makes = [
            step for step in plan.steps
            if step not in done and any(
                c.kind == "verify" and c.target == change.target
                for c in changes_of(problem, step)
            )
        ]  # fmt: skip
        resting = [open_before(problem, plan, [step], done.keys()) for step in makes]
        if resting and all(resting):
            lines += _early(opened, change.target, min(resting, key=len))
    return lines


def _early(opened: OpenBuild, record: str, resting: Sequence[Step]) -> list[str]:
    from drybuild.show.cards_words import EARLY
    from drybuild.show.lines import wrapped
    from drybuild.work.titles import task_titles

    titles = task_titles(opened.build)
    last = ", ".join(titles.get(step.key, step.key) for step in resting[-3:])
    count = "a task that is" if len(resting) == 1 else f"{len(resting)} tasks that are"
    return wrapped(
        f"{record} is of work that rests on {count} not written down, {last}. {EARLY}", 2
    )


def _worked_on(opened: OpenBuild, record: RecordSpec) -> str:
    """The last day on which something was done that a hand check looks at; empty for none."""
    from drybuild.build.state import touched_by

    return max((
        deed.at[:10] for deed in opened.journal.deeds() for change in deed.changes
        if change.kind != "verify"
        and any(fnmatchcase(place, p) for place in touched_by(change) for p in record.changed)
    ), default="")  # fmt: skip


def verifications(opened: OpenBuild, arguments: argparse.Namespace) -> list[Change]:
    """The hand checks that are told, each with what was found: a tick is not enough where the
    record asks for value, tool and name. Values, tools and seconds come in the order of the checks
    that ask for them; one tool or second is of all."""
    from drybuild.examine.recording import RecordIncomplete, verification

    records = [_record(opened, name) for name in arguments.verify]
    values = _each(records, [True] * len(records), arguments.value, "--value")
    tools = _each(records, ["tool" in r.evidence for r in records], arguments.tool, "--tool")
    seconds = _each(records, [r.second_person for r in records], arguments.second, "--second")
    found = []
    for record, value, tool, second in zip(records, values, tools, seconds, strict=True):
        try:
            found.append(verification(
                record, name=arguments.who, value=value, tool=tool, second=second
            ))  # fmt: skip
        except RecordIncomplete as error:
            if error.lacking:
                asked = ", ".join("--who" if e == "name" else f"--{e}" for e in error.lacking)
                raise Refused(f"{record.id}: a tick does not lift this; give {asked}") from None
            raise Refused(
                f"{record.id}: a second person must see it; give --second NAME"
            ) from None
    return found


def _each(
    records: Sequence[RecordSpec], asks: Sequence[bool], given: Sequence[str], option: str
) -> list[str]:
    """What was given for each check; a value is of one check alone."""
    if len(records) == 1:
        return [given[-1] if given else ""]
    wanted = sum(asks)
    if len(given) == 1 and option != "--value":
        return [given[0] if ask else "" for ask in asks]
    if len(given) != wanted:
        raise Refused(
            f"{option}: found {len(given)}, expected {wanted}, one for each check that asks, "
            f"in their order: {', '.join(r.id for r, a in zip(records, asks, strict=True) if a)}"
        )
    waiting = iter(given)
    return [next(waiting) if ask else "" for ask in asks]


def _record(opened: OpenBuild, name: str) -> RecordSpec:
    """A hand check by its id, or its last word. Raises Refused with what is owed now."""
    from drybuild.build.errors import nearest

    records = opened.registry.records
    ending = [r for r in records.values() if r.id.endswith(f".{name}")]
    record: RecordSpec | None = records.get(name) or (ending[0] if len(ending) == 1 else None)
    if record is not None:
        return record
    hint = nearest(name, (*records, *(i.rpartition(".")[2] for i in records)))
    state = opened.present.state
    owed = [r for r in records.values() if state.owed(r.changed, r.id)]
    lines = [line for one in owed for line in record_lines(one)]
    said = ["Owed now:", *lines] if owed else ["None is owed now."]
    raise Refused("\n".join([f"no hand check {name!r}. {hint}".strip(), *said]))
